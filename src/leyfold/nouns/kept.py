"""Answers kept by all that they hang on: one asked for again with equal contents is not made again, and one
of a list that grew goes on from where the list is as it was."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Generic, TypeVar

__all__ = ["Grown", "Kept"]

T = TypeVar("T")
Item = TypeVar("Item")
STEPS = (100, 1_000, 10_000, 50_000)
"""So many items at the end of a list are taken anew each time; more where somebody wrote later than that."""


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


class Grown(Generic[Item, T]):
    """What is made of long lists, item after item, kept for their beginnings: lists of many years change near
    their ends, by who writes late too. Safe for threads as `Kept`, and its keys are as there."""

    def __init__(self, most: int) -> None:
        self._made: deque[tuple[object, tuple[Item, ...], T]] = deque(maxlen=most)
        self._whole: deque[tuple[object, tuple[Item, ...], T]] = deque(maxlen=most)
        """Of the very lists that were last asked for."""

    def get(
        self, key: object, listed: tuple[Item, ...], start: T, go_on: Callable[[T, tuple[Item, ...]], T]
    ) -> T:
        """What comes of `start` and all of `listed`, for `key`. `go_on`: from what was made and some more
        items to what comes of both; it changes neither. Items at once or bit by bit must come to the same."""
        if len(listed) < 2 * STEPS[0]:
            return go_on(start, listed)
        for known, seen, made in self._whole.copy():
            if seen is listed and known == key:
                return made
        done, made = self._known(key, listed) or (0, start)
        for end in sorted({max(len(listed) // step - 1, 0) * step for step in STEPS}):
            if end > done:
                made = go_on(made, listed[done:end])
                self._made.appendleft((key, listed[:end], made))
                done = end
        made = go_on(made, listed[done:])
        self._whole.appendleft((key, listed, made))
        return made

    def _known(self, key: object, listed: tuple[Item, ...]) -> tuple[int, T] | None:
        """The longest beginning of which something is kept, and what."""
        kept = sorted(self._made.copy(), key=lambda one: -len(one[1]))
        for known, seen, made in kept:
            end = len(seen)
            # The last item first: it tells at once that something was put in before it.
            if end <= len(listed) and seen[-1] == listed[end - 1] and known == key and seen == listed[:end]:
                return end, made
        return None
