"""Likely doubles: two people, or one with two devices, who wrote down the same. They are asked about, neither
summed nor dropped."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from leyfold.log.ledger import Ledger
from leyfold.nouns.record import Record

__all__ = ["ASKED", "Doubles", "Pair"]

WITHIN = timedelta(hours=2)
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Pair:
    """`second` is not counted until somebody says whether it is `first` over again."""

    first: Record
    second: Record


def _birds(it: Any) -> Hashable:
    return it.place, it.heads


def _moved(it: Any) -> Hashable:
    return it.from_, it.to, it.batch, it.sex, it.heads


def _sorted(it: Any) -> Hashable:
    return it.batch, it.place, it.pullets, it.cockerels


ALIKE: Mapping[str, Callable[[Any], Hashable]] = {
    "found dead": _birds,
    "culled": _birds,
    "missing": _birds,
    "found alive": _birds,
    "moved": _moved,
    "sorted": _sorted,
    "hatched": lambda it: (it.batch, it.chicks),
    "bought": lambda it: (it.line, it.heads, it.sex),
    "killed": lambda it: (it.place, it.batch, it.heads),
    "sold": lambda it: (it.place, it.batch, it.heads),
    "weighed": lambda it: (it.batch, it.weights_kg),
    "carcass weights": lambda it: (it.batch, it.weights_kg),
    "eggs": lambda it: (it.place, it.eggs),
    "delivered": lambda it: (it.feed, it.kg),
    "treated": lambda it: (it.medicine, it.place, it.batch),
    "deposit": lambda it: (it.order, it.paid),
    "sale": lambda it: (it.what, it.number, it.kg, it.paid),
    "expense": lambda it: (it.what, it.paid),
    "kit lost": lambda it: (it.kit, it.number),
}
"""Kinds that add up: what two records of one thing have in common, two hours apart at most. The same person
on the same device is believed: one tap a bird."""

POURED = frozenset({"fed", "watered"})
"""Kinds that add up between people: only the same person, place, amount and minute is asked about."""

ONCE: Mapping[str, str] = {
    "shelter moved": "place",
    "shut in": "place",
    "fence shifted": "net",
    "break opened": "cattle",
}
"""Kinds that happen once a date to what the field names; another must be declared with `again`."""

NEVER: tuple[date, int, Record | None] = (date.min, 0, None)

ASKED = frozenset((*ALIKE, *POURED, *ONCE))
"""Kinds that may be doubles at all."""


class Doubles:
    """What was heard lately, to set the next record against."""

    __slots__ = ("_alike", "_ledger", "_once", "_poured", "times")

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._alike: dict[Hashable, tuple[Record, ...]] = {}
        """The records of one thing of the last two hours that no other is a double of."""
        self._poured: dict[Hashable, tuple[Record, ...]] = {}
        """By kind, person and place, the records of the last minute in which there were any."""
        self._once: dict[Hashable, tuple[date, int, Record | None]] = {}
        """The last day, how often on it, and the last record of it."""
        self.times = 0
        """How manieth of its day the record just heard is, of a kind that happens once."""

    def hear(self, record: Record, it: Any, day: date, usual: int = 1, *, ask: bool = True) -> Record | None:
        """The earlier record that this, of a kind of `ASKED`, may be over again; where there is none, or
        nobody is to be asked, the record is kept in mind. `usual`: how often a day brings its kind."""
        kind = record.kind
        if kind in POURED:
            key: Hashable = (kind, record.who, it.place)
            before = self._poured.get(key, ())
            if before and not _same_minute(before[-1].at, record.at):
                before = ()
            for first in before if ask else ():
                if first.data == record.data:
                    return first
            self._ledger.put(self._poured, key, (*before, record))
        elif (once := ONCE.get(kind)) is not None:
            key = (kind, getattr(it, once))
            last, times, lately_by = self._once.get(key, NEVER)
            times = times + 1 if last == day else 1
            if ask and times > 1 and not it.again and lately_by is not None:
                soon = record.at - lately_by.at <= WITHIN and lately_by.who != record.who
                if times > usual or soon:
                    return lately_by
            self._ledger.put(self._once, key, (day, times, record))
            self.times = times
        elif (alike := ALIKE.get(kind)) is not None:
            key = (kind, alike(it))
            lately = self._lately(key, record.at)
            for first in reversed(lately) if ask else ():
                if (first.who != record.who or first.device != record.device) and _agree(first, record):
                    return first
            self._ledger.put(self._alike, key, (*lately, record))
        return None

    def matched(self, first: Record, it: Any) -> None:
        """`first` has found its double: the next one like it is another bird."""
        alike = ALIKE.get(first.kind)
        if alike is not None:
            key = (first.kind, alike(it))
            left = tuple(r for r in self._alike.get(key, ()) if r is not first)
            self._ledger.put(self._alike, key, left)

    def _lately(self, key: Hashable, at: datetime) -> tuple[Record, ...]:
        heard = self._alike.get(key, ())
        return tuple([r for r in heard if at - r.at <= WITHIN]) if heard else heard


def _same_minute(a: datetime, b: datetime) -> bool:
    return b - a < MINUTE and a.minute == b.minute


def _agree(first: Record, second: Record) -> bool:
    """Whether the two may speak of the same birds: what both say of batch and sex is the same."""
    said = ((first.data.get(name), second.data.get(name)) for name in ("batch", "sex"))
    return all(a is None or b is None or a == b for a, b in said)
