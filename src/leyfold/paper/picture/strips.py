"""Strips of daily totals beneath the flow, sharing its days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Quantity
from leyfold.nouns.season import Season
from leyfold.paper.picture.days import BOLD, Days
from leyfold.paper.svg import clipped, el, n, staircase, text, width
from leyfold.round.shown import Shown
from leyfold.words import say
from leyfold.words.forms import day_and_month, number

__all__ = ["UNITS", "Strip", "draw_strip", "strips"]

Floats = NDArray[np.float64]

UNITS = {"feed": "kg", "water": "l", "nitrogen": "kg/ha", "heads": "", "eggs": "", "floor": ""}
"""What each strip is in inside."""

ABOVE = 14.0
"""Room above a strip."""
HIGH = 36.0
LINE = 11.5


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """`parts` are [day] values stacked upon each other, each with its name ("" where it is the only one);
    `low` and `high` the 5 and 95 % points of what was tried."""

    name: str
    unit: str
    parts: tuple[tuple[str, Floats], ...]
    limit: float | None = None
    low: Floats | None = None
    high: Floats | None = None

    @property
    def total(self) -> Floats:
        summed: Floats = np.sum([values for _, values in self.parts], axis=0)
        return summed

    @property
    def height(self) -> float:
        """With the room above it; parts need a line each for their names."""
        return ABOVE + max(HIGH, LINE * (len(self.parts) + 1) if len(self.parts) > 1 else 0.0)


def strips(
    farm: Farm, season: Season, bands: dict[str, tuple[Floats, Floats]], shown: Shown
) -> tuple[Strip, ...]:
    """What the farm holds, eats, drinks and lays each day, and how near its floor and ground are to a limit.
    `bands` by the names of the strips."""
    feed = [
        (kind, (season.feed_kg * (season.feed_kind == i)).sum(axis=0)) for i, kind in enumerate(season.feeds)
    ]
    fed = tuple((kind, kg) for kind, kg in feed if kg.any()) or (("", np.zeros(season.days)),)
    made = {
        "heads": ((("", season.heads.sum(axis=0)),), None),
        "feed": (fed, None),
        "water": ((("", season.water_l.sum(axis=0)),), None),
        "eggs": ((("", season.eggs.sum(axis=0)),), None),
        "floor": (
            (("", 100 * _worst(season, "brooder", "floor_share")),),
            _scaled(_limit(farm, "floor_share", "brooder"), 100),
        ),
        "nitrogen": (
            (("", _worst(season, "shelter", "kg_n_per_ha_pass")),),
            _limit(farm, "kg_n_per_ha_pass", "shelter"),
        ),
    }
    return tuple(_in_own_units(key, *of, bands.get(key), shown) for key, of in made.items())


def _in_own_units(
    key: str,
    parts: tuple[tuple[str, Floats], ...],
    limit: float | None,
    band: tuple[Floats, Floats] | None,
    shown: Shown,
) -> Strip:
    factor, unit = shown.outward(1.0, UNITS[key]), shown.unit(UNITS[key])
    return Strip(
        say(f"picture.strip_{key}"),
        say(f"picture.strip_{key}_unit", unit=unit),
        tuple((name, factor * values) for name, values in parts),
        _scaled(limit, factor),
        *(factor * edge for edge in band or ()),
    )


def _worst(season: Season, kind: str, name: str) -> Floats:
    of = [getattr(p, name) for p in season.places.values() if p.kind == kind]
    worst: Floats = np.max([np.zeros(season.days), *of], axis=0)
    return worst


def _limit(farm: Farm, quantity: Quantity, kind: str) -> float | None:
    """The lowest limit on all places of a kind."""
    return min((x.at_most for x in farm.limits if (x.quantity, x.scope) == (quantity, kind)), default=None)


def _scaled(value: float | None, by: float) -> float | None:
    return None if value is None else value * by


_FILLS = ("wash", "paper", "shade", "chance")


def _fill(part: int) -> str:
    return _FILLS[part % len(_FILLS)]


def draw_strip(strip: Strip, days: Days, top: float) -> str:
    """One strip on its own scale from `top` down, with its highest day."""
    base, total = top + strip.height, strip.total
    peak = float(max(total.max(), 0.0 if strip.high is None else strip.high.max()))
    full = _round(max(peak, strip.limit or 0.0))
    px = (strip.height - ABOVE) / full
    edges = days.edges
    out = [
        text(clipped(strip.name, BOLD, days.left - 12), days.left - 8, base - 16, "end strong"),
        text(clipped(strip.unit, 11, days.left - 12), days.left - 8, base - 3, "end small soft"),
        el("path", d=f"M{n(days.left)} {n(base - full * px)}H{n(days.right)}", class_="rule"),
    ]
    if strip.limit is None or (full - strip.limit) * px > LINE:
        out.append(text(number(full, 0, days.language), days.right + 6, base - full * px + 4, "small soft"))
    under = np.zeros(days.count)
    for i, (_, values) in enumerate(strip.parts):
        over = under + values
        out.append(
            el("path", d=staircase(edges, base - px * under, base - px * over),
               class_=f"outline {_fill(i)}")
        )  # fmt: skip
        under = over
    if strip.low is not None and strip.high is not None:
        out.append(
            el("path", d=staircase(edges, base - px * strip.low, base - px * strip.high), class_="chance")
        )
        for line in (strip.low, strip.high):
            out.append(el("path", d=_line(edges, base - px * line), class_="edge"))
    if strip.limit is not None:
        out += _limited(strip, days, base, px)
    if len(strip.parts) > 1:
        for i, (name, _) in enumerate(strip.parts):
            y, shown = base - 1 - LINE * i, clipped(name, 11, 60)
            swatch = el("rect", x=days.right + 6, y=y - 8, width=11, height=8, class_=f"outline {_fill(i)}")
            out += [swatch, text(shown, days.right + 21, y, "small")]
    out.append(el("path", d=f"M{n(days.left)} {n(base)}H{n(days.right)}", class_="line"))
    if total.max() > 0:
        out.append(_peak(total, days, base, px))
    return "".join(out)


def _limited(strip: Strip, days: Days, base: float, px: float) -> list[str]:
    assert strip.limit is not None
    y = base - px * strip.limit
    over = np.maximum(strip.total, strip.limit)
    word = say("picture.limit", number=number(strip.limit, 0, days.language))
    out = [el("path", d=f"M{n(days.left)} {n(y)}H{n(days.right)}", class_="limit")]
    if (strip.total > strip.limit).any():
        level = np.full(days.count, y)
        out.append(el("path", d=staircase(days.edges, level, base - px * over), class_="over outline"))
    out.append(text(word, days.right + 6, y + 4, "small strong"))
    return out


def _peak(total: Floats, days: Days, base: float, px: float) -> str:
    """A dot and the number on the highest day."""
    at = int(total.argmax())
    x, y = days.x(at + 0.5), base - px * float(total[at])
    value = float(total[at])
    shown = number(value, 0 if value >= 20 else 1, days.language)
    word = f"{shown}, {day_and_month(days.day(at), days.language)}"
    room = width(word, BOLD)
    left = min(max(x - room / 2, days.left + 2), days.right - room - 2)
    return el("circle", cx=x, cy=y, r=2.6, class_="ink") + text(word, left, y - 5, "strong halo")


def _line(x: list[float], y: Floats) -> str:
    return "M" + "L".join(f"{n(a)} {n(float(b))}" for a, b in zip(x, y, strict=False))


def _round(value: float) -> float:
    """The next round number: 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten."""
    if value <= 0:
        return 1.0
    power = 10.0 ** np.floor(np.log10(value))
    return float(
        next(k * power for k in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if k * power >= value * (1 - 1e-9))
    )
