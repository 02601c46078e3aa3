"""The planner's machines whose hatcher is another: free when the eggs go there, and the hatcher shared."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import floor
from pathlib import Path

import pytest

from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.planned import Planned
from leyfold.nouns.record import State
from leyfold.plan.build import build
from leyfold.plan.checker import check
from leyfold.plan.levels import first_guess
from leyfold.plan.linear import Linear
from leyfold.plan.make import posed, solve_problem
from leyfold.plan.model import MONEY, Model
from leyfold.plan.solver import solve_cpsat
from leyfold.reckoning.reckon import reckon
from leyfold.season.dates import LIFT_BEFORE_D
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm

AT = datetime(2026, 12, 21, 6, tzinfo=UTC)
DAY = AT.date()
HATCHER = 104


def _farm(hatcher: int | None = HATCHER) -> tuple[Farm, Plan]:
    """The demo farm with nothing wished, no pen and one machine of 168 places."""
    opened = open_farm(Path(__file__).resolve().parents[2] / "examples" / "demo", AT)
    machine = replace(opened.farm.incubators["cabinet"], eggs=168, hatcher_eggs=hatcher)
    farm = replace(opened.farm, wishes=(), pens={}, incubators={"cabinet": machine})
    return farm, replace(opened.ahead, batches=(), stays=(), outs=())


def _there(farm: Farm, set_on: date, eggs: int) -> Batch:
    line = next(iter(farm.lines.values()))
    hatch = set_on + timedelta(days=round(line.incubation_d.value))
    return Batch(
        id="there", line=line.id, origin="set", hatched_on=hatch, arrives_on=hatch, set_on=set_on, eggs=eggs,
        stored_d=3, incubator="cabinet",
    )  # fmt: skip


def _most_trays(model: Model, day: date) -> int:
    """The most trays of one set that the machine takes on a day, were there nothing else to mind."""
    first = next(o for o, offer in enumerate(model.problem.offers) if offer.set_on == day)
    own = model.machine[first, "cabinet"].trays
    rows = [row for row in model.linear.rows if row.group == "incubators"]
    alone = Linear([*model.linear.low], [*model.linear.high], rows, {own: MONEY})
    return round(solve_cpsat(alone, effort=1.0, seconds=20.0).gain / MONEY)


def _model(hatcher: int | None, back_d: int, eggs: int) -> Model:
    """The model with a set already in the machine, set so many days before the first on offer."""
    farm, plan = _farm(hatcher)
    there = _there(farm, DAY - timedelta(days=back_d), eggs)
    problem = posed(farm, State(), replace(plan, batches=(there,)), AT)
    return build(problem, first_guess(problem))


@pytest.mark.parametrize("back_d", [1, 2, 3, 4])
def test_a_set_shares_the_hatcher_with_one_already_there(back_d: int) -> None:
    eggs = 66
    model = _model(HATCHER, back_d, eggs)
    tray, line = model.tray, next(iter(model.problem.farm.lines.values()))
    room = HATCHER - (eggs * line.fertility.value if back_d < LIFT_BEFORE_D else 0.0)
    in_hatcher = floor(room / (tray * line.fertility.value))
    assert _most_trays(model, DAY) == min((168 - eggs) // tray, in_hatcher)


@pytest.mark.parametrize(("hatcher", "back_d", "most"), [(168, 18, 168), (168, 17, 66), (None, 18, 66)])
def test_places_are_free_when_the_eggs_go_to_a_hatcher_of_its_own(
    hatcher: int | None, back_d: int, most: int
) -> None:
    model = _model(hatcher, back_d, 102)
    offered = max(
        trays for offer, trays in zip(model.problem.offers, model.most, strict=True) if offer.set_on == DAY
    )
    assert 66 // model.tray < offered < 168 // model.tray  # by the brooders
    assert _most_trays(model, DAY) == min(most // model.tray, offered)


@pytest.mark.parametrize("back_d", [2, 17, 18, 20])
def test_current_is_paid_while_some_eggs_are_in_the_machine_or_its_hatcher(back_d: int) -> None:
    farm, plan = _farm()
    asked = replace(farm.planning, set_until=date(2027, 1, 24))
    farm = replace(farm, wishes=(Wish("some", "pullets", 20, date(2027, 9, 1), 0.5),), planning=asked)
    there = _there(farm, DAY - timedelta(days=back_d), 60)
    problem = posed(farm, State(), replace(plan, batches=(there,)), AT)
    answer = solve_problem(problem, seconds=20.0).outcome
    assert isinstance(answer, Planned)
    assert answer.objective == pytest.approx(reckon(farm, expect(farm, answer.completed)).total(), abs=0.01)
    assert not [f for f in check(farm, answer.completed) if f.what in ("incubator", "hatcher")]
