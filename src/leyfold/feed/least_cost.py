"""The cheapest mix that holds what is needed, what each need costs, and what would have to be cheaper.

A linear programme: the shares of the ingredients are the unknowns, their prices the costs. HiGHS solves it,
by way of scipy. Its dual values say what a need costs: the price of the mix rises by so much a unit of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from leyfold.feed.mix import Need, contents, lacks, shortfalls
from leyfold.nouns.feed import Ingredient

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

__all__ = ["Clash", "Dear", "Limits", "Mix", "Unpriced", "least_cost"]

Floats = NDArray[np.float64]

OPTIMAL, INFEASIBLE = 0, 2  # of scipy.optimize.linprog
ABSENT = 1e-9
"""A share below this is nothing: a gram in a thousand tonnes."""


class Unpriced(ValueError):
    """An ingredient in use without a price. It is never taken to be free."""

    def __init__(self, ingredient: str) -> None:
        self.ingredient = ingredient
        super().__init__(f"no price for {ingredient}")


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the most share of one ingredient in the mix."""

    ingredient: str
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class Dear:
    """A need that binds. `per_unit` is what the kg of mix would cost more if the need rose by one unit of its
    nutrient (0 or more for at least, 0 or less for at most); `per_hundredth` what it costs more or saves to
    make the need one part in a hundred harder."""

    need: Need
    per_unit: float

    @property
    def per_hundredth(self) -> float:
        return abs(self.per_unit * self.need.value) / 100


@dataclass(frozen=True, slots=True)
class Mix:
    """Shares sum to `whole`. `enters_at` is the price a kg under which an ingredient left out would come in;
    `held_back` what the kg of mix would save a unit of share if the limit of an ingredient were raised;
    `per_whole` what one more unit of the whole costs."""

    shares: Mapping[str, float]
    price_per_kg: float
    contents: Mapping[str, float]
    dear: tuple[Dear, ...]
    enters_at: Mapping[str, float]
    held_back: Mapping[str, float]
    whole: float
    per_whole: float


@dataclass(frozen=True, slots=True)
class Clash:
    """No mix fits. These needs and limits cannot hold together, and without any one of them the rest can."""

    needs: tuple[Need, ...]
    limits: tuple[Limits, ...]
    whole: bool = False
    """Whether it takes that the shares sum to the whole mix."""


def least_cost(
    ingredients: Sequence[Ingredient],
    needs: Sequence[Need],
    *,
    whole: float = 1.0,
    most_kg: float | None = None,
) -> Mix | Clash:
    """The cheapest mix of `ingredients` that meets `needs`, or which of them cannot hold together.

    `whole` (0..1) is the share of the mix that these ingredients make up, the rest being something fixed
    that holds none of the nutrients. `most_kg` is how much is to be mixed: what there is of an ingredient
    (`has_kg`) then limits it. Raises `Unpriced`, `Unknown`, and ArithmeticError where the solver's answer
    does not stand its own checking.
    """
    if not 0 < whole <= 1:
        raise ValueError("the whole is a share above 0, up to 1")
    for unpriced in (i for i in ingredients if i.price_per_kg is None):
        raise Unpriced(unpriced.id)
    nutrients = tuple(dict.fromkeys(need.nutrient for need in needs))
    for unknown in lacks(ingredients, nutrients):
        raise unknown
    problem = _Problem(ingredients, needs, whole, _limits(ingredients, most_kg))
    answer = problem.solve()
    if answer.status == INFEASIBLE:
        return _clash(problem)
    if answer.status != OPTIMAL:
        raise ArithmeticError(f"the solver stopped: {answer.message}")
    return _mix(problem, answer, nutrients)


def _limits(ingredients: Sequence[Ingredient], most_kg: float | None) -> tuple[Limits, ...]:
    found = []
    for i in ingredients:
        most = 1.0 if i.at_most is None else i.at_most.value
        if i.has_kg is not None and most_kg is not None:
            most = min(most, i.has_kg / most_kg)
        found.append(Limits(i.id, i.at_least, most))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Problem:
    ingredients: Sequence[Ingredient]
    needs: Sequence[Need]
    whole: float
    limits: Sequence[Limits]

    def rows(self, needs: Sequence[Need]) -> tuple[Floats, Floats, Floats]:
        """a x <= b, each row divided by its own size, so that energy and calcium weigh alike; the sizes."""
        a = np.array(
            [
                [(-1 if n.side == "least" else 1) * i.contents[n.nutrient].value for i in self.ingredients]
                for n in needs
            ]
        ).reshape(len(needs), len(self.ingredients))
        b = np.array([-n.value if n.side == "least" else n.value for n in needs])
        size = np.maximum(np.abs(a).max(axis=1, initial=0.0), np.abs(b))
        size[size == 0] = 1.0
        return a / size[:, None], b / size, size

    def solve(
        self,
        needs: Sequence[Need] | None = None,
        limits: Sequence[Limits] | None = None,
        prices: Floats | None = None,
        sums: bool = True,
    ) -> OptimizeResult:
        from scipy.optimize import linprog

        a, b, _ = self.rows(self.needs if needs is None else needs)
        held = {limit.ingredient: limit for limit in (self.limits if limits is None else limits)}
        bounds = [
            (held[i.id].least, held[i.id].most) if i.id in held else (0.0, None) for i in self.ingredients
        ]
        cost = np.array([i.price_per_kg for i in self.ingredients]) if prices is None else prices
        # Limits that contradict each other are an answer here, and an error to linprog.
        if any(high is not None and low > high for low, high in bounds):
            from scipy.optimize import OptimizeResult

            return OptimizeResult(status=INFEASIBLE, message="limits")
        whole: dict[str, Any] = {}
        if sums:
            whole = {"A_eq": np.ones((1, len(self.ingredients))), "b_eq": [self.whole]}
        return linprog(cost, A_ub=a if len(a) else None, b_ub=b if len(a) else None, bounds=bounds, **whole)


def _mix(problem: _Problem, answer: OptimizeResult, nutrients: Sequence[str]) -> Mix:
    by_id = {i.id: i for i in problem.ingredients}
    names = list(by_id)
    found = np.where(np.abs(answer.x) < ABSENT, 0.0, answer.x)
    shares = dict(zip(names, map(float, found), strict=True))
    if abs(float(found.sum()) - problem.whole) > 1e-7:
        raise ArithmeticError("the shares do not sum to the whole")
    held = {n: v * problem.whole for n, v in contents(shares, by_id, nutrients).items()}
    short = shortfalls(held, problem.needs)
    if short:
        raise ArithmeticError(f"the mix does not hold what was asked: {short}")
    _, _, size = problem.rows(problem.needs)
    per_unit = -np.asarray(answer.ineqlin.marginals) / size if len(problem.needs) else np.zeros(0)
    dear = tuple(
        Dear(need, float(value) if need.side == "least" else -float(value))
        for need, value in zip(problem.needs, per_unit, strict=True)
        if abs(value) > 1e-12
    )
    lower, upper = np.asarray(answer.lower.marginals), np.asarray(answer.upper.marginals)
    return Mix(
        shares=shares,
        price_per_kg=float(answer.fun),
        contents=held,
        dear=tuple(sorted(dear, key=lambda d: -d.per_hundredth)),
        enters_at={
            i.id: float(i.price_per_kg - value)
            for i, value, share in zip(problem.ingredients, lower, found, strict=True)
            if i.price_per_kg is not None and share == 0 and value > 1e-12
        },
        held_back={name: -float(v) for name, v in zip(names, upper, strict=True) if v < -1e-12},
        whole=problem.whole,
        per_whole=float(answer.eqlin.marginals[0]),
    )


def _clash(problem: _Problem) -> Clash:
    """An irreducible set, by deletion: leave each out in turn, and leave it out for good where the rest still
    cannot hold together."""
    needs, limits, whole = list(problem.needs), [*problem.limits], True
    nothing = np.zeros(len(problem.ingredients))

    def impossible(needs: Sequence[Need], limits: Sequence[Limits], whole: bool) -> bool:
        status = int(problem.solve(needs, limits, nothing, whole).status)
        if status not in (OPTIMAL, INFEASIBLE):
            raise ArithmeticError("the solver could not tell whether a mix fits")
        return status == INFEASIBLE

    for each in tuple(limits):
        rest = [limit for limit in limits if limit is not each]
        if impossible(needs, rest, whole):
            limits = rest
    for need in tuple(needs):
        left = [other for other in needs if other is not need]
        if impossible(left, limits, whole):
            needs = left
    if impossible(needs, limits, False):
        whole = False
    return Clash(tuple(needs), tuple(limits), whole)
