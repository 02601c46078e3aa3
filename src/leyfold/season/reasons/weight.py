"""What a bird weighs and gains: the curve of its line, and how far drafts have left the lighter ones."""

from __future__ import annotations

from leyfold.nature.growth import by_curve
from leyfold.nouns.why import Step, Term
from leyfold.season.reasons.heads import stood
from leyfold.season.reasons.lot import Bird, given, renamed, step
from leyfold.words import say

__all__ = ["gain", "mean_weight", "weight"]

SOURCES = {
    "gompertz": "Winsor 1932, Proc. Natl. Acad. Sci. 18; for poultry Emmans 1981",
    "logistic": "Verhulst 1838",
    "richards": "Richards 1959, J. Exp. Bot. 10",
}


def mean_weight(bird: Bird) -> Step:
    """The mean bird of the sex by the growth curve of the line."""
    curve = bird.row.traits.growth
    age = bird.age
    terms: list[Term] = [
        given("mature", curve.mature_kg),
        given("rate", curve.rate_per_d),
        age,
        given("inflection", curve.inflection_d),
    ]
    formula = "mature * exp(-exp(-rate * (age - inflection)))"
    if curve.model == "logistic":
        formula = "mature / (1 + exp(-rate * (age - inflection)))"
    elif curve.model == "richards" and curve.shape is not None and curve.shape.value != 1.0:
        bent = "1 + (shape - 1) * exp(-rate * (age - inflection))"
        if curve.shape.value < 1.0:
            bent = f"max(0, {bent})"
        formula = f"mature * ({bent}) ** (1 / (1 - shape))"
        terms.append(given("shape", curve.shape))
    return step(
        "mean_weight", float(by_curve(curve, age.value)), "kg", formula, *terms,
        source=SOURCES[curve.model], evidence="paper",
        sex=say("why.one_hen" if bird.is_ripe else f"why.one_{bird.row.sex}"), days=f"{age.value:g}",
    )  # fmt: skip


def weight(bird: Bird) -> Step:
    """A bird of the lot at the day's start."""
    mean, lighter = mean_weight(bird), stood(bird)
    if lighter is None:
        return renamed(mean, "weight")
    value = mean.value * bird.stay.weight_factor
    return step("weight", value, "kg", "mean_weight * lighter", mean, lighter)


def gain(bird: Bird) -> Step:
    """What a bird of the lot gains on the day."""
    now, after = weight(bird), renamed(weight(bird.tomorrow()), "tomorrow")
    return step("gain", after.value - now.value, "kg", "tomorrow - weight", after, now)
