"""One group of birds, drawn: tonight's air against what they bear, tomorrow's bucket against 30 and 44 °C."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from leyfold.nouns.ahead import Bucket, Cold, Night
from leyfold.nouns.farm import Farm
from leyfold.paper.picture.ink import STYLE
from leyfold.paper.svg import clipped, el, escape, n, text
from leyfold.round.figures import tonight
from leyfold.round.spoken import Spoken
from leyfold.words import say

__all__ = ["group_picture"]

WIDE, LEFT, RIGHT = 760.0, 64.0, 700.0
PANEL_H, GAP = 190.0, 74.0
TOP = 84.0


def group_picture(farm: Farm, night: Night, cold: Cold, bucket: Bucket | None) -> str:
    """An SVG of its own; the same look-ahead gives the same bytes."""
    s = Spoken(farm)
    flock = cold.flock
    head = say(
        "ahead.picture_title", place=flock.place, batch=flock.batch, heads=s(flock.heads), age=flock.age_d
    )
    first = _night(s, night, cold, TOP)
    second = "" if bucket is None else _bucket(s, bucket, TOP + PANEL_H + GAP)
    high = TOP + PANEL_H + 40.0 + (0.0 if bucket is None else PANEL_H + GAP)
    return el(
        "svg",
        el("title", escape(head), id="group-title"),
        el("desc", escape(say("ahead.picture_desc")), id="group-desc"),
        el("style", STYLE),
        el("rect", width=WIDE, height=high, class_="paper"),
        text(clipped(head, 25, WIDE - 24), 12, 34, "title"),
        f"\n{first}",
        f"\n{second}\n",
        xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {n(WIDE)} {n(high)}", width=WIDE, height=high,
        role="img", aria_labelledby="group-title group-desc", class_="leyfold-year",
    )  # fmt: skip


class _Panel:
    """A frame in which hours run to the right and degrees up."""

    def __init__(self, s: Spoken, hours: Sequence[datetime], low_C: float, high_C: float, top: float) -> None:
        self.s, self.hours, self.top = s, hours, top
        step = 5.0 if high_C - low_C <= 30 else 10.0
        self.low = step * np.floor(low_C / step)
        self.high = max(step * np.ceil(high_C / step), self.low + 2 * step)
        self.step = step
        self.start = hours[0].timestamp()
        self.length = max(hours[-1].timestamp() - self.start, 3600.0)

    def x(self, at: datetime) -> float:
        return LEFT + (RIGHT - LEFT) * (at.timestamp() - self.start) / self.length

    def y(self, celsius: float) -> float:
        part = (celsius - self.low) / (self.high - self.low)
        return self.top + PANEL_H * (1.0 - float(np.clip(part, 0.0, 1.0)))

    def frame(self, title: str, every_h: int) -> str:
        rules, words = "", [text(title, LEFT, self.top - 14, "group")]
        for degrees in np.arange(self.low, self.high + 0.1, self.step):
            rules += f"M{n(LEFT)} {n(self.y(degrees))}H{n(RIGHT)}"
            label = self.s.degrees(float(degrees))
            words.append(text(label, LEFT - 8, self.y(degrees) + 4, "small soft end"))
        ticks = ""
        for at in self.hours:
            clock = self.s.clock(at)
            if clock.endswith(":00") and int(clock[:2]) % every_h == 0:
                ticks += f"M{n(self.x(at))} {n(self.top + PANEL_H)}v5"
                words.append(text(clock, self.x(at), self.top + PANEL_H + 19, "small soft mid"))
        base = f"M{n(LEFT)} {n(self.top + PANEL_H)}H{n(RIGHT)}"
        return el("path", d=rules, class_="rule") + el("path", d=base + ticks, class_="line") + "".join(words)

    def path(self, values: Sequence[float]) -> str:
        return "M" + "L".join(
            f"{n(self.x(at))} {n(self.y(v))}" for at, v in zip(self.hours, values, strict=True)
        )

    def around(self, low: Sequence[float], high: Sequence[float]) -> str:
        there = [f"{n(self.x(at))} {n(self.y(v))}" for at, v in zip(self.hours, high, strict=True)]
        back = [f"{n(self.x(at))} {n(self.y(v))}" for at, v in zip(self.hours, low, strict=True)]
        return "M" + "L".join(there + back[::-1]) + "Z"

    def limit(self, celsius: float, words: str) -> str:
        y = self.y(celsius)
        return el("path", d=f"M{n(LEFT)} {n(y)}H{n(RIGHT)}", class_="limit") + text(
            words, RIGHT - 4, y - 5, "small end halo strong"
        )


def _night(s: Spoken, night: Night, cold: Cold, top: float) -> str:
    # Birds in a house have the station's air: the band is moved to theirs.
    shift = cold.air_C.middle - night.lowest_C.middle
    low, middle, high = night.curve_C + shift
    floors = cold.floors_C
    panel = _Panel(s, night.hours, min(low.min(), floors.min()) - 1, max(high.max(), floors.max()) + 2, top)
    under = [*np.minimum(middle, floors)]
    parts = [
        panel.frame(say("ahead.picture_night"), 2),
        el("path", d=panel.around([*low], [*high]), class_="chance"),
    ]
    if cold.grade >= 2:
        parts.append(el("path", d=panel.around(under, [*floors]), class_="over", fill_opacity=0.55))
    parts += [
        el("path", d=panel.path([*middle]), class_="line", stroke_width="1.8px"),
        el("path", d=panel.path([*floors]), class_="limit"),
        text(say("ahead.picture_floor"), RIGHT - 4, panel.y(float(floors[-1])) - 6, "small end halo strong"),
    ]
    return "".join(parts)


def _bucket(s: Spoken, bucket: Bucket, top: float) -> str:
    warm, refused = tonight(s.farm, "water_warm"), tonight(s.farm, "water_refused")
    wet = bucket.water_l > 1e-9
    last = int(np.flatnonzero(wet)[-1]) + 1
    panel = _Panel(
        s, bucket.hours, min(float(bucket.water_C.min()), 10.0), max(refused + 1, bucket.warmest_C), top
    )
    there = _Panel(s, bucket.hours[:last], panel.low, panel.high, top)
    there.start, there.length, there.low, there.high = panel.start, panel.length, panel.low, panel.high
    water = bucket.water_C[:last]
    over = np.maximum(water, warm)
    parts = [
        panel.frame(say("ahead.picture_bucket"), 3),
        el("path", d=there.around([*np.full(last, warm)], [*over]), class_="over", fill_opacity=0.55)
        if (water > warm).any()
        else "",
        panel.limit(warm, say("ahead.picture_warm")),
        panel.limit(refused, say("ahead.picture_refused")),
        el("path", d=there.path([*water]), class_="line", stroke_width="1.8px"),
    ]
    if bucket.refill_at is not None:
        x = panel.x(bucket.refill_at)
        parts.append(el("path", d=f"M{n(x)} {n(top)}V{n(top + PANEL_H)}", class_="today"))
        word = say("ahead.picture_refill", at=s.clock(bucket.refill_at))
        parts.append(text(word, x + 5, top + 12, "small strong grassword halo"))
    if last < len(bucket.hours):
        x = panel.x(bucket.hours[last - 1])
        parts.append(text(say("ahead.picture_dry"), x + 5, panel.y(float(water[-1])), "small warm halo"))
    return "".join(parts)
