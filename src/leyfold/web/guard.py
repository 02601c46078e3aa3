"""What stands before every request, whoever sends it: the right host and origin, nothing too big, too slow or
too often; and the headers that go with every answer."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable
from time import monotonic

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from leyfold.web.limits import Limit
from leyfold.web.refusals import Refusal, response

__all__ = ["BODY_S", "MOST_BODY_BYTES", "Guard"]

MOST_BODY_BYTES = 1_114_112
"""A full batch of records and some room for what is wrong with it to be said."""
BODY_S = 20.0
"""A body that takes longer is given up."""
MOST_AT_ONCE = 512
BURST, PER_S = 3000, 100.0
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self';"
    " connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none';"
    " frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
    "X-Frame-Options": "DENY",
}
HSTS = "max-age=31536000"
LOG = logging.getLogger("leyfold.web")


class Guard:
    """The outermost layer. `hosts`: the names, without port, under which the server may be asked, besides the
    address that the request came in at: another name is a page elsewhere that had its name point here."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = (), *, body_s: float = BODY_S) -> None:
        self._app, self._body_s = app, body_s
        self._hosts = frozenset(host.lower() for host in hosts)
        self._often = Limit(BURST, PER_S)
        self._under_way = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = False

        async def out(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                _dress(scope, message)
            await send(message)

        self._under_way += 1
        try:
            self._look_at(scope)
            body = await self._body(scope, receive)
            await self._app(scope, body, out)
        except Refusal as no:
            await response(no.status, no.code, no.faults, no.headers)(scope, receive, out)
        except Exception:
            LOG.exception("broken: %s %s", scope["method"], scope["path"])
            if not begun:
                await response(500, "broken")(scope, receive, out)
        finally:
            self._under_way -= 1

    def _look_at(self, scope: Scope) -> None:
        if self._under_way > MOST_AT_ONCE:
            raise Refusal(429, "not_now", Retry_After="2", Connection="close")
        client = scope.get("client") or ("", 0)
        if wait := self._often.take(client[0]):
            raise Refusal(429, "not_now", Retry_After=str(wait))
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if not self._is_ours(host, scope):
            raise Refusal(421, "host")
        if scope["method"] not in SAFE and "authorization" not in headers:
            origin, site = headers.get("origin"), headers.get("sec-fetch-site")
            ours = f"{scope['scheme']}://{host}".lower()
            if (origin is not None and origin.lower() != ours) or site not in (None, "same-origin", "none"):
                raise Refusal(403, "origin")

    def _is_ours(self, host: str, scope: Scope) -> bool:
        name, _, port = host.rpartition(":") if not host.endswith("]") and ":" in host else (host, "", "")
        address, own_port = scope.get("server") or ("", None)
        if port and not port.isdigit():
            return False
        at = int(port) if port else (443 if scope["scheme"] == "https" else 80)
        if name.lower() in self._hosts:
            return True  # whoever gave the name may have another port lead here
        return name.strip("[]").lower() in (address, "localhost", "127.0.0.1", "::1") and at == own_port

    async def _body(self, scope: Scope, receive: Receive) -> Receive:
        """The whole body, taken in before anything looks at it."""
        if scope["method"] in SAFE:
            return receive
        said = Headers(scope=scope).get("content-length", "0")
        if not said.isdigit() or int(said[:20]) > MOST_BODY_BYTES:
            raise Refusal(413, "too_big", Connection="close")
        parts, size, until = [], 0, monotonic() + self._body_s
        while True:
            try:
                message = await asyncio.wait_for(receive(), max(0.0, until - monotonic()))
            except TimeoutError:
                raise Refusal(408, "slow", Connection="close") from None
            if message["type"] == "http.disconnect":
                break
            parts.append(message.get("body", b""))
            size += len(parts[-1])
            if size > MOST_BODY_BYTES:
                raise Refusal(413, "too_big", Connection="close")
            if not message.get("more_body"):
                break
        whole: list[Message] = [{"type": "http.request", "body": b"".join(parts), "more_body": False}]

        async def again() -> Message:
            return whole.pop() if whole else await receive()

        return again


def _dress(scope: Scope, message: Message) -> None:
    headers = MutableHeaders(scope=message)
    for name, value in HEADERS.items():
        headers.setdefault(name, value)
    headers.setdefault("Cache-Control", "no-store")
    if scope["scheme"] == "https":
        headers.setdefault("Strict-Transport-Security", HSTS)
