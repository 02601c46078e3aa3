"""The two clocks of the server: the farm's, which may be a practice clock, and the machine's."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

__all__ = ["Clock"]


class Clock:
    """What the farm's clock shows: the machine's time, or, for practice, the instant `at` and on from there.

    Sessions, invitations and certificates run on the machine's clock in any case.
    """

    def __init__(self, at: datetime | None = None) -> None:
        self._at = None if at is None else at.astimezone(UTC)
        self._started = time.monotonic()

    @property
    def is_practice(self) -> bool:
        return self._at is not None

    def now(self) -> datetime:
        """The instant, in UTC, by which the farm lives."""
        if self._at is None:
            return datetime.now(UTC)
        return self._at + timedelta(seconds=time.monotonic() - self._started)

    def machine_s(self) -> int:
        """Whole seconds since 1970 by the machine's own clock."""
        return int(time.time())
