"""One thing that might be done, as a plan to be judged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.replanned import Term
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.look import Look
from leyfold.plan.replan.told import Told
from leyfold.reckoning.rates import Rates

__all__ = ["A_DAY", "Idea", "batches_in", "open_days", "price", "put", "tell", "term", "to_come"]

A_DAY = timedelta(days=1)
SOMEBODY = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Idea:
    """`plan` is dated and not completed; `case` is the one judged in: the mend may add kit, hands or stores
    to it. `moved` counts what it changes; `today` is what it asks before dark."""

    kind: str
    said: str
    case: Case
    plan: Plan
    terms: tuple[Term, ...] = ()
    moved: int = 1
    today: tuple[str, ...] = ()


def tell(case: Case) -> Told:
    """How the farm of the case says numbers and days."""
    return Told(case.farm.holding.language)


def put(plan: Plan, batch: Batch) -> Plan:
    """`plan` with another version of one batch."""
    return replace(plan, batches=tuple(batch if b.id == batch.id else b for b in plan.batches))


def batches_in(now: Look, place: str, on: date) -> list[Batch]:
    """Batches that stand in a place on a day, the most heads first."""
    at = now.season.index(on)
    heads: dict[str, float] = {}
    for i, lot in enumerate(now.season.lots):
        if lot.place == place and 0 <= at < now.season.days and now.season.heads[i, at] >= SOMEBODY:
            heads[lot.batch] = heads.get(lot.batch, 0.0) + float(now.season.heads[i, at])
    return sorted((b for b in now.plan.batches if b.id in heads), key=lambda b: -heads[b.id])


def open_days(case: Case, batch: str, near: date, *, first: date, last: date) -> Iterator[date]:
    """Days on which a batch may be killed, from `near` outwards, the sooner of two first."""
    weekdays = case.farm.planning.kill_weekdays
    names = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    span = sorted(
        (first + timedelta(days=i) for i in range(max((last - first).days + 1, 0))),
        key=lambda d: (abs((d - near).days), d),
    )
    for on in span:
        if names[on.weekday()] in weekdays and not case.shut(on) and case.stopped(batch, on) is None:
            yield on


def to_come(batch: Batch, day: date) -> Sequence[Draft]:
    """Drafts of a batch that still take somebody, that of the day itself among them."""
    return [d for d in batch.drafts if d.on >= day and d.share > 0]


def price(case: Case, rate: str) -> float | None:
    """What one unit costs on this farm; None where it names no price."""
    rates = Rates(case.farm)
    return rates[rate].figure.value if rates.has(rate) else None


def term(case: Case, what: str, rate: str, amount: float, *, guess: bool = False) -> Term:
    """`amount` of something at the farm's price."""
    each = price(case, rate)
    return Term(what, None if each is None else each * amount, guess)
