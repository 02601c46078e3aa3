"""Mixes and orders: time against the aim, medians.

    python benchmarks/bench_feed.py

The cheapest mix of 20 ingredients for 12 nutrients, aim 50 ms; what it takes to find which of its needs
clash; one batch of it weighed out; a year of orders. The first call loads the solver: it is shown apart.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import date

import numpy as np

from leyfold.feed.batch import weigh_out
from leyfold.feed.demand import Demand
from leyfold.feed.least_cost import Mix, least_cost
from leyfold.feed.mix import Need
from leyfold.feed.orders import plan_orders
from leyfold.feed.stores import Store
from leyfold.nouns.farm import Bin
from leyfold.nouns.feed import Ingredient
from leyfold.nouns.figure import Figure

INGREDIENTS, NUTRIENTS, AIM_MS = 20, 12, 50.0


def median_ms(work: Callable[[], object], runs: int = 30) -> float:
    spent = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        spent.append(1000 * (time.perf_counter() - start))
    return statistics.median(spent)


def larder(seed: int = 1) -> tuple[tuple[Ingredient, ...], tuple[Need, ...]]:
    """Made-up ingredients, and needs that an even mix of them meets with a little to spare."""
    draw = np.random.default_rng(seed)
    names = [f"n{j}" for j in range(NUTRIENTS)]
    held = draw.uniform(0.0, 0.4, (INGREDIENTS, NUTRIENTS))
    ingredients = tuple(
        Ingredient(
            f"i{k}",
            {n: Figure(float(v), "share", "made up", "guess") for n, v in zip(names, row, strict=True)},
            float(draw.uniform(0.1, 1.0)),
        )
        for k, row in enumerate(held)
    )
    even = held.mean(axis=0)
    least = tuple(Need(n, "least", float(0.97 * v)) for n, v in zip(names, even, strict=True))
    return ingredients, (*least, Need(names[0], "most", float(1.1 * even[0])))


def main() -> None:
    ingredients, needs = larder()
    start = time.perf_counter()
    mix = least_cost(ingredients, needs)
    first_ms = 1000 * (time.perf_counter() - start)
    assert isinstance(mix, Mix)
    clash = (*needs, *(Need(n.nutrient, "least", 3 * n.value) for n in needs[:3]))
    kg = np.array([np.linspace(5, 60, 371)])
    wanted = Demand(date(2027, 1, 4), ("grower",), kg)
    bins = (Bin("b", "grower", 1500.0, 300.0, 5, 500.0, 1500.0),)
    store = Store("grower", bins, {"b": (wanted.first, 300.0)}, wanted.first, "farm file", 5, 25.0)

    mixed = median_ms(lambda: least_cost(ingredients, needs))
    print(f"{'first mix, the solver loaded':46}{first_ms:9.1f} ms")
    for label, ms in (
        (f"mix of {INGREDIENTS} ingredients, {NUTRIENTS} nutrients", mixed),
        ("which needs clash", median_ms(lambda: least_cost(ingredients, clash), 5)),
        (
            "a batch weighed out",
            median_ms(lambda: weigh_out(mix.shares, ingredients, needs, batch_kg=200, step_kg=0.1), 5),
        ),
        ("a year of orders", median_ms(lambda: plan_orders(store, wanted, wanted.first))),
    ):
        print(f"{label:46}{ms:9.1f} ms")
    print(f"aim {AIM_MS:.0f} ms for the mix: {'met' if mixed < AIM_MS else 'MISSED'}")


if __name__ == "__main__":
    main()
