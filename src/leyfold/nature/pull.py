"""Moving a shelter by hand: the force, and what people may be asked for. Say `cautions.LIFTING` too."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["GUIDANCE_N", "RopePull", "best_rope_n", "people_needed", "pull_n", "wheeled_pull_n"]

_G = 9.81

GUIDANCE_N: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "men": MappingProxyType({"start": 200.0, "keep": 100.0}),
        "women": MappingProxyType({"start": 150.0, "keep": 70.0}),
    }
)
"""Force to start or stop a load, and to keep it moving, by one healthy adult; hands between knuckle and
shoulder height, no more than 20 m. A filter, not a limit of safety. Source: UK HSE, guidance on pushing and
pulling (Manual Handling Operations Regulations 1992, L23)."""


def pull_n(mass_kg: ArrayLike, *, friction: ArrayLike, slope_share: ArrayLike = 0.0) -> Array:
    """Force along the ground that moves a load on skids [N]: m g (mu cos s + sin s), never under nil.

    `slope_share` rise over run, uphill positive, -1..1; `friction` 0..2: a steel sled 0.47 to 0.39 to start
    and 0.35 to 0.31 to keep going at 45 to 136 kg (Andre, Fry et al. 2013), 0.21 to 0.58 over grass and
    sports surfaces (Linthorne & Cooper 2013), 0.7 and more where an edge ploughs (guess).
    """
    angle = np.arctan(number("slope_share", slope_share, least=-1, most=1))
    rub = number("friction", friction, least=0, most=2)
    weight = _G * number("mass_kg", mass_kg, above=0)
    return np.maximum(weight * (rub * np.cos(angle) + np.sin(angle)), 0.0)


class RopePull(NamedTuple):
    force_n: Array
    angle_deg: Array


def best_rope_n(mass_kg: ArrayLike, *, friction: ArrayLike) -> RopePull:
    """The least pull on a rope over level ground [N] and its angle above it [deg]: m g mu / sqrt(1 + mu^2) at
    atan mu. `friction` 0..2."""
    rub = number("friction", friction, least=0, most=2)
    force = _G * number("mass_kg", mass_kg, above=0) * rub / np.sqrt(1.0 + rub**2)
    return RopePull(force, np.degrees(np.arctan(rub)) + 0.0 * force)


def wheeled_pull_n(
    mass_kg: ArrayLike, *, friction: ArrayLike, wheeled_share: ArrayLike = 0.5, rolling: ArrayLike = 0.1
) -> Array:
    """Force on level ground with a share of the weight on wheels [N]: m g ((1 - s) mu + s c).

    `rolling` c 0..1: about 0.1 for small tyres on short grass (guess).
    """
    share = number("wheeled_share", wheeled_share, least=0, most=1)
    rub, roll = number("friction", friction, least=0, most=2), number("rolling", rolling, least=0, most=1)
    return _G * number("mass_kg", mass_kg, above=0) * ((1.0 - share) * rub + share * roll)


def people_needed(force_n: ArrayLike, *, one_n: ArrayLike) -> Array:
    """How many pull together when each may be asked `one_n` (GUIDANCE_N); whole, at least one.

    People do not pull quite as one: allow for it above two.
    """
    each = number("force_n", force_n, least=0) / number("one_n", one_n, above=0)
    return np.maximum(np.ceil(each - 1e-12), 1.0)
