"""Seasons at the ends of the range: no eggs, no losses, one sex, nowhere to go, years that turn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from farms import farm, line, mine
from leyfold.nouns.plan import Batch, Plan
from leyfold.nouns.season import Season
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.expect import expect
from leyfold.season.weeks import weeks

EXACT = 1e-9
FARM = farm()
DAILY = (
    "heads",
    "dead",
    "killed",
    "killed_kg",
    "feed_kg",
    "water_l",
    "n_kg",
    "p_kg",
    "k_kg",
    "eggs",
    "egg_kg",
)
SURVIVALS = ("survival_first_week", "survival_brooder", "survival_shelter")


def daily(season: Season, name: str) -> dict[tuple[str, Sex], np.ndarray]:
    """Sums over the lots of each sex of the one batch, [day]."""
    values = getattr(season, name)
    of = {sex: [i for i, lot in enumerate(season.lots) if lot.sex == sex] for sex in SEXES}
    return {("a", sex): values[of[sex]].sum(axis=0) for sex in SEXES}


def a_set(eggs: int = 100, on: date = date(2027, 3, 1), **more: Any) -> Batch:
    hatch = on + timedelta(days=21)
    return Batch("a", "tawny", "set", hatch, hatch, on, eggs, **more)


def test_no_eggs_no_birds_no_breach() -> None:
    season = expect(FARM, Plan((a_set(0),)))
    assert all(not getattr(season, name).any() for name in DAILY)
    assert season.breaches == ()


def test_no_batches_at_all() -> None:
    season = expect(FARM, Plan((), first=date(2027, 1, 1), last=date(2027, 12, 31)))
    assert season.heads.shape == (0, season.days)
    assert all(week.heads == 0 and week.shelters == 0 for week in weeks(season))


def test_with_full_survival_nobody_dies() -> None:
    made = line(**dict.fromkeys(SURVIVALS, 1.0))
    full = mine(1.0)
    made = replace(
        made,
        pullet=replace(made.pullet, survival_grower=full),
        cockerel=replace(made.cockerel, survival_grower=full),
        hen=replace(made.hen, survival_hen_year=full),
    )
    season = expect(farm(lines={"tawny": made}), Plan((a_set(),)))
    assert not season.dead.any()
    assert float(season.heads[:, -1].sum() + season.killed.sum()) == pytest.approx(72.0, rel=EXACT)


@pytest.mark.parametrize("pullets", [0.0, 1.0])
def test_all_of_one_sex(pullets: float) -> None:
    season = expect(farm(lines={"tawny": line(share_pullets=pullets)}), Plan((a_set(),)))
    heads = daily(season, "heads")
    assert heads["a", "pullet"].any() == (pullets == 1.0)
    assert heads["a", "cockerel"].any() == (pullets == 0.0)
    assert bool(season.killed.any()) == (pullets == 0.0)


@pytest.mark.parametrize("lacking", ["houses", "shelters"])
def test_without_houses_or_shelters_birds_are_still_somewhere(lacking: str) -> None:
    season, usual = expect(farm(**{lacking: {}}), Plan((a_set(),))), expect(FARM, Plan((a_set(),)))
    for name in ("heads", "dead", "killed"):
        a, b = daily(season, name), daily(usual, name)
        assert all(a[key] == pytest.approx(b[key], rel=EXACT) for key in a)


@pytest.mark.parametrize("on", [date(2027, 12, 20), date(2028, 2, 15)])
def test_ages_run_on_over_the_turn_of_the_year_and_the_leap_day(on: date) -> None:
    season = expect(FARM, Plan((a_set(on=on),)))
    hatch = on + timedelta(days=21)
    for i in range(len(season.lots)):
        age = season.age_d[i]
        assert age.tolist() == [(season.day(d) - hatch).days for d in range(season.days)]
    one_long, one_short = date(2028, 2, 29), date(2029, 2, 28)
    assert 0 < season.index(one_long) < season.days
    killed = np.flatnonzero(season.killed.sum(axis=0))
    assert [season.day(int(d)) for d in killed] == [hatch + timedelta(days=98)]
    assert one_short - one_long == timedelta(days=365)


def test_the_month_of_the_day_sets_the_feed_over_the_turn_of_the_year() -> None:
    """Hens on 31 December and 1 January, when January alone is colder."""
    cold: Mapping[int, float] = {0: -10.0}
    kit = replace(FARM, temperature_C=tuple(mine(cold.get(m, 5.0), "C") for m in range(12)))
    hens = Batch("h", "tawny", "present", date(2026, 4, 1), date(2027, 10, 4), heads={"pullet": 80.0})
    season = expect(kit, Plan((hens,)))
    fed = season.feed_kg.sum(axis=0) / season.heads.sum(axis=0).clip(1e-9)
    new_year = season.index(date(2028, 1, 1))
    assert fed[new_year] > 1.1 * fed[new_year - 1]
    assert fed[season.index(date(2028, 2, 1))] < fed[season.index(date(2028, 1, 31))] / 1.1
