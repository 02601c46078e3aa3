"""Stays the farmer wrote, cut where they begin, end or are drafted, with the share each one holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Stay
from leyfold.nouns.stock import SEXES, Sex
from leyfold.season.course import Course
from leyfold.season.dates import Window
from leyfold.season.party import Leg

__all__ = ["by_batch", "uncovered", "written"]


def by_batch(stays: Iterable[Stay]) -> dict[str, list[Stay]]:
    """The stays of each batch."""
    found: dict[str, list[Stay]] = {}
    for stay in stays:
        found.setdefault(stay.batch, []).append(stay)
    return found


def uncovered(
    stays: Sequence[Stay], sex: Sex, window: Window, first: int, until: int
) -> list[tuple[int, int]]:
    """The spans of days (indices) within first..until for which no stay of a batch places this sex."""
    spans, day = [], first
    own = sorted((s for s in stays if s.sex in (None, sex)), key=lambda s: s.first)
    for stay in own:
        taken = min(window.clipped(stay.first), until)
        if day < taken:
            spans.append((day, taken))
        day = max(day, window.clipped(stay.until))
    return [*spans, (day, until)] if day < until else spans


def written(farm: Farm, stays: Sequence[Stay], course: Course, legs: Sequence[tuple[Leg, ...]]) -> list[Stay]:
    """One stay a sex, place and stretch of days with nothing changing.

    Birds are spread by the heads written; places without heads take the rest, by their floor. Heads are
    proportions: where they do not sum to the birds there are, all birds are still placed.
    """
    result: list[Stay] = []
    of_batch = by_batch(stays)
    for index, row in enumerate(course.rows):
        own = [s for s in of_batch.get(row.batch.id, ()) if s.sex in (None, row.sex)]
        edges = {course.window.clipped(day) for s in own for day in (s.first, s.until)}
        for leg in legs[index]:
            cuts = [leg.first, *sorted(e for e in edges if leg.first < e < leg.until), leg.until]
            for first, until in pairwise(cuts):
                there = [
                    s for s in own if course.window.index(s.first) <= first < course.window.index(s.until)
                ]
                shares = _shares(farm, course, there) if there else []
                gone = ".gone" if first == until else ""
                result += [
                    replace(
                        stay,
                        id=f"{row.batch.id}.{row.sex}.{stay.place}.{course.window.day(first)}{gone}",
                        sex=row.sex,
                        first=course.window.day(first),
                        until=course.window.day(until),
                        share=share * leg.share,
                        weight_factor=leg.factor,
                    )
                    for stay, share in zip(there, shares, strict=True)
                ]
    return result


def _shares(farm: Farm, course: Course, there: Sequence[Stay]) -> list[float]:
    """Shares that sum to 1 over the places of one sex on one day."""
    known = [0.0 if s.heads is None else s.heads / _expected(course, s, s.heads) for s in there]
    open_floor = sum(_floor(farm, s.place) for s in there if s.heads is None)
    rest = max(1.0 - sum(known), 0.0)
    shares = [
        rest * _floor(farm, s.place) / open_floor if s.heads is None else share
        for s, share in zip(there, known, strict=True)
    ]
    total = sum(shares)
    return [share / total for share in shares]


def _expected(course: Course, stay: Stay, at_least: float) -> float:
    """Birds of the stay's kind that live when it begins, whatever place they are in."""
    day = course.window.clipped(stay.first)
    sexes: Sequence[Sex] = SEXES if stay.sex is None else (stay.sex,)
    return max(sum(float(course.alive[course.row(stay.batch, sex), day]) for sex in sexes), at_least)


def _floor(farm: Farm, place: str) -> float:
    kit = farm.shelters.get(place) or farm.brooders.get(place) or farm.houses.get(place)
    return 1.0 if kit is None else kit.floor_m2
