"""The border between what a farmer writes ("70 lb", "4 weeks", "8 x 10 ft") and the numbers inside.

Inside are SI units, days for ages and °C for temperatures. The words understood are listed in `WORDS`,
so that a misspelt one can be answered with its neighbour; the conversions are pint's. This room has no
sentences: a `UnitError` carries the key of one in `words/en/units.toml` (and `KEY_mend`) and its values.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import pint

__all__ = [
    "COLUMNS",
    "WORDS",
    "UnitError",
    "check_measures",
    "is_plain",
    "outward",
    "parse",
    "parse_price",
    "parse_sides",
    "show",
    "spoken",
]

Lengths = Literal["metric", "imperial"]

WORDS: Mapping[str, str] = {
    **dict.fromkeys(("kg", "kilo", "kilogram", "kilogramme"), "kilogram"),
    **dict.fromkeys(("g", "gram", "gramme"), "gram"),
    **dict.fromkeys(("t", "tonne"), "metric_ton"),
    **dict.fromkeys(("lb", "pound"), "pound"),
    **dict.fromkeys(("oz", "ounce"), "ounce"),
    **dict.fromkeys(("m", "metre", "meter"), "meter"),
    **dict.fromkeys(("cm", "centimetre", "centimeter"), "centimeter"),
    **dict.fromkeys(("mm", "millimetre", "millimeter"), "millimeter"),
    **dict.fromkeys(("km", "kilometre", "kilometer"), "kilometer"),
    **dict.fromkeys(("ft", "foot", "feet"), "foot"),
    **dict.fromkeys(("in", "inch", "inches"), "inch"),
    **dict.fromkeys(("yd", "yard"), "yard"),
    **dict.fromkeys(("ha", "hectare"), "hectare"),
    "acre": "acre",
    **dict.fromkeys(("l", "L", "litre", "liter"), "liter"),
    **dict.fromkeys(("ml", "mL", "millilitre", "milliliter"), "milliliter"),
    # The gallon of feed and water tables in pounds and feet; the larger one must be asked for by name.
    **dict.fromkeys(("gal", "gallon", "US gallon"), "gallon"),
    **dict.fromkeys(("imperial gallon", "UK gallon"), "imperial_gallon"),
    **dict.fromkeys(("d", "day", "night"), "day"),
    **dict.fromkeys(("wk", "week"), "week"),
    **dict.fromkeys(("h", "hour"), "hour"),
    **dict.fromkeys(("min", "minute"), "minute"),
    **dict.fromkeys(("s", "second"), "second"),
    **dict.fromkeys(("yr", "year"), "year"),
    **dict.fromkeys(("C", "°C", "degC", "celsius"), "degC"),
    **dict.fromkeys(("F", "°F", "degF", "fahrenheit"), "degF"),
    **dict.fromkeys(("K", "kelvin"), "kelvin"),
    **dict.fromkeys(("W", "watt"), "watt"),
    "kW": "kilowatt",
    "kWh": "kilowatt_hour",
    **dict.fromkeys(("A", "amp", "ampere"), "ampere"),
    "kcal": "kilocalorie",
    "kJ": "kilojoule",
    "MJ": "megajoule",
    **dict.fromkeys(("%", "percent"), "percent"),
    **dict.fromkeys(("share", "egg", "bird", "head", "chick", "times"), "dimensionless"),
}
"""Every word for a unit, in the singular, and pint's name for it."""

COLUMNS: Mapping[str, tuple[float, float]] = {
    "C": (1.0, 0.0),
    "F": (1.0 / 1.8, -32.0 / 1.8),
    "K": (1.0, -273.15),
    "percent": (0.01, 0.0),
    "share": (1.0, 0.0),
    "octas": (0.125, 0.0),
    "tenths": (0.1, 0.0),
    "m_per_s": (1.0, 0.0),
    "km_per_h": (1.0 / 3.6, 0.0),
    "mph": (0.44704, 0.0),
    "kn": (1852.0 / 3600.0, 0.0),
    "mm": (1.0, 0.0),
    "cm": (10.0, 0.0),
    "in": (25.4, 0.0),
    "w": (1.0, 0.0),
}
"""Units of whole columns of weather: inside = factor x given + offset.

Inside are °C, shares, m/s, mm, W/m2."""

_NUMBER = re.compile(r"([-+−–]?)\s*(\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?|[.,]\d+)\s*(.*)", re.DOTALL)
_FACTOR = re.compile(r"(square |sq |cubic |cu )?\s*([^\d^*/]+?)\s*(?:\^?\s*(-?\d+(?:\.\d+)?))?")
_DELTAS = {"degC": "delta_degC", "degF": "delta_degF"}


class UnitError(ValueError):
    """A text that is not the quantity asked for. `key` names the sentence, `values` fill it and its mend."""

    def __init__(self, key: str, **values: object) -> None:
        self.key = key
        self.values = values
        super().__init__(f"{key}: {values}")


def parse(text: str | float, unit: str, measures: Mapping[str, str] | None = None) -> float:
    """The number of `unit` that `text` says: parse("70 lb", "kg") is 31.75.

    `unit` is a unit as in the cited tables: "kg", "d", "C" (a temperature, not a difference), "l/kg",
    "kg/kg^0.75/d", "share". A bare number serves where `unit` has no dimension ("share", "kg/kg").
    `measures` are the farm's own: {"bucket": "7 kg"}. A decimal comma is understood. UnitError otherwise.
    """
    number, word = _split(text)
    if not word:
        if is_plain(unit):
            return number
        raise UnitError("bare", text=text, number=f"{number:g}", unit=spoken(unit))
    import pint

    # A temperature stands on its scale; in a rate ("7 %/K") the same letter is a difference.
    one = _factor(word, {}, absolute=True) if unit == "C" else _unit(word, measures or {})
    quantity = _registry().Quantity(number, one) if unit == "C" else number * one
    try:
        value = float(quantity.to(_target(unit)).magnitude)
    except pint.DimensionalityError:
        raise UnitError("dimension", text=text, unit=spoken(unit)) from None
    if not math.isfinite(value):
        raise UnitError("number", text=text, unit=spoken(unit))
    return value


def is_plain(unit: str) -> bool:
    """Whether `unit` has no dimension, so that a bare number serves."""
    return bool(_target(unit).dimensionless)


def parse_sides(text: str) -> tuple[float, float]:
    """Both sides [m] of "8 x 10 ft", "3.05 x 3.35 m" or "10 ft × 8 ft", in the order written.

    A side without a unit takes that of the other. UnitError for anything else.
    """
    parts = re.split(r"\s*(?:[x×*]|\bby\b)\s*", text.strip(), flags=re.IGNORECASE)
    if len(parts) != 2:
        raise UnitError("sides", text=text)
    words = [_split(part)[1] for part in parts]
    if not any(words):
        raise UnitError("sides", text=text)
    first, second = (
        parse(part if word else f"{part} {words[0] or words[1]}", "m")
        for part, word in zip(parts, words, strict=True)
    )
    return first, second


def parse_price(text: str, per: str, currency: str, measures: Mapping[str, str] | None = None) -> float:
    """Money per `per` ("kg", "h", "kWh", "share" for one bird or egg) that "420 EUR/t" says.

    The currency is an ISO code and must be the farm's. "0.45 EUR" and "0.45 EUR each" are prices of one.
    """
    number, rest = _split(text)
    money, _, unit = rest.replace(" per ", "/").replace(" each", "").partition("/")
    if money.strip() != currency:
        raise UnitError("currency", text=text, currency=currency, per=_per(per))
    if not unit.strip():
        if is_plain(per):
            return number
        raise UnitError("price", text=text, currency=currency, per=_per(per))
    return number / parse(f"1 {unit}", per, measures)


def check_measures(measures: Mapping[str, str]) -> dict[str, UnitError]:
    """What is wrong with the farm's own measures, by name: each a mass or a volume, none a usual unit."""
    wrong: dict[str, UnitError] = {}
    for name, text in measures.items():
        if _known(name):
            wrong[name] = UnitError("shadow", name=name)
            continue
        try:
            _, word = _split(text)
            dimensions = _unit(word, {}).dimensionality
            if dimensions not in (_target("kg").dimensionality, _target("l").dimensionality):
                raise UnitError("measure", text=text, name=name)
        except UnitError as error:
            wrong[name] = error
    return wrong


_IMPERIAL = {
    "kg": "lb",
    "g": "oz",
    "m": "ft",
    "m2": "sq ft",
    "ha": "acre",
    "l": "gallon",
    "C": "F",
    "kg/m2": "lb/sq ft",
    "1/m2": "1/sq ft",
    "l/kg": "gallon/lb",
    "kg/ha": "lb/acre",
}


def outward(value: float, unit: str, lengths: Lengths) -> tuple[float, str]:
    """`value` of an inside `unit` in the farm's own units, and their name; others stay as they are."""
    wanted = _IMPERIAL.get(unit) if lengths == "imperial" else None
    if wanted is None:
        return value, unit
    if unit == "C":
        return float(_registry().Quantity(value, "degC").to("degF").magnitude), wanted
    return float((value * _unit(unit, {})).to(_unit(wanted, {})).magnitude), wanted


def show(value: float, unit: str, lengths: Lengths = "metric") -> str:
    """`value` in the farm's units to three digits, as text that `parse` reads back."""
    number, name = outward(value, unit, lengths)
    if name == "share":
        return f"{100 * number:.3g} %"
    digits = f"{number:.0f}" if abs(number) >= 1000 else f"{number:.3g}"
    return f"{digits} {name}"


def _split(text: str | float) -> tuple[float, str]:
    """The number in front, and the words for its unit behind it."""
    if not isinstance(text, str):
        if not math.isfinite(text):
            raise UnitError("number", text=text, unit="")
        return float(text), ""
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        raise UnitError("number", text=text, unit="")
    sign, digits, word = found.groups()
    # "1,000 kg" is a thousand to one reader and one to another.
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        raise UnitError("comma", text=text, point=digits.replace(",", "."), plain=digits.replace(",", ""))
    number = float(digits.replace(",", "."))
    return (-number if sign in ("-", "−", "–") else number), word.strip()


_DEFINITIONS = """
second = [time]
meter = [length]
kilogram = [mass]
ampere = [current]
kelvin = [temperature]; offset: 0
degC = kelvin; offset: 273.15
degF = 5 / 9 * kelvin; offset: 233.15 + 200 / 9
percent = 0.01
gram = 0.001 * kilogram
metric_ton = 1000 * kilogram
pound = 0.45359237 * kilogram
ounce = pound / 16
centimeter = 0.01 * meter
millimeter = 0.001 * meter
kilometer = 1000 * meter
inch = 0.0254 * meter
foot = 12 * inch
yard = 3 * foot
hectare = 10000 * meter ** 2
acre = 4840 * yard ** 2
liter = 0.001 * meter ** 3
milliliter = 0.001 * liter
gallon = 231 * inch ** 3
imperial_gallon = 4.54609 * liter
minute = 60 * second
hour = 60 * minute
day = 24 * hour
week = 7 * day
year = 365.25 * day
joule = kilogram * meter ** 2 / second ** 2
kilojoule = 1000 * joule
megajoule = 1000000 * joule
kilocalorie = 4184 * joule
watt = joule / second
kilowatt = 1000 * watt
kilowatt_hour = kilowatt * hour
"""
"""The units of `WORDS` as pint defines them, but for the acre, which is of the international foot and not the
survey foot given up in 2022. pint's whole dictionary takes twenty times as long to read."""


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None, cache_folder=None)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


@cache
def _target(unit: str) -> Any:
    return _registry().Unit("degC") if unit == "C" else _unit(unit, {})


def _unit(text: str, measures: Mapping[str, str]) -> Any:
    """pint's unit for words such as "kg/kg^0.75/d", "sq ft" or "/day"; a measure brings its number along."""
    tidy = text.replace("²", "2").replace("³", "3").replace("·", "*")
    above, *below = re.split(r"\s*(?:/|\bper\b)\s*", tidy.strip())
    whole: Any = _registry().Unit("dimensionless")
    for word in above.split("*") if above not in ("", "1") else ():
        whole = whole * _factor(word, measures)
    for word in below:
        whole = whole / _factor(word, measures)
    return whole


def _factor(word: str, measures: Mapping[str, str], *, absolute: bool = False) -> Any:
    found = _FACTOR.fullmatch(word.strip())
    if found is None:
        raise UnitError("unit", word=word, near="")
    squared, name, exponent = found.groups()
    power = float(exponent) if exponent else {"s": 2.0, "c": 3.0}[squared[0]] if squared else 1.0
    own = _singular(name, measures)
    if own is not None:
        number, unit = _split(measures[own])
        one: Any = number * _unit(unit, {})
    else:
        known = _known(name)
        if known is None:
            near = difflib.get_close_matches(name, [*WORDS, *measures], n=1, cutoff=0.5)
            raise UnitError("unit", word=name, near=near[0] if near else "")
        pint_name = WORDS[known]
        one = _registry().Unit(pint_name if absolute else _DELTAS.get(pint_name, pint_name))
    return one if power == 1.0 else one**power


def _known(name: str) -> str | None:
    return _singular(name, WORDS) or _singular(name.lower(), WORDS)


def _singular(name: str, among: Mapping[str, object]) -> str | None:
    """`name`, or `name` without its plural s, where it is `among` the names."""
    if name in among:
        return name
    # "ms" would be milliseconds: letters that stand for a unit take no plural, but "lbs" is too usual.
    if name.endswith("s") and (len(name) > 3 or name == "lbs") and name[:-1] in among:
        return name[:-1]
    return None


_SPOKEN = {"d": "days", "h": "hours", "week": "weeks", "share": "%"}


def spoken(unit: str) -> str:
    """A unit as a farmer would write it."""
    return _SPOKEN.get(unit, unit.removeprefix("1").replace("/d", "/day"))


def _per(unit: str) -> str:
    return "" if is_plain(unit) else f"/{spoken(unit)}"
