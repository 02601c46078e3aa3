"""A part of a model is the model with the rest left as it is."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from leyfold.plan.linear import Linear
from leyfold.plan.part import Parts
from leyfold.plan.solver import relaxed, solve_cpsat

HIGH = 6


@st.composite
def models(draw: st.DrawFn) -> tuple[Linear, tuple[int, ...]]:
    """A model of a few variables and an answer that holds in it: every row is laid around that answer."""
    many = draw(st.integers(2, 6))
    linear = Linear()
    for _ in range(many):
        linear.number(HIGH)
    values = tuple(draw(st.lists(st.integers(0, HIGH), min_size=many, max_size=many)))
    for v in range(many):
        linear.earns(v, draw(st.integers(-5, 5)))
    for _ in range(draw(st.integers(1, 5))):
        terms = {v: draw(st.integers(-4, 4)) for v in range(many)}
        have = sum(c * values[v] for v, c in terms.items())
        room = draw(st.integers(0, 8))
        ends = draw(st.sampled_from(["least", "most", "both"]))
        linear.row(
            terms,
            least=have - room if ends != "most" else None,
            most=have + room if ends != "least" else None,
            group="row",
        )
    return linear, values


@given(models(), st.sets(st.integers(0, 5), min_size=1))
def test_an_answer_of_a_part_holds_in_the_whole_and_is_the_best_with_the_rest_as_it_is(
    model: tuple[Linear, tuple[int, ...]], opened: set[int]
) -> None:
    linear, values = model
    opened &= set(range(len(values)))
    part, own = Parts(linear).part(values, opened)
    found = solve_cpsat(part, effort=1.0, seconds=10.0)
    assert found.proven
    assert found.values is not None
    whole = Parts(linear).whole(values, own, found.values)
    assert linear.holds(whole)
    fixed = {v: x for v, x in enumerate(values) if v not in opened}
    assert linear.worth(whole) == solve_cpsat(linear, effort=1.0, seconds=10.0, fixed=fixed).gain


@given(models())
def test_no_answer_passes_the_relaxed_one(model: tuple[Linear, tuple[int, ...]]) -> None:
    linear, _ = model
    best = solve_cpsat(linear, effort=1.0, seconds=10.0)
    assert best.proven
    loose = relaxed(linear, seconds=10.0)
    assert loose is not None
    assert loose.bound >= best.gain


@given(models())
def test_what_is_spared_holds_and_is_worth_no_less(model: tuple[Linear, tuple[int, ...]]) -> None:
    linear, values = model
    spared = linear.spared(values)
    assert linear.holds(spared)
    assert linear.worth(spared) >= linear.worth(values)


def test_a_place_nobody_is_in_is_spared() -> None:
    linear = Linear()
    taken, used = linear.number(1), linear.number(1)
    linear.row({used: 1, taken: -1}, least=0)
    linear.earns(used, -7)
    assert linear.spared((0, 1)) == (0, 0)
    assert linear.spared((1, 1)) == (1, 1)


def test_an_answer_that_breaks_a_row_or_a_span_does_not_hold() -> None:
    linear = Linear()
    one = linear.number(3)
    linear.row({one: 2}, most=4)
    assert linear.holds((2,))
    assert not linear.holds((3,))
    assert not linear.holds((-1,))
