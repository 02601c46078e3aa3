"""The whole answer when something happened."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Record
from leyfold.nouns.replanned import Replanned
from leyfold.plan.replan.book import standing
from leyfold.plan.replan.case import opened_case
from leyfold.plan.replan.course import bent
from leyfold.plan.replan.judge import marked, mends, odds
from leyfold.plan.replan.look import look
from leyfold.plan.replan.numbers.of_kind import numbers
from leyfold.plan.replan.numbers.view import View
from leyfold.plan.replan.suppose import Supposed
from leyfold.plan.replan.today import before_dark, cautions, dark_at, lessons, unsure
from leyfold.plan.replan.told import Told
from leyfold.words import say

__all__ = ["replan"]


def replan(
    described: Farm, plan: Plan, records: Sequence[Record], at: datetime, supposed: Sequence[Supposed] = ()
) -> Replanned:
    """What became of `plan` (as written) on the farm as described, by its records up to `at` and by what is
    supposed besides; and the mends. Repeatable: nothing depends on the clock of the machine.

    BadInput where what is supposed cannot have happened, and as the plan itself.
    """
    before_case, case = opened_case(described, plan, records, at, supposed)
    told = Told(described.holding.language)
    before = look(before_case, before_case.plan, drawn=True)
    nothing = bent(case)
    drawn = look(case, nothing, drawn=True)
    by_means = look(case, nothing, drawn=False)
    found, tried = mends(before, by_means, drawn)
    broken = marked(before, drawn)
    alive = standing(case.farm, case.state, case.day)
    best = next((m for m in found if m.verified), None)
    return Replanned(
        farm=case.farm,
        plan=nothing,
        at=at,
        day=case.day,
        facts=tuple(s.text for s in case.supposed),
        alive=alive,
        mixed=case.mixed,
        broken=broken,
        first=next((b for b in broken if not b.before), next(iter(broken), None)),
        odds=odds(before, drawn),
        money_before=before.money,
        money_now=drawn.money,
        mends=found,
        tried=tried,
        today=before_dark(case, alive, best),
        cautions=cautions(case, found),
        learn=lessons(case),
        unsure=unsure(case, told, drawn.unpriced),
        numbers=numbers(View(before, drawn, by_means, records)),
        stop=say("replan.stop") if case.of("signs") else None,
        dark_at=dark_at(case),
    )
