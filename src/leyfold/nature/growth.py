"""Live weight by age: the sigmoid curves used for poultry, and fitting them to weighings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number
from leyfold.nouns.stock import Growth
from leyfold.words import say

__all__ = [
    "GrowthFit",
    "Model",
    "Unidentifiable",
    "by_curve",
    "fit",
    "gompertz",
    "gompertz_through",
    "logistic",
    "richards",
    "weight_kg",
]

Model = Literal["gompertz", "logistic", "richards"]


def gompertz(
    age_d: ArrayLike, *, mature_kg: ArrayLike, rate_per_d: ArrayLike, inflection_d: ArrayLike
) -> Array:
    """Weight [kg] at `age_d` by Gompertz: W = A exp(-exp(-b (t - ti))).

    All arguments broadcast. `mature_kg` A > 0; `rate_per_d` b > 0; `inflection_d` ti, the age of fastest
    gain, where W = A/e and the gain is A b/e a day. Any finite age; ages before hatch only extrapolate.
    Source: Winsor 1932, Proc. Natl. Acad. Sci. 18; for poultry Emmans 1981.
    """
    A = number("mature_kg", mature_kg, above=0)
    b = number("rate_per_d", rate_per_d, above=0)
    t = number("age_d", age_d) - number("inflection_d", inflection_d)
    return A * np.exp(-_decay(b * t))


def logistic(age_d: ArrayLike, *, mature_kg: ArrayLike, scale_d: ArrayLike, inflection_d: ArrayLike) -> Array:
    """Weight [kg] at `age_d` by the logistic: W = A / (1 + exp((ti - t) / s)).

    All arguments broadcast. `mature_kg` A > 0; `scale_d` s > 0; `inflection_d` ti, where W = A/2 and the
    gain is A/(4 s) a day. Any finite age. Source: Verhulst 1838; the form of Pinheiro & Bates 2000.
    """
    A = number("mature_kg", mature_kg, above=0)
    s = number("scale_d", scale_d, above=0)
    t = number("age_d", age_d) - number("inflection_d", inflection_d)
    return A / (1.0 + _decay(t / s))


def richards(
    age_d: ArrayLike,
    *,
    mature_kg: ArrayLike,
    rate_per_d: ArrayLike,
    inflection_d: ArrayLike,
    shape: ArrayLike,
) -> Array:
    """Weight [kg] at `age_d` by Richards: W = A (1 + (m - 1) exp(-k (t - ti)))^(1 / (1 - m)).

    All arguments broadcast. `mature_kg` A > 0; `rate_per_d` k > 0; `shape` m > 0, which sets the weight at
    the inflection, A m^(1/(1 - m)): m = 1 is Gompertz (A/e), m = 2 the logistic with s = 1/k (A/2). Below
    m = 1 the curve starts from zero at a finite age, and is zero before it.
    Source: Richards 1959, J. Exp. Bot. 10.
    """
    A = number("mature_kg", mature_kg, above=0)
    k = number("rate_per_d", rate_per_d, above=0)
    bend = number("shape", shape, above=0) - 1.0
    t = number("age_d", age_d) - number("inflection_d", inflection_d)
    fall = _decay(k * t)
    flat = bend == 0.0
    safe = np.where(flat, 1.0, bend)
    # log1p keeps the digits as m nears 1; -1 is where a curve with m < 1 meets zero weight.
    with np.errstate(divide="ignore"):
        logarithm = np.log1p(np.maximum(safe * fall, -1.0)) / safe
    return A * np.exp(-np.where(flat, fall, logarithm))


def weight_kg(
    model: Model,
    age_d: ArrayLike,
    *,
    mature_kg: ArrayLike,
    rate_per_d: ArrayLike,
    inflection_d: ArrayLike,
    shape: ArrayLike | None = None,
) -> Array:
    """Weight [kg] by any of the three models in one set of parameters.

    `rate_per_d` of the logistic is 1/scale; `shape` serves the Richards curve alone and is needed there
    (TypeError). Ranges as in each model.
    """
    of = {"mature_kg": mature_kg, "inflection_d": inflection_d}
    if model == "logistic":
        return logistic(age_d, scale_d=1.0 / number("rate_per_d", rate_per_d, above=0), **of)
    if model == "gompertz":
        return gompertz(age_d, rate_per_d=rate_per_d, **of)
    if shape is None:
        raise TypeError("a Richards curve needs its shape")
    return richards(age_d, rate_per_d=rate_per_d, shape=shape, **of)


def by_curve(curve: Growth, age_d: ArrayLike) -> Array:
    """Weight [kg] of the mean bird of a line by its growth curve, at any ages."""
    return weight_kg(
        curve.model,
        age_d,
        mature_kg=curve.mature_kg.value,
        rate_per_d=curve.rate_per_d.value,
        inflection_d=curve.inflection_d.value,
        shape=None if curve.shape is None else curve.shape.value,
    )


def gompertz_through(
    *, mature_kg: ArrayLike, hatch_kg: ArrayLike, age_d: ArrayLike, weight_kg: ArrayLike
) -> tuple[Array, Array]:
    """(rate_per_d, inflection_d) of the Gompertz curve through a hatch weight and one later weight.

    With u(W) = ln ln(A/W): b = (u(hatch) - u(weight)) / age, ti = u(hatch) / b. All arguments broadcast.
    Needs 0 < `hatch_kg` < `weight_kg` < `mature_kg` and `age_d` > 0; anything else raises ValueError.
    """
    A = number("mature_kg", mature_kg, above=0)
    hatch = number("hatch_kg", hatch_kg, above=0)
    weight = number("weight_kg", weight_kg, above=0)
    age = number("age_d", age_d, above=0)
    if not (np.all(hatch < weight) and np.all(weight < A)):
        raise ValueError("the curve needs hatch_kg < weight_kg < mature_kg")
    start = np.log(np.log(A / hatch))
    rate = (start - np.log(np.log(A / weight))) / age
    return rate, start / rate


def _decay(x: Array) -> Array:
    """exp(-x), held short of overflow where the weight is zero to every digit anyway."""
    return np.exp(np.minimum(-x, 700.0))


class Unidentifiable(ValueError):
    """The weighings do not settle the curve asked for. `reason` is the key of the sentence in `words`."""

    def __init__(self, reason: str, **values: object) -> None:
        self.reason = reason
        super().__init__(say(reason, **values))


@dataclass(frozen=True, slots=True)
class GrowthFit:
    """A growth curve fitted by least squares.

    `parameters` are the keywords of the model's function, `standard_errors` the same keys and units;
    `residual_sd_kg` = sqrt(rss / (n - number of parameters)); `rss_kg2` is the (weighted) residual sum.
    """

    model: Model
    parameters: Mapping[str, float]
    standard_errors: Mapping[str, float]
    residual_sd_kg: float
    rss_kg2: float
    n: int

    def weight_kg(self, age_d: ArrayLike) -> Array:
        """The fitted weight [kg] at any age."""
        return _CURVES[self.model](age_d, **self.parameters)


_CURVES: Mapping[str, Callable[..., Array]] = {
    "gompertz": gompertz,
    "logistic": logistic,
    "richards": richards,
}
_KEYS: Mapping[str, tuple[str, ...]] = {
    "gompertz": ("mature_kg", "inflection_d", "rate_per_d"),
    "logistic": ("mature_kg", "inflection_d", "scale_d"),
    "richards": ("mature_kg", "inflection_d", "rate_per_d", "shape"),
}
_WHAT = ("nature.fit_mature", "nature.fit_inflection", "nature.fit_pace", "nature.fit_shape")

# A fit is refused past these. Loose: one standard error reaches a factor e of the grown weight, rate or
# shape, or the whole span of ages weighed. Far: a grown weight this many times the heaviest weighing is
# not measured but made up by the curve. Alike: condition number at which parameters stand in for each other.
_LOOSE = 1.0
_FAR = 10.0
_ALIKE = 1e6


def fit(
    age_d: ArrayLike, weight_kg: ArrayLike, *, model: Model = "gompertz", weights: ArrayLike | None = None
) -> GrowthFit:
    """The least-squares growth curve through weighings.

    `age_d`, `weight_kg` > 0 and `weights` > 0 (relative, such as the birds behind a mean; all 1 when None)
    are one-dimensional and of one length. Standard errors come from the Jacobian at the optimum.
    Raises Unidentifiable, rather than return numbers that mean nothing, when there are too few ages, the
    grown weight runs off beyond ten times the heaviest weighing, or a standard error reaches a factor e (for
    the age of inflection: the span of ages). ValueError for other bad input.
    """
    if model not in _CURVES:
        raise ValueError(f"model must be one of {sorted(_CURVES)}, got {model!r}")
    age = number("age_d", age_d)
    seen = number("weight_kg", weight_kg, above=0)
    share = np.ones_like(seen) if weights is None else number("weights", weights, above=0)
    if age.ndim != 1 or not age.shape == seen.shape == share.shape:
        raise ValueError("age_d, weight_kg and weights must be one-dimensional and of one length")
    keys = _KEYS[model]
    ages = len(np.unique(age))
    if age.size <= len(keys) or ages < len(keys):
        raise Unidentifiable("nature.fit_few", n=age.size, ages=ages, needed=len(keys))

    theta, jacobian, rss = _least_squares(model, age, seen, np.sqrt(share))
    values = _natural(model, theta)
    heaviest = float(seen.max())
    if values["mature_kg"] > _FAR * heaviest:
        raise Unidentifiable(
            "nature.fit_far", mature_kg=values["mature_kg"], heaviest_kg=heaviest, times=_FAR
        )
    lengths = np.linalg.norm(jacobian, axis=0)
    if not np.all(lengths > 0) or np.linalg.cond(jacobian / lengths) > _ALIKE:
        raise Unidentifiable("nature.fit_failed")
    inverse = np.linalg.inv((jacobian / lengths).T @ (jacobian / lengths)) / np.outer(lengths, lengths)
    variance = rss / (age.size - len(keys))
    errors = np.sqrt(np.diag(inverse) * variance)
    scale = np.array([1.0, np.ptp(age), 1.0, 1.0])[: len(keys)]
    for error, what in zip(errors / scale, _WHAT, strict=False):
        if error > _LOOSE:
            raise Unidentifiable("nature.fit_loose", what=say(what))
    # All but the age of inflection were fitted as logarithms: their errors are relative.
    natural = {
        key: float(error if key == "inflection_d" else error * values[key])
        for key, error in zip(keys, errors, strict=True)
    }
    return GrowthFit(model, values, natural, float(np.sqrt(variance)), rss, int(age.size))


def _natural(model: Model, theta: Array) -> dict[str, float]:
    return {
        key: float(x if key == "inflection_d" else np.exp(x))
        for key, x in zip(_KEYS[model], theta, strict=True)
    }


def _least_squares(model: Model, age: Array, seen: Array, root: Array) -> tuple[Array, Array, float]:
    """(optimum, Jacobian, residual sum of squares), the positive parameters as logarithms."""
    from scipy.optimize import least_squares

    curve = _CURVES[model]
    span, first, top = float(np.ptp(age)), float(age.min()), float(seen.max())

    def residual(theta: Array) -> Array:
        return root * (curve(age, **_natural(model, theta)) - seen)

    # The weight is linear in the grown weight: of a coarse grid of the others, take the best to start from.
    starts: list[tuple[float, list[float]]] = []
    for shape in (1.0, 1.5, 3.0) if model == "richards" else (None,):
        for pace_d in span * np.array([0.1, 0.2, 0.4, 0.8, 1.6]):
            for inflection in first + span * np.array([0.0, 0.4, 0.8, 1.3, 2.0]):
                pace = float(np.log(pace_d if model == "logistic" else 1.0 / pace_d))
                theta = [0.0, float(inflection), pace, *([] if shape is None else [float(np.log(shape))])]
                unit = root * curve(age, **_natural(model, np.array(theta)))
                if (size := float(unit @ unit)) > 1e-12:
                    theta[0] = float(np.log((unit @ (root * seen)) / size))
                    starts.append((float(np.sum(residual(np.array(theta)) ** 2)), theta))
    far = np.log(10.0 * _FAR * top)
    low = np.array([np.log(1e-3 * top), first - 20.0 * span, -np.log(1e4 * span), np.log(0.02)])
    high = np.array([far, first + 20.0 * span, np.log(1e4 * span), np.log(50.0)])
    p = len(_KEYS[model])
    start = np.clip(min(starts)[1], low[:p] + 1e-9, high[:p] - 1e-9)
    found = least_squares(
        residual, start, jac="3-point", bounds=(low[:p], high[:p]), x_scale="jac",
        xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=2000,
    )  # fmt: skip
    return np.asarray(found.x), np.asarray(found.jac), 2.0 * float(found.cost)
