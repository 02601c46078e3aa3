"""Whatever a farm may write for a figure of its birds, there is a season, or a reason in words why not."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta

import pytest

from farms import farm, line, mine
from leyfold.farm.tables import table
from leyfold.nouns.errors import BadInput
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.stock import SEXES, Line
from leyfold.season.expect import expect

HATCH = date(2027, 3, 22)
SET = Batch("a", "tawny", "set", HATCH, HATCH, HATCH - timedelta(days=21), 100, stored_d=10)
HENS = Batch("b", "tawny", "present", date(2026, 3, 2), HATCH, heads={"pullet": 50.0, "cockerel": 0.0})

IN_ORDER = {
    ("storage_free_d", "most"),
    ("storage_late_from_d", "least"),
    ("light_dark_h", "most"),
    ("light_full_h", "least"),
}
"""These would stand before or after their neighbours, which reading the farm refuses."""

CURVE = {"hatch_kg", "known_age_d", "known_weight_kg", "grower_from_d"}
"""These become a growth curve or a feed's first day when the farm is read."""


def with_figure(made: Line, name: str, value: float) -> Line:
    """The line with one figure changed, wherever the line has it."""
    figure = mine(value)
    if name in {f.name for f in fields(made)}:
        return replace(made, **{name: figure})  # type: ignore[arg-type]
    if name in {f.name for f in fields(made.hen)}:
        return replace(made, hen=replace(made.hen, **{name: figure}))
    for sex in SEXES:
        traits = made.of(sex)
        if name in {f.name for f in fields(traits)}:
            traits = replace(traits, **{name: figure})  # type: ignore[arg-type]
        else:
            traits = replace(traits, growth=replace(traits.growth, **{name: figure}))  # type: ignore[arg-type]
        made = replace(made, **{sex: traits})  # type: ignore[arg-type]
    return made


BOUNDS = [
    (name, bound, entry[bound])
    for name, entry in table("stock").items()
    for bound in ("least", "most")
    if bound in entry and name not in CURVE and (name, bound) not in IN_ORDER
]


@pytest.mark.parametrize(("name", "bound", "value"), BOUNDS)
def test_a_figure_at_its_bound_gives_a_season_or_a_reason(name: str, bound: str, value: float) -> None:
    kit = farm(lines={"tawny": with_figure(line(), name, value)})
    refused = ""
    try:
        assert float(expect(kit, Plan((SET, HENS))).feed_kg.sum()) > 0
    except BadInput as wrong:
        refused = str(wrong)
    # More kept in the body or the egg than any feed brings is refused, with the bird named.
    greedy = bound == "most" and name.endswith(("_per_gain", "_per_egg_kg"))
    assert not refused or (greedy and "Tawny" in refused)
