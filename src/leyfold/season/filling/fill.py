"""Places for every party whose stays the farmer left open, by rules that can be said aloud.

1. A batch is brooded in the brooder it names, else in the first with floor for it, else in the one that
   is passed least.
2. On its day a party goes into as few free shelters as keep every limit for a week, its own former ones
   first, then in the order of the farm file; birds are spread by floor. Of two halves of a sorted batch the
   first leaves a shelter for the other. A shelter is free for a party when nobody is in it and the plan has
   put nobody there until the party leaves.
3. On the first day a limit is passed it spreads into free shelters by the same rule.
4. Where none is free it waits where it stands until one is. From a shelter that the farm no longer has it
   moves by rule 2.
5. After a draft the birds left are drawn into the first of their shelters, as few as keep the limits until
   the next.
6. Pullets go to the house they name, else the first with room by its limits, else the one passed least.
On one day shelters are given up first (with them those that come onto the farm, leave it, or are free of
birds that the plan itself has put there), then drafts close ranks, then sorted birds part, then parties that
stand over a limit or wait spread in order of the plan, then new ones come.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm, Shelter
from leyfold.nouns.plan import Stay
from leyfold.season.dates import Window
from leyfold.season.party import Load, Party, limits_of, over
from leyfold.season.sound import PLAN
from leyfold.words import say

__all__ = ["Fill", "nowhere"]

GIVE_UP, CHANGE, CLOSE_RANKS, PART, SPREAD, COME = range(6)
NOBODY = -1

SETTLED_D = 7
"""Nobody moves a party in that must be split again within the week."""


@dataclass(slots=True, eq=False)
class _Standing:
    """A party at grass: its shelters now and since when it has stood so."""

    party: Party
    order: int
    shelters: list[str] = field(default_factory=list)
    since: int = 0

    def places(self) -> Sequence[str]:
        return self.shelters or self.party.former


class _Events:
    """(day, what, order of the party), each once, in their order while more come in."""

    def __init__(self, first: Iterable[tuple[int, int, int]]) -> None:
        self.known = set(first)
        self.heap = sorted(self.known)

    def add(self, day: int, what: int, order: int) -> None:
        event = (day, what, order)
        if event not in self.known:
            self.known.add(event)
            heapq.heappush(self.heap, event)

    def __iter__(self) -> Iterator[tuple[int, int, int]]:
        while self.heap:
            yield heapq.heappop(self.heap)


def nowhere(batch: str, day: date) -> BadInput:
    """Birds without any place."""
    wrong = say("season.no_place", batch=batch, day=day)
    return BadInput(Fault(PLAN, batch, wrong, say("season.no_place_mend")))


class Fill:
    """Walks the parties through the days once; `stays` is what comes out."""

    def __init__(self, farm: Farm, window: Window, taken: Iterable[Stay]) -> None:
        self.farm, self.window = farm, window
        self.limits = {name: limits_of(farm, "shelter", name) for name in farm.shelters}
        self.held: dict[str, _Standing] = {}
        self.seeking: dict[int, _Standing] = {}
        self.halves: dict[tuple[str, int], list[_Standing]] = {}
        self.written: dict[str, list[tuple[int, int]]] = {}
        for stay in taken:
            span = (window.clipped(stay.first), window.clipped(stay.until))
            self.written.setdefault(stay.place, []).append(span)
        self.stays: list[Stay] = []

    def indoors(self, parties: Sequence[Party]) -> None:
        """Parties that stand in the room chosen for them from first to last."""
        for party in parties:
            for leg in party.legs:
                self._write(party, party.former, leg.first, leg.until, leg.share, leg.factor)

    def at_grass(self, parties: Sequence[Party]) -> None:
        """Rules 2 to 5 for every party, in one walk over the days on which something happens."""
        standing = [_Standing(party, order) for order, party in enumerate(parties)]
        of = {id(s.party): s for s in standing}
        events = _Events((day, CHANGE, NOBODY) for day in self._changes())
        for s in standing:
            self.halves.setdefault((s.party.batch, s.party.first), []).append(s)
            came_from_grass = s.party.before is not None and s.party.before.until == s.party.first
            events.add(s.party.first, PART if came_from_grass else COME, s.order)
            events.add(s.party.until, GIVE_UP, s.order)
            for leg in s.party.legs[1:]:
                events.add(leg.first, CLOSE_RANKS, s.order)
        for day, what, order in events:
            lost = [x for x in standing if self._lost(x, day)] if what == CHANGE else ()
            if what in (GIVE_UP, CHANGE, CLOSE_RANKS):
                for x in {x.order: x for x in (*self.seeking.values(), *lost)}.values():
                    if x.party.first < day < x.party.until:
                        events.add(day, SPREAD, x.order)
            if what == CHANGE:
                continue
            s = standing[order]
            if what == GIVE_UP:
                self._close(s, day)
                self._release(s, s.shelters)
                self.seeking.pop(s.order, None)
            elif what == CLOSE_RANKS:
                self._close_ranks(s, day)
            elif what == PART and s.party.before is not None:
                s.party.former = tuple(of[id(s.party.before)].places())
            if what in (PART, COME):
                s.since = day
            if s.party.first <= day < s.party.until:
                if what != CLOSE_RANKS:
                    self._spread(s, day)
                self._watch(s, day, events)

    def _changes(self) -> set[int]:
        """Days on which a shelter comes onto the farm, leaves it, or a stay written in the plan ends."""
        kits = self.farm.shelters.values()
        owned = [self.window.index(day) for kit in kits for day in (kit.since, kit.until) if day is not None]
        ends = [until for name in self.farm.shelters for _, until in self.written.get(name, ())]
        return {day for day in (*owned, *ends) if 0 <= day < self.window.days}

    def _owned(self, name: str, day: int) -> bool:
        return self.farm.shelters[name].owned(self.window.day(day))

    def _lost(self, s: _Standing, day: int) -> bool:
        return not all(self._owned(name, day) for name in s.shelters)

    def _spread(self, s: _Standing, day: int) -> None:
        """As many free shelters as the limits of the week ask for; fewer where fewer are free."""
        free = self._free(s, day)
        if not s.shelters and self._other_half_waits(s):
            last = [*free]
            free = iter(last[:-1] if len(last) > 1 else last)
        chosen = [name for name in s.shelters if self._owned(name, day)]
        while not (fits := self._fits(s, chosen, day)) and (name := next(free, None)):
            chosen.append(name)
        if fits:
            self.seeking.pop(s.order, None)
        else:
            self.seeking[s.order] = s
        if chosen and chosen != s.shelters:
            self._close(s, day)
            self._release(s, s.shelters)
            self.held.update(dict.fromkeys(chosen, s))
            s.shelters = chosen

    def _other_half_waits(self, s: _Standing) -> bool:
        halves = self.halves[s.party.batch, s.party.first]
        return any(x is not s and not x.shelters for x in halves)

    def _fits(self, s: _Standing, shelters: Sequence[str], day: int) -> bool:
        until = min(day + SETTLED_D, s.party.leg(day).until)
        return bool(shelters) and self._over(s.party.load, shelters, day, until) is None

    def _watch(self, s: _Standing, day: int, events: _Events) -> None:
        """Look ahead to the first day of this leg on which a limit is passed as the party stands."""
        if s.shelters and s.order not in self.seeking:
            passed = self._over(s.party.load, s.shelters, day, s.party.leg(day).until)
            if passed is not None:
                events.add(passed, SPREAD, s.order)

    def _close_ranks(self, s: _Standing, day: int) -> None:
        self._close(s, day)
        until = s.party.leg(day).until
        for keep in range(1, len(s.shelters)):
            if self._over(s.party.load, s.shelters[:keep], day, until) is None:
                self._release(s, s.shelters[keep:])
                s.shelters = s.shelters[:keep]
                break

    def _free(self, s: _Standing, day: int) -> Iterator[str]:
        def is_free(name: str) -> bool:
            if name in self.held or not self._owned(name, day):
                return False
            return not any(
                first < s.party.until and day < until for first, until in self.written.get(name, ())
            )

        former = [name for name in s.party.former if name in self.farm.shelters]
        order = [*former, *(name for name in self.farm.shelters if name not in former)]
        return filter(is_free, order)

    def _over(self, load: Load, names: Sequence[str], first: int, until: int) -> int | None:
        return over([self.farm.shelters[n] for n in names], self.limits, load, first, until)

    def _release(self, s: _Standing, names: Sequence[str]) -> None:
        for name in names:
            if self.held.get(name) is s:
                del self.held[name]

    def _close(self, s: _Standing, day: int) -> None:
        """Write down where the party stood from `since` until `day`, leg by leg."""
        places = s.places()
        if s.since < day and not places:
            raise nowhere(s.party.batch, self.window.day(s.since))
        for leg in s.party.legs:
            first, until = max(leg.first, s.since), min(leg.until, day)
            if first < until:
                self._write(s.party, places, first, until, leg.share, leg.factor)
        s.since = day

    def _write(
        self, party: Party, places: Sequence[str], first: int, until: int, share: float, factor: float
    ) -> None:
        floors = [self._floor(place) for place in places]
        for place, floor in zip(places, floors, strict=True):
            self.stays.append(
                Stay(
                    id=f"{party.batch}.{party.sex or 'all'}.{place}.{self.window.day(first)}",
                    batch=party.batch,
                    sex=party.sex,
                    place=place,
                    first=self.window.day(first),
                    until=self.window.day(until),
                    share=share * floor / sum(floors),
                    weight_factor=factor,
                )
            )

    def _floor(self, place: str) -> float:
        shelter: Shelter | None = self.farm.shelters.get(place)
        if shelter is not None:
            return shelter.floor_m2
        brooder = self.farm.brooders.get(place)
        return brooder.floor_m2 if brooder is not None else self.farm.houses[place].floor_m2
