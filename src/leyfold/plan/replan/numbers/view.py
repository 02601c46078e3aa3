"""What the numbers of a trouble are reckoned from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.record import Group, Record
from leyfold.nouns.replanned import Number
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.mending.idea import price
from leyfold.plan.replan.told import Told
from leyfold.words import say

__all__ = ["View"]

SOMEBODY = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The plan before and what follows now (both drawn), the same now by means alone, and the records."""

    before: Look
    now: Look
    mean: Look
    records: Sequence[Record] = ()

    @property
    def case(self) -> Case:
        return self.now.case

    @property
    def day(self) -> date:
        return self.case.day

    @property
    def tell(self) -> Told:
        return Told(self.case.farm.holding.language)

    def number(
        self,
        name: str,
        value: float | None,
        of: str | None = None,
        on: date | None = None,
        /,
        **words: object,
    ) -> Number:
        """A number said by `replan.num_NAME`: floats without decimals, days, money in the currency."""
        tell = self.tell
        told = {
            key: tell.day(x) if isinstance(x, date) else tell.n(x) if isinstance(x, float) else x
            for key, x in words.items()
        }
        told.setdefault("currency", self.case.farm.holding.currency)
        return Number(name, value, say(f"replan.num_{name}", **told), of, on)

    def groups(self, places: Iterable[str] = (), batch: str | None = None) -> list[Group]:
        """Birds alive by the book in some places (all, where none are named) or of a batch."""
        named = set(places)
        return [
            g
            for g in self.case.state.groups
            if g.heads > 0 and (not named or g.place in named) and batch in (None, g.batch)
        ]

    def at(self, day: date) -> int:
        """A day's index in the season now, held within it."""
        return min(max(self.now.season.index(day), 0), self.now.season.days - 1)

    def today(self) -> int:
        return self.at(self.day)

    def rows(self, batch: str, sex: str | None = None, place: str | None = None) -> list[int]:
        """The season's lots of a batch."""
        return [
            i
            for i, lot in enumerate(self.now.season.lots)
            if lot.batch == batch and sex in (None, lot.sex) and place in (None, lot.place)
        ]

    def of_one(self, what: NDArray[np.float64], group: Group) -> float:
        """What one bird of a group eats or drinks today, wherever the plan has it; 0 where it has none."""
        rows, at = self.rows(group.batch, group.sex), self.today()
        heads = float(self.now.season.heads[rows, at].sum()) if rows else 0.0
        return float(what[rows, at].sum()) / heads if heads > 0 else 0.0

    def age_d(self, group: Group) -> int:
        hatched = self.case.state.batches[group.batch].hatched_on
        return 0 if hatched is None else (self.day - hatched).days

    def price(self, rate: str) -> float | None:
        return price(self.case, rate)
