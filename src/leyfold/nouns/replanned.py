"""What became of a plan: who is alive where, which promise breaks first, the mends, and what today asks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.stock import Sex

__all__ = ["Alive", "Broken", "Mend", "Number", "Odds", "Promise", "Replanned", "Term"]

Promise = Literal["limit", "wish", "order", "killing", "feed", "cover", "water", "hands", "ground"]
"""What a plan promises: a limit kept, a wish at its chance, an order filled, a killing day held, feed there,
a roof under a housing order, water, hands for the work, grass to stand on."""


@dataclass(frozen=True, slots=True)
class Alive:
    """Birds of one batch and sex (None: unsorted) in one place tonight, by the book. `weight_kg` is the mean
    expected of one bird."""

    place: str
    kind: str
    batch: str
    sex: Sex | None
    heads: int
    age_d: int
    weight_kg: float


@dataclass(frozen=True, slots=True)
class Broken:
    """One promise that does not hold, from `first` to `last`. `id` names the promise, so that the same one is
    known again in another plan. `wanted` and `has` are what it takes and what there is, in its own unit.
    `before`: it was broken already in the plan before, and no later."""

    promise: Promise
    id: str
    what: str
    where: str | None
    first: date
    last: date
    wanted: float
    has: float
    said: str
    before: bool = False


@dataclass(frozen=True, slots=True)
class Odds:
    """The chance of one wish: wished for, in the plan before, and now."""

    wish: str
    wished: float
    before: float | None
    now: float | None


@dataclass(frozen=True, slots=True)
class Term:
    """Money that a mend takes besides what the reckoning of its plan has; below zero it brings some. None
    where nobody knows the price."""

    what: str
    money: float | None
    guess: bool = False


@dataclass(frozen=True, slots=True)
class Mend:
    """One way to go on. `plan` is as plan.toml can say it, `farm` the farm with what the mend adds to it.

    `cost` is the money against going on without it: the change of the margin the other way about, and the
    `terms`; below zero it earns; None where a price is lacking. `mends`, `leaves` and `new` are ids of
    promises: broken without it and whole with it; still broken; broken by it. `found`: sentences of what the
    checker finds in its plan alone. `verified`: its plan was completed and walked day by day, by the season
    and by the checker; it mends the first promise broken and breaks no other. `moved` counts the dates,
    numbers and places it changes. `today`: what has to be done before dark for it.
    """

    kind: str
    said: str
    farm: Farm
    plan: Plan
    cost: float | None
    terms: tuple[Term, ...]
    odds: tuple[Odds, ...]
    mends: tuple[str, ...]
    leaves: tuple[str, ...]
    new: tuple[str, ...]
    verified: bool
    moved: int
    today: tuple[str, ...] = ()
    found: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Number:
    """A number that the trouble asks for, and the sentence that says it. `name` ends in its unit; `of`: the
    batch, place, feed or order; `on` its day. `value` None: nobody has told it, or it is none."""

    name: str
    value: float | None
    said: str
    of: str | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Replanned:
    """The whole answer, on day `day`. `alive` by place; `mixed`: groups of places whose birds are together
    and not told apart. `broken`: by day, with what was broken before. `first`: the first that is new (of all
    where none is). `lost`: money still to come in the plan before, less that now; None where a price is
    lacking. `mends`: verified first, then by cost. `unsure`: what this reckoning does not see. `stop`: what
    must be said before all else, whatever the numbers say. `dark_at`: when the sun sets that day, None where
    it does not."""

    farm: Farm
    plan: Plan
    at: datetime
    day: date
    facts: tuple[str, ...]
    alive: tuple[Alive, ...]
    mixed: tuple[tuple[str, ...], ...]
    broken: tuple[Broken, ...]
    first: Broken | None
    odds: tuple[Odds, ...]
    money_before: float | None
    money_now: float | None
    mends: tuple[Mend, ...]
    tried: int
    today: tuple[str, ...]
    cautions: tuple[str, ...]
    learn: tuple[str, ...]
    unsure: tuple[str, ...] = ()
    numbers: tuple[Number, ...] = ()
    stop: str | None = None
    dark_at: datetime | None = None

    @property
    def lost(self) -> float | None:
        if self.money_before is None or self.money_now is None:
            return None
        return self.money_before - self.money_now
