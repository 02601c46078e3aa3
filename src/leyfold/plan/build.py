"""The whole model of a problem."""

from __future__ import annotations

from leyfold.plan.brooding import add_brooders
from leyfold.plan.ground import add_ground
from leyfold.plan.model import Model
from leyfold.plan.nets import add_nets
from leyfold.plan.problem import Problem
from leyfold.plan.rooms import add_houses, add_shelters
from leyfold.plan.sets import add_incubators, add_sets
from leyfold.plan.wanted import Levels, add_hours, add_killing, add_wishes

__all__ = ["build"]


def build(problem: Problem, levels: Levels) -> Model:
    """The model of a problem in which every wish must reach its level."""
    model = Model(problem)
    add_sets(model)
    add_incubators(model)
    add_brooders(model)
    add_shelters(model)
    add_houses(model)
    add_nets(model)
    add_ground(model)
    add_killing(model)
    add_hours(model)
    add_wishes(model, levels)
    return model
