"""The ground as a map true to scale: strips as furrows, pegs with their dates, legible in black and white.

One unit of the drawing is a tenth of a millimetre on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import atan2, cos, degrees, radians, sin

from leyfold.nouns.land import Allotment, Exclusion, Field, Ground, Land, Layout, Paddock, Point
from leyfold.paper.map_ink import LINES, STYLE, Labels, exclusion_hatch, mark
from leyfold.paper.svg import el, escape, n, text, width
from leyfold.words import say
from leyfold.words.forms import day, day_and_month, number

__all__ = ["SCALES", "ground_map"]

SCALES = (100, 200, 250, 500, 750, 1000, 1250, 1500, 2000, 2500, 5000, 10_000, 20_000)
PAGE = (2770.0, 1900.0)
"""An A4 sheet on its side, less its margins."""
HEAD, FOOT, SIDE = 170.0, 300.0, 60.0
DAY_TICKS_FROM = 15.0
"""Stands shorter than 1.5 mm on paper get no tick of their own."""


@dataclass(frozen=True, slots=True)
class Paper:
    """From metres on the ground to the sheet, north up."""

    scale: int
    west_m: float
    north_m: float
    left: float
    top: float

    def at(self, point: Point) -> Point:
        per = 10_000 / self.scale
        return self.left + (point[0] - self.west_m) * per, self.top + (self.north_m - point[1]) * per

    def length(self, metres: float) -> float:
        return metres * 10_000 / self.scale


def ground_map(
    land: Land,
    laid: Sequence[tuple[Layout, Ground | None]],
    *,
    paddocks: Sequence[Paddock] = (),
    language: str = "en",
    today: date | None = None,
    scale: int | None = None,
) -> str:
    """The land, its strips and paddocks, and where the shelters stand on which day, as an SVG of its own.

    `laid`: a layout for each size of shelter, and its allotment. `scale`: 500 for 1 : 500; else the largest
    of SCALES at which the land fits a sheet of A4. The same ground gives the same bytes.
    """
    xs, ys = zip(*(p for f in land.fields for p in f.outer), strict=True)
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    room = (PAGE[0] - 2 * SIDE, PAGE[1] - HEAD - FOOT)
    fits = (s for s in SCALES if wide * 10_000 / s <= room[0] and high * 10_000 / s <= room[1])
    chosen = scale or next(fits, SCALES[-1])
    across, down = max(wide * 10_000 / chosen + 2 * SIDE, 1600.0), high * 10_000 / chosen + HEAD + FOOT
    paper = Paper(chosen, min(xs), max(ys), (across - wide * 10_000 / chosen) / 2, HEAD)
    title = say("map.title", fields=", ".join(f.name for f in land.fields))
    grounds = [ground for _, ground in laid if ground]
    shelters = sorted({a.shelter for ground in grounds for a in ground.days})
    labels = Labels()
    body = [
        el("rect", width=across, height=down, class_="paper"),
        exclusion_hatch(),
        *(field_drawn(f, paper) for f in land.fields),
        *(part for layout, _ in laid for part in furrows(layout, paper)),
        *(paddock_drawn(p, paper) for p in paddocks),
        *(part for ground in grounds for part in ways(ground, shelters, paper)),
        *(excluded(e, paper) for e in {e.id: e for f in land.fields for e in f.exclusions}.values()),
        *(signs(land.fields, paper)),
        *(part for ground in grounds if today for part in standing(ground, today, paper, labels)),
        *(part for ground in grounds for part in pegs(ground, paper, labels, language)),
        text(title, SIDE, 75, "title"),
        text(say("map.scale", scale=number(chosen, 0, language)), SIDE, 130, "soft"),
        north(across - SIDE - 40, 100),
        bar(paper, SIDE, down - FOOT + 90, language),
        *key(laid, shelters, SIDE, down - FOOT + 160, across, language),
    ]
    return el(
        "svg",
        el("title", escape(title)),
        el("style", STYLE),
        *(f"\n{part}" for part in body if part),
        "\n",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {n(across)} {n(down)}",
        width=f"{n(across / 10)}mm",
        height=f"{n(down / 10)}mm",
        role="img",
        class_="leyfold-ground",
    )


def ring_path(ring: Iterable[Point], paper: Paper) -> str:
    """A closed ring as path data."""
    return "M" + "L".join(f"{n(x)} {n(y)}" for x, y in map(paper.at, ring)) + "Z"


def field_drawn(field: Field, paper: Paper) -> str:
    """A field with its holes cut out."""
    rings = "".join(ring_path(r, paper) for r in (field.outer, *field.holes))
    return el("path", el("title", escape(field.name)), d=rings, class_="field", fill_rule="evenodd")


def furrows(layout: Layout, paper: Paper) -> Iterable[str]:
    """The two edges of every strip, and a tick for each stand where there is room for it."""
    half, long = layout.footprint.width_m / 2, layout.footprint.length_m
    edges, ticks = [], []
    for strip in layout.strips:
        c, s = cos(radians(strip.angle_deg)), sin(radians(strip.angle_deg))
        a, b = strip.stands[0], strip.stands[-1]
        for side in (-half, half):
            ends = ((a, -long / 2), (b, long / 2))
            p, q = (paper.at((t.x_m + c * u - s * side, t.y_m + s * u + c * side)) for t, u in ends)
            edges.append(f"M{n(p[0])} {n(p[1])}L{n(q[0])} {n(q[1])}")
        for stand in strip.stands[1:] if paper.length(long) >= DAY_TICKS_FROM else ():
            middle = (stand.x_m - c * long / 2, stand.y_m - s * long / 2)
            p, q = (paper.at((middle[0] - s * v, middle[1] + c * v)) for v in (-half / 4, half / 4))
            ticks.append(f"M{n(p[0])} {n(p[1])}L{n(q[0])} {n(q[1])}")
    yield el("path", d="".join(edges), class_="furrow") if edges else ""
    yield el("path", d="".join(ticks), class_="tick") if ticks else ""


def paddock_drawn(paddock: Paddock, paper: Paper) -> str:
    """The netting round a paddock, and its number."""
    x = sum(p[0] for p in paddock.ring) / len(paddock.ring)
    y = sum(p[1] for p in paddock.ring) / len(paddock.ring)
    at = paper.at((x, y))
    name = text(paddock.id.rpartition("/n")[2], at[0], at[1] + 12, "mid halo")
    return el("path", d=ring_path(paddock.ring, paper), class_="net") + name


def runs_of(ground: Ground, shelter: str) -> list[list[Allotment]]:
    """A shelter's days, parted where it comes to another strip or jumps."""
    runs: list[list[Allotment]] = []
    for a in (a for a in ground.days if a.shelter == shelter):
        if a.stand is None:
            continue
        if not runs or a.leg is None or a.leg.kind not in ("ahead", "stay", "skip"):
            runs.append([])
        runs[-1].append(a)
    return runs


def ways(ground: Ground, shelters: Sequence[str], paper: Paper) -> Iterable[str]:
    """Each shelter's way as a line of its own pattern."""
    for k, shelter in enumerate(shelters):
        path = []
        for run in runs_of(ground, shelter):
            a, b = (paper.at((s.x_m, s.y_m)) for s in (run[0].stand, run[-1].stand) if s)
            path.append(f"M{n(a[0])} {n(a[1])}L{n(b[0])} {n(b[1])}")
        if path:
            title = el("title", escape(shelter))
            yield el("path", title, d="".join(path), class_=f"way {LINES[k % len(LINES)]}")


def pegs(ground: Ground, paper: Paper, labels: Labels, language: str) -> Iterable[str]:
    """A peg where a shelter begins a strip and on Mondays, its date along the furrow where there is room.

    The beginnings of strips are written first.
    """
    size = min(max(paper.length(0.75 * ground.footprint.width_m), 17.0), 26.0)
    begun, mondays = [], []
    for shelter in sorted({a.shelter for a in ground.days}):
        for run in runs_of(ground, shelter):
            a, b = (paper.at((s.x_m, s.y_m)) for s in (run[0].stand, run[-1].stand) if s)
            turn = degrees(atan2(b[1] - a[1], b[0] - a[0])) if a != b else 0.0
            begun.append((run[0], turn))
            mondays += [(day_, turn) for day_ in run[1:] if day_.on.weekday() == 0 and day_.nth == 0]
    for allotment, turn in (*begun, *mondays):
        stand = allotment.stand
        assert stand is not None
        x, y = paper.at((stand.x_m, stand.y_m))
        words = day_and_month(allotment.on, language)
        long = width(words, size) + size / 2
        c, s = cos(radians(turn)), sin(radians(turn))
        if labels.placed((x, y), (x + c * long, y + s * long), size):
            yield el("circle", cx=x, cy=y, r=size / 6, class_="peg")
            yield written(words, x, y, turn, size)


def written(words: str, x: float, y: float, turn: float, size: float) -> str:
    """A date beside its peg, along the furrow, never upside down."""
    flipped = not -90 < turn <= 90
    return el(
        "text",
        escape(words),
        x=x + (-size / 2 if flipped else size / 2),
        y=y + size * 0.36,
        transform=f"rotate({n(turn + 180 if flipped else turn)} {n(x)} {n(y)})",
        style=f"font-size:{n(size)}px",
        class_=f"date halo{' end' if flipped else ''}",
    )


def standing(ground: Ground, today: date, paper: Paper, labels: Labels) -> Iterable[str]:
    """Where the shelters stand today, each with its name where there is room."""
    here = [(a, a.stand) for a in ground.days if a.on == today and a.stand is not None]
    for _, stand in here:
        yield el("path", d=ring_path(stand.corners(ground.footprint), paper), class_="here")
    for a, stand in here:
        x, y = paper.at((stand.x_m, stand.y_m))
        away, half = paper.length(ground.footprint.length_m) * 0.8, width(a.shelter, 28) / 2
        for below in (-away, away + 24):
            if labels.placed((x - half, y + below - 8), (x + half, y + below - 8), 30):
                yield text(a.shelter, x, y + below, "mid strong halo")
                break


def excluded(e: Exclusion, paper: Paper) -> str:
    """Something to keep off, and how far."""
    title = el("title", escape(say("map.keep_off", what=e.kind, metres=number(e.buffer_m, 1))))
    if e.shape == "point":
        x, y = paper.at(e.points[0])
        drawn = el("circle", title, cx=x, cy=y, r=9, class_="thing")
        ring = el("circle", cx=x, cy=y, r=paper.length(e.buffer_m), class_="buffer")
        return ring + drawn + text(e.kind, x, y - 16, "mid small halo")
    points = list(map(paper.at, e.points))
    path = "M" + "L".join(f"{n(x)} {n(y)}" for x, y in points) + ("Z" if e.shape == "ring" else "")
    x, y = sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
    stroke = f"stroke-width:{n(2 * paper.length(e.buffer_m))}px"
    wide = el("path", d=path, class_="buffer wide", style=stroke) if e.buffer_m else ""
    shape = el("path", title, d=path, class_="thing" if e.shape == "ring" else "thing open")
    return wide + shape + text(e.kind, x, y + 8, "mid small halo")


def signs(fields: Iterable[Field], paper: Paper) -> Iterable[str]:
    """Gates and water points."""
    gates = {p for f in fields for p in f.gates}
    water = {p for f in fields for p in f.water}
    for what, points in (("gate", gates), ("water", water)):
        for point in sorted(points):
            yield mark(what, *paper.at(point), say(f"map.{what}"))


def north(x: float, y: float) -> str:
    """The arrow to the north."""
    tip = f"M{n(x)} {n(y - 60)}L{n(x + 16)} {n(y)}L{n(x)} {n(y - 12)}L{n(x - 16)} {n(y)}Z"
    return el("path", d=tip, class_="ink") + text(say("map.north"), x, y + 32, "mid strong")


def bar(paper: Paper, x: float, y: float, language: str) -> str:
    """A scale bar of about 5 cm, in whole tens, fifths or halves."""
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if paper.length(s) * 4 >= 380)
    parts = []
    for k in range(4):
        a = x + paper.length(step) * k
        tone = "blank" if k % 2 else "ink"
        parts.append(el("rect", x=a, y=y, width=paper.length(step), height=12, class_=tone))
        parts.append(text(number(step * k, 0, language), a, y + 40, "mid small"))
    end = say("map.metres", metres=number(step * 4, 0, language))
    parts.append(text(end, x + paper.length(step) * 4, y + 40, "mid small"))
    return "".join(parts)


def key(
    laid: Sequence[tuple[Layout, Ground | None]],
    shelters: Sequence[str],
    x: float,
    y: float,
    across: float,
    language: str,
) -> Iterable[str]:
    """What the ground amounts to, and which line is which shelter."""
    inset = sum(area.inset_m2 for area in laid[0][0].areas) if laid else 0.0
    covered = sum(len(layout.stands) * layout.footprint.area_m2 for layout, _ in laid)
    stands = number(sum(len(layout.stands) for layout, _ in laid), 0, language)
    share = number(100 * covered / inset, 1, language) if inset else "0"
    words = say("map.amounts", stands=stands, share=share)
    if len(laid) == 1:
        bound, gap = number(laid[0][0].bound, 0, language), number(100 * laid[0][0].gap, 1, language)
        words = f"{words} {say('map.bound', bound=bound, gap=gap)}"
    yield text(words, x, y + 20, "soft")
    grounds = [ground for _, ground in laid if ground]
    out = [ground.runs_out for ground in grounds if ground.runs_out]
    if out:
        yield text(say("map.runs_out", on=day(min(out), language)), x, y + 58, "warm strong")
    elif grounds:
        left = number(min(ground.left_days for ground in grounds), 0, language)
        yield text(say("map.lasts", days=left), x, y + 58, "soft")
    columns = max(int((across - 2 * x) / 330), 1)
    for k, shelter in enumerate(shelters[: 3 * columns]):
        left_x, top = x + 330 * (k % columns), y + 96 + 38 * (k // columns)
        yield el("path", d=f"M{n(left_x)} {n(top - 8)}h70", class_=f"way {LINES[k % len(LINES)]}")
        yield text(shelter, left_x + 84, top, "small")
