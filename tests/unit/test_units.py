"""Quantities as a farmer writes them. Conversions are held against printed definitions."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from leyfold import units
from leyfold.units import UnitError

MEASURES = {"bucket": "7 kg", "churn": "38 l", "half-pail": "0.5 gallon"}


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # NIST Special Publication 811, appendix B.8: the exact definitions.
        ("70 lb", "kg", 70 * 0.45359237),
        ("1 oz", "g", 28.349523125),
        ("10 ft", "m", 3.048),
        ("8 inches", "m", 0.2032),
        ("100 sq ft", "m2", 9.290304),
        ("1 acre", "ha", 0.40468564224),
        ("12 gallons", "l", 12 * 3.785411784),
        ("1 imperial gallon", "l", 4.54609),
        ("25 F", "C", (25 - 32) / 1.8),
        ("-4 C", "C", -4.0),
        ("−4 °C", "C", -4.0),
        ("293.15 K", "C", 20.0),
        ("1 kcal/kg", "kcal/kg", 1.0),
        ("4.184 kJ/g", "kcal/kg", 1000.0),
        ("12.1 MJ/kg", "kcal/kg", 12.1e6 / 4184),
        # and the farmer's own words
        ("7 kg", "kg", 7.0),
        ("7kg", "kg", 7.0),
        ("1.9 l/kg", "l/kg", 1.9),
        ("4 weeks", "d", 28.0),
        ("1 week", "d", 7.0),
        ("36 hours", "d", 1.5),
        ("4 buckets", "kg", 28.0),
        ("1 bucket", "kg", 7.0),
        ("2 churns", "l", 76.0),
        ("2 half-pails", "l", 3.785411784),
        ("3 buckets/day", "kg/d", 21.0),
        ("85 %", "share", 0.85),
        ("0.85", "share", 0.85),
        (0.85, "share", 0.85),
        (1, "kg/kg", 1.0),
        ("29 g/kg", "kg/kg", 0.029),
        ("3,05 m", "m", 3.05),
        ("0,005 kg", "kg", 0.005),
        ("0.023 /day", "1/d", 0.023),
        ("0.023 per day", "1/d", 0.023),
        ("7 %/K", "1/K", 0.07),
        ("7 %/C", "1/K", 0.07),
        ("5 %/F", "1/K", 0.09),
        ("42 g/kg^0.75/day", "kg/kg^0.75/d", 0.042),
        ("12 m²", "m2", 12.0),
        ("2 square metres", "m2", 2.0),
        ("55 eggs", "egg", 55.0),
        ("1e2 kg", "kg", 100.0),
    ],
)
def test_what_is_understood(text: str | float, unit: str, value: float) -> None:
    assert units.parse(text, unit, MEASURES) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "key"),
    [
        (7, "kg", "bare"),
        ("7", "kg", "bare"),
        ("7 m", "kg", "dimension"),
        ("7 kg/m2", "kg", "dimension"),
        ("7 l", "kg", "dimension"),
        ("7 kg", "C", "dimension"),
        ("7 kg", "share", "dimension"),
        ("7 churns", "kg", "dimension"),
        ("7 bukets", "kg", "unit"),
        ("7 kilos of corn", "kg", "unit"),
        ("7 kg/", "kg", "unit"),
        ("7 /", "kg", "unit"),
        ("kg 7", "kg", "number"),
        ("", "kg", "number"),
        ("nan kg", "kg", "number"),
        ("inf kg", "kg", "number"),
        ("1e999 kg", "kg", "number"),
        ("7 8 kg", "kg", "unit"),
        ("1,000 kg", "kg", "comma"),
        ("12,500 kg", "kg", "comma"),
    ],
)
def test_what_is_refused_and_why(text: str | float, unit: str, key: str) -> None:
    with pytest.raises(UnitError) as refused:
        units.parse(text, unit, MEASURES)
    assert refused.value.key == key


@pytest.mark.parametrize(
    ("text", "near"), [("7 bukets", "bucket"), ("7 litters", "liter"), ("7 wekks", "week")]
)
def test_the_nearest_unit_is_named(text: str, near: str) -> None:
    with pytest.raises(UnitError) as refused:
        units.parse(text, "kg", MEASURES)
    assert refused.value.values["near"] == near


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("8 x 10 ft", (2.4384, 3.048)),
        ("10 ft x 8 ft", (3.048, 2.4384)),
        ("3.05 x 3.35 m", (3.05, 3.35)),
        ("3,05 × 3,35 m", (3.05, 3.35)),
        ("10 ft × 2.4 m", (3.048, 2.4)),
        ("8 by 10 ft", (2.4384, 3.048)),
        ("8x10ft", (2.4384, 3.048)),
    ],
)
def test_sides(text: str, sides: tuple[float, float]) -> None:
    assert units.parse_sides(text) == pytest.approx(sides, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("8 x 10", "sides"),
        ("8 ft", "sides"),
        ("8 x 10 x 3 ft", "sides"),
        ("8 x 10 kg", "dimension"),
        ("x", "number"),
    ],
)
def test_no_sides(text: str, key: str) -> None:
    with pytest.raises(UnitError) as refused:
        units.parse_sides(text)
    assert refused.value.key in (key, "sides")


@pytest.mark.parametrize(
    ("text", "per", "price"),
    [
        ("420 EUR/t", "kg", 0.42),
        ("12.50 EUR/kg", "kg", 12.5),
        ("14 EUR per bucket", "kg", 2.0),
        ("0.45 EUR", "share", 0.45),
        ("0.45 EUR each", "share", 0.45),
        ("17 EUR/h", "h", 17.0),
    ],
)
def test_prices(text: str, per: str, price: float) -> None:
    assert units.parse_price(text, per, "EUR", MEASURES) == pytest.approx(price, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "key"),
    [("420 GBP/t", "currency"), ("420", "currency"), ("420 EUR", "price"), ("420 EUR/m", "dimension")],
)
def test_no_prices(text: str, key: str) -> None:
    with pytest.raises(UnitError) as refused:
        units.parse_price(text, "kg", "EUR")
    assert refused.value.key == key


def test_measures_must_be_a_mass_or_a_volume_under_a_name_of_their_own() -> None:
    given_measures = {
        "bucket": "7 kg",
        "kg": "2 kg",
        "lbs": "1 kg",
        "acres": "1 kg",
        "pole": "5 m",
        "tub": "7",
        "vat": "x",
    }
    wrong = {name: error.key for name, error in units.check_measures(given_measures).items()}
    assert wrong == {
        "kg": "shadow",
        "lbs": "shadow",
        "acres": "shadow",
        "pole": "measure",
        "tub": "measure",
        "vat": "number",
    }


OUT = ["kg", "g", "m", "m2", "ha", "l", "C", "kg/m2", "l/kg", "kg/ha"]


@given(st.sampled_from(OUT), st.floats(-50, 900), st.sampled_from(["metric", "imperial"]))
def test_what_goes_out_comes_back(unit: str, value: float, lengths: units.Lengths) -> None:
    number, name = units.outward(value, unit, lengths)
    assert units.parse(f"{number!r} {name}", unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(OUT), st.floats(0.5, 900), st.sampled_from(["metric", "imperial"]))
def test_what_is_shown_is_read_back_to_three_digits(unit: str, value: float, lengths: units.Lengths) -> None:
    assume(unit != "C")
    assert units.parse(units.show(value, unit, lengths), unit) == pytest.approx(value, rel=0.006)


@given(st.sampled_from(sorted(units.WORDS)), st.floats(0.001, 1e6))
def test_every_word_is_a_unit_and_the_plural_the_same(word: str, number: float) -> None:
    pint_name = units.WORDS[word]
    unit = "C" if pint_name.startswith("deg") else word
    assert units.parse(f"{number!r} {word}", unit) == pytest.approx(units.parse(f"{number!r} {word}", unit))
    if len(word) > 3 and unit != "C" and not word.endswith(("s", "feet")):
        assert units.parse(f"{number!r} {word}s", unit) == pytest.approx(number, rel=1e-9)


@given(st.text(max_size=20), st.sampled_from(["kg", "C", "share", "d", "l/kg"]))
def test_any_text_is_a_finite_number_or_refused(text: str, unit: str) -> None:
    try:
        value = units.parse(text, unit, MEASURES)
    except UnitError:
        return
    assert value == value
    assert abs(value) < float("inf")
