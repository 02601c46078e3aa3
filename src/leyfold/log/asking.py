"""From what was not counted to a question in plain words, with the answers that may be given."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from leyfold.log.doubles import Pair
from leyfold.log.facts import Log, Problem
from leyfold.log.faults import Contradicts
from leyfold.log.kinds.said import Answer
from leyfold.log.ledger import Ledger
from leyfold.nouns.clock import civil, wall
from leyfold.nouns.farm import Farm
from leyfold.nouns.question import Choice, Question, Why
from leyfold.nouns.record import Record
from leyfold.words import say
from leyfold.words.forms import day_and_month

__all__ = ["Asking"]


class Asking:
    """What is open, on the ledger: taken back with the records that raised it."""

    def __init__(self, farm: Farm, ledger: Ledger) -> None:
        self._farm = farm
        self._ledger = ledger
        self._open: list[Question] = []
        self._pairs: list[Pair] = []
        self._behind: list[Record] = []

    # raised by the fold

    def contradicts(self, record: Record, error: Contradicts, before: Answer | None) -> None:
        """`before`: what was answered already, which did not settle it."""
        choices = []
        for group in error.fits:
            birds = {name: part for name, part in zip(BIRDS, group, strict=True) if part}
            data = {"of": [record.id], "keep": "these", **birds}
            choices.append(Choice(say("log.keep_these", group=", ".join(birds.values())), data))
        said_of = {} if before is None else before.model_dump(include=set(BIRDS), exclude_none=True)
        for keep in (*error.can, "left out"):
            choice = self._keep(keep, [record])
            choices.append(Choice(choice.said, {**choice.data, **said_of}))
        why: Why = "which" if error.name == "which_birds" else "contradiction"
        said = say(f"log.{error.name}", **error.values)
        mend = say(f"log.{error.name}_mend", **error.values)
        asked = say("log.asks", record=self._told(record), wrong=said)
        self._ledger.push(self._open, self._question(why, [record], asked, mend, choices))

    def problem(self, problem: Problem) -> None:
        self._ledger.push(self._open, self._of(problem))

    def double(self, pair: Pair) -> None:
        self._ledger.push(self._pairs, pair)

    def clock_behind(self, record: Record) -> None:
        self._ledger.push(self._behind, record)

    # asked

    def questions(self, log: Log, at: datetime, ahead: Sequence[Record]) -> tuple[Question, ...]:
        """All that is open at an instant, the oldest first. Of one clock, and of one pair of people who
        wrote down the same birds one by one, there is one question."""
        found = [*self._open, *self._doubles(), *self._clocks("behind", self._behind)]
        found += self._clocks("ahead", [r for r in ahead if r.id not in log.heard])
        found += [self._of(problem) for problem in log.open() if problem.record.at <= at]
        if len(found) < 2:
            return tuple(found)
        return tuple(sorted(found, key=lambda q: (log.records[q.id].at, q.id)))

    def _of(self, problem: Problem) -> Question:
        said = " ".join(fault.wrong for fault in problem.faults)
        mend = " ".join(dict.fromkeys(fault.mend for fault in problem.faults))
        why: Why = "correction" if problem.why == "correction" else "faulty"
        asked = say("log.asks", record=self._told(problem.record), wrong=said)
        choices = [self._keep("left out", [problem.record])]
        return self._question(why, [problem.record], asked, mend, choices)

    def _doubles(self) -> Iterable[Question]:
        groups: dict[tuple[object, ...], list[Pair]] = {}
        zone = self._farm.holding.zone
        for pair in self._pairs:
            one, two = pair.first, pair.second
            people = (one.who, one.device, two.who, two.device)
            key = (two.kind, civil(two.at, zone), two.data.get("place"), *people)
            groups.setdefault(key, []).append(pair)
        for pairs in groups.values():
            one, two = pairs[0].first, pairs[0].second
            said = say(
                "log.double" if len(pairs) == 1 else "log.doubles",
                first=self._told(one), second=self._told(two), times=len(pairs),
            )  # fmt: skip
            records = [record for pair in pairs for record in (pair.second, pair.first)]
            choices = [
                Choice(say(f"log.keep_{keep}"), {"of": [r.id for r in records], "keep": keep})
                for keep in ("first", "both", "second", "neither")
            ]
            yield self._question("double", records, said, say("log.double_mend"), choices)

    def _clocks(self, way: str, records: Sequence[Record]) -> Iterable[Question]:
        devices: dict[str, list[Record]] = {}
        for record in records:
            devices.setdefault(record.device, []).append(record)
        for device, theirs in devices.items():
            first = theirs[0]
            said = say(
                f"log.clock_{way}", device=device, number=len(theirs),
                on=civil(first.at, self._farm.holding.zone), record=self._told(first),
            )  # fmt: skip
            asked = theirs[:MOST_ASKED]
            choices = [self._keep(keep, asked) for keep in ("left out", "as it stands")]
            yield self._question("clock", asked, said, say("log.clock_mend"), choices)

    def _keep(self, keep: str, records: Sequence[Record]) -> Choice:
        key = keep.replace(" ", "_")
        return Choice(say(f"log.keep_{key}"), {"of": [record.id for record in records], "keep": keep})

    def _question(
        self, why: Why, records: Sequence[Record], said: str, mend: str, choices: Sequence[Choice]
    ) -> Question:
        first = records[0]
        place = first.data.get("place")
        where = place if isinstance(place, str) else None
        about = tuple(dict.fromkeys(record.id for record in records))
        return Question(first.id, why, first.kind, about, said, mend, tuple(choices), where)

    def _told(self, record: Record) -> str:
        """ "found dead 2, s1 (runa, 4 March, 09:10)"."""
        zone = self._farm.holding.zone
        plain = (value for value in record.data.values() if isinstance(value, str | int | float))
        data = ", ".join(str(value) for value in plain if value != "")
        return say(
            "log.told", kind=record.kind, data=data[:MOST_TOLD], who=record.who,
            on=day_and_month(civil(record.at, zone), self._farm.holding.language),
            at=f"{wall(record.at, zone):%H:%M}",
        )  # fmt: skip


BIRDS = ("batch", "sex", "place")
MOST_ASKED = 1000
MOST_TOLD = 80
