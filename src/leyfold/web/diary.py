"""The server's log: who came in, who was refused, what broke. In `.leyfold/web.log`, for this user's eyes."""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from logging.handlers import RotatingFileHandler
from pathlib import Path

__all__ = ["FILE", "diary"]

FILE = "web.log"
_MOST_BYTES, _KEPT = 1_000_000, 3


class _OneLine(logging.Formatter):
    """In UTC; a line feed in what came in must not pass for a line of ours."""

    @staticmethod
    def converter(seconds: float | None) -> time.struct_time:
        """UTC."""
        return time.gmtime(seconds)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802
        record.message = record.message.replace("\r", "\\r").replace("\n", "\\n")
        return super().formatMessage(record)


@contextmanager
def diary(folder: Path) -> Iterator[None]:
    """Keep the log of the farm in `folder` while the block runs; the last three megabytes of it."""
    path = folder / ".leyfold" / FILE
    path.parent.mkdir(exist_ok=True)
    os.close(os.open(path, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600))
    log = logging.getLogger("leyfold.web")
    out = RotatingFileHandler(path, maxBytes=_MOST_BYTES, backupCount=_KEPT, encoding="utf-8")
    out.setFormatter(_OneLine("%(asctime)sZ %(levelname)s %(message)s"))
    log.addHandler(out)
    log.setLevel(logging.INFO)
    log.propagate = False
    try:
        yield
    finally:
        log.removeHandler(out)
        out.close()
