"""The head book: the groups alive, what each record does to them, and the spells they leave behind."""

from __future__ import annotations

from bisect import bisect_left
from datetime import date

from leyfold.log.faults import Contradicts
from leyfold.log.ledger import Ledger
from leyfold.nouns.record import Group, Spell
from leyfold.nouns.stock import Sex

__all__ = ["Book", "Key", "Said", "spoken"]

Key = tuple[str, Sex | None, str]
"""Batch, sex, place."""
Said = tuple[str | None, Sex | None, str | None]
"""A group as somebody named it: None is what was left open."""


class Book:
    """Heads by group as the records come in, in the order of their instants. `turn` before the records of
    a new day; groups without birds are dropped."""

    __slots__ = ("_day", "_ledger", "_lost", "_open", "_touched", "by_place", "heads", "spells")

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self.heads: dict[Key, int] = {}
        self.by_place: dict[str, tuple[Key, ...]] = {}
        self.spells: list[Spell] = []
        """Closed ones, by first day, batch, sex and place."""
        self._day: dict[str, date] = {}
        self._touched: dict[Key, bool] = {}
        self._lost: dict[Key, int] = {}
        self._open: dict[Key, tuple[date, int]] = {}

    def alive(self) -> dict[str, int]:
        """Heads by batch."""
        found: dict[str, int] = {}
        for key, heads in self.heads.items():
            found[key[0]] = found.get(key[0], 0) + heads
        return found

    def there(self, place: str) -> int:
        """Heads in a place."""
        heads = 0
        for key in self.by_place.get(place, ()):
            heads += self.heads[key]
        return heads

    def add(self, key: Key, heads: int) -> None:
        if heads:
            before = self.heads.get(key, 0)
            self._set(key, before + heads)

    def take(self, key: Key, heads: int, *, lost: bool = False) -> None:
        """`lost` birds were still there at the day's start, so the day counts them among those at risk."""
        there = self.heads.get(key, 0)
        if heads > there:
            can = ("all there", "as it stands") if there else ("as it stands",)
            raise Contradicts("heads", "negative", can=can, wanted=heads, there=there, group=spoken(key))
        self._set(key, there - heads)
        if lost:
            self._ledger.put(self._lost, key, self._lost.get(key, 0) + heads)

    def _set(self, key: Key, heads: int) -> None:
        ledger, place = self._ledger, key[2]
        if key not in self._touched:
            ledger.put(self._touched, key, True)
        if heads:
            if key not in self.heads:
                ledger.put(self.by_place, place, (*self.by_place.get(place, ()), key))
            ledger.put(self.heads, key, heads)
        elif key in self.heads:
            ledger.drop(self.heads, key)
            ledger.put(self.by_place, place, tuple(k for k in self.by_place[place] if k != key))

    def fitting(self, batch: str | None, sex: Sex | None, place: str | None) -> list[Key]:
        """Groups that fit what was said, in a fixed order. A sex said of birds not yet sorted fits them."""
        near = self.heads if place is None else self.by_place.get(place, ())
        said = [key for key in near if batch is None or key[0] == batch]
        if len(said) > 1 or sex is not None:
            if sex is not None:
                said = [key for key in said if key[1] == sex] or [key for key in said if key[1] is None]
            said.sort(key=_order)
        return said

    def one(self, batch: str | None, sex: Sex | None, place: str | None) -> Key:
        """The one group that fits. Contradicts where none or several do."""
        found = self.fitting(batch, sex, place)
        if len(found) == 1:
            return found[0]
        if not found:
            raise Contradicts("heads", "no_birds", group=spoken((batch, sex, place)), there=self.said())
        raise Contradicts(
            "heads", "which_birds", fits=tuple(found), groups="; ".join(spoken(key) for key in found)
        )

    def groups(self) -> tuple[Group, ...]:
        return tuple(Group(*key, heads=self.heads[key]) for key in sorted(self.heads, key=_order))

    def turn(self, day: date) -> None:
        """Close every day before `day`."""
        last = self._day.get("")
        if last is None or last < day:
            self._ledger.put(self._day, "", day)
        if last is None or last >= day or not self._touched:
            return
        tomorrow = date.fromordinal(last.toordinal() + 1)
        for key in list(self._touched):
            heads, lost = self.heads.get(key, 0), self._lost.get(key, 0)
            self._stand(last, key, heads + lost)
            self._stand(tomorrow, key, heads)
            self._ledger.drop(self._touched, key)
            if lost:
                self._ledger.drop(self._lost, key)

    def close(self, day: date) -> None:
        """Close all spells up to, not including, `day`: the books can only be read after it."""
        self.turn(day)
        for key in list(self._open):
            self._stand(day, key, 0)

    def _stand(self, day: date, key: Key, heads: int) -> None:
        """From `day` on the group holds `heads`."""
        first, before = self._open.get(key, (day, 0))
        if heads == before:
            return
        if before and first < day:
            spell = Spell(*key, first=first, until=day, heads=before)
            self._ledger.insert(self.spells, bisect_left(self.spells, _first(spell), key=_first), spell)
        if heads:
            self._ledger.put(self._open, key, (day, heads))
        else:
            self._ledger.drop(self._open, key)

    def said(self) -> str:
        return "; ".join(f"{n} x {spoken(key)}" for key, n in sorted(self.heads.items(), key=str)) or "-"


def _order(key: Key) -> tuple[str, str, str]:
    return key[0], key[1] or "", key[2]


def _first(spell: Spell) -> tuple[date, str, str, str]:
    return spell.first, spell.batch, spell.sex or "", spell.place


def spoken(key: Said) -> str:
    """A group as an error names it: batch, sex and place, as far as they were said."""
    return ", ".join(part for part in key if part) or "-"
