"""The records, folded into who is alive where. Pure and free of order: records are taken by (at, id)."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time, timedelta
from math import ceil
from typing import Any

from pydantic import ValidationError

from leyfold.log.asking import Asking
from leyfold.log.books import Books
from leyfold.log.doubles import ASKED, Pair
from leyfold.log.facts import Fact, Heard, Log, faulty
from leyfold.log.faults import Contradicts, refused
from leyfold.log.hearing import HEAR
from leyfold.log.kinds import CHECK
from leyfold.log.kinds.said import PAIRED
from leyfold.log.meant import meant
from leyfold.log.undisturbed import undisturbed
from leyfold.nouns.clock import civil, instant
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import Record, State

__all__ = ["Folding", "fold"]

BEGINS = frozenset({"set", "bought", "present"})
LONG_BEFORE = timedelta(days=400)
"""Records older than this when the books open come from a clock that was wrong."""
LONG_AHEAD = timedelta(days=400)
"""So do those further ahead, whoever asks for whatever day."""
CLOCKS_DIFFER = timedelta(minutes=5)
EVER = datetime.max.replace(tzinfo=UTC)


def fold(
    farm: Farm, records: Iterable[Record], at: datetime, *, now: datetime | None = None, strict: bool = False
) -> State:
    """The state of the farm at an instant, by all records of what had happened by then, whenever written.

    Order and repetition of records change nothing. Corrections and answers hold whatever `at`. What cannot
    be, and what may have been written down twice, does not count and stands in `State.questions`. `now`:
    what the clock shows, where it is known: records ahead of it by more than five minutes are asked about.

    With `strict` nothing is asked: BadInput, naming the record, where one is faulty or says what the records
    before it rule out, and doubles count. BadInput in any case when one id has two contents.
    """
    folding = Folding(farm, strict=strict)
    folding.add(records)
    return folding.state(at, now=now)


class Folding:
    """The fold kept open: records may be added in any order, and the state asked for at any instant. Only
    what comes after the earliest news is folded again."""

    def __init__(self, farm: Farm, *, strict: bool = False) -> None:
        self.farm = farm
        self._strict = strict
        self._log = Log()
        self._books = Books(farm)
        self._usual = {name: max(1, ceil(one.moves_per_day)) for name, one in farm.shelters.items()}
        """Shelter to the moves a day that the farm file says."""
        self._asking = Asking(farm, self._books.ledger)
        self._marks: list[int] = []
        """Of the ledger, before each fact that has been heard."""
        self._opened: datetime | None = None
        self._tomorrow = datetime.min.replace(tzinfo=UTC)

    def add(self, records: Iterable[Record]) -> None:
        """Bring records in; those already here are nothing new. BadInput when one id has two contents."""
        new = records if isinstance(records, Sequence) else list(records)
        with undisturbed(len(new)):
            earliest = self._log.add(new)
        if earliest is not None:
            self._back_to(bisect_left(self._log.facts, earliest))

    def state(self, at: datetime, *, now: datetime | None = None) -> State:
        """The state at an instant, as `fold` tells it."""
        if self._strict and (faults := self._log.faults()):
            raise BadInput(*faults)
        facts, books = self._log.facts, self._books
        # A phone's clock may be a little fast: what was tapped just now counts now.
        until = _after(facts, now + CLOCKS_DIFFER if now is not None and at >= now else at)
        self._open()
        self._back_to(until)
        with undisturbed(until - len(self._marks)):
            self._hear(until)
        mark = books.ledger.mark()
        limit = at + LONG_AHEAD if now is None else max(at, now) + CLOCKS_DIFFER
        ahead = facts[_after(facts, limit) :]
        questions = self._asking.questions(self._log, at, [fact[2] for fact in ahead])
        state = books.state(civil(at, self.farm.holding.zone), questions=questions)
        books.ledger.rewind(mark)
        return state

    def _open(self) -> None:
        """Find the day the books opened; if it is another one than before, begin again."""
        opened = next((fact[0] for fact in self._log.facts if fact[2].kind in BEGINS), None)
        if opened != self._opened:
            self._opened = opened
            self._back_to(0)

    def _back_to(self, index: int) -> None:
        """Forget what was heard from a fact on."""
        if index < len(self._marks):
            self._books.ledger.rewind(self._marks[index])
            del self._marks[index:]
            self._tomorrow = datetime.min.replace(tzinfo=UTC)

    def _hear(self, until: int) -> None:
        books, facts, marks = self._books, self._log.facts, self._marks
        heard, double = self._log.heard, books.doubles.hear
        believed = EVER if self._opened is None else self._opened - LONG_BEFORE
        undo, opened, ask = books.ledger.undo, self._opened is not None, not self._strict
        for at, id, record in facts[len(marks) : until]:
            marks.append(len(undo))
            if at >= self._tomorrow:
                self._turn(at)
            kind = record.kind
            check = CHECK.get(kind)
            if check is None:
                books.push("unknown", id)
                continue
            books.record, books.at, books.answer = record, at, None
            said = heard.get(id) if heard else None
            if said is None and opened and at < believed and ask:
                self._asking.clock_behind(record)
                continue
            try:
                data = check(record.data)
                if said is not None:
                    data = self._answered(record, data, said)
                    if data is None:
                        continue
                if kind in ASKED:
                    usual = self._usual.get(data.place, 1) if kind == "shelter moved" else 1
                    first = double(record, data, books.day, usual, ask=ask and said is None)
                    if first is not None:
                        books.doubles.matched(first, data)
                        self._asking.double(Pair(first, record))
                        continue
                HEAR[kind](books, data)
            except ValidationError:
                self._refuse(record, said)
            except Contradicts as error:
                if self._strict:
                    raise refused(record, error.field, error.name, **error.values) from None
                books.ledger.rewind(marks[-1])
                self._turn(at)
                self._asking.contradicts(record, error, books.answer)

    def _answered(self, record: Record, data: Any, said: Heard) -> Any | None:
        """The data as somebody has said they are meant; None for a record that is left out."""
        partner = self._partner(record.id, said)
        if partner is not None:
            self._books.doubles.matched(partner, data)
        if not said.stands:
            return None
        self._books.answer = said.answer
        return meant(data, said.answer)

    def _refuse(self, record: Record, said: Heard | None) -> None:
        """Data that are not what the kind holds: asked about, unless somebody has left the record out."""
        problem = faulty(record, self._log.said_by.get(record.id))
        assert problem is not None
        left_out = (one for one in (said, self._log.heard.get(problem.record.id)) if one is not None)
        if all(one.stands for one in left_out):
            self._asking.problem(problem)

    def _partner(self, id: str, said: Heard) -> Record | None:
        """The record that somebody has set beside this one."""
        if said.answer.keep not in PAIRED:
            return None
        at = said.answer.of.index(id)
        return self._log.records.get(said.answer.of[at + 1 - 2 * (at % 2)])

    def _turn(self, at: datetime) -> None:
        zone = self.farm.holding.zone
        books = self._books
        books.day = civil(at, zone)
        self._tomorrow = instant(books.day + timedelta(days=1), time(), zone)
        books.book.turn(books.day)


def _after(facts: list[Fact], at: datetime) -> int:
    """Index of the first fact later than an instant."""
    return bisect_left(facts, (at + timedelta(microseconds=1), ""))
