"""The records, folded into who is alive where. Pure and free of order: records are taken by (at, id)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import singledispatchmethod

from leyfold.log.book import Book, Key, NoGroup, Said, spoken
from leyfold.log.corrections import Fact, facts
from leyfold.log.faults import refused
from leyfold.log.kinds import Payload, birds, daily, egg, office
from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Origin
from leyfold.nouns.record import BatchFacts, Count, HeadCount, Record, State, Stop, Weighing
from leyfold.nouns.stock import Sex

__all__ = ["fold"]

HATCH_WINDOW_D = 5
"""Days about the line's own incubation within which a hatch is believed; outside, a date is wrong."""


def fold(farm: Farm, records: Iterable[Record], at: datetime) -> State:
    """The state of the farm at an instant, by all records of what had happened by then, whenever written.

    Order and repetition of records change nothing. Corrections hold whatever `at`. BadInput, naming the
    record, where one is faulty or says what the records before it rule out.
    """
    day = civil(at, farm.holding.zone)
    folder = _Fold(farm)
    for fact in facts(records):
        if fact.record.at > at:
            break
        folder.take(fact)
    return folder.state(day)


@dataclass(slots=True)
class _Fold:
    farm: Farm
    book: Book = field(default_factory=Book)
    batches: dict[str, BatchFacts] = field(default_factory=dict)
    bins: dict[str, tuple[date, float]] = field(default_factory=dict)
    eggs: list[Count] = field(default_factory=list)
    fed: list[Count] = field(default_factory=list)
    lows: list[Count] = field(default_factory=list)
    stops: list[Stop] = field(default_factory=list)
    counts: dict[Said, HeadCount] = field(default_factory=dict)
    record: Record = field(init=False)
    day: date = field(init=False)

    def take(self, fact: Fact) -> None:
        self.record = fact.record
        self.day = civil(fact.record.at, self.farm.holding.zone)
        self.book.turn(self.day)
        try:
            self._hear(fact.data)
        except NoGroup as error:
            raise refused(self.record, "heads", error.name, **error.values) from None

    def state(self, day: date) -> State:
        for batch in self.batches.values():
            self._balance(batch)
        return State(
            day=day,
            groups=self.book.groups(),
            batches=self.batches,
            bins_kg=self.bins,
            eggs=tuple(self.eggs),
            fed_kg=tuple(self.fed),
            spells=self.book.closed(day),
            head_counts=tuple(self.counts[key] for key in sorted(self.counts, key=str)),
            lows_C=tuple(self.lows),
            stops=tuple(self.stops),
        )

    def _balance(self, batch: BatchFacts) -> None:
        left = sum(c.number for c in (*batch.dead, *batch.killed, *batch.gone))
        if self.book.alive(batch.batch) + left != (batch.chicks or 0):
            raise ArithmeticError(f"birds of {batch.batch} do not balance")

    @singledispatchmethod
    def _hear(self, it: Payload) -> None:
        """What a record does. A note does nothing."""

    # eggs and hatch

    @_hear.register
    def _set(self, it: egg.Set) -> None:
        if it.batch in self.batches:
            raise refused(self.record, "batch", "set_twice", batch=it.batch)
        self._known("line", it.line, self.farm.lines)
        if it.incubator is not None:
            self._known("incubator", it.incubator, self.farm.incubators)
        self.batches[it.batch] = BatchFacts(
            batch=it.batch,
            line=it.line,
            origin="set",
            set_on=self.day,
            eggs=it.eggs,
            incubator=it.incubator,
            stored_d=it.stored_d,
        )

    @_hear.register
    def _candled(self, it: egg.Candled) -> None:
        batch = self._in_the_egg(it.batch)
        assert batch.eggs is not None
        if it.fertile > batch.eggs:
            raise refused(self.record, "fertile", "too_fertile", fertile=it.fertile, eggs=batch.eggs)
        self.batches[it.batch] = replace(batch, fertile=it.fertile, candled_on=self.day)

    @_hear.register
    def _hatched(self, it: egg.Hatched) -> None:
        batch = self._in_the_egg(it.batch)
        assert batch.eggs is not None
        assert batch.set_on is not None
        if it.chicks > batch.eggs:
            raise refused(self.record, "chicks", "more_than_eggs", chicks=it.chicks, eggs=batch.eggs)
        if batch.fertile is not None and it.chicks > batch.fertile:
            raise refused(self.record, "chicks", "more_than_fertile", chicks=it.chicks, fertile=batch.fertile)
        due = batch.set_on + timedelta(days=round(self.farm.lines[batch.line].incubation_d.value))
        if abs((self.day - due).days) > HATCH_WINDOW_D:
            raise refused(self.record, "at", "hatch_far_off", set_on=batch.set_on, due=due, given=self.day)
        self._place("place", it.place)
        self.batches[it.batch] = replace(batch, hatched_on=self.day, arrived_on=self.day, chicks=it.chicks)
        self.book.add((it.batch, None, it.place), it.chicks)

    def _in_the_egg(self, name: str) -> BatchFacts:
        batch = self._batch(name)
        if batch.hatched_on is not None:
            raise refused(self.record, "batch", "hatched_already", batch=name, hatched_on=batch.hatched_on)
        return batch

    # birds come

    @_hear.register
    def _bought(self, it: birds.Bought) -> None:
        self._comes("bought", it, self.day - timedelta(days=it.age_d))

    @_hear.register
    def _present(self, it: birds.Present) -> None:
        hatched = it.hatched_on or self.day - timedelta(days=it.age_d or 0)
        if hatched > self.day:
            raise refused(self.record, "hatched_on", "not_hatched_yet", hatched_on=hatched)
        self._comes("present", it, hatched)

    def _comes(self, origin: Origin, it: birds.Bought | birds.Present, hatched: date) -> None:
        """A batch may come in several records (sexes, places) if they agree on everything else."""
        self._known("line", it.line, self.farm.lines)
        self._place("place", it.place)
        new = BatchFacts(it.batch, it.line, origin, hatched_on=hatched, arrived_on=self.day, chicks=0)
        old = self.batches.get(it.batch, new)
        for name in ("origin", "line", "hatched_on", "arrived_on"):
            if getattr(old, name) != getattr(new, name):
                raise refused(
                    self.record, "batch", "two_stories", batch=it.batch,
                    before=getattr(old, name), now=getattr(new, name),
                )  # fmt: skip
        key: Key = (it.batch, it.sex, it.place)
        if key in self.book.heads:
            raise refused(self.record, "batch", "came_twice", group=spoken(key))
        self.batches[it.batch] = replace(old, chicks=(old.chicks or 0) + it.heads)
        self.book.add(key, it.heads)

    # birds move and are sorted

    @_hear.register
    def _moved(self, it: birds.Moved) -> None:
        self._place("to", it.to)
        if it.from_ is not None:
            self._place("from", it.from_)
        if it.batch is not None:
            self._batch(it.batch)
        if it.heads is None:
            going = [k for k in self.book.fitting(it.batch, it.sex, it.from_) if k[2] != it.to]
            if not going:
                self.book.one(it.batch, it.sex, it.from_)
                raise refused(self.record, "to", "there_already", place=it.to)
            moves = [(key, self.book.heads[key]) for key in going]
        else:
            key = self.book.one(it.batch, it.sex, it.from_)
            if key[2] == it.to:
                raise refused(self.record, "to", "there_already", place=it.to)
            moves = [(key, it.heads)]
        for (batch, sex, place), heads in moves:
            self.book.take((batch, sex, place), heads)
            self.book.add((batch, sex, it.to), heads)

    @_hear.register
    def _sorted(self, it: birds.Sorted) -> None:
        batch = self._batch(it.batch)
        if batch.hatched_on is None:
            raise refused(self.record, "batch", "before_hatch", batch=it.batch)
        for name, place in (("pullets_to", it.pullets_to), ("cockerels_to", it.cockerels_to)):
            if place is not None:
                self._place(name, place)
        unsorted = [k for k in self.book.fitting(it.batch, None, it.place) if k[1] is None]
        if not unsorted:
            raise refused(self.record, "batch", "sorted_out", batch=it.batch)
        if len(unsorted) > 1:
            raise NoGroup("which_birds", groups="; ".join(spoken(key) for key in unsorted))
        key = unsorted[0]
        self.book.take(key, it.pullets + it.cockerels)
        self.book.add((it.batch, "pullet", it.pullets_to or key[2]), it.pullets)
        self.book.add((it.batch, "cockerel", it.cockerels_to or key[2]), it.cockerels)
        self.batches[it.batch] = replace(
            batch,
            sorted_on=batch.sorted_on or self.day,
            pullets_at_sorting=(batch.pullets_at_sorting or 0) + it.pullets,
            cockerels_at_sorting=(batch.cockerels_at_sorting or 0) + it.cockerels,
        )

    # birds go

    @_hear.register
    def _loss(self, it: birds.Loss) -> None:
        self._place("place", it.place)
        key = self._goes(it.batch, it.sex, it.place, it.heads, lost=True)
        if self.record.kind == "missing":
            self._explain(key, it.heads)

    @_hear.register
    def _sent(self, it: birds.Sent) -> None:
        if it.place is not None:
            self._place("place", it.place)
        self._goes(it.batch, it.sex, it.place, it.heads, lost=False)

    def _goes(self, batch: str | None, sex: Sex | None, place: str | None, heads: int, *, lost: bool) -> Key:
        if batch is not None and self._batch(batch).hatched_on is None:
            raise refused(self.record, "batch", "before_hatch", batch=batch)
        key = self.book.one(batch, sex, place)
        self.book.take(key, heads, lost=lost)
        of = self.batches[key[0]]
        count = Count(self.day, heads, sex=sex or key[1], place=key[2], kind=self.record.kind)
        match self.record.kind:
            case "found dead":
                of = replace(of, dead=(*of.dead, count))
            case "killed":
                of = replace(of, killed=(*of.killed, count))
            case _:
                of = replace(of, gone=(*of.gone, count))
        self.batches[key[0]] = of
        return key

    # counted, weighed, gathered, fed

    @_hear.register
    def _counted(self, it: birds.Counted) -> None:
        self._place("place", it.place)
        if it.batch is not None:
            self._batch(it.batch)
        book = sum(self.book.heads[key] for key in self.book.fitting(it.batch, it.sex, it.place))
        self.counts[(it.batch, it.sex, it.place)] = HeadCount(
            self.day, it.place, it.batch, it.sex, it.heads, book, book - it.heads
        )

    def _explain(self, missing: Key, heads: int) -> None:
        """Birds written down as missing close what a count of the same birds left open."""
        for key, count in self.counts.items():
            same = all(said in (None, known) for said, known in zip(key, missing, strict=True))
            if same and count.unaccounted > 0:
                self.counts[key] = replace(count, unaccounted=max(0, count.unaccounted - heads))

    @_hear.register
    def _weighed(self, it: birds.Weighed) -> None:
        batch = self._batch(it.batch)
        if batch.hatched_on is None:
            raise refused(self.record, "batch", "before_hatch", batch=it.batch)
        weighing = Weighing(self.day, it.sex, it.weights_kg)
        self.batches[it.batch] = replace(batch, weighings=(*batch.weighings, weighing))

    @_hear.register
    def _eggs(self, it: daily.Eggs) -> None:
        self._place("place", it.place)
        self.eggs.append(Count(self.day, it.eggs, place=it.place, kind=self.record.kind))

    @_hear.register
    def _fed(self, it: daily.Fed) -> None:
        self._place("place", it.place)
        if it.feed is not None:
            self._known("feed", it.feed, self.farm.feeds)
        self.fed.append(Count(self.day, it.kg or 0.0, place=it.place, kind=self.record.kind))

    @_hear.register
    def _feed_read(self, it: daily.FeedRead) -> None:
        self._known("bin", it.bin, {**self.farm.bins, **self.farm.feeds})
        self.bins[it.bin] = (self.day, it.kg)

    @_hear.register
    def _temperature_read(self, it: daily.TemperatureRead) -> None:
        if it.place is not None:
            self._place("place", it.place)
        self.lows.append(Count(self.day, it.lowest_C or 0.0, place=it.place, kind=self.record.kind))

    @_hear.register
    def _stop(self, it: office.StopOrder) -> None:
        if it.batch is not None:
            self._batch(it.batch)
        if it.place is not None:
            self._place("place", it.place)
        self.stops.append(Stop(self.day, it.why, it.batch, it.place, it.until))

    # names

    def _batch(self, name: str) -> BatchFacts:
        if name not in self.batches:
            raise refused(
                self.record, "batch", "no_batch", batch=name, known=", ".join(sorted(self.batches)) or "-"
            )
        return self.batches[name]

    def _place(self, field: str, place: str) -> None:
        farm = self.farm
        self._known(field, place, {**farm.brooders, **farm.shelters, **farm.houses, **farm.pens})

    def _known(self, field: str, name: str, owned: Mapping[str, object]) -> None:
        if name not in owned:
            raise refused(
                self.record, field, "unknown_name", name=name,
                known=", ".join(sorted(owned)) or "-",
            )  # fmt: skip
