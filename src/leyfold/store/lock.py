"""Who may write: one program at a time in a farm's folder. `leyfold serve` holds the lock as long as it runs
and leaves its address and a token beside it; a command that finds it held writes through the server.

The lock is the system's own and freed by it when the program dies, however it dies.
"""

from __future__ import annotations

import json
import os
import secrets
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO

__all__ = ["Busy", "Held", "Serving", "hold", "serving"]

LOCK, ADDRESS = "server.lock", "server.json"
_PATIENCE_S = 0.05


@dataclass(frozen=True, slots=True)
class Serving:
    """Where the running server is. `token` lets a program of the same user write there as the farmer; `ca` is
    the certificate of the farm's own authority, where the address needs it."""

    address: str
    token: str
    pid: int
    ca: str | None = None


class Busy(Exception):
    """Another program writes; `serving` tells where, if it is a server."""

    def __init__(self, there: Serving | None) -> None:
        super().__init__("another program writes")
        self.serving = there


class Held:
    """The lock, held."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def announce(self, address: str, *, ca: str | None = None) -> str:
        """Say where records may be posted. The token to be shown there is returned; only this user can read
        it (mode 0600)."""
        there = Serving(address, secrets.token_urlsafe(32), os.getpid(), ca)
        beside = self._folder / f".{ADDRESS}.{os.getpid()}"
        beside.unlink(missing_ok=True)
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(asdict(there), out)
        os.replace(beside, self._folder / ADDRESS)
        return there.token


@contextmanager
def hold(folder: Path, *, wait_s: float = 0.0) -> Iterator[Held]:
    """Hold the lock of a farm's folder, waiting for it up to `wait_s` seconds unless a server has it.

    Busy where another program has it. OSError where the folder cannot be written in.
    """
    kept = folder / ".leyfold"
    kept.mkdir(exist_ok=True)
    until = time.monotonic() + wait_s
    with (kept / LOCK).open("a") as lock:
        while not _taken(lock):
            there = serving(folder)
            if there is not None or time.monotonic() >= until:
                raise Busy(there)
            time.sleep(_PATIENCE_S)
        (kept / ADDRESS).unlink(missing_ok=True)  # of a server that died
        try:
            yield Held(kept)
        finally:
            (kept / ADDRESS).unlink(missing_ok=True)


def serving(folder: Path) -> Serving | None:
    """What the last server to hold the lock left as its address. It may have died since: who holds the lock
    knows."""
    try:
        page = json.loads((folder / ".leyfold" / ADDRESS).read_text(encoding="utf-8"))
        return Serving(**page)
    except (OSError, ValueError, TypeError):
        return None


def _taken(lock: IO[str]) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
