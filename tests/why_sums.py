"""What the tests of `leyfold why` share: every sum worked out by Python's own arithmetic, a second way to
every value, and the demo farm."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from statistics import NormalDist

import pytest

from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import EVIDENCE
from leyfold.nouns.season import Season
from leyfold.nouns.why import Given, Reason, Step
from leyfold.season.why import why
from leyfold.services.season import season_of

DEMO = Path(__file__).resolve().parents[1] / "examples" / "demo"
EXACT = 1e-9
LONG_AGO = date(2000, 1, 1)

ARITHMETIC = {"exp": math.exp, "max": max, "normal": NormalDist().cdf, "__builtins__": {}}


def by_hand(formula: str, values: dict[str, float]) -> float:
    return float(eval(formula, dict(ARITHMETIC), values))


def steps(top: Step) -> list[Step]:
    return [term for term in top.walk() if isinstance(term, Step)]


def check(top: Step) -> None:
    """Every formula gives its value, every sum is that of its parts, every number has a source."""
    for term in top.walk():
        if isinstance(term, Given):
            assert term.figure.source, term.key
            assert term.figure.evidence in EVIDENCE
            assert term.words
            continue
        assert term.words
        if term.formula is None:
            whole = math.fsum(part.value for part in term.terms) if term.terms else term.value
            assert term.value == pytest.approx(whole, rel=EXACT, abs=EXACT), term.words
            assert term.terms or term.ask or term.value == 0.0 or term.key == "rest", term.words
            continue
        assert bool(term.source) == bool(term.evidence)
        keys = [part.key for part in term.terms]
        assert len(set(keys)) == len(keys), term.formula
        value = by_hand(term.formula, {part.key: part.value for part in term.terms})
        scale = max([abs(term.value), *(abs(p.value) * 1e-3 for p in term.terms)], default=0.0)
        assert value == pytest.approx(term.value, rel=EXACT, abs=EXACT * max(scale, 1e-6)), term.formula


@cache
def demo() -> tuple[Farm, Season, object, tuple[object, ...]]:
    answer = season_of(DEMO, datetime(2026, 11, 25, tzinfo=UTC))
    return answer.farm, answer.season, answer.totals, answer.weeks


def ask(figure: str, at: date | None = None) -> Reason:
    there, season, _, _ = demo()
    reason = why(there, season, figure, at, today=LONG_AGO)
    check(reason.step)
    return reason
