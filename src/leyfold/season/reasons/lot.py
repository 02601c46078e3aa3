"""One lot on one day, and the small change of every sum: where its plain numbers come from."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TypeVar

from leyfold.nouns.farm import Farm, MobileHouse, Shelter
from leyfold.nouns.figure import Figure
from leyfold.nouns.plan import Lot, Plan, Stay
from leyfold.nouns.stock import Feed
from leyfold.nouns.why import Given, Step, Term
from leyfold.season.course import Row
from leyfold.words import forms, say

__all__ = ["Bird", "floor", "given", "renamed", "step", "told_by", "written"]

AnyTerm = TypeVar("AnyTerm", bound=Given | Step)


def given(key: str, figure: Figure, **values: object) -> Given:
    """A figure under its name in the words, `why.name_KEY`."""
    return Given(key, say(f"why.name_{key}", **values), figure)


def written(key: str, value: float, unit: str, source: str, evidence: str, **values: object) -> Given:
    """A plain number that is no figure of the farm: a date, a share, a number of eggs."""
    return given(key, Figure(float(value), unit, source, evidence), **values)


def step(
    key: str,
    value: float,
    unit: str,
    formula: str | None,
    *terms: Term,
    source: str = "",
    evidence: str = "",
    called: str | None = None,
    **values: object,
) -> Step:
    """A step under its name in the words, `why.name_KEY`, or the one it is `called` by."""
    words = say(f"why.name_{called or key}", **values)
    return Step(key, words, float(value), unit, formula, terms, source, evidence)


def told_by(batch: str, recorded: Collection[str]) -> tuple[str, str]:
    """Source and evidence of what is known of a batch: the records where they tell of it, else the plan."""
    if batch in recorded:
        return say("why.source_records", batch=batch), "records"
    return say("why.source_plan", batch=batch), "farm file"


def renamed(term: AnyTerm, key: str) -> AnyTerm:
    """The same term under another name, where a formula holds several of its kind."""
    return replace(term, key=key)


@dataclass(frozen=True)
class Bird:
    """A bird of `lot` on `day`. `row` is its batch (dated) and sex; `recorded` are the ids of the batches
    whose beginnings the records tell."""

    farm: Farm
    plan: Plan
    row: Row
    stay: Stay
    lot: Lot
    day: date
    recorded: Collection[str]

    @property
    def age_d(self) -> int:
        return (self.day - self.row.batch.hatched_on).days

    def tomorrow(self) -> Bird:
        return replace(self, day=self.day + timedelta(days=1))

    def said(self, day: date) -> str:
        """A date as the farm reads it."""
        return forms.day(day, self.farm.holding.language)

    def of_plan(self, key: str, value: float, unit: str, **values: object) -> Given:
        """A number that the plan says of the batch, or the records in its place."""
        source, evidence = told_by(self.row.batch.id, self.recorded)
        return written(key, value, unit, source, evidence, **values)

    @property
    def age(self) -> Given:
        return self.of_plan("age", self.age_d, "d", hatched=self.said(self.row.batch.hatched_on))

    @property
    def warmth(self) -> Given:
        return given("warmth", self.farm.temperature_C[self.day.month - 1])

    @property
    def is_ripe(self) -> bool:
        """Past point of lay: she eats as a hen."""
        return self.row.sex == "pullet" and self.age_d >= round(self.row.line.point_of_lay_d.value)

    @property
    def feed(self) -> Feed:
        """What it eats at its age."""
        phases = sorted(
            (p for p in self.row.line.feeding if p.sex in (None, self.row.sex)),
            key=lambda p: (p.from_d, p.sex or ""),
        )
        return self.farm.feeds[[p.feed for p in phases if p.from_d <= self.age_d][-1]]


def floor(farm: Farm, place: str) -> Term:
    """The floor of a shelter, brooder or house [m2]."""
    kit = farm.shelters.get(place) or farm.brooders.get(place) or farm.houses[place]
    if isinstance(kit, Shelter):
        where = say("why.source_kit", table="shelters", place=place)
        return step(
            "floor",
            kit.floor_m2,
            "m2",
            "length * width",
            written("length", kit.length_m, "m", where, "farm file"),
            written("width", kit.width_m, "m", where, "farm file"),
            place=place,
        )
    table = "houses" if isinstance(kit, MobileHouse) else "brooders"
    where = say("why.source_kit", table=table, place=place)
    return written("floor", kit.floor_m2, "m2", where, "farm file", place=place)
