"""Dated work in the farm's words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import cast

from leyfold.round.shown import Shown
from leyfold.season.work import KINDS, Task, Value
from leyfold.words import say

__all__ = ["SEXES_SAID", "told", "told_birds"]

SEXES_SAID = {"hen": "hens", "pullet": "pullets", "cockerel": "cockerels", "both": "birds", None: "birds"}


def told(task: Task, shown: Shown) -> str:
    """The task as a line: what to do, with whom, where, how many. Without its day."""
    assert task.kind in KINDS
    words = {name: _said(name, value, shown) for name, value in task.values.items()}
    if task.kind == "limit":
        return say(
            "round.task_limit", place=task.place, what=say(f"page.of_{task.values['quantity']}"), **words
        )
    if task.kind == "wish":
        what = say(f"round.wish_{cast(str, task.values['what']).replace(' ', '_')}")
        return say("round.task_wish", number=words["number"], what=what)
    if task.kind == "sort":
        return _sorted(task, words)
    if task.kind in ("feed", "shift"):
        words["sex"] = say(f"round.{SEXES_SAID[cast(str, task.values['sex'])]}")
    place = say("round.at", place=task.place) if task.place is not None else ""
    return say(f"round.task_{task.kind}", batch=task.batch, place=task.place, at=place, **words)


def told_birds(batch: str, sex: str | None, ring: str | None) -> str:
    """Birds of one batch: "march cockerels (red ring)". `sex` as in `SEXES_SAID`."""
    who = say(f"round.of_{SEXES_SAID[sex]}", batch=batch)
    return who if ring is None else say("round.ringed", who=who, ring=ring)


def _said(name: str, value: Value, shown: Shown) -> str:
    if isinstance(value, date):
        return shown.short(value)
    if isinstance(value, float | int):
        return shown.mass(value) if name == "kg" else shown.n(value)
    return value if isinstance(value, str) else ", ".join(value)


def _sorted(task: Task, words: Mapping[str, str]) -> str:
    if words["pullets_to"] and words["cockerels_to"]:
        return say("round.task_sort", batch=task.batch, **words)
    return say("round.task_sort_here", batch=task.batch, heads=words["heads"])
