"""The days of the season, left to right: where each lies, months, Mondays, years."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from leyfold.paper.svg import el, n, text, width
from leyfold.words import say
from leyfold.words.forms import month

__all__ = ["BOLD", "DATES_H", "MONTHS_H", "Days"]

DATES_H = 40.0
"""Height of the full axis; of the months alone."""
MONTHS_H = 20.0
_APART = 4.0
BOLD = 14.0
"""Size whose width is about that of a bold 12."""


@dataclass(frozen=True, slots=True)
class Days:
    first: date
    count: int
    left: float
    right: float
    language: str

    def x(self, day: float) -> float:
        """The morning of a day by its index."""
        return self.left + (self.right - self.left) * day / self.count

    def on(self, day: date) -> float:
        return self.x((day - self.first).days)

    def day(self, index: int) -> date:
        return self.first + timedelta(days=index)

    @property
    def edges(self) -> list[float]:
        return [self.x(i) for i in range(self.count + 1)]

    def months(self) -> Iterator[tuple[date, float, float]]:
        """First day and left and right edge of each month, cut to the season."""
        start = self.first
        last = self.day(self.count)
        while start < last:
            after = (start.replace(day=1) + timedelta(days=32)).replace(day=1)
            yield start, self.on(start), self.on(min(after, last))
            start = after

    def rules(self, top: float, bottom: float) -> str:
        """Hairlines at the first of each month, a stronger one at New Year."""
        lines = {"rule": "", "year": ""}
        for start, x, _ in self.months():
            if start.day == 1:
                lines["year" if start.month == 1 else "rule"] += f"M{n(x)} {n(top)}V{n(bottom)}"
        return "".join(el("path", d=d, class_=name) for name, d in lines.items() if d)

    def dates(self, top: float) -> str:
        """Months over the dates of the Mondays."""
        return self.month_names(top + 14) + self._mondays(top + DATES_H)

    def month_names(self, baseline: float) -> str:
        """Every month that has room, the year before the first and at each January."""
        out = [text(str(self.first.year), self.left - 8, baseline, "strong end")]
        for start, x, end in self.months():
            name = month(start, self.language)
            turn = (start.month, start.day) == (1, 1)
            words = (f"{name} {start.year}", str(start.year)) if turn else (name,)
            fits = [word for word in words if width(word, BOLD) < end - x - _APART]
            out += [text(word, x + _APART, baseline, "strong") for word in fits[:1]]
        return "".join(out)

    def _mondays(self, base: float) -> str:
        mondays = range(-self.first.weekday() % 7, self.count, 7)
        ticks = "".join(f"M{n(self.x(i))} {n(base)}v-5" for i in mondays)
        # As many dates as have room: every Monday's, every second's, every fourth's, or none.
        apart = self.x(7) - self.x(0)
        every = next((k for k in (1, 2, 4) if apart * k > 17), 0)
        dates = [
            text(str(self.day(i).day), self.x(i), base - 8, "small soft mid")
            for i in mondays[:: every or 1]
            if every and self.x(i) - self.left > 6 and self.right - self.x(i) > 6
        ]
        rule = f"M{n(self.left)} {n(base)}H{n(self.right)}"
        return el("path", d=rule + ticks, class_="line") + "".join(dates)

    def today(self, day: date, top: float, bottom: float) -> str:
        """A line through the day that it is; nothing outside the season."""
        if not 0 <= (day - self.first).days < self.count:
            return ""
        x = self.on(day)
        word = text(say("picture.today"), x, bottom + 12, "small strong grassword mid")
        return el("path", d=f"M{n(x)} {n(top)}V{n(bottom)}", class_="today") + word
