"""The same season tried many times by whole birds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Lot, Plan
from leyfold.nouns.stock import Sex

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]
    Counts = NDArray[np.int32]

__all__ = ["Band", "Cohort", "Draws", "LimitChance", "Taken", "WishChance"]


@dataclass(frozen=True, slots=True)
class Cohort:
    """The birds of one batch and sex."""

    batch: str
    sex: Sex


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """Visits of a fox that killed: [visit] draw, lot, day (index) and birds killed in that lot."""

    draw: NDArray[np.int64]
    lot: NDArray[np.int64]
    day: NDArray[np.int64]
    birds: Counts


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """`n` seasons of one plan. Lots are those of the plan completed, in the order of `Season.lots`.

    Birds are kept for the days of each lot's stay alone: `at[lot]` is the slice of `cells` that holds them,
    from the stay's first day `first_day[lot]` on. `heads_of` and `heads` give them as [draw, day] and
    [draw, lot, day]. Farm totals are [draw, day].
    """

    first: date
    days: int
    n: int
    seed: int
    shared: bool
    plan: Plan
    lots: tuple[Lot, ...]
    cohorts: tuple[Cohort, ...]
    first_day: NDArray[np.int64]
    at: tuple[slice, ...]
    cells: Counts
    """[cell, draw] heads at the day's start."""
    dead_cells: Counts
    """[cell, draw] birds that die on the day, foxes' victims not counted."""
    taken: Taken
    killed: Counts
    """[lot, draw] birds killed or put out on the day the stay ends."""
    chicks: Counts
    """[batch, draw] birds that ever came: hatched, bought, or there on the first day."""
    came: Counts
    """[cohort, draw] of them by sex, those alive when the window opens."""
    growth: Floats
    """[batch, draw] luck in growth, standard normal: the batch weighs 1 + batch_weight_cv x luck."""
    anomaly_K: Floats
    """[day, draw] the day's mean temperature less the month's."""
    feeds: tuple[str, ...]
    feed_kg: Floats
    """[draw, feed, day]"""
    water_l: Floats
    eggs: Floats
    killed_kg: Floats
    """[draw, day] live weight of the birds killed or put out."""

    def day(self, index: int) -> date:
        return self.first + timedelta(days=index)

    def index(self, day: date) -> int:
        return (day - self.first).days

    def span(self, lot: int) -> slice:
        """The days of the lot's stay."""
        start = int(self.first_day[lot])
        return slice(start, start + self.at[lot].stop - self.at[lot].start)

    def heads_of(self, lot: int) -> Counts:
        """[draw, day] over the whole window."""
        return self._spread(self.cells, lot)

    def dead_of(self, lot: int) -> Counts:
        """[draw, day] birds that die in the lot, foxes' victims not counted."""
        return self._spread(self.dead_cells, lot)

    def heads(self) -> Counts:
        """[draw, lot, day], 0 outside each stay: n x lots x days x 4 bytes."""
        import numpy as np

        dense = np.zeros((self.n, len(self.lots), self.days), dtype=np.int32)
        for lot in range(len(self.lots)):
            dense[:, lot, self.span(lot)] = self.cells[self.at[lot]].T
        return dense

    def lots_in(self, place: str) -> Iterator[int]:
        return (i for i, lot in enumerate(self.lots) if lot.place == place)

    def _spread(self, cells: Counts, lot: int) -> Counts:
        import numpy as np

        dense = np.zeros((self.n, self.days), dtype=np.int32)
        dense[:, self.span(lot)] = cells[self.at[lot]].T
        return dense


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """[day] the 5, 50 and 95 % points of what was tried."""

    low: Floats
    middle: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class LimitChance:
    """How likely a limit is passed in one place at all; where it is, on which day first (5, 50, 95 % points
    among the draws that pass it; None where none does) and how bad the worst day is (95 % point of all)."""

    limit: Limit
    where: str
    chance: float
    first: tuple[date, date, date] | None
    worst: float


@dataclass(frozen=True, slots=True)
class WishChance:
    """What the plan makes of one wish: the chance that it is met, the mean, the 5 and 95 % points, and the
    number that is reached in 95 % of years (`safe`). `short` is True where the chance is below the wished."""

    wish: str
    on: date
    chance: float
    mean: float
    low: float
    high: float
    safe: float
    short: bool
