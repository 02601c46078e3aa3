"""Mixes: what always holds of the cheapest, of its rounding, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feeds import cited, larder, made, share
from leyfold.farm.feedstuffs import cited_needs
from leyfold.feed.batch import weigh_out
from leyfold.feed.least_cost import Clash, Mix, Unpriced, least_cost
from leyfold.feed.mix import Need, Unknown, contents, pearson, shortfalls
from leyfold.feed.needs import cited_ration, needs_of
from leyfold.nouns.feed import Ration

NEEDS = (
    Need("protein", "least", 0.16),
    Need("energy_kcal_per_kg", "least", 2700.0),
    Need("lysine", "least", 0.0070),
    Need("calcium", "least", 0.0090),
    Need("calcium", "most", 0.0120),
    Need("nonphytate_phosphorus", "least", 0.0035),
)
PRICES = st.lists(st.floats(0.02, 2.0), min_size=8, max_size=8)


def priced(prices: list[float]) -> tuple:
    return tuple(replace(i, price_per_kg=p) for i, p in zip(larder(), prices, strict=True))


def solved(prices: list[float]) -> Mix:
    mix = least_cost(priced(prices), NEEDS)
    assert isinstance(mix, Mix)
    return mix


@settings(max_examples=40, deadline=None)
@given(PRICES, st.integers(0, 7), st.floats(0.1, 0.99))
def test_no_mix_grows_dearer_when_a_price_falls(prices: list[float], which: int, to: float) -> None:
    lower = [p * to if i == which else p for i, p in enumerate(prices)]
    before, after = solved(prices), solved(lower)
    assert after.price_per_kg <= before.price_per_kg + 1e-9
    # and by no more than what was in the mix would save, were it bought again at the new price
    name = larder()[which].id
    saved = after.shares[name] * (prices[which] - lower[which])
    assert before.price_per_kg - after.price_per_kg <= saved + 1e-9


@settings(max_examples=40, deadline=None)
@given(PRICES)
def test_a_mix_keeps_its_needs_and_limits_and_pays_for_them(prices: list[float]) -> None:
    mix = solved(prices)
    assert math.fsum(mix.shares.values()) == pytest.approx(1, abs=1e-9)
    assert all(v >= 0 for v in mix.shares.values())
    assert mix.shares["oats"] <= 0.20 + 1e-9
    assert mix.shares["fish_meal_menhaden"] <= 0.05 + 1e-9
    held = contents(mix.shares, {i.id: i for i in larder()}, [n.nutrient for n in NEEDS])
    assert shortfalls(held, NEEDS) == ()
    # Duality: needs, limits and the whole together cost what the mix costs.
    paid = mix.per_whole + sum(d.per_unit * d.need.value for d in mix.dear)
    paid -= 0.20 * mix.held_back.get("oats", 0) + 0.05 * mix.held_back.get("fish_meal_menhaden", 0)
    paid -= sum(v for n, v in mix.held_back.items() if n not in ("oats", "fish_meal_menhaden"))
    assert paid == pytest.approx(mix.price_per_kg, rel=1e-6, abs=1e-9)


@settings(max_examples=15, deadline=None)
@given(PRICES, st.floats(60, 800), st.sampled_from([None, 20.0, 25.0]))
def test_a_batch_is_rounded_and_still_holds_what_is_needed(
    prices: list[float], batch_kg: float, bag_kg: float | None
) -> None:
    mix = solved(prices)
    used = tuple(replace(i, bag_kg=bag_kg) if i.id == "maize" else i for i in priced(prices))
    batch = weigh_out(mix.shares, used, NEEDS, batch_kg=batch_kg, step_kg=0.1)
    assert math.fsum(x.kg for x in batch.lines) == pytest.approx(batch.kg)
    assert batch.lines[-1].scale_kg == pytest.approx(batch.kg)
    held = contents(
        {x.ingredient: x.kg for x in batch.lines}, {i.id: i for i in used}, [n.nutrient for n in NEEDS]
    )
    assert batch.contents == pytest.approx(held)
    assert batch.short == shortfalls(held, NEEDS)
    for line in batch.lines:
        unit = bag_kg if line.ingredient == "maize" and bag_kg else 0.1
        assert line.kg / unit == pytest.approx(round(line.kg / unit), abs=1e-6)
        assert (line.bags is not None) == (line.ingredient == "maize" and bag_kg is not None)
    if batch.held_to:
        assert batch.short == ()
        assert batch.kg <= batch_kg + 1e-6
        assert batch.kg >= batch_kg - (bag_kg or 0.1) - 1e-6


def test_rounding_tells_what_falls_short_where_bags_cannot_do_it() -> None:
    needs = (Need("protein", "least", 0.20), Need("protein", "most", 0.21))
    two = (cited("maize", 220), cited("soybean_meal_44", 420))
    mix = least_cost(two, needs)
    assert isinstance(mix, Mix)
    bagged = tuple(replace(i, bag_kg=25.0) for i in two)
    batch = weigh_out(mix.shares, bagged, needs, batch_kg=50.0, step_kg=0.1)
    assert not batch.held_to
    assert [x.bags for x in batch.lines] == [1, 1]
    (short,) = batch.short
    assert (short.need.side, short.holds) == ("most", pytest.approx((0.085 + 0.44) / 2))


def test_the_limits_of_a_nutrient_are_not_taken_for_zero() -> None:
    bare = made("beans", 0.3, {"protein": 0.25})
    with pytest.raises(Unknown) as unknown:
        least_cost((*larder(), bare), NEEDS)
    assert (unknown.value.ingredient, unknown.value.nutrient) == ("beans", "energy_kcal_per_kg")
    with pytest.raises(Unknown):
        contents({"beans": 1.0}, {"beans": bare}, ["lysine"])
    assert contents({"beans": 0.0, "maize": 1.0}, {"beans": bare, "maize": larder()[0]}, ["lysine"])
    with pytest.raises(Unpriced, match="maize"):
        least_cost((replace(larder()[0], price_per_kg=None),), NEEDS)


@pytest.mark.parametrize("amounts", [{"maize": -1.0, "barley": 2.0}, {"maize": math.nan}, {"maize": 0.0}, {}])
def test_no_mix_of_nothing_or_less(amounts: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"amounts|nothing"):
        contents(amounts, {i.id: i for i in larder()}, ["protein"])


def test_what_there_is_limits_the_mix() -> None:
    plenty = least_cost(larder(), NEEDS, most_kg=100)
    scarce = tuple(replace(i, has_kg=10.0) if i.id == "maize" else i for i in larder())
    held = least_cost(scarce, NEEDS, most_kg=100)
    assert isinstance(plenty, Mix)
    assert isinstance(held, Mix)
    assert plenty.shares["maize"] > 0.1
    assert held.shares["maize"] == pytest.approx(0.10)
    assert held.held_back["maize"] > 0
    assert held.price_per_kg > plenty.price_per_kg


def test_limits_that_contradict_are_a_clash_and_no_crash() -> None:
    no_room = tuple(replace(i, at_least=0.5) for i in (cited("maize", 220), cited("oats", 210, 0.2)))
    clash = least_cost(no_room, ())
    assert isinstance(clash, Clash)
    assert [limit.ingredient for limit in clash.limits] == ["oats"]
    little = tuple(replace(i, at_most=larder()[3].at_most) for i in larder()[:3])
    clash = least_cost(little, ())
    assert isinstance(clash, Clash)
    assert clash.whole
    assert len(clash.limits) == 3


def test_the_bounds_of_a_ration() -> None:
    """Grams a day over the feed eaten; calcium up to a fifth over what is needed, unless the farm says."""
    hens = {(n.nutrient, n.side): n.value for n in needs_of(cited_ration("hen_brown"))}
    assert hens["protein", "least"] == pytest.approx(16.5 / 110)
    assert hens["calcium", "least"] == pytest.approx(3.6 / 110)
    assert hens["calcium", "most"] == pytest.approx(1.2 * 3.6 / 110)
    assert cited_needs("hen_brown", eaten_kg=0.125)["lysine"].value == pytest.approx(0.76 / 125)
    own = Ration("own", {"calcium": share(0.01)}, {"calcium": share(0.013)})
    assert needs_of(own) == (Need("calcium", "least", 0.01), Need("calcium", "most", 0.013))
    with pytest.raises(KeyError):
        cited_ration("hen_green")


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_the_square_gives_what_is_wanted(first: float, second: float, at: float) -> None:
    wanted = first + at * (second - first)
    if abs(first - second) < 1e-6:
        return
    low, high = sorted((first, second))
    a, b = pearson(min(max(wanted, low), high), first, second)
    assert a + b == pytest.approx(1)
    assert -1e-9 <= a <= 1 + 1e-9
    assert a * first + b * second == pytest.approx(wanted, abs=1e-9)
