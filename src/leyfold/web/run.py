"""The server run: lock, book, sockets, certificate, and the words that say where it is."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import uvicorn
from starlette.types import ASGIApp

from leyfold.nouns.errors import BadInput, Fault
from leyfold.services.round import open_books
from leyfold.store.lock import Busy, hold
from leyfold.store.records import open_store
from leyfold.web.address import is_loopback, local_addresses, local_names
from leyfold.web.app import make_app
from leyfold.web.authority import Certified, certify
from leyfold.web.clock import Clock
from leyfold.web.diary import diary
from leyfold.web.helper import Helper
from leyfold.web.house import House
from leyfold.web.patience import Patience
from leyfold.words import say

__all__ = ["Opened", "serve_farm", "server_of"]

LINK_S = 600
"""How long the link that is opened on this machine is good for."""
HERE, ALL = "127.0.0.1", "0.0.0.0"
_HEAD_BYTES = 16_384
_KEEP_ALIVE_S = 20
_GRACE_S = 5
_LOOK_S = 3600.0
"""How often a running server looks whether its address has changed or its certificate runs out."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A server about to run: its address, the link that lets this machine's farmer in, and what else there is
    to say, in words."""

    address: str
    link: str
    notes: tuple[str, ...]


def serve_farm(
    folder: Path,
    *,
    host: str | None,
    port: int,
    https: bool,
    at: datetime | None,
    told: Callable[[Opened], None],
) -> None:
    """Serve the farm in `folder` until it is interrupted (KeyboardInterrupt). `told` is called once the ports
    are taken. `at`: the practice clock.

    Without `https`: plain http at `host`, else for this machine alone. With it: https at `host`, else for the
    whole network, and on the next port plain http: the whole server for this machine, the page that helps
    phones to trust the certificate for others.

    BadInput where the farm's files are faulty, a port is taken, or another program writes in the folder.
    """
    host = host or (ALL if https else HERE)
    try:
        with hold(folder) as held, _listening(host, port) as line, _beside(https, line) as second:
            store = open_store(folder)
            try:
                house = House(folder, store, Clock(at))
                here = _address("http", _reached(host) if second is None else HERE, second or line)
                house.token = held.announce(here)
                notes = _opening_notes(open_books(house.live, store, house.clock.now()))
                house.link_base = _address("https" if https else "http", _for_phones(host), line)
                link = f"{here}/in/{house.doors.invite(house.farmer().id, house.clock.machine_s(), LINK_S)}"
                with diary(folder):
                    if second is None:
                        told(Opened(here, link, (*notes, *_plain_notes(host))))
                        server_of(make_app(house, _names(host))).run(sockets=[line])
                    else:
                        _serve_both(
                            house, host, (line, second), lambda n: told(Opened(here, link, notes + n))
                        )
            finally:
                store.close()
    except Busy as busy:
        where = busy.serving.address if busy.serving else "-"
        fault = Fault("leyfold serve", "", say("web.busy", address=where), say("web.busy_mend"))
        raise BadInput(fault) from None


def server_of(app: ASGIApp, *, lifespan: bool = True, certified: Certified | None = None) -> uvicorn.Server:
    """uvicorn with our limits, to be run on a socket that listens."""
    tls: dict[str, Any] = {}
    if certified is not None:
        tls = {"ssl_certfile": str(certified.chain), "ssl_keyfile": str(certified.key)}
    config = uvicorn.Config(
        app,
        http=Patience,
        ws="none",
        lifespan="on" if lifespan else "off",
        log_config=None,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        timeout_keep_alive=_KEEP_ALIVE_S,
        timeout_graceful_shutdown=_GRACE_S,
        h11_max_incomplete_event_size=_HEAD_BYTES,
        **tls,
    )
    return uvicorn.Server(config)


class _Beside(uvicorn.Server):
    """A second server: the first one hears the signals."""

    def capture_signals(self) -> nullcontext[None]:  # type: ignore[override]
        return nullcontext()


def _serve_both(
    house: House,
    host: str,
    lines: tuple[socket.socket, socket.socket],
    told: Callable[[tuple[str, ...]], None],
) -> None:
    line, second = lines

    def certified() -> Certified:
        folder = house.folder / ".leyfold" / "tls"
        return certify(folder, house.live.farm().holding.name, _names(host) or (HERE,), datetime.now(UTC))

    def address() -> str:
        return _address("https", _for_phones(host), line)

    first = certified()
    app = make_app(house, _names(host))
    secure = server_of(app, certified=first)
    plain = _Beside(server_of(Helper(app, certified, address), lifespan=False).config)
    told(_https_notes(_address("http", _for_phones(host), second), first))

    async def renew() -> None:
        while True:
            await asyncio.sleep(_LOOK_S)
            now = await asyncio.to_thread(certified)
            house.link_base = address()
            assert secure.config.ssl is not None
            secure.config.ssl.load_cert_chain(now.chain, now.key)

    async def run() -> None:
        tasks = [asyncio.create_task(plain.serve(sockets=[second])), asyncio.create_task(renew())]
        try:
            await secure.serve(sockets=[line])
        finally:
            plain.should_exit = True
            tasks[1].cancel()
            with suppress(asyncio.CancelledError):
                await asyncio.wait(tasks, timeout=_GRACE_S)

    asyncio.run(run())


def _names(host: str) -> tuple[str, ...]:
    """All that the server may be called by others: of every address, or of the one it listens at."""
    if is_loopback(host):
        return ()
    here = local_addresses() if host in (ALL, "::") else (host,)
    return (*here, *local_names())


def _opening_notes(birds: int) -> tuple[str, ...]:
    return (say("web.books_opened", birds=birds),) if birds else ()


def _plain_notes(host: str) -> tuple[str, ...]:
    return (say("web.only_here") if is_loopback(host) else say("web.no_https"),)


def _https_notes(helper: str, certified: Certified) -> tuple[str, ...]:
    if not local_addresses():
        return (say("web.no_network"),)
    return (say("web.phones", helper=helper, seal=certified.fingerprint()),)


def _for_phones(host: str) -> str:
    return next(iter(local_addresses()), HERE) if host in (ALL, "::") else host


def _reached(host: str) -> str:
    return HERE if host in (ALL, "::") else host


def _address(scheme: str, host: str, line: socket.socket) -> str:
    named = f"[{host}]" if ":" in host else host
    return f"{scheme}://{named}:{line.getsockname()[1]}"


@contextmanager
def _beside(https: bool, line: socket.socket) -> Iterator[socket.socket | None]:
    if not https:
        yield None
        return
    port = line.getsockname()[1]
    with _listening(ALL, port + 1 if port < 65535 else 0) as second:
        yield second


@contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    # The protocol is named because asyncio sends small answers at once only on sockets that name it.
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    line = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            line.bind((host, port))
            line.listen(1024)
        except (OSError, OverflowError) as error:
            taken = Fault("leyfold serve", "--port", say("cli.port", port=port), say("cli.port_mend"))
            raise BadInput(taken) from error
        yield line
    finally:
        line.close()
