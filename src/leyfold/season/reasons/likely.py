"""The chance of a wish, batch by batch: how many birds are due, how far years differ, and what follows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from statistics import NormalDist

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.why import Step
from leyfold.season.chance import counted, number_by
from leyfold.season.chances.luck import hatch_chance
from leyfold.season.chances.whole import Number
from leyfold.season.reasons.heads import chicks
from leyfold.season.reasons.lot import given, renamed, step, told_by, written
from leyfold.season.reasons.scope import Ask, Scope
from leyfold.season.reasons.sums import of_day, of_days
from leyfold.season.wished import wish_chances
from leyfold.words import say

__all__ = ["bird_wishes", "chance_of"]


def bird_wishes(scope: Scope) -> dict[str, Wish]:
    """Wishes for so many birds: what is counted from tried seasons alone has no sum to show."""
    return {wish.id: wish for wish in scope.farm.wishes if wish.what != "eggs a day"}


def chance_of(scope: Scope, ask: Ask) -> tuple[Wish, Step]:
    """The wish named, or the one least likely to be met, and the sum behind its chance."""
    wishes = bird_wishes(scope)
    if not wishes:
        wrong = say("why.no_wish")
        raise BadInput(Fault("leyfold why", str(ask), wrong, say("why.no_wish_mend")))
    named = [wishes[ask.picks["wish"]]] if "wish" in ask.picks else list(wishes.values())
    rows = wish_chances(replace(scope.farm, wishes=tuple(named)), scope.season.plan)
    row, wish = min(zip(rows, named, strict=True), key=lambda pair: pair[0].chance)
    # A wish that comes back wants all its birds so far.
    times = 1 + ((row.on - wish.on).days // wish.every_d if wish.every_d else 0)
    return replace(wish, on=row.on), _chance(scope, wish, row.on, times * wish.number, row.chance)


def _chance(scope: Scope, wish: Wish, on: date, wanted: int, chance: float) -> Step:
    """The normal curve through what is due and how far years differ, and what the exact sum adds to it."""
    plan = scope.season.plan
    assert wish.what != "eggs a day"
    dues, variances = [], []
    for batch in counted(scope.farm, plan, wish.what, on, wish.line, wish.aged_d):
        alone = number_by(scope.farm, _only(plan, batch), wish.what, on, line=wish.line, aged_d=wish.aged_d)
        if alone.mean == 0.0:
            continue
        expected = _expected(scope, wish, on, batch)
        dues.append(_due(expected, batch, alone))
        variances.append(_variance(scope, expected, batch, alone))
    due, variance = _whole("due", dues, "head"), _whole("variance", variances, "1")
    spread = step("spread", math.sqrt(variance.value), "head", "variance ** 0.5", variance)
    number = written("wanted", wanted, "head", say("why.source_wish", wish=wish.id), "farm file")
    finer = say("why.source_whole")
    if spread.value == 0.0:
        exact = written("finer", chance, "share", finer, "standard")
        return step("chance", chance, "share", "finer", exact, due, number)
    normal = NormalDist().cdf((due.value + 0.5 - wanted) / spread.value)
    formula = "normal((due + 0.5 - wanted) / spread)"
    rough = step("rough", normal, "share", formula, due, number, spread)
    exact = written("finer", chance - normal, "share", finer, "standard")
    return step("chance", chance, "share", "rough + finer", rough, exact)


def _whole(key: str, parts: Sequence[Step], unit: str) -> Step:
    total = math.fsum(part.value for part in parts)
    ordered = sorted(parts, key=lambda part: -part.value)
    return Step(key, say(f"why.name_{key}"), total, unit, None, tuple(ordered))


def _only(plan: Plan, batch: Batch) -> Plan:
    return replace(
        plan,
        batches=(batch,),
        stays=tuple(s for s in plan.stays if s.batch == batch.id),
        outs=tuple(o for o in plan.outs if o.batch == batch.id),
    )


def _expected(scope: Scope, wish: Wish, on: date, batch: Batch) -> Step | None:
    """The birds of the season expected; None where the wish lies outside it."""
    if wish.what == "pullets":
        ask = Ask("heads", "day", {"batch": batch.id, "sex": "pullet"})
        return of_day(scope, ask, on) if scope.first <= on <= scope.last else None
    if on < scope.first:
        return None
    ask = Ask("killed", "season", {"batch": batch.id, "sex": "cockerel"})
    return of_days(scope, ask, scope.first, min(on, scope.last))


def _due(expected: Step | None, batch: Batch, alone: Number) -> Step:
    """Birds of one batch on average: those of the season, and what whole birds and fox nights change."""
    exact = say("why.source_whole")
    if expected is None:
        mean = written("mean", alone.mean, "head", exact, "standard")
        return Step("due", batch.id, alone.mean, "head", "mean", (mean,))
    own = renamed(expected, "expected")
    foxes = written("foxes", alone.mean - expected.value, "head", exact, "standard")
    return Step("due", batch.id, alone.mean, "head", "expected + foxes", (own, foxes))


def _variance(scope: Scope, expected: Step | None, batch: Batch, alone: Number) -> Step:
    """The square of how far one batch differs: its hatch, the toss of sexes and losses, and the rest."""
    value, exact = alone.sd**2, say("why.source_whole")
    line = scope.farm.lines[batch.line]
    if batch.origin != "set" or expected is None or expected.value <= 0.0:
        whole = written("rest_of_it", value, "1", exact, "standard")
        return Step("variance", batch.id, value, "1", "rest_of_it", (whole,))
    eggs, chance = hatch_chance(batch, line)
    hatched = chicks(scope.bird_of(batch))
    source, evidence = told_by(batch.id, scope.recorded)
    number = written("eggs_in", eggs, "eggs", source, evidence)
    hatch = step("hatch", chance, "share", "chicks / eggs_in", hatched, number)
    part = expected.value / hatched.value
    kept = step("counted", part, "share", "expected / chicks", renamed(expected, "expected"), hatched)
    steady = given("steady", line.hatch_concentration)
    hatching = step(
        "by_hatch",
        eggs * chance * (1 - chance) * (1 + (eggs - 1) / (steady.value + 1)) * part**2,
        "1",
        "eggs_in * hatch * (1 - hatch) * (1 + (eggs_in - 1) / (steady + 1)) * counted ** 2",
        *(number, hatch, steady, kept),
    )
    tossed = eggs * chance * part * (1 - part)
    formula = "chicks * counted * (1 - counted)"
    toss = step("by_toss", tossed, "1", formula, hatched, kept)
    rest = written("rest_of_it", value - hatching.value - tossed, "1", exact, "standard")
    return Step("variance", batch.id, value, "1", "by_hatch + by_toss + rest_of_it", (hatching, toss, rest))
