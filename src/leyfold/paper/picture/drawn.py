"""Lanes, ribbons, threads, killings and breaches as marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.limits import Breach
from leyfold.nouns.season import Season
from leyfold.paper.picture.days import BOLD, Days
from leyfold.paper.picture.flow import Kill, Layer, Ribbon, Thread
from leyfold.paper.picture.ink import hatch
from leyfold.paper.picture.lanes import TRACK, Lane, Lanes
from leyfold.paper.svg import clipped, el, escape, n, staircase, text, width
from leyfold.round.shown import Shown
from leyfold.words import say
from leyfold.words.forms import day_and_month, number

__all__ = ["Drawing"]

Floats = NDArray[np.float64]

SWEEP = 7.0
"""Half the width of a thread between two lanes: about two days."""
LABEL = 12.0
AGAIN = 150.0
SMALL = 11.0


class Drawing:
    """The flow of one season on its lanes. Methods give markup; nothing is changed."""

    def __init__(self, season: Season, days: Days, lanes: Lanes, gone: Sequence[Kill], shown: Shown) -> None:
        self._season, self._days, self._lanes, self._shown = season, days, lanes, shown
        # The room that numbers of killed birds take: ahead of their bar where it is crowded, else behind.
        crowded = [self._is_crowded(k) for k in gone]
        self._ahead = {
            (k.ribbon, k.day): self._takes(k) for k, tight in zip(gone, crowded, strict=True) if tight
        }
        self._behind = {
            (k.ribbon, k.day): self._takes(k) for k, tight in zip(gone, crowded, strict=True) if not tight
        }
        self._lane = {lane.place: lane for lane in lanes.lanes}

    # --- lanes ---------------------------------------------------------------------------------------

    def ground(self) -> str:
        """Under everything: grass, names of places, base lines over the days a thing is owned."""
        d, out = self._days, []
        for kind, top, bottom in self._lanes.headings:
            if kind == "shelter":
                out.append(el("rect", x=0, y=top, width=d.right, height=bottom - top, class_="grass"))
            tone = "group grassword" if kind == "shelter" else "group"
            out.append(text(say(f"picture.group_{kind}"), 8, top + 15, tone))
        for lane in self._lanes.lanes:
            name = clipped(lane.place, BOLD, d.left - 16)
            whole = el("title", escape(lane.place))
            out.append(el("text", escape(name), whole, x=d.left - 8, y=lane.base - 3, class_="end strong"))
            a = d.left if lane.since is None else min(max(d.on(lane.since), d.left), d.right)
            b = d.right if lane.until is None else min(max(d.on(lane.until), d.left), d.right)
            if a < b:
                out.append(el("path", d=f"M{n(a)} {n(lane.base)}H{n(b)}", class_="base"))
        return "".join(out)

    def limits(self) -> str:
        out = []
        for lane in self._lanes.lanes:
            if lane.most is not None:
                y = lane.base - lane.most * self._lanes.px
                out.append(
                    el("path", d=f"M{n(self._days.left)} {n(y)}H{n(self._days.right)}", class_="limit lane")
                )
                word = say("picture.most", number=number(lane.most, 0, self._days.language))
                out.append(text(word, self._days.right + 6, y + 4, "small"))
        return "".join(out)

    # --- ribbons -------------------------------------------------------------------------------------

    def ribbon(self, ribbon: Ribbon) -> str:
        x = self._days.edges[ribbon.start : ribbon.end + 1]
        parts = [el("title", escape(self._told(ribbon)))]
        for layer, heads in ribbon.layers.items():
            if heads.max() > 0:
                low = self._y(ribbon, ribbon.below(layer))
                path = staircase(x, low, low - heads * self._lanes.px)
                look = "outline eggs" if ribbon.is_eggs else "outline"
                parts.append(
                    el("path", d=path, fill=hatch(ribbon.batch, dark=layer == "cockerel"), class_=look)
                )
        return el("g", *parts)

    def _y(self, ribbon: Ribbon, heads: Floats) -> Floats:
        """Where so many heads above the lower edge of the ribbon lie, day by day."""
        under: Floats = self._lanes.below[ribbon] + heads
        return self._lane[ribbon.place].base - under * self._lanes.px

    def _told(self, ribbon: Ribbon) -> str:
        words = {
            "batch": self._name(ribbon),
            "place": ribbon.place,
            "first": day_and_month(self._season.day(ribbon.start), self._days.language),
            "last": day_and_month(self._season.day(ribbon.end - 1), self._days.language),
            "before": number(float(ribbon.total[0]), 0, self._days.language),
            "after": number(float(ribbon.total[-1]), 0, self._days.language),
        }
        return say("picture.told_eggs", **words) if ribbon.is_eggs else say("picture.told", **words)

    def _name(self, ribbon: Ribbon) -> str:
        return self._season.plan.batches[ribbon.batch].id

    def labels(self, ribbon: Ribbon) -> str:
        """A name and a number on each stretch of the ribbon that stays as it is. Where it goes on as the same
        birds, only lifted or fewer, they are said again only on a long stretch."""
        out: list[str] = []
        said: tuple[Layer, ...] | None = None
        for a, b, sexes in self._stretches(ribbon):
            x, end = self._days.x(ribbon.start + a) + 4, self._days.x(ribbon.start + b) - 4
            x += self._behind.get((ribbon, ribbon.start + a), 0.0)
            end -= self._ahead.get((ribbon, ribbon.start + b), 0.0)
            thick = float(ribbon.total[a:b].mean()) * self._lanes.px
            alone = not self._lanes.below[ribbon][a:b].any()
            if (sexes == said and end - x < AGAIN) or (thick < 9 and not alone):
                continue
            words = self._words(ribbon, sexes, float(ribbon.total[a]), end - x)
            if words:
                said = sexes
                mid = self._y(ribbon, ribbon.total / 2)[a : a + 1 + (b - a) // 3].mean()
                y = float(mid) + 4 if thick >= 9 else self._lane[ribbon.place].base - 3
                out.append(text(words, x, y, "halo"))
        return "".join(out)

    def _stretches(self, ribbon: Ribbon) -> Iterator[tuple[int, int, tuple[Layer, ...]]]:
        """Days from a up to b over which the same sexes are in it, none are drafted and nothing shifts."""
        there = np.array([heads > 0 for heads in ribbon.layers.values()])
        lifted = np.diff(self._lanes.below[ribbon]) * self._lanes.px
        thinned = -np.diff(ribbon.total) * self._lanes.px
        turns = np.flatnonzero((np.diff(there, axis=1).any(axis=0)) | (np.abs(lifted) > 3) | (thinned > 3))
        drafts = {
            day - ribbon.start
            for of, day in (*self._ahead, *self._behind)
            if of is ribbon and day < ribbon.end
        }
        cuts = sorted({0, *(turns + 1).tolist(), *drafts, ribbon.end - ribbon.start})
        for a, b in pairwise(cuts):
            yield a, b, tuple(name for name, row in zip(ribbon.layers, there, strict=True) if row[a])

    def _words(self, ribbon: Ribbon, sexes: tuple[Layer, ...], heads: float, room: float) -> str:
        """The fullest label that has room; nothing where none has."""
        name, count = self._name(ribbon), number(heads, 0, self._days.language)
        sex = sexes[0] if len(sexes) == 1 else None
        whole = say(f"picture.label_{sex}", batch=name, heads=count) if sex else f"{name} {count}"
        for words in (whole, f"{name} {count}", name, count):
            if width(words, LABEL) <= room:
                return words
        return ""

    # --- moves and killings --------------------------------------------------------------------------

    def thread(self, t: Thread) -> str:
        """From one lane to the other, thin on the way, as thick as its birds at both ends."""
        a, b = t.day - 1 - t.source.start, t.day - t.target.start
        low = self._level(t.source, a, t.from_)
        high = low - t.heads * self._lanes.px
        low_to = self._level(t.target, b, t.into)
        high_to = low_to - t.heads_into * self._lanes.px
        x = self._days.x(t.day)
        left, right = x - SWEEP, x + SWEEP

        path = (
            f"M{n(left)} {n(high)}C{n(x)} {n(high)} {n(x)} {n(high_to)} {n(right)} {n(high_to)}"
            f"V{n(low_to)}C{n(x)} {n(low_to)} {n(x)} {n(low)} {n(left)} {n(low)}Z"
        )
        return el("path", d=path, class_="thread")

    def _level(self, ribbon: Ribbon, at: int, heads: float) -> float:
        return self._lane[ribbon.place].base - (float(self._lanes.below[ribbon][at]) + heads) * self._lanes.px

    def kill(self, k: Kill) -> str:
        """A black bar as high as the birds that go, and their number."""
        low = self._level(k.ribbon, k.day - 1 - k.ribbon.start, k.above)
        high = low - max(k.heads * self._lanes.px, 3.0)
        x = self._days.x(k.day)
        return el("rect", x=x - 2, y=high, width=4, height=low - high, class_="ink")

    def kill_number(self, k: Kill) -> str:
        low = self._level(k.ribbon, k.day - 1 - k.ribbon.start, k.above)
        y = low - max(k.heads * self._lanes.px, 3.0) / 2 + 4
        x, word = self._days.x(k.day), number(k.heads, 0, self._days.language)
        if (k.ribbon, k.day) in self._ahead:
            return text(word, x - 5, y, "strong halo end")
        return text(word, x + 5, y, "strong halo")

    def _takes(self, k: Kill) -> float:
        return width(number(k.heads, 0, self._days.language), LABEL) + 8

    def _is_crowded(self, k: Kill) -> bool:
        """Whether the number has no room behind the bar, before the next ribbon or the edge."""
        until = self._days.x(k.day) + self._takes(k)
        later = (r for r in self._lanes.below if r.place == k.ribbon.place and r.start >= k.day)
        return until > self._days.right or any(self._days.x(r.start) < until for r in later)

    # --- breaches ------------------------------------------------------------------------------------

    def breaches(self) -> str:
        return "".join(
            self._breach(lane, b, row)
            for lane in self._lanes.lanes
            for row, track in enumerate(lane.tracks)
            for b in track
        )

    def _breach(self, lane: Lane, b: Breach, row: int) -> str:
        d, y = self._days, lane.base + 3.5 + row * TRACK
        a, z = d.on(b.first), d.x(self._season.index(b.last) + 1)
        worst = d.x(self._season.index(b.worst_on) + 0.5)
        words = say(
            "picture.breach",
            worst=self._shown.limited(b.limit.quantity, b.worst),
            on=day_and_month(b.worst_on, d.language),
            at_most=self._shown.limited(b.limit.quantity, b.limit.at_most),
        )
        left = min(a, d.right - width(words, SMALL))
        marks = f"M{n(a)} {n(y)}H{n(max(z, a + 3))}"
        peak = f"M{n(worst - 4)} {n(y + 6)}h8l-4 -8Z"
        return (
            el("path", d=marks, class_="breach")
            + el("path", d=peak, class_="warm")
            + text(words, left, y + 13, "small strong warm halo")
        )
