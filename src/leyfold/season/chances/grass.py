"""The nights that birds of one batch and sex spend in shelters at grass, where a fox can come to them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.stock import Sex

__all__ = ["Segment", "nights", "segments"]


@dataclass(frozen=True, slots=True)
class Segment:
    """Days `first` until `until` (ordinals) with nobody changing place: the share of the birds in each
    shelter; what is missing to 1 is indoors."""

    first: int
    until: int
    shelters: tuple[float, ...]


def segments(farm: Farm, plan: Plan, batch: str, sex: Sex) -> tuple[Segment, ...]:
    """The stays of one batch and sex of a completed plan, side by side, in order of day."""
    own = [s for s in plan.stays if s.batch == batch and s.sex in (None, sex)]
    edges = sorted({day.toordinal() for s in own for day in (s.first, s.until)})
    found = []
    for first, until in pairwise(edges):
        there = [s for s in own if s.first.toordinal() <= first < s.until.toordinal()]
        if there:
            whole = sum(s.share for s in there)
            found.append(
                Segment(first, until, tuple(s.share / whole for s in there if s.place in farm.shelters))
            )
    return tuple(found)


def nights(spans: tuple[Segment, ...], first: int, until: int) -> float:
    """Nights in shelters from day `first` until `until`, birds elsewhere counting by their share. Before
    the first stay and after the last the birds stand as in it."""
    if not spans:
        return 0.0
    reach = [spans[0].first, *(s.first for s in spans[1:]), spans[-1].until]
    reach[0], reach[-1] = min(reach[0], first), max(reach[-1], until)
    return sum(
        sum(span.shelters) * max(min(reach[i + 1], until) - max(reach[i], first), 0)
        for i, span in enumerate(spans)
    )
