"""Deaths that sound the alarm, counted out term by term (the definitions of both distributions)."""

from __future__ import annotations

from datetime import date
from math import comb, exp, factorial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farms import farm, line
from leyfold.season.alarms import dead_in_a_day, dead_over
from seasons import hatch

FARM = farm(lines={"tawny": line(survival_first_week=0.985)})
BATCH = hatch("b", date(2027, 1, 12), 100)


def binomial_tail(dead: int, n: int, p: float) -> float:
    return 1.0 - sum(comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(dead))


def poisson_tail(dead: int, mean: float) -> float:
    return 1.0 - sum(exp(-mean) * mean**k / factorial(k) for k in range(dead))


@given(st.integers(2, 400))
def test_first_week_by_the_binomial(chicks: int) -> None:
    share = 1.0 - 0.985 ** (1 / 7)
    dead = dead_in_a_day(FARM, BATCH, float(chicks), 3)
    assert dead is not None
    assert dead == chicks or binomial_tail(dead, chicks, share) < 0.05
    assert dead == 1 or binomial_tail(dead - 1, chicks, share) >= 0.05


@given(st.integers(1, 2000))
def test_growers_by_poisson(heads: int) -> None:
    dead = dead_in_a_day(FARM, BATCH, float(heads), 40)
    assert dead is not None
    assert poisson_tail(dead, heads * 0.001) < 0.05 <= poisson_tail(dead - 1, heads * 0.001)


def test_three_in_a_week_among_108_growers() -> None:
    """The rule of thumb of the trade for calling the vet (common practice)."""
    assert dead_over(FARM, BATCH, 108.0, 60, 7) == 3


@pytest.mark.parametrize("heads", [0.0, 0.4])
def test_nobody_sounds_no_alarm(heads: float) -> None:
    assert dead_in_a_day(FARM, BATCH, heads, 3) is None
    assert dead_over(FARM, BATCH, heads, 3, 7) is None
