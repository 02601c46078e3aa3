"""The rounds of the coming days as an answer, cut to what a person may see."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from leyfold.nouns.clock import civil
from leyfold.services.live import Live
from leyfold.services.round import records, rounds_of
from leyfold.web.made import Made, dumped

__all__ = ["DAYS", "Week", "make_week"]

DAYS = 8


@dataclass(frozen=True, slots=True)
class Week:
    """Every round from `first` on, at most `DAYS` days of them, as plain values: none outside the plan's
    season."""

    first: date
    head: dict[str, Any]
    rounds: Sequence[dict[str, Any]]
    _cut: dict[tuple[date, int], Made] = field(default_factory=dict)

    def days(self, first: date, days: int) -> Made:
        """The answer for some of the days; those it does not hold are left out."""
        key = first, days
        made = self._cut.get(key)
        if made is None:
            wanted = {(first + timedelta(days=d)).isoformat() for d in range(days)}
            rounds = [one for one in self.rounds if one["day"] in wanted]
            made = self._cut[key] = Made.of(dumped({**self.head, "rounds": rounds}))
        return made


def make_week(live: Live, now: datetime, days: int = DAYS) -> Week:
    """BadInput as `rounds_of`."""
    answer = rounds_of(live.opened(now, whole=False), now, days=days, now=now)
    page = records(answer)
    rounds = page.pop("rounds")
    first = civil(now, answer.farm.holding.zone)
    return Week(first, {**page, "inputs_sha256": answer.inputs_sha256}, rounds)
