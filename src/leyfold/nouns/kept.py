"""Answers kept by all that they hang on: one asked for again with equal contents is not made again."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Generic, TypeVar

__all__ = ["Kept"]

T = TypeVar("T")


class Kept(Generic[T]):
    """The last `most` answers. Keys are compared, not hashed, so that they may hold whole farms; they must
    hold everything that the answer depends on. Nothing that is kept may be changed. Safe for threads: two
    that ask at once may both make it."""

    def __init__(self, most: int) -> None:
        self._made: deque[tuple[object, T]] = deque(maxlen=most)

    def get(self, key: object, make: Callable[[], T]) -> T:
        """The answer for `key`, made by `make` where no equal key is kept."""
        for known, answer in tuple(self._made):
            if known == key:
                return answer
        answer = make()
        self._made.appendleft((key, answer))
        return answer
