"""A planner's answers: a plan with its proof, or the one clash that stands in the way of any plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from leyfold.nouns.draws import WishChance
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan

__all__ = ["Clash", "Finding", "Planned", "Reason", "WayOut"]


@dataclass(frozen=True, slots=True)
class Planned:
    """`plan` as plan.toml can say it (origin planner, with its gap), `completed` the same with every stay.

    `objective` is the margin in the farm's money and equals the total of the reckoning of `completed`; no
    plan of the same levels with sets a week apart and no shelter shared can pass `bound`; `gap` is (bound -
    objective) / |bound|, 0 where proven best, below 0 where this one, by the day, earns more. `chances`: one
    row a wish. `hit_limit`: the search was stopped by the clock, so that another machine may find another
    plan. `rounds`: how often the levels of wishes were corrected. `binding`: names of the groups of limits
    (`plan.group_*` in the words) that are met to the full somewhere.
    """

    plan: Plan
    completed: Plan
    objective: float
    bound: float
    gap: float
    chances: tuple[WishChance, ...]
    hit_limit: bool
    rounds: int = 1
    seconds: float = 0.0
    solver: str = ""
    binding: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reason:
    """One limit, wish or habit that takes part in a clash. `group` is its name, such as "shelters" or
    "wish:laying-flock"; `said` a whole sentence."""

    group: str
    said: str


@dataclass(frozen=True, slots=True)
class WayOut:
    """One change under which a plan exists. `farm` is the farm so changed; `costs` what the change costs in
    money against `Planned.objective` of the plan it opens, None where nobody knows; `guess` whether that
    rests on a guess; `verified` whether the planner has found that plan and the checker nothing amiss in it;
    `shut` whether it is proven that the change by itself opens no plan."""

    id: str
    said: str
    farm: Farm
    costs: float | None = None
    planned: Planned | None = None
    verified: bool = False
    guess: bool = False
    shut: bool = False


@dataclass(frozen=True, slots=True)
class Clash:
    """No plan fits. `reasons` cannot all be kept, even with every other limit and wish let go; with any one
    of them let go the others can, where `irreducible`. False: time ran out before the last of them could be
    tried. No `reasons`: no plan was found, and nobody knows whether there is one."""

    reasons: tuple[Reason, ...]
    irreducible: bool
    hit_limit: bool = False
    ways: tuple[WayOut, ...] = ()
    levels: Mapping[tuple[str, date], float] = field(default_factory=dict)
    """What each wish had to bring on average to be kept at its chance."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a checker has found wrong in a plan: days, what is passed, where, by how much."""

    day_first: date
    day_last: date
    what: str
    where: str
    worst: float
    at_most: float
    said: str
