"""Birds from elsewhere for what a wish lacks: pullets near lay, or day-olds as hatched, brooded here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, sqrt
from statistics import NormalDist

from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.replanned import Term
from leyfold.nouns.stock import Line
from leyfold.plan.offers import Ages, offers_of
from leyfold.plan.ways.kit import new_name
from leyfold.reckoning.rates import Rates
from leyfold.season.dates import Window
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

__all__ = ["READY_D", "Coming", "day_olds", "near_lay"]

READY_D = 14
"""Days until what is asked for today stands on the farm. A guess."""
BEFORE_LAY_D = 7
SPARE = (0.04, 0.15)
"""So many pullets more are bought, as a share of the wish: chances are checked after it."""
LAID = (0.75, 0.55, 0.4)
"""Eggs a day that a hen bought is counted for: in long days, in short ones, and with many of them lost. A
guess."""
FULL_LAY_D = 35
"""Days from point of lay until a flock is in full lay, about."""
LEAST_SHARE = 0.05
"""Of a wish that parts of sets would keep, so much is bought at the least."""
TIMES = ((1.0, 0), (1.3, 0), (1.0, 21), (1.0, 42))
"""So many times the day-olds that are needed on average come so many days sooner than they must: more where
they do not suffice, sooner where brooders or shelters are full then."""
DOZEN = 12
AGES: tuple[Ages, ...] = (((0, 1.0),), ((-14, 1.0),))
"""Killing at the line's age, or a fortnight sooner."""


@dataclass(frozen=True, slots=True)
class Coming:
    """A batch from elsewhere, what is said of it, and what the reckoning of its plan does not know of it."""

    id: str
    said: str
    batch: Batch
    terms: tuple[Term, ...] = ()


def near_lay(farm: Farm, plan: Plan, wish: Wish, share: float, day: date) -> Iterator[Coming]:
    """Pullets a week before they lay, for pullets; in full lay by the day, for eggs: what they cost is in the
    reckoning of the plan."""
    if wish.what == "table birds":
        return
    line, share = _line(farm, wish), max(share, LEAST_SHARE)
    soonest = day + timedelta(days=READY_D)
    lays = round(line.point_of_lay_d.value)
    if wish.what == "pullets":
        numbers = [min(ceil((share + spare) * wish.number), wish.number) for spare in SPARE]
        comes, age_d = max(wish.on - timedelta(days=BEFORE_LAY_D), soonest), lays - BEFORE_LAY_D
    else:
        numbers = [ceil(share * wish.number / laid) for laid in LAID]
        # They come while they may still get used to the place; how near to lay hangs on how soon it is.
        comes = max(wish.on - timedelta(days=FULL_LAY_D + BEFORE_LAY_D), soonest)
        age_d = max(lays + FULL_LAY_D - max((wish.on - comes).days, 0), lays - BEFORE_LAY_D)
    house = next((name for name, kit in farm.houses.items() if kit.owned(comes)), None)
    name = new_name("bought", (b.id for b in plan.batches))
    key = "ways.bought" if age_d < lays else "ways.bought_laying"
    for number in dict.fromkeys(max(number, 1) for number in numbers):
        batch = Batch(
            name, line.id, "bought", comes - timedelta(days=age_d), comes,
            heads={"pullet": float(number), "cockerel": 0.0}, turnout_on=comes, sort_on=comes,
            house_on=comes, house=house,
        )  # fmt: skip
        said = say(key, n=number, on=spoken_day(comes, farm.holding.language))
        yield Coming(f"bought:{number}", said, batch)


def day_olds(farm: Farm, plan: Plan, wish: Wish, share: float, day: date, last: date) -> Iterator[Coming]:
    """Day-olds as hatched that have grown up by the day: pullets to go to the house, cockerels to be killed,
    hens in lay. On the last day on which that can be, and sooner."""
    line, share = _line(farm, wish), max(share, LEAST_SHARE)
    grown_d = {
        "pullets": max(line.house_d.value, wish.aged_d),
        "table birds": line.kill_d.value,
        "eggs a day": line.point_of_lay_d.value + FULL_LAY_D,
    }[wish.what]
    chicks = _chicks(line, wish, share)
    known = Rates(farm).has("day_old")
    for times, sooner in TIMES:
        many = DOZEN * ceil(times * chicks / DOZEN)
        comes = wish.on - timedelta(days=round(grown_d) + sooner)
        if comes < day + timedelta(days=READY_D):
            continue
        batch = _reared(farm, plan, line, wish, comes, last, many)
        if batch is not None:
            said = say("ways.day_olds", n=many, on=spoken_day(comes, farm.holding.language))
            terms = () if known else (Term("day_old", None),)
            yield Coming(f"day_olds:{many}:{sooner}", said, batch, terms)


def _line(farm: Farm, wish: Wish) -> Line:
    return farm.lines[wish.line or next(iter(farm.lines))]


def _chicks(line: Line, wish: Wish, share: float) -> int:
    """As many as bring a share of the wish at its chance, in dozens: half of them are of the other sex, and
    some die."""
    birds = share * wish.number / (LAID[0] if wish.what == "eggs a day" else 1.0)
    pullets = line.share_pullets.value
    of_sex = 1.0 - pullets if wish.what == "table birds" else pullets
    alive = line.survival_first_week.value * line.survival_brooder.value * line.survival_shelter.value
    z = max(NormalDist().inv_cdf(min(max(wish.chance, 0.01), 0.999)), 0.0)
    birds += z * sqrt(birds * (1.0 - of_sex))
    return DOZEN * ceil(birds / (of_sex * alive) / DOZEN)


def _reared(
    farm: Farm, plan: Plan, line: Line, wish: Wish, comes: date, last: date, chicks: int
) -> Batch | None:
    """The batch with its steps on the days of a set of its own that hatched on that day; None where chicks of
    that day cannot go through every step."""
    laid = comes - timedelta(days=round(line.incubation_d.value))
    span = Window(laid, (last - laid).days + 1)
    offer = next(iter(offers_of(farm, span, line, laid, waits_d=(0,), ages=AGES)), None)
    if offer is None:
        return None
    on_time = (ways for ways in offer.drafts if wish.what != "table birds" or ways[-1].on <= wish.on)
    drafts = next(on_time, None)
    if drafts is None:
        return None
    pullets = line.share_pullets.value
    return Batch(
        new_name("day-olds", (b.id for b in plan.batches)), line.id, "bought", comes, comes,
        heads={"pullet": chicks * pullets, "cockerel": chicks * (1.0 - pullets)},
        turnout_on=offer.turnout_on, sort_on=offer.sort_on, house_on=offer.house_on, drafts=drafts,
        house=next((name for name, kit in farm.houses.items() if kit.owned(offer.house_on)), None),
    )  # fmt: skip
