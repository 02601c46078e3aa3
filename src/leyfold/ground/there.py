"""How much grass shelters can stand on, each stand once: from the land alone, before anyone is on it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from leyfold.ground.inset import inset
from leyfold.ground.lanes import fixed_lanes
from leyfold.ground.search import edge_directions, edges_of
from leyfold.nouns.land import Field, Footprint, Land, Layout, Span
from leyfold.nouns.planning import Grass

__all__ = ["grass_laid", "grass_seen"]

A_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Piece:
    """Ground in one field, and when it is shut up for hay."""

    m2: float
    shut: tuple[Span, ...]

    def open(self, first: date, until: date) -> bool:
        """Whether shelters may stand there on some day from `first` up to `until`."""
        days = ((first + timedelta(days=i)) for i in range((until - first).days))
        return any(not any(day in span for span in self.shut) for day in days)


def grass_seen(
    land: Land, sizes: Iterable[tuple[float, float]], first: date, until: date
) -> tuple[Grass, ...]:
    """Grass that is there at the least: straight lanes side by side along the best edge of each field, as
    anyone could peg them out. Takes no time to speak of.

    `sizes`: length along the move and width of each size of shelter, m. Each is counted as if alone on the
    land, and the one that covers least counts for all. From `first` up to, not including, `until` in all,
    and for days on which hay shuts some field.
    """

    def stands(field: Field, footprint: Footprint) -> int:
        edges = edges_of(inset(field))
        if edges.x0.size == 0:
            return 0
        return max(fixed_lanes(edges, angle, footprint) for angle in edge_directions(field.outer))

    pieces = [
        [Piece(stands(field, footprint) * footprint.area_m2, field.hay_shut) for field in land.fields]
        for footprint in _footprints(sizes)
    ]
    return _least(pieces, first, until)


def grass_laid(
    land: Land,
    sizes: Iterable[tuple[float, float]],
    first: date,
    until: date,
    lay: Callable[..., Layout],
) -> tuple[Grass, ...]:
    """The same by stands as `lay` (`stands.lay_out`, or one that remembers its layouts) lays them out."""
    shut = {field.id: field.hay_shut for field in land.fields}
    pieces = []
    for footprint in _footprints(sizes):
        areas = lay(land, footprint, exclusions={}, numbered_from=1).areas
        pieces.append([Piece(a.stands * footprint.area_m2, shut[a.field]) for a in areas])
    return _least(pieces, first, until)


def _footprints(sizes: Iterable[tuple[float, float]]) -> list[Footprint]:
    return [Footprint(f"{length:g}x{width:g}", length, width) for length, width in sorted(set(sizes))]


def _least(pieces: Sequence[Sequence[Piece]], first: date, until: date) -> tuple[Grass, ...]:
    """The least of all sizes over the whole time, and over each stretch of days with less than any longer
    one that it lies in."""
    ends = {
        min(max(day, first), until)
        for own in pieces
        for piece in own
        for span in piece.shut
        for day in (span.first, span.until)
    }
    edges = sorted({first, until, *ends})
    stretches = sorted(
        ((a, b) for i, a in enumerate(edges) for b in edges[i + 1 :]), key=lambda s: s[0] - s[1]
    )
    found: list[Grass] = []
    for a, b in stretches:
        m2 = min((sum(piece.m2 for piece in own if piece.open(a, b)) for own in pieces), default=0.0)
        wider = [g.m2 for g in found if (g.first or a) <= a and b <= (g.until or b)]
        if m2 < min(wider, default=float("inf")):
            found.append(Grass(m2, a, b, nets=(a, b) == (first, until)))
    return tuple(found)
