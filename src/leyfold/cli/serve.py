"""`leyfold serve`: the season of a farm as a page in the browser, made anew when its files change."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Lock

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["Pages", "serve", "server"]

HOST = "127.0.0.1"
POLICY = "frame-ancestors 'none'"  # the page's own policy stands in its head


def serve(farm: Path, *, port: int = 8765, open_browser: bool = True) -> int:
    """Show the season of a farm as a page in the browser, on this machine alone. Ctrl-C ends it.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    port
        Where on this machine; 0 takes any that is free.
    open_browser
        Open the page in the browser, where there is one.
    """
    with server(Pages(farm), port) as running:
        address = f"http://{HOST}:{running.server_port}/"
        try:
            print(say("cli.serving", address=address), flush=True)
            if open_browser:
                import webbrowser

                webbrowser.open(address)
            running.serve_forever()
        except KeyboardInterrupt:
            print(say("cli.served"), file=sys.stderr)
    return 0


class Pages:
    """The farm's page as of now, made again only when a file or the day has changed."""

    def __init__(self, farm: Path) -> None:
        self._farm, self._lock = farm, Lock()
        self._of: object = None
        self._made: tuple[HTTPStatus, bytes] = HTTPStatus.OK, b""

    def now(self) -> tuple[HTTPStatus, bytes]:
        """Status and document: 422 with every fault where the files cannot be used."""
        from leyfold.paper.page import faults_page
        from leyfold.services.page import changed, page_of

        at = datetime.now(UTC)
        with self._lock:
            of = at.date(), changed(self._farm)
            if of != self._of:
                try:
                    made = HTTPStatus.OK, page_of(self._farm, at).encode()
                except BadInput as wrong:
                    made = HTTPStatus.UNPROCESSABLE_ENTITY, faults_page(wrong.faults).encode()
                self._of, self._made = of, made
            return self._made


def server(pages: Pages, port: int) -> ThreadingHTTPServer:
    """A server on this machine alone that answers `/` and nothing else. BadInput where the port is taken."""

    class Handler(BaseHTTPRequestHandler):
        server_version, sys_version = "leyfold", ""

        def do_GET(self) -> None:
            self._answer(with_body=True)

        def do_HEAD(self) -> None:
            self._answer(with_body=False)

        def _answer(self, *, with_body: bool) -> None:
            # Another name for this machine in the request is a page elsewhere trying to read this one.
            host = self.headers.get("Host", "").rsplit(":", 1)[0]
            if host not in (HOST, "localhost"):
                return self.send_error(HTTPStatus.MISDIRECTED_REQUEST)
            if self.path.partition("?")[0] != "/":
                return self.send_error(HTTPStatus.NOT_FOUND)
            status, page = pages.now()
            self.send_response(status)
            for name, value in {
                "Content-Type": "text/html; charset=utf-8",
                "Content-Length": str(len(page)),
                "Cache-Control": "no-store",
                "Content-Security-Policy": POLICY,
                "X-Content-Type-Options": "nosniff",
                "Referrer-Policy": "no-referrer",
            }.items():
                self.send_header(name, value)
            self.end_headers()
            if with_body:
                self.wfile.write(page)
            return None

        def log_message(self, format: str, *args: object) -> None:
            """Requests are not worth a line."""

    class Server(ThreadingHTTPServer):
        def handle_error(self, request: object, client_address: object) -> None:
            """A browser that hangs up before the end is no error."""
            if not isinstance(sys.exception(), ConnectionError):
                super().handle_error(request, client_address)  # type: ignore[arg-type]

    try:
        return Server((HOST, port), Handler)
    except (OSError, OverflowError) as error:
        taken = Fault("leyfold serve", "--port", say("cli.port", port=port), say("cli.port_mend"))
        raise BadInput(taken) from error
