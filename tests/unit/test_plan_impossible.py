"""What is said to have no answer has none, and the groups named suffice for that."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from leyfold.plan.clash import core
from leyfold.plan.impossible import barred
from leyfold.plan.linear import Linear

HIGH = 3


@st.composite
def models(draw: st.DrawFn) -> Linear:
    """Three variables up to HIGH, five rows of as many groups."""
    linear = Linear()
    x = [linear.number(HIGH) for _ in range(3)]
    for i in range(5):
        terms = {v: draw(st.integers(-4, 4)) for v in x}
        end = draw(st.integers(-9, 9))
        way = draw(st.sampled_from(("least", "most")))
        linear.row(terms, group=f"g{i}", **{way: end})
    return linear


def answers(linear: Linear, groups: tuple[str, ...]) -> bool:
    rows = linear.only(groups)
    return any(all(row.holds(x) for row in rows) for x in product(range(HIGH + 1), repeat=3))


@given(models())
def test_the_groups_named_leave_no_answer(linear: Linear) -> None:
    groups = barred(linear)
    if groups is not None:
        assert not answers(linear, groups)
    kept, irreducible, hit = core(linear, seconds=20.0, seed=0)
    assert not hit
    assert bool(kept) == (not answers(linear, linear.groups()))
    if kept:
        assert irreducible
        assert not answers(linear, kept)
        assert all(answers(linear, tuple(g for g in kept if g != group)) for group in kept)


def test_parts_are_no_proof() -> None:
    """2 x = 1: a half would do, so nothing is said; of 2 x = 1 and x >= 1 not even parts are left."""
    linear = Linear()
    x = linear.number(HIGH)
    linear.row({x: 2}, least=1, most=1, group="odd")
    assert barred(linear) is None
    linear.row({x: 1}, least=1, group="some")
    linear.row({x: 1}, most=2, group="idle")
    assert set(barred(linear) or ()) == {"odd", "some"}
    assert barred(linear, groups=("odd", "idle")) is None


def test_a_hair_is_enough() -> None:
    """Rows that miss one another by less than a solver in floating point sees are not said to clash; by one
    in a million they are."""
    linear = Linear()
    x, y = linear.number(10**6), linear.number(10**6)
    linear.row({x: 1, y: 1}, most=999_999, group="most")
    linear.row({x: 1, y: 1}, least=10**6, group="least")
    assert set(barred(linear) or ()) == {"most", "least"}


def test_a_wish_that_nothing_brings() -> None:
    """A row without anything in it stands for one: it alone cannot be kept."""
    linear = Linear()
    x = linear.number(HIGH)
    linear.row({x: 1}, least=1, group="some")
    linear.row({}, least=1, group="wish:none")
    assert barred(linear) == ("wish:none",)
    assert barred(linear, groups=("some",)) is None
    assert core(linear, seconds=10.0, seed=0) == (("wish:none",), True, False)
