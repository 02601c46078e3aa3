"""What was really written down, once corrections and answers are heard. A correction holds for every
instant: it tells what the fact always was."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from leyfold.log.faults import fault, refused
from leyfold.log.kinds import payload
from leyfold.log.kinds.said import PAIRED, Answer, Correction
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record

__all__ = ["Fact", "Heard", "Log", "Problem", "faulty"]

Fact = tuple[datetime, str, Record]
"""When, id, the record as it stands: they sort by the first two. Data are checked when they are heard: held
as long as the records they would be most of what is held."""
When = tuple[datetime, str]

FEW = 50
"""More new records than these are sorted in at once."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A record that says nothing as it is, and why."""

    record: Record
    why: str
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Heard:
    """What the last answer about a record makes of it."""

    stands: bool
    answer: Answer


class Log:
    """All records ever brought in, each once, whatever their order. `facts` are those that stand, by
    (at, id); `problems` corrections and answers that cannot be heard, by id; `heard` the answers, by the id
    of the record asked about."""

    def __init__(self) -> None:
        self.records: dict[str, Record] = {}
        self.facts: list[Fact] = []
        self.problems: dict[str, Problem] = {}
        self.heard: dict[str, Heard] = {}
        self.said_by: dict[str, Record] = {}
        """Record to the correction that its data come from: a fault in them is the correction's."""
        self._corrections: dict[str, Correction | None] = {}
        self._of: dict[str, list[str]] = {}
        """Record to the corrections of it."""
        self._stands_at: dict[str, When] = {}
        """Corrected records that stand, and where they stand now."""
        self._answers: dict[str, Answer] = {}
        self._faulty: dict[str, str] = {}
        """Answer to the record that made it unreadable."""
        self._asked: dict[str, set[str]] = {}
        """Record to the answers about it."""

    def add(self, records: Iterable[Record]) -> When | None:
        """Bring records in. The first place in time at which anything is now different, None if nothing is.
        BadInput when one id has two contents; then none of them has come in."""
        new = self._new(records)
        self.records.update(new)
        plain: list[Record] = []
        touched: dict[str, None] = {}
        # Of a double, what is said of the one waits for the other.
        answers = {answer for id in new for answer in self._asked.get(id, ())}
        answered = {id for answer in answers for id in self._answers[answer].of}
        for record in new.values():
            if record.kind == "correction":
                touched[self._root(self._hear_correction(record))] = None
            elif record.kind == "answer" or record.id in self._of:
                touched[self._root(record)] = None
            else:
                plain.append(record)
        earliest = [self._stand(plain)]
        earliest += [self._settle(self.records[id]) for id in touched]
        earliest += [self._weigh(id) for id in sorted(answered)]
        return min((when for when in earliest if when is not None), default=None)

    def _new(self, records: Iterable[Record]) -> dict[str, Record]:
        new: dict[str, Record] = {}
        known = self.records
        for record in records:
            id = record.id
            first = known.get(id)
            if first is None:
                first = new.setdefault(id, record)
            if first is not record and first != record:
                raise refused(record, "id", "two_contents", id=id, line=first.line or "?")
        return new

    def _stand(self, records: list[Record]) -> When | None:
        """Records of which no correction is known."""
        made: list[Fact] = [(record.at, record.id, record) for record in records]
        if len(made) > FEW:
            self.facts += made
            self.facts.sort()
        else:
            for fact in made:
                insort(self.facts, fact, key=_when)
        return min(made)[:2] if made else None

    # corrections

    def _hear_correction(self, record: Record) -> Record:
        try:
            said = payload(record)
        except BadInput as error:
            self.problems[record.id] = Problem(record, "faulty", error.faults)
            said = None
        if said is None:
            self._corrections[record.id] = None
            return record
        assert isinstance(said, Correction)
        self._corrections[record.id] = said
        self._of.setdefault(said.of, []).append(record.id)
        return record

    def _root(self, record: Record) -> str:
        """The record that a chain of corrections is about in the end; the last link that is here."""
        seen = {record.id}
        while (said := self._corrections.get(record.id)) is not None:
            target = self.records.get(said.of)
            if target is None or target.id in seen:
                break
            seen.add(target.id)
            record = target
        return record.id

    def _chain(self, root: Record) -> list[tuple[Record, Correction]]:
        """All corrections of a record, of those, and so on, that may be, by (at, id)."""
        found, ids = [], [root.id]
        for id in ids:
            for of in sorted(self._of.get(id, ())):
                if of not in ids:
                    ids.append(of)
                    record, said = self.records[of], self._corrections[of]
                    assert said is not None
                    wrong = self._wrong(record, said)
                    if wrong is None:
                        self.problems.pop(of, None)
                        found.append((record, said))
                    else:
                        self.problems[of] = Problem(record, "correction", (wrong,))
        return sorted(found, key=lambda one: (one[0].at, one[0].id))

    def _wrong(self, record: Record, said: Correction) -> Fault | None:
        target = self.records.get(said.of)
        if target is None:
            return fault(record, "of", "corrects_nothing", of=said.of)
        if target.kind == "correction":
            if not said.void:
                return fault(record, "of", "corrects_correction", of=target.id)
            if (target.at, target.id) >= (record.at, record.id):
                return fault(record, "of", "corrects_later", of=target.id)
        if said.at is not None and said.at > record.entered:
            return fault(record, "at", "corrected_ahead", of=target.id)
        return None

    def _settle(self, root: Record) -> When | None:
        """Find out what a record says after all that was said of it."""
        chain = self._chain(root)
        voided: set[str] = set()
        for record, said in reversed(chain):
            if self.records[said.of].kind == "correction" and record.id not in voided:
                voided.add(said.of)
        if root.kind == "correction":
            self._judge(root, void=root.id in voided)
            return None
        now, stands, by = root, True, root
        for record, said in chain:
            if record.id in voided or said.of != root.id:
                continue
            stands = not said.void
            if said.data is not None:
                now, by = replace(now, data=said.data), record
            if said.at is not None:
                now = replace(now, at=said.at)
        before = self._leave(root)
        if root.kind == "answer":
            return self._answer(root, self._read(root.id, replace(by, kind=now.kind, data=now.data), stands))
        if by is not root:
            self.said_by[root.id] = by
        else:
            self.said_by.pop(root.id, None)
        if not stands:
            return before
        insort(self.facts, (now.at, now.id, now), key=_when)
        self._stands_at[root.id] = (now.at, now.id)
        return min(before, (now.at, now.id)) if before else (now.at, now.id)

    def _read(self, root: str, record: Record, stands: bool) -> Answer | None:
        """An answer as it was last put. `record` is that of whoever put it so."""
        self.problems.pop(self._faulty.pop(root, ""), None)
        if not stands:
            return None
        try:
            said = payload(record)
        except BadInput as error:
            self._faulty[root] = record.id
            self.problems[record.id] = Problem(record, "faulty", error.faults)
            return None
        assert isinstance(said, Answer)
        return said

    def _judge(self, correction: Record, *, void: bool) -> None:
        """A correction whose record is not here, or that cannot be read."""
        said = self._corrections[correction.id]
        wrong = None if said is None else self._wrong(correction, said)
        if void:
            self.problems.pop(correction.id, None)
        elif wrong is not None:
            self.problems[correction.id] = Problem(correction, "correction", (wrong,))

    def _leave(self, root: Record) -> When | None:
        """Take a record from among the facts; where it stood."""
        when = self._stands_at.pop(root.id, (root.at, root.id))
        index = bisect_left(self.facts, when, key=_when)
        if index < len(self.facts) and self.facts[index][1] == root.id:
            del self.facts[index]
            return when
        return None

    # answers

    def _answer(self, record: Record, said: Answer | None) -> When | None:
        old = self._answers.pop(record.id, None)
        if said is not None:
            self._answers[record.id] = said
        asked = {*(old.of if old else ()), *(said.of if said else ())}
        for id in asked:
            answers = self._asked.setdefault(id, set())
            answers.discard(record.id)
            if said is not None and id in said.of:
                answers.add(record.id)
        places = [self._weigh(id) for id in sorted(asked)]
        return min((place for place in places if place is not None), default=None)

    def _weigh(self, id: str) -> When | None:
        """What the last answer about a record makes of it. Where the record stands, if that changed."""
        record = self.records.get(id)
        if record is None:
            return None
        by_time = sorted(self._asked.get(id, ()), key=lambda a: (self.records[a].at, a))
        before = self.heard.pop(id, None)
        for answer in reversed(by_time):
            stands = self._stands(record, self._answers[answer])
            if stands is not None:
                self.heard[id] = Heard(stands, self._answers[answer])
                break
        if self.heard.get(id) == before:
            return None
        return self._stands_at.get(id, (record.at, id))

    def _stands(self, record: Record, said: Answer) -> bool | None:
        """None where it cannot be said yet: the other record of a double is not here."""
        if said.keep not in PAIRED:
            return said.keep != "left out"
        if said.keep in ("both", "neither"):
            return said.keep == "both"
        at = said.of.index(record.id)
        pair = said.of[at - at % 2 : at - at % 2 + 2]
        both = [self.records[one] for one in pair if one in self.records]
        if len(both) < 2:
            return None
        first = min(both, key=lambda r: (r.at, r.id))
        return (first.id == record.id) == (said.keep == "first")

    def faults(self) -> list[Fault]:
        """Everything wrong with any record that stands, by (at, id)."""
        found = list(self.problems.values())
        for _, id, record in self.facts:
            if (problem := faulty(record, self.said_by.get(id))) is not None:
                found.append(problem)
        found.sort(key=lambda p: (p.record.at, p.record.id))
        return [fault for problem in found for fault in problem.faults]

    def open(self) -> Iterator[Problem]:
        """Problems that nobody has settled by leaving the record out, by (at, id)."""
        left = [p for id, p in self.problems.items() if id not in self.heard or self.heard[id].stands]
        return iter(sorted(left, key=lambda p: (p.record.at, p.record.id)))


def faulty(record: Record, said_by: Record | None = None) -> Problem | None:
    """What is wrong with the data of a record, which may be those of a correction of it."""
    blamed = said_by or record
    try:
        payload(replace(blamed, kind=record.kind, data=record.data))
    except BadInput as error:
        return Problem(blamed, "faulty", error.faults)
    return None


def _when(fact: Fact) -> When:
    return fact[:2]
