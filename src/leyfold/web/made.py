"""Answers that are dear to make: made once, ahead where that can be, kept as long as nothing has changed."""

from __future__ import annotations

import asyncio
import gzip
import json
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from threading import Lock
from typing import Any, Generic, TypeVar

from starlette.requests import Request
from starlette.responses import Response

__all__ = ["Kept", "Made", "answer", "dumped"]

T = TypeVar("T")
_PACKED_FROM = 1000
_LEVEL = 5


@dataclass(frozen=True, slots=True)
class Made:
    """An answer ready to send, plain and packed (None where that is not worth it)."""

    body: bytes
    packed: bytes | None
    type: str = "application/json"

    @classmethod
    def of(cls, body: bytes, type: str = "application/json") -> Made:
        packed = gzip.compress(body, _LEVEL, mtime=0) if len(body) >= _PACKED_FROM else None
        return cls(body, packed, type)


def dumped(page: Any) -> bytes:
    """A page as JSON. Not a number, or no text: ValueError."""
    return json.dumps(page, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def answer(request: Request, made: Made, status: int = 200, **headers: str) -> Response:
    """What was made, packed for whoever can take it."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    if made.packed is not None:
        named["Vary"] = "Accept-Encoding"
        if "gzip" in request.headers.get("accept-encoding", ""):
            return Response(made.packed, status, {**named, "Content-Encoding": "gzip"}, made.type)
    return Response(made.body, status, named, made.type)


class Kept(Generic[T]):
    """The last few answers by what they depend on. Whoever asks for one that is being made waits for it."""

    def __init__(self, executor: Executor, most: int = 8) -> None:
        self._executor, self._most, self._lock = executor, most, Lock()
        self._made: OrderedDict[Hashable, Future[T]] = OrderedDict()

    async def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """The answer for `key`, made by `make` in the executor where it is not there. One that fails is made
        again by whoever asks next."""
        return await asyncio.shield(asyncio.wrap_future(self.begin(key, make)))

    def begin(self, key: Hashable, make: Callable[[], T]) -> Future[T]:
        """Have it made, without waiting."""
        with self._lock:
            found = self._made.get(key)
            if found is None or (found.done() and (found.cancelled() or found.exception() is not None)):
                found = self._executor.submit(make)
                self._made[key] = found
            self._made.move_to_end(key)
            while len(self._made) > self._most:
                self._made.popitem(last=False)
            return found
