"""How often somebody may ask: buckets that fill again with time, a bounded number of them."""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from math import ceil
from threading import Lock

__all__ = ["Limit"]

_MOST_KEYS = 4096


class Limit:
    """At most `burst` at once and `per_s` a second in the long run, for each key by itself. Safe for
    threads. The key not used longest is forgotten first."""

    def __init__(self, burst: int, per_s: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._burst, self._per_s, self._clock = burst, per_s, clock
        self._left: OrderedDict[Hashable, tuple[float, float]] = OrderedDict()
        self._lock = Lock()

    def take(self, key: Hashable) -> int:
        """Take one out of the bucket: 0, or the seconds to wait where it is empty."""
        with self._lock:
            left = self._there(key)
            if left < 1:
                return max(1, ceil((1 - left) / self._per_s))
            self._put(key, left - 1)
            return 0

    def wait(self, key: Hashable) -> int:
        """What `take` would say, taking nothing."""
        with self._lock:
            left = self._there(key)
        return 0 if left >= 1 else max(1, ceil((1 - left) / self._per_s))

    def _there(self, key: Hashable) -> float:
        left, at = self._left.get(key, (float(self._burst), 0.0))
        return min(self._burst, left + (self._clock() - at) * self._per_s)

    def _put(self, key: Hashable, left: float) -> None:
        self._left[key] = (left, self._clock())
        self._left.move_to_end(key)
        while len(self._left) > _MOST_KEYS:
            self._left.popitem(last=False)
