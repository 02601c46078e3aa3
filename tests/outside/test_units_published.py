"""The few units Leyfold knows against the whole dictionary of pint (its own definitions file)."""

from __future__ import annotations

import pint
import pytest

from leyfold.units import WORDS, parse

FULL = pint.UnitRegistry(cache_folder=None)
# pint's acre is of the survey foot: 4 millionths larger (NIST, 2019: deprecated from 2023).
ROOM = {"acre": 5e-6}
# Of each dimension: the unit to compare in, as Leyfold and as pint write it.
IN = {
    "[mass]": ("kg", "kg"),
    "[length]": ("m", "m"),
    "[length] ** 2": ("m2", "m**2"),
    "[length] ** 3": ("l", "liter"),
    "[time]": ("h", "h"),
    "[current]": ("A", "A"),
    "[mass] * [length] ** 2 / [time] ** 3": ("W", "W"),
    "[mass] * [length] ** 2 / [time] ** 2": ("kJ", "kJ"),
    "dimensionless": ("share", "dimensionless"),
}


@pytest.mark.parametrize("word", sorted(WORDS))
def test_every_word_is_worth_what_pint_says(word: str) -> None:
    theirs = FULL.Quantity(7.0, WORDS[word])
    ours, target = IN.get(str(theirs.dimensionality), ("C", "degC"))
    if WORDS[word] == "kelvin":
        ours, target = "K", "kelvin"
    wanted = theirs.to(target).magnitude
    assert parse(f"7 {word}", ours) == pytest.approx(wanted, rel=ROOM.get(word, 1e-12))
