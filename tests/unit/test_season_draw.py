"""Seasons by whole birds: they average to the season expected, keep their books, and keep to themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farms import farm, line, mine
from leyfold.nouns.draws import Draws
from leyfold.nouns.plan import Batch, Draft, Out, Plan, Stay
from leyfold.season.chances.streams import by_date, stream
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.expect import expect
from leyfold.season.tried import band, limit_chances, one, place_tries

FARM = farm()
SET = date(2027, 2, 1)


def a_set(name: str, on: date = SET, eggs: int = 80, **more: object) -> Batch:
    hatch = on + timedelta(days=21)
    return Batch(name, "tawny", "set", hatch, hatch, set_on=on, eggs=eggs, **more)  # type: ignore[arg-type]


def drafts(hatch: date, share: float = 0.5) -> tuple[Draft, ...]:
    return (Draft(hatch + timedelta(days=84), share), Draft(hatch + timedelta(days=98), 1.0))


HENS = Batch(
    "hens", "tawny", "present", date(2026, 4, 1), SET, heads={"pullet": 40.0}, house="coop",
    turnout_on=date(2026, 5, 1), sort_on=date(2026, 6, 1), house_on=date(2026, 8, 10),
)  # fmt: skip
PLAN = Plan(
    (
        a_set("a", eggs=120, drafts=drafts(SET + timedelta(days=21))),
        a_set("b", SET + timedelta(days=30), stored_d=9),
        a_set("c", SET - timedelta(days=14), 60, fertile=55),
        Batch(
            "d",
            "tawny",
            "bought",
            date(2027, 4, 1),
            date(2027, 4, 2),
            heads={"pullet": 25.0, "cockerel": 25.5},
        ),
        HENS,
    ),
    outs=(Out("hens", date(2027, 9, 1), 0.7),),
)


def test_in_every_lot_on_every_day_the_mean_is_the_season_expected() -> None:
    """4.5 standard errors: over some 9,000 lot-days, most of them the same birds from day to day."""
    expected = expect(FARM, PLAN)
    n = 3000
    draws = draw(FARM, PLAN, n=n, seed=7)
    assert draws.lots == expected.lots
    for i in range(len(draws.lots)):
        heads = draws.heads_of(i)
        error = np.maximum(heads.std(axis=0), 0.3) / n**0.5
        assert np.all(np.abs(heads.mean(axis=0) - expected.heads[i]) <= 4.5 * error), draws.lots[i].id
        killed = draws.killed[i]
        assert abs(killed.mean() - expected.killed[i].sum()) <= 4.5 * max(killed.std(), 0.3) / n**0.5
    assert draws.killed_kg.sum(axis=1).mean() == pytest.approx(expected.killed_kg.sum(), rel=0.01)
    assert draws.eggs.sum(axis=1).mean() == pytest.approx(expected.eggs.sum(), rel=0.01)


def test_in_the_weather_of_the_normals_feed_and_water_are_those_expected() -> None:
    calm = replace(FARM, risks={"temperature_sd": mine(0.0)})
    expected, draws = expect(calm, PLAN), draw(calm, PLAN, n=1500, seed=1)
    assert draws.feed_kg.sum(axis=(1, 2)).mean() == pytest.approx(expected.feed_kg.sum(), rel=0.01)
    assert draws.water_l.sum(axis=1).mean() == pytest.approx(expected.water_l.sum(), rel=0.01)
    for kind in range(len(draws.feeds)):
        of_kind = expected.feed_kg[expected.feed_kind == kind].sum()
        assert draws.feed_kg[:, kind].sum(axis=1).mean() == pytest.approx(of_kind, rel=0.02)


def balanced(draws: Draws) -> None:
    """Alive + dead + taken + killed = came, of every batch and sex on every day of every draw, by sums made
    here from the dense arrays."""
    heads = draws.heads()
    dead = np.stack([draws.dead_of(i) for i in range(len(draws.lots))], axis=1)
    taken = np.zeros_like(heads)
    np.add.at(taken, (draws.taken.draw, draws.taken.lot, draws.taken.day), draws.taken.birds)
    killed = np.zeros_like(heads)
    for i in range(len(draws.lots)):
        if draws.span(i).stop < draws.days:
            killed[:, i, draws.span(i).stop] = draws.killed[i]
        assert (draws.killed[i] >= 0).all()
    assert (heads >= 0).all()
    assert (dead >= 0).all()
    for row, cohort in enumerate(draws.cohorts):
        own = [i for i, lot in enumerate(draws.lots) if (lot.batch, lot.sex) == (cohort.batch, cohort.sex)]
        lost = (dead + taken)[:, own].sum(axis=1).cumsum(axis=1)
        gone = killed[:, own].sum(axis=1).cumsum(axis=1)
        here = heads[:, own].sum(axis=1)
        batch = next(b for b in draws.plan.batches if b.id == cohort.batch)
        for day in range(max(draws.index(batch.arrives_on), 0), draws.days):
            before = lost[:, day - 1] if day else 0
            np.testing.assert_array_equal(here[:, day] + before + gone[:, day], draws.came[row])


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 2**32),
    eggs=st.lists(st.integers(1, 90), min_size=1, max_size=3),
    share=st.floats(0.05, 1.0),
    apart=st.integers(3, 40),
    foxes=st.sampled_from([0.0, 0.001, 0.05]),
    shared=st.booleans(),
)
def test_every_draw_keeps_its_books(
    seed: int, eggs: list[int], share: float, apart: int, foxes: float, shared: bool
) -> None:
    made = replace(FARM, risks={"fox_chance": mine(foxes)})
    batches = tuple(
        a_set(
            f"b{i}", on := SET + timedelta(days=apart * i), n, drafts=drafts(on + timedelta(days=21), share)
        )
        for i, n in enumerate(eggs)
    )
    balanced(draw(made, Plan((*batches, HENS)), n=7, seed=seed, shared=shared))


def test_books_close_when_the_window_opens_late_and_closes_early() -> None:
    plan = replace(PLAN, first=date(2027, 4, 20), last=date(2027, 7, 30))
    draws = draw(FARM, plan, n=300, seed=3)
    balanced(draws)
    expected = expect(FARM, plan)
    for i in range(len(draws.lots)):
        heads = draws.heads_of(i)
        error = np.maximum(heads.std(axis=0), 0.3) / 300**0.5
        assert np.all(np.abs(heads.mean(axis=0) - expected.heads[i]) <= 4.5 * error), draws.lots[i].id


def by_lot(draws: Draws) -> dict[str, bytes]:
    found = {}
    for i, lot in enumerate(draws.lots):
        found[lot.id] = b"".join(
            x.tobytes() for x in (draws.cells[draws.at[i]], draws.dead_cells[draws.at[i]], draws.killed[i])
        )
    return found


def test_order_of_batches_changes_no_bird() -> None:
    plan = complete(FARM, PLAN)
    turned = replace(plan, batches=plan.batches[::-1], stays=plan.stays[::-1])
    one_way, other = draw(FARM, plan, n=50, seed=9), draw(FARM, turned, n=50, seed=9)
    assert by_lot(one_way) == by_lot(other)
    np.testing.assert_array_equal(one_way.growth, other.growth[::-1])
    np.testing.assert_allclose(one_way.feed_kg, other.feed_kg, rtol=1e-5, atol=1e-4)


def test_a_batch_elsewhere_changes_no_other_bird() -> None:
    """It comes before the others and stays longer, so that even the window is another."""
    made = replace(FARM, shelters={**FARM.shelters, "far": replace(FARM.shelters["s1"], id="far")})
    made = replace(made, risks={"fox_chance": mine(0.01)})
    on = SET - timedelta(days=70)
    hatch = on + timedelta(days=21)
    last = hatch + timedelta(days=600)
    alone = complete(made, Plan(PLAN.batches[:3], last=last))
    assert "far" not in {s.place for s in alone.stays}
    stays = (
        Stay("x1", "x", None, "west", hatch, hatch + timedelta(days=28)),
        Stay("x2", "x", None, "far", hatch + timedelta(days=28), hatch + timedelta(days=900)),
    )
    more = complete(made, Plan((a_set("x", on, 50), *PLAN.batches[:3]), stays=stays, last=last))
    more = replace(more, stays=(*(s for s in more.stays if s.batch == "x"), *alone.stays), batches=(
        more.batches[0], *alone.batches))  # fmt: skip
    few, many = draw(made, alone, n=60, seed=4), draw(made, more, n=60, seed=4)
    assert many.first < few.first
    assert few.taken.birds.sum() > 0
    found = by_lot(many)
    shift = (few.first - many.first).days
    for i, lot in enumerate(few.lots):
        assert by_lot(few)[lot.id] == found[lot.id], i
    np.testing.assert_array_equal(few.anomaly_K, many.anomaly_K[shift : shift + few.days])


def agrees(plan: Plan, n: int = 600, seed: int = 5) -> Draws:
    """The mean of the draws is the season expected, within 4.5 standard errors; the books close."""
    draws, expected = draw(FARM, plan, n=n, seed=seed), expect(FARM, plan)
    balanced(draws)
    for i, lot in enumerate(draws.lots):
        heads = draws.heads_of(i)
        error = np.maximum(heads.std(axis=0), 0.3) / n**0.5
        assert np.all(np.abs(heads.mean(axis=0) - expected.heads[i]) <= 4.5 * error), lot.id
        killed = draws.killed[i]
        assert abs(killed.mean() - expected.killed[i].sum()) <= 4.5 * max(killed.std(), 0.3) / n**0.5, lot.id
    return draws


def test_drafts_before_sorting_on_arrival_and_before_the_window() -> None:
    hatch = SET + timedelta(days=21)
    early = a_set(
        "e", drafts=(Draft(hatch + timedelta(days=45), 0.4), Draft(hatch + timedelta(days=98), 1.0))
    )
    at_once = Batch(
        "o", "tawny", "bought", hatch, hatch, heads={"pullet": 20.0, "cockerel": 21.0},
        drafts=(Draft(hatch, 0.6),),
    )  # fmt: skip
    draws = agrees(Plan((early, at_once), outs=(Out("o", hatch, 0.25),)))
    gone = [i for i, lot in enumerate(draws.lots) if draws.at[i].start == draws.at[i].stop]
    assert {draws.lots[i].batch for i in gone} == {"o"}
    assert all(draws.killed[i].sum() > 0 for i in gone)
    agrees(Plan((early,), first=hatch + timedelta(days=60)))


def test_stays_written_side_by_side_that_end_on_different_days() -> None:
    hatch = SET + timedelta(days=21)
    out = hatch + timedelta(days=28)
    stays = (
        Stay("p", "a", None, "s1", out, out + timedelta(days=28), heads=20),
        Stay("q", "a", None, "s2", out, out + timedelta(days=12), heads=40),
        Stay("r", "a", None, "s3", out + timedelta(days=12), out + timedelta(days=28), heads=40),
    )
    agrees(Plan((a_set("a"),), stays=stays))


def test_same_seed_same_season_and_another_another() -> None:
    a, b, c = (draw(FARM, PLAN, n=20, seed=s) for s in (1, 1, 2))
    assert by_lot(a) == by_lot(b)
    assert by_lot(a) != by_lot(c)
    np.testing.assert_array_equal(a.water_l, b.water_l)


def test_a_stream_is_the_same_on_every_machine() -> None:
    """Written down once: a change here changes every season tried before."""
    assert stream(1, "a", "hatch").integers(0, 2**31, 3).tolist() == [1964667404, 927550685, 595550272]


def test_a_number_belongs_to_its_date_wherever_the_days_begin() -> None:
    whole = by_date(date(2027, 12, 1), 200, "x", seed=1, n=3)
    for first, days in ((date(2027, 12, 20), 30), (date(2028, 2, 27), 5), (date(2028, 1, 1), 1)):
        start = (first - date(2027, 12, 1)).days
        np.testing.assert_array_equal(by_date(first, days, "x", seed=1, n=3), whole[start : start + days])
    assert not np.array_equal(whole[:31], by_date(date(2028, 12, 1), 31, "x", seed=1, n=3))
    assert len(np.unique(whole)) == whole.size


def test_one_draw_in_full_is_the_same_draw() -> None:
    draws = draw(FARM, PLAN, n=12, seed=6)
    for i in (0, 7):
        season = one(FARM, draws, i)
        np.testing.assert_array_equal(season.heads, draws.heads()[i])
        feed, water = season.feed_kg.sum(axis=0), season.water_l.sum(axis=0)
        np.testing.assert_allclose(draws.feed_kg[i].sum(axis=0), feed, atol=0.005 * feed.max())
        np.testing.assert_allclose(draws.water_l[i], water, atol=0.03 * water.max())
        assert draws.feed_kg[i].sum() == pytest.approx(feed.sum(), rel=0.002)
        assert draws.water_l[i].sum() == pytest.approx(water.sum(), rel=0.005)
        np.testing.assert_allclose(draws.eggs[i], season.eggs.sum(axis=0), rtol=1e-5, atol=1e-4)
        np.testing.assert_allclose(draws.killed_kg[i], season.killed_kg.sum(axis=0), rtol=1e-5, atol=1e-4)
        for at in place_tries(FARM, draws):
            place = season.places[at.place]
            for quantity in ("heads", "heads_per_m2", "kg_per_m2", "floor_share"):
                of_one = getattr(place, quantity)[at.span]
                np.testing.assert_allclose(getattr(at, quantity)[:, i], of_one, rtol=1e-4, atol=1e-4)
            dung = place.kg_n_per_ha_pass[at.span]
            np.testing.assert_allclose(at.kg_n_per_ha_pass[:, i], dung, atol=0.03 * max(dung.max(), 1))
    with pytest.raises(IndexError):
        one(FARM, draws, 12)


def test_chances_of_limits_are_counted_from_the_birds() -> None:
    draws = draw(FARM, PLAN, n=400, seed=2)
    heads = draws.heads()
    chances = {(c.where, c.limit.id): c for c in limit_chances(FARM, draws)}
    hens = heads[:, list(draws.lots_in("coop"))].sum(axis=1) / FARM.houses["coop"].floor_m2
    over = (hens > 6.0).any(axis=1)
    found = chances["coop", "house.hens"]
    assert found.chance == pytest.approx(over.mean())
    assert found.worst == pytest.approx(np.percentile(hens.max(axis=1), 95), rel=1e-5)
    dung = chances["s1", "shelter.n"]
    assert 0 < dung.chance < 1
    assert dung.first is not None
    assert dung.first[0] <= dung.first[1] <= dung.first[2]
    assert (chances["big", "big.eggs"].chance, chances["big", "big.eggs"].first) == (0.0, None)
    tight = replace(
        FARM, limits=tuple(replace(x, at_most=1.0) if x.quantity == "eggs" else x for x in FARM.limits)
    )
    assert {c.chance for c in limit_chances(tight, draws) if c.limit.quantity == "eggs"} == {1.0}


def test_a_missed_move_doubles_the_dung_of_its_stand() -> None:
    never, always = (replace(FARM, risks={"missed_move_chance": mine(p)}) for p in (0.0, 1.0))
    draws = draw(FARM, PLAN, n=5, seed=2)
    for once, twice in zip(place_tries(never, draws), place_tries(always, draws), strict=True):
        np.testing.assert_allclose(2 * once.kg_n_per_ha_pass, twice.kg_n_per_ha_pass, rtol=1e-6)
    some = next(at for at in place_tries(FARM, draw(FARM, PLAN, n=2000, seed=2)) if at.place == "s1")
    none = next(at for at in place_tries(never, draw(FARM, PLAN, n=2000, seed=2)) if at.place == "s1")
    held = none.kg_n_per_ha_pass > 0
    missed = (some.kg_n_per_ha_pass[held] / none.kg_n_per_ha_pass[held] > 1.5).mean()
    assert missed == pytest.approx(0.01, abs=0.001)


def test_growth_differs_between_batches_and_within_them() -> None:
    draws = draw(FARM, Plan((a_set("a", eggs=120),)), n=3000, seed=8)
    kg = draws.killed_kg.sum(axis=1)
    birds = draws.killed.sum(axis=0)
    mean = kg[birds > 0] / birds[birds > 0]
    traits = FARM.lines["tawny"].cockerel
    within = traits.weight_cv.value**2 / birds[birds > 0].mean()
    assert mean.std() / mean.mean() == pytest.approx(
        (traits.batch_weight_cv.value**2 + within) ** 0.5, rel=0.05
    )


def test_bands_are_percentiles_by_day() -> None:
    values = np.arange(101, dtype=np.float32)[:, None] * np.ones((1, 3), dtype=np.float32)
    found = band(values)
    assert (found.low.tolist(), found.middle.tolist(), found.high.tolist()) == ([5] * 3, [50] * 3, [95] * 3)


def test_where_nobody_dies_and_no_fox_comes_nobody_is_lost() -> None:
    stages = ("survival_first_week", "survival_brooder", "survival_shelter")
    kind = line(**dict.fromkeys(stages, 1.0))
    kind = replace(
        kind,
        pullet=replace(kind.pullet, survival_grower=mine(1)),
        hen=replace(kind.hen, survival_hen_year=mine(1)),
    )
    made = farm(lines={"tawny": kind}, risks={"fox_chance": mine(0.0)})
    draws = draw(made, Plan((a_set("a"),)), n=20, seed=1)
    mine_ = [i for i, lot in enumerate(draws.lots) if lot.sex == "pullet"]
    assert sum(draws.dead_of(i).sum() for i in mine_) == 0


def test_a_season_is_tried_at_least_once() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        draw(FARM, PLAN, n=0, seed=1)
    with pytest.raises(ValueError, match="seed"):
        draw(FARM, PLAN, n=1, seed=-1)
