"""What a figure is asked of: which birds or place, over which days."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Lot
from leyfold.nouns.season import Season
from leyfold.season.course import Row
from leyfold.season.reasons.lot import Bird

__all__ = ["ARRAYS", "Ask", "Pick", "Scope", "Span"]

Floats = NDArray[np.float64]
Span = Literal["day", "week", "season"]
Pick = Literal["batch", "sex", "place", "kind", "feed", "wish"]

ARRAYS: Mapping[str, str] = {
    "heads": "heads",
    "dead": "dead",
    "killed": "killed",
    "killed_kg": "killed_kg",
    "feed": "feed_kg",
    "water": "water_l",
    "n": "n_kg",
    "p": "p_kg",
    "k": "k_kg",
    "eggs": "eggs",
    "egg_kg": "egg_kg",
}
"""Figures of a lot and the arrays of the season that hold them."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A figure by its plain name, of the birds or the place picked, over a day, a week or the season."""

    what: str
    span: Span = "day"
    picks: Mapping[Pick, str] = field(default_factory=dict)

    def __str__(self) -> str:
        span = "" if self.span == "day" else f"/{self.span}"
        return f"{self.what}{span}" + (f":{'.'.join(self.picks.values())}" if self.picks else "")

    def of(self, span: Span, **picks: str) -> Ask:
        """The same figure, narrowed."""
        return replace(self, span=span, picks={**self.picks, **picks})  # type: ignore[dict-item]


@dataclass(frozen=True)
class Scope:
    """A season and what it was reckoned from. `recorded` are ids of batches whose beginnings the records
    tell."""

    farm: Farm
    season: Season
    recorded: Collection[str] = ()

    @property
    def first(self) -> date:
        return self.season.first

    @property
    def last(self) -> date:
        return self.season.day(self.season.days - 1)

    def bird(self, lot: Lot, day: date) -> Bird:
        """A bird of a lot on a day."""
        plan = self.season.plan
        batch = next(b for b in plan.batches if b.id == lot.batch)
        stay = next(s for s in plan.stays if s.id == lot.stay and s.first <= day <= s.until)
        row = Row(batch, lot.sex, self.farm.lines[batch.line])
        return Bird(self.farm, plan, row, stay, lot, day, self.recorded)

    def bird_of(self, batch: Batch) -> Bird:
        """A bird of a batch on the first day it stands anywhere in the season."""
        lot = next(lot for lot in self.season.lots if lot.batch == batch.id)
        stay = next(s for s in self.season.plan.stays if s.id == lot.stay)
        return self.bird(lot, stay.first)

    def lots(self, picks: Mapping[Pick, str]) -> list[int]:
        """The lots picked, by their place in the season."""

        def is_picked(lot: Lot) -> bool:
            of = {
                "batch": lot.batch,
                "sex": lot.sex,
                "place": lot.place,
                "kind": self.season.places[lot.place].kind,
            }
            return all(of[pick] == name for pick, name in picks.items() if pick in of)

        return [i for i, lot in enumerate(self.season.lots) if is_picked(lot)]

    def values(self, ask: Ask) -> Floats:
        """[lot, day] of all lots of the season, 0 for those not picked."""
        season = self.season
        if ask.what == "kg":
            array = season.heads * season.weight_kg
        elif ask.what == "carcass":
            lines = {batch.id: self.farm.lines[batch.line] for batch in season.plan.batches}
            # Of the cockerels alone: old hens leave alive.
            dressed = [lines[x.batch].dressing_share.value * (x.sex == "cockerel") for x in season.lots]
            array = season.killed_kg * np.array(dressed).reshape(-1, 1)
        else:
            array = getattr(season, ARRAYS[ask.what])
        picked = np.zeros((len(season.lots), 1), dtype=bool)
        picked[self.lots(ask.picks)] = True
        if "feed" in ask.picks:
            picked = picked & (season.feed_kind == season.feeds.index(ask.picks["feed"]))
        return np.where(picked, array, 0.0)

    def days(self, ask: Ask, day: date) -> tuple[date, date]:
        """First and last day of the span that `day` lies in."""
        if ask.span == "season":
            return self.first, self.last
        if ask.span == "week":
            monday = day - timedelta(days=day.weekday())
            return monday, monday + timedelta(days=6)
        return day, day
