"""Layout -> tour: all strips in the order in which one shelter would work them, and which way each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from leyfold.nouns.land import Field, Layout, Point, Stand, Strip

__all__ = ["Run", "tour"]


SHORT = 5
LAST_M = 1e6
"""Added to the way to a short strip: further than any field."""


@dataclass(frozen=True, slots=True)
class Run:
    """A strip as it is worked: its stands in order, and the heading of the move in degrees."""

    strip: str
    field: str
    heading_deg: float
    stands: tuple[Stand, ...]


def tour(layout: Layout, fields: tuple[Field, ...] = ()) -> tuple[Run, ...]:
    """Field after field as given (else as laid out), in each from the gate, always to the nearest strip end.

    From the end of one strip the nearest free end is mostly that of its neighbour: the shelter turns about
    and comes back beside its own ground. Where a field has no gate the first strip begins. Strips of fewer
    than SHORT stands come last in their field: turning every other day is worth it only when ground is short.
    """
    by_field: dict[str, list[Strip]] = {f.id: [] for f in fields}
    for strip in layout.strips:
        by_field.setdefault(strip.field, []).append(strip)
    gates = {f.id: f.gates for f in fields}
    runs: list[Run] = []
    for name, strips in by_field.items():
        runs += worked(strips, gates.get(name, ()))
    return tuple(runs)


def worked(strips: list[Strip], gates: tuple[Point, ...]) -> list[Run]:
    """One field's strips, nearest end first."""
    if not strips:
        return []
    ends = np.array(
        [[(s.x_m, s.y_m) for s in (strip.stands[0], strip.stands[-1])] for strip in strips]
    )  # strip, end, xy
    short = np.array([[len(strip.stands) < SHORT] for strip in strips])
    free = np.ones(len(strips), dtype=bool)
    at = np.array(gates[0]) if gates else ends[0, 0]
    runs = []
    for _ in strips:
        away = np.hypot(*np.moveaxis(ends - at, 2, 0))
        # Rounded, so that two ends equally near are told apart by their order and not by noise.
        away = np.where(free[:, None], np.round(away, 6) + LAST_M * short, np.inf)
        i, end = np.unravel_index(int(np.argmin(away)), away.shape)
        free[i] = False
        strip = strips[int(i)]
        stands = strip.stands if end == 0 else strip.stands[::-1]
        runs.append(Run(strip.id, strip.field, (strip.angle_deg + 180 * int(end)) % 360, stands))
        at = ends[i, 1 - end]
    return runs
