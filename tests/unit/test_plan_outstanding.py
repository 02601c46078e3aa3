"""What was killed already is wished for no more, as far as it was killed for this plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.record import BatchFacts, Count, State
from leyfold.plan.asked import outstanding
from random_farms import random_farm

FIRST, BEFORE, SINCE = date(2027, 1, 1), date(2026, 6, 1), date(2027, 6, 1)


def _farm() -> Farm:
    return random_farm(0, "small").farm


def _left(killed: dict[str, list[Count]], *, every_d: int | None = None, line: str | None = None) -> int:
    farm = _farm()
    wish = Wish("table", "table birds", 40, date(2027, 9, 1), 0.8, line, every_d=every_d)
    facts = {
        f"b{i}": BatchFacts(f"b{i}", of, "set", killed=tuple(counts))
        for i, (of, counts) in enumerate(killed.items())
    }
    return outstanding(replace(farm, wishes=(wish,)), State(batches=facts), FIRST).wishes[0].number


def test_birds_killed_before_the_plan_begins_keep_no_wish_of_it() -> None:
    line = next(iter(_farm().lines))
    assert _left({line: [Count(BEFORE, 60, "cockerel")]}) == 40
    assert _left({line: [Count(BEFORE, 60, "cockerel"), Count(SINCE, 15, "cockerel")]}) == 25
    assert _left({line: [Count(SINCE, 60, "cockerel")]}) == 0


def test_of_their_own_line_and_no_pullets_and_not_where_the_wish_comes_back() -> None:
    line = next(iter(_farm().lines))
    assert _left({"other": [Count(SINCE, 15, "cockerel")]}, line=line) == 40
    assert _left({"other": [Count(SINCE, 15, "cockerel")]}) == 25
    assert _left({line: [Count(SINCE, 15, "pullet")]}) == 40
    assert _left({line: [Count(SINCE, 15, "cockerel")]}, every_d=14) == 40
