"""Who may not be eaten yet, nor their eggs: the withdrawal after a medicine follows the birds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from leyfold.log.book import Key
from leyfold.log.ledger import Ledger
from leyfold.nouns.happened import Withdrawal

__all__ = ["Dose", "Withholding"]


@dataclass(frozen=True, slots=True)
class Dose:
    """Of one medicine, how long birds are held up after they had it last: days for eggs and for meat, None
    where nobody said."""

    medicine: str
    eggs_d: int | None
    meat_d: int | None


@dataclass(frozen=True, slots=True, order=True)
class Hold:
    """One medicine in the birds of a group: no eggs and no meat before these days; None: no end is known."""

    medicine: str
    eggs_until: date | None
    meat_until: date | None


def _hold(dose: Dose, last_on: date) -> Hold:
    return Hold(dose.medicine, *(_after(last_on, days) for days in (dose.eggs_d, dose.meat_d)))


def _after(day: date, days: int | None) -> date | None:
    """The first day on which it may be eaten again: that of the dose does not count, nor `days` after it."""
    return None if days is None else day + timedelta(days=days + (1 if days else 0))


class Withholding:
    """Holds by group, and the medicated feed that lies in places.

    Birds put together take each other's: nobody can say which of them will be caught. A group without birds
    is forgotten. Birds that stand where medicated feed lies eat of it every day, until it is cleared.
    """

    __slots__ = ("_holds", "_ledger", "feeds")

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._holds: dict[Key, tuple[Hold, ...]] = {}
        self.feeds: dict[str, Dose] = {}

    def dosed(self, groups: Iterable[Key], dose: Dose, last_on: date) -> None:
        for key in groups:
            self._put(key, (_hold(dose, last_on),))

    def laid(self, place: str, dose: Dose) -> None:
        """Medicated feed now lies in a place. Of two the longer one is kept in mind."""
        old = self.feeds.get(place)
        if old is None:
            self._ledger.put(self.feeds, place, dose)
        elif old != dose:
            both = " + ".join(dict.fromkeys((*old.medicine.split(" + "), dose.medicine)))
            days = Dose(both, _longest(old.eggs_d, dose.eggs_d), _longest(old.meat_d, dose.meat_d))
            self._ledger.put(self.feeds, place, days)

    def cleared(self, place: str, groups: Iterable[Key], day: date) -> None:
        """The feed of a place is gone: for the birds there the days run from now."""
        dose = self.feeds.get(place)
        if dose is not None:
            self.dosed(groups, dose, day)
            self._ledger.drop(self.feeds, place)

    def moved(self, key: Key, to: Key, there: Iterable[Key], day: date) -> None:
        """Birds of the group `key` come to stand as `to`, among `there`. Call it before the books do it."""
        if not self.any():
            return
        self._put(to, self.of(key, day))
        if to[2] != key[2]:
            self.joined(to, there)

    def joined(self, key: Key, there: Iterable[Key]) -> None:
        """Birds come to stand as the group `key`, among `there`."""
        if self._holds:
            together = {key, *there}
            all_ = tuple(hold for one in together for hold in self._holds.get(one, ()))
            for one in together:
                self._put(one, all_)

    def emptied(self, key: Key) -> None:
        if key in self._holds:
            self._ledger.drop(self._holds, key)

    def of(self, key: Key, day: date) -> tuple[Hold, ...]:
        """What holds a group up if it eats where it stands until `day`."""
        dose = self.feeds.get(key[2])
        held = self._holds.get(key, ())
        return held if dose is None else _longer((*held, _hold(dose, day)))

    def any(self) -> bool:
        """Whether anybody may be held up at all."""
        return bool(self._holds or self.feeds)

    def held(self, key: Key, day: date, *, eggs: bool) -> bool:
        """Whether its eggs, or its meat, are held up on a day."""
        if not self.any():
            return False
        ends = [hold.eggs_until if eggs else hold.meat_until for hold in self.of(key, day)]
        return any(end is None or day < end for end in ends)

    def withdrawals(self, heads: Mapping[Key, int], day: date) -> tuple[Withdrawal, ...]:
        """Of every living group that is held up on `day`."""
        found = []
        for key in sorted(heads, key=str):
            holds = [h for h in self.of(key, day) if _lasts(h.eggs_until, day) or _lasts(h.meat_until, day)]
            if holds:
                eggs, meat = [h.eggs_until for h in holds], [h.meat_until for h in holds]
                lies = key[2] in self.feeds
                found.append(
                    Withdrawal(
                        *key,
                        medicines=tuple(h.medicine for h in holds),
                        eggs_until=_last(eggs, day),
                        meat_until=_last(meat, day),
                        eggs_open=None in eggs or (lies and self.feeds[key[2]].eggs_d != 0),
                        meat_open=None in meat or (lies and self.feeds[key[2]].meat_d != 0),
                    )
                )
        return tuple(found)

    def _put(self, key: Key, holds: tuple[Hold, ...]) -> None:
        before = self._holds.get(key, ())
        after = _longer((*before, *holds))
        if after != before:
            self._ledger.put(self._holds, key, after)


def _longer(holds: Iterable[Hold]) -> tuple[Hold, ...]:
    """One hold a medicine, the longest, in a fixed order."""
    found: dict[str, Hold] = {}
    for hold in holds:
        old = found.get(hold.medicine, hold)
        found[hold.medicine] = Hold(
            hold.medicine, _later(old.eggs_until, hold.eggs_until), _later(old.meat_until, hold.meat_until)
        )
    return tuple(found[name] for name in sorted(found))


def _later(a: date | None, b: date | None) -> date | None:
    """No end known outlasts every date."""
    return None if a is None or b is None else max(a, b)


def _longest(a: int | None, b: int | None) -> int | None:
    return None if a is None or b is None else max(a, b)


def _lasts(end: date | None, day: date) -> bool:
    return end is None or day < end


def _last(ends: list[date | None], day: date) -> date | None:
    """The latest of the ends still to come."""
    return max((end for end in ends if end is not None and day < end), default=None)
