"""The season as one picture: birds flowing through places over the year, and strips of daily totals beneath.

See docs/picture.md for how it is read.
"""

from __future__ import annotations

from datetime import date
from itertools import accumulate

from leyfold.nouns.draws import Draws
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.paper.picture.bands import bands
from leyfold.paper.picture.days import DATES_H, MONTHS_H, Days
from leyfold.paper.picture.drawn import Drawing
from leyfold.paper.picture.flow import kills, ribbons, threads
from leyfold.paper.picture.ink import STYLE, hatches
from leyfold.paper.picture.key import batch_key, sign_key
from leyfold.paper.picture.lanes import lay
from leyfold.paper.picture.strips import draw_strip, strips
from leyfold.paper.svg import clipped, el, escape, text
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["STYLE", "season_picture"]

WIDE = 1400.0
LEFT = 132.0
RIGHT = 1316.0


def season_picture(
    farm: Farm, season: Season, draws: Draws | None = None, *, today: date | None = None
) -> str:
    """An SVG of its own, WIDE across and as high as the farm needs; the same season gives the same bytes.

    `draws` adds the band of nine in ten to heads, feed, water and eggs; `today` a line through that day.
    """
    shown = Shown(farm)
    days = Days(season.first, season.days, LEFT, RIGHT, shown.language)
    drawn = ribbons(season)
    name = farm.holding.name
    last = season.day(season.days - 1)
    head = say("picture.title", farm=name, first=shown.day(season.first), last=shown.day(last))
    keys, y = batch_key(season, days, 52.0, WIDE - 16)
    dates_top = y + 6
    lanes = lay(farm, season, drawn, dates_top + DATES_H, days.x(1) - days.x(0))
    flows, gone = threads(season, drawn), kills(season, drawn)
    drawing = Drawing(season, days, lanes, gone, shown)
    rows = strips(farm, season, bands(draws), shown)
    tops = [lanes.bottom + MONTHS_H + h for h in accumulate((r.height for r in rows), initial=0.0)]
    bottom = tops[-1]
    signs, end = sign_key(lanes.px, bottom + 34, WIDE - 16, shown.language, chance=draws is not None)
    body = [
        el("rect", width=WIDE, height=end, class_="paper"),
        hatches(len(season.plan.batches)),
        text(clipped(head, 25, WIDE - 16), 8, 30, "title"),
        keys,
        drawing.ground(),
        days.rules(dates_top, bottom),
        days.dates(dates_top),
        *map(drawing.ribbon, drawn),
        *map(drawing.thread, flows),
        drawing.limits(),
        *map(drawing.kill, gone),
        *map(drawing.labels, drawn),
        *map(drawing.kill_number, gone),
        drawing.breaches(),
        days.month_names(lanes.bottom + 14),
        *(draw_strip(row, days, top) for row, top in zip(rows, tops, strict=False)),
        "" if today is None else days.today(today, dates_top + DATES_H, bottom),
        signs,
    ]
    return el(
        "svg",
        el("title", escape(head), id="year-title"),
        el("desc", escape(say("picture.desc", farm=name)), id="year-desc"),
        el("style", STYLE),
        *(f"\n{part}" for part in body if part),
        "\n",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDE:.0f} {end:.0f}",
        width=WIDE,
        height=round(end),
        role="img",
        aria_labelledby="year-title year-desc",
        class_="leyfold-year",
    )
