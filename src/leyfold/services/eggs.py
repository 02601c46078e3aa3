"""How many eggs to set for a number of birds at a chance, and how sure the usual sum is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import starmap
from math import ceil
from pathlib import Path

import numpy as np

from leyfold.farm.read import FARM_FILE
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.season.chance import Counting, Spread, What
from leyfold.season.chances.whole import Number, binomial
from leyfold.season.complete import complete
from leyfold.services.opened import open_farm
from leyfold.words import say
from leyfold.words.forms import day as spoken_day
from leyfold.words.forms import number as spoken

__all__ = ["SPREADS", "Answer", "EggsAnswer", "Question", "Setting", "TestSet", "eggs_for"]

SPREADS: tuple[Spread, ...] = ("chance alone", "batches", "shared")
USUAL_CHANCE = 0.9
SAFE = 0.95
TEST_SETS = ((20, 18), (20, 16), (24, 22), (24, 20))
"""Eggs in a test set, and how many of them fertile: a good and a middling one of each size."""
INTERVAL = 0.9
POOR_FERTILITY = 0.5
"""Share of fertile eggs where half of the cocks do nothing: the fault a test set is for."""


@dataclass(frozen=True, slots=True)
class Question:
    """`number` of `what` by `on` at `chance`; `wish` is the farm's wish it comes from, None where asked."""

    what: What
    number: int
    on: date
    chance: float
    line: str | None
    wish: str | None
    aged_d: int = 0


@dataclass(frozen=True, slots=True)
class Setting:
    """Eggs in each of the sets, and what comes of them when `spread` is what differs between years."""

    spread: Spread
    eggs: int
    chance: float
    mean: float
    low: int
    high: int
    safe: int


@dataclass(frozen=True, slots=True)
class Answer:
    """`sets`: ids of the sets whose eggs are still free to choose; `needed`: the smallest equal sets that
    meet the chance, by spread, None where no number that fits the incubators does; `usual`: the number
    wanted over the average rate, judged with batches that vary; `as_planned`: the plan's own eggs.
    `gathering_d`: days for the breeding pens to lay one of the sets needed, None where unknown; eggs kept
    for more than `fresh_d` days lose hatch fast."""

    question: Question
    sets: tuple[str, ...]
    places: int
    needed: tuple[Setting | None, ...]
    usual: Setting
    as_planned: Setting
    gathering_d: float | None
    fresh_d: float


@dataclass(frozen=True, slots=True)
class TestSet:
    """`fertile` of `eggs` found fertile: the fertility lies within `low`..`high` nine times in ten (an even
    prior); `missed`: the chance that so many or more come of a pen whose fertility is one half."""

    eggs: int
    fertile: int
    low: float
    high: float
    missed: float

    __test__ = False


@dataclass(frozen=True, slots=True)
class EggsAnswer:
    farm: Farm
    answers: tuple[Answer, ...]
    tests: tuple[TestSet, ...]
    inputs_sha256: str


def eggs_for(
    where: Path,
    at: datetime,
    *,
    pullets: float | None = None,
    table_birds: float | None = None,
    by: date | None = None,
    chance: float | None = None,
) -> EggsAnswer:
    """Answers for the numbers asked for, else for every wish of the farm for pullets or table birds.

    BadInput where a number, a chance or a date cannot be, and where the number is beyond anything the
    plan's sets could hold.
    """
    opened = open_farm(where, at)
    questions = _questions(opened.farm, pullets, table_birds, by, chance)
    plan = complete(opened.farm, opened.ahead)
    in_machine = {name for name, facts in opened.state.batches.items() if facts.eggs is not None}
    answers = tuple(_answer(opened.farm, plan, in_machine, q) for q in questions)
    return EggsAnswer(opened.farm, answers, tuple(starmap(_test, TEST_SETS)), opened.sha256)


def _questions(
    farm: Farm, pullets: float | None, table_birds: float | None, by: date | None, chance: float | None
) -> list[Question]:
    if chance is not None and not 0.0 < chance < 1.0:
        raise _wrong("--chance", "chance", chance=f"{chance:g}")
    asked: tuple[tuple[What, float | None], ...] = (("pullets", pullets), ("table birds", table_birds))
    wishes = [w for w in farm.wishes if w.what != "eggs a day"]
    questions = []
    for what, number in asked:
        like = next((w for w in wishes if w.what == what), None)
        if number is None:
            continue
        if not number >= 1 or number % 1:  # true of what is no number, too
            raise _wrong(f"--{what.replace(' ', '-')}", "number", number=f"{number:g}")
        on = by or (like.on if like else None)
        if on is None:
            raise _wrong("--by", "no_date")
        usual = like.chance if like else USUAL_CHANCE
        questions.append(Question(what, int(number), on, chance or usual, like.line if like else None, None))
    if questions:
        return questions
    if not wishes:
        raise _wrong("wishes", "no_wish", file=FARM_FILE)
    return [_of_wish(wish, by, chance) for wish in wishes]


def _of_wish(wish: Wish, by: date | None, chance: float | None) -> Question:
    assert wish.what != "eggs a day"
    return Question(
        wish.what, wish.number, by or wish.on, chance or wish.chance, wish.line, wish.id, wish.aged_d
    )


def _wrong(field: str, key: str, *, file: str = "leyfold eggs", **values: object) -> BadInput:
    return BadInput(Fault(file, field, say(f"eggs.{key}", **values), say(f"eggs.{key}_mend", **values)))


def _answer(farm: Farm, plan: Plan, in_machine: set[str], q: Question) -> Answer:
    countings = {spread: Counting(farm, plan, q.what, q.on, spread, q.line, q.aged_d) for spread in SPREADS}
    free = [b for b in countings["batches"].batches if b.origin == "set" and b.id not in in_machine]
    if not free:
        raise _wrong(
            "--by",
            "no_set_hatches" if q.what == "pullets" else "no_set_killed",
            by=spoken_day(q.on, farm.holding.language),
        )
    names = tuple(batch.id for batch in free)
    places = _places(farm, free)

    def of(eggs: int, spread: Spread = "batches") -> Setting:
        birds = countings[spread].number(dict.fromkeys(names, eggs))
        return _setting(spread, eggs, q, birds)

    _check_within_reach(farm, q, len(names), places, of)
    none, hundred = of(0).mean, of(100).mean
    usual = of(max(ceil(100 * (q.number - none) / (hundred - none) - 1e-9), 0))
    needed = tuple(_needed(of, spread, q.chance, usual.eggs, places) for spread in SPREADS)
    as_planned = _setting(
        "batches", round(sum(b.eggs or 0 for b in free) / len(free)), q, countings["batches"].number()
    )
    fresh = min(farm.lines[batch.line].storage_late_from_d.value for batch in free)
    return Answer(q, names, places, needed, usual, as_planned, _gathering(farm, free, needed[1]), fresh)


def _places(farm: Farm, free: list[Batch]) -> int:
    """Eggs that all incubators owned on its day could hold, in the set that has the fewest."""
    return min(
        sum(kit.eggs for kit in farm.incubators.values() if b.set_on is not None and kit.owned(b.set_on))
        for b in free
    )


def _check_within_reach(farm: Farm, q: Question, sets: int, places: int, of: Callable[..., Setting]) -> None:
    """Refuses a number that would not be reached at the chance wished with every place full, even if all
    batches were alike."""
    best = of(places, "chance alone")
    if best.chance >= q.chance:
        return
    language = farm.holding.language
    raise _wrong(
        f"--{q.what.replace(' ', '-')}" if q.wish is None else f"wishes.{q.wish}",
        "beyond_pullets" if q.what == "pullets" else "beyond_table_birds",
        file="leyfold eggs" if q.wish is None else FARM_FILE,
        number=spoken(q.number, 0, language),
        by=spoken_day(q.on, language),
        sets=sets,
        places=spoken(places, 0, language),
        wished=f"{100 * q.chance:g}",
        mean=spoken(best.mean, 0, language),
        safe=spoken(best.safe, 0, language),
    )


def _needed(
    of: Callable[[int, Spread], Setting], spread: Spread, chance: float, start: int, places: int
) -> Setting | None:
    """The smallest equal sets that reach the chance: more eggs never make it less likely."""
    low, high = -1, min(max(start, 1), places)
    while (found := of(high, spread)).chance < chance:
        if high == places:
            return None
        low, high = high, min(high + max(high // 4, 8), places)
    while high - low > 1:
        middle = (low + high) // 2
        tried = of(middle, spread)
        if tried.chance >= chance:
            high, found = middle, tried
        else:
            low = middle
    return found


def _gathering(farm: Farm, free: list[Batch], needed: Setting | None) -> float | None:
    """Days in which the breeding pens of the sets' lines lay the settable eggs of one set."""
    lines = {batch.line for batch in free}
    pens = [pen for pen in farm.pens.values() if pen.line in lines]
    if needed is None or not pens or len(lines) > 1:
        return None
    a_day = 0.0
    for pen in pens:
        if pen.lay_share is None or pen.settable_share is None:
            return None
        a_day += pen.hens * pen.lay_share * pen.settable_share
    return needed.eggs / a_day if a_day > 0 else None


def _test(eggs: int, fertile: int) -> TestSet:
    from scipy.special import betaincinv

    tail = (1.0 - INTERVAL) / 2.0
    low, high = (float(betaincinv(fertile + 1, eggs - fertile + 1, q)) for q in (tail, 1.0 - tail))
    missed = Number(binomial(eggs, np.array(POOR_FERTILITY))).at_least(fertile)
    return TestSet(eggs, fertile, low, high, missed)


def _setting(spread: Spread, eggs: int, q: Question, birds: Number) -> Setting:
    return Setting(
        spread,
        eggs,
        birds.at_least(q.number),
        birds.mean,
        birds.quantile(0.05),
        birds.quantile(0.95),
        birds.safe(SAFE),
    )
