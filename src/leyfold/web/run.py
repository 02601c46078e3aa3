"""The server run: lock, book, socket, and the words that say where it is."""

from __future__ import annotations

import logging
import os
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

import uvicorn
from starlette.types import ASGIApp

from leyfold.nouns.errors import BadInput, Fault
from leyfold.services.people import Doorkeeper
from leyfold.store.lock import Busy, hold
from leyfold.store.records import open_store
from leyfold.web.app import make_app
from leyfold.web.clock import Clock
from leyfold.web.house import House
from leyfold.web.patience import Patience
from leyfold.words import say

__all__ = ["Opened", "serve_farm", "server_of"]

LINK_S = 600
"""How long the link that is opened on this machine is good for."""
_HEAD_BYTES = 16_384
_KEEP_ALIVE_S = 20
_GRACE_S = 5
_LOG_BYTES = 1_000_000


class Opened:
    """A server about to run: where it is, and the link that lets this machine's farmer in."""

    def __init__(self, address: str, link: str) -> None:
        self.address, self.link = address, link


def serve_farm(
    folder: Path, *, host: str, port: int, at: datetime | None, told: Callable[[Opened], None]
) -> None:
    """Serve the farm in `folder` until it is interrupted (KeyboardInterrupt). `told` is called once the port
    is taken. `at`: the practice clock.

    BadInput where the farm's files are faulty, the port is taken, or another program writes in the folder.
    """
    try:
        with hold(folder) as held, _listening(host, port) as line:
            store = open_store(folder)
            try:
                address = f"http://{_named(host)}:{line.getsockname()[1]}"
                house = House(folder, store, Clock(at))
                house.token = held.announce(address)
                with _log(folder):
                    told(Opened(address, f"{address}/in/{_link(house.doors, house)}"))
                    server_of(make_app(house)).run(sockets=[line])
            finally:
                store.close()
    except Busy as busy:
        where = busy.serving.address if busy.serving else "-"
        fault = Fault("leyfold serve", "", say("web.busy", address=where), say("web.busy_mend"))
        raise BadInput(fault) from None


def _link(doors: Doorkeeper, house: House) -> str:
    return doors.invite(house.farmer().id, house.clock.machine_s(), LINK_S)


def server_of(app: ASGIApp) -> uvicorn.Server:
    """uvicorn with our limits, to be run on a socket that listens."""
    config = uvicorn.Config(
        app,
        http=Patience,
        ws="none",
        lifespan="on",
        log_config=None,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        timeout_keep_alive=_KEEP_ALIVE_S,
        timeout_graceful_shutdown=_GRACE_S,
        h11_max_incomplete_event_size=_HEAD_BYTES,
    )
    return uvicorn.Server(config)


@contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    line = socket.socket(family)
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


def _named(host: str) -> str:
    return f"[{host}]" if ":" in host else host


@contextmanager
def _log(folder: Path) -> Iterator[None]:
    """Who came in, who was refused, what broke: in `.leyfold/web.log`, for this user's eyes."""
    path = folder / ".leyfold" / "web.log"
    os.close(os.open(path, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600))
    log = logging.getLogger("leyfold.web")
    out = RotatingFileHandler(path, maxBytes=_LOG_BYTES, backupCount=3, encoding="utf-8")
    form = logging.Formatter("%(asctime)sZ %(levelname)s %(message)s")
    form.converter = time.gmtime
    out.setFormatter(form)
    log.addHandler(out)
    log.setLevel(logging.INFO)
    log.propagate = False
    try:
        yield
    finally:
        log.removeHandler(out)
        out.close()
