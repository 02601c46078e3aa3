"""The head book: the groups alive, what each record does to them, and the spells they leave behind."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from leyfold.nouns.record import Group, Spell
from leyfold.nouns.stock import Sex

__all__ = ["Book", "Key", "NoGroup", "Said", "spoken"]

Key = tuple[str, Sex | None, str]
"""Batch, sex, place."""
Said = tuple[str | None, Sex | None, str | None]
"""A group as somebody named it: None is what was left open."""


class NoGroup(Exception):
    """No group, too small a group, or more than one fits. `name` is that of the sentence in `words`."""

    def __init__(self, name: str, **values: object) -> None:
        super().__init__(name)
        self.name, self.values = name, values


@dataclass(slots=True)
class Book:
    """Heads by group as the records come in, in the order of their instants. `turn` before the records of
    a new day; groups without birds are dropped."""

    heads: dict[Key, int] = field(default_factory=dict)
    spells: list[Spell] = field(default_factory=list)
    _day: date | None = None
    _lost: dict[Key, int] = field(default_factory=dict)
    _open: dict[Key, tuple[date, int]] = field(default_factory=dict)

    def alive(self, batch: str) -> int:
        return sum(n for key, n in self.heads.items() if key[0] == batch)

    def add(self, key: Key, heads: int) -> None:
        if heads:
            self.heads[key] = self.heads.get(key, 0) + heads

    def take(self, key: Key, heads: int, *, lost: bool = False) -> None:
        """`lost` birds were still there at the day's start, so the day counts them among those at risk."""
        left = self.heads.get(key, 0) - heads
        if left < 0:
            raise NoGroup("negative", wanted=heads, there=left + heads, group=spoken(key))
        self.heads.pop(key, None)
        self.add(key, left)
        if lost:
            self._lost[key] = self._lost.get(key, 0) + heads

    def fitting(self, batch: str | None, sex: Sex | None, place: str | None) -> list[Key]:
        """Groups that fit what was said, in a fixed order. A sex said of birds not yet sorted fits them."""
        said = [
            key
            for key in self.heads
            if (batch is None or key[0] == batch) and (place is None or key[2] == place)
        ]
        if sex is not None:
            said = [key for key in said if key[1] == sex] or [key for key in said if key[1] is None]
        return sorted(said, key=lambda key: (key[0], key[1] or "", key[2]))

    def one(self, batch: str | None, sex: Sex | None, place: str | None) -> Key:
        """The one group that fits. NoGroup where none or several do."""
        found = self.fitting(batch, sex, place)
        if not found:
            raise NoGroup("no_birds", group=spoken((batch, sex, place)), there=self._said())
        if len(found) > 1:
            raise NoGroup("which_birds", groups="; ".join(spoken(key) for key in found))
        return found[0]

    def groups(self) -> tuple[Group, ...]:
        return tuple(Group(*key, heads=self.heads[key]) for key in self.fitting(None, None, None))

    def turn(self, day: date) -> None:
        """Close every day before `day`."""
        if self._day is not None and self._day < day:
            self._stand(self._day, {k: self.heads.get(k, 0) + n for k, n in self._lost.items()})
            self._lost.clear()
            tomorrow = date.fromordinal(self._day.toordinal() + 1)
            if tomorrow < day:
                self._stand(tomorrow, {})
        if self._day is None or self._day < day:
            self._day = day

    def closed(self, day: date) -> tuple[Spell, ...]:
        """All spells up to, not including, `day`."""
        self.turn(day)
        self._stand(day, dict.fromkeys(self._open, 0), closing=True)
        return tuple(sorted(self.spells, key=lambda s: (s.first, s.batch, s.sex or "", s.place)))

    def _stand(self, day: date, other: dict[Key, int], *, closing: bool = False) -> None:
        """From `day` on the groups hold their heads, or what `other` says."""
        now = other if closing else {**self.heads, **other}
        for key in [*self._open, *(k for k in now if k not in self._open)]:
            heads = now.get(key, 0)
            first, before = self._open.get(key, (day, 0))
            if heads == before:
                continue
            if before and first < day:
                self.spells.append(Spell(*key, first=first, until=day, heads=before))
            if heads:
                self._open[key] = (day, heads)
            else:
                self._open.pop(key, None)

    def _said(self) -> str:
        return "; ".join(f"{n} x {spoken(key)}" for key, n in sorted(self.heads.items(), key=str)) or "-"


def spoken(key: Said) -> str:
    """A group as an error names it: batch, sex and place, as far as they were said."""
    return ", ".join(part for part in key if part) or "-"
