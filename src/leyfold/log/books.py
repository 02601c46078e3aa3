"""The open books of a farm: everything that a record can change, kept on one ledger."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from leyfold import units
from leyfold.log.book import Book, Key, Said
from leyfold.log.doubles import Doubles
from leyfold.log.faults import Contradicts
from leyfold.log.kinds.said import Answer
from leyfold.log.ledger import Ledger
from leyfold.log.withholding import Dose, Withholding
from leyfold.nouns import happened as h
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import BatchFacts, HeadCount, Record, State, Stop

__all__ = ["Books", "Hear"]


class Books:
    """What the records say so far. `record`, `at` and `day` are those of the record being heard."""

    record: Record
    at: datetime
    day: date
    answer: Answer | None
    """What was said to a question about this record."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.ledger = Ledger()
        self.book = Book(self.ledger)
        self.doubles = Doubles(self.ledger)
        self.held = Withholding(self.ledger)
        self.places = frozenset((*farm.brooders, *farm.shelters, *farm.houses, *farm.pens))
        self.movable = frozenset((*farm.shelters, *farm.houses))
        self.stores = frozenset((*farm.bins, *farm.feeds))
        self._kg: dict[tuple[str, str], float | None] = {}
        self.batches: dict[str, BatchFacts] = {}
        """What is said once of a batch; what adds up stands in the lists below."""
        self.left: dict[str, int] = {}
        """Birds of a batch that died or went, less those found again."""
        self.missing: dict[Key, int] = {}
        """Birds written down as missing and not found again."""
        self.heirs: dict[str, tuple[date, tuple[Key, ...]]] = {}
        """Place to the groups that birds went to from it on its last day of moves."""
        self.of: dict[str, list[tuple[str, Any]]] = {}
        """What adds up of a batch: the field of its facts, and the item."""
        self.counts: dict[Said, HeadCount] = {}
        self.glances: dict[str, h.Glance] = {}
        self.bins: dict[str, tuple[date, float]] = {}
        self.tanks: dict[str, tuple[date, float]] = {}
        self.watered: dict[str, h.Watering] = {}
        self.stands: dict[str, h.Standing] = {}
        self.orders: dict[str, h.Promise] = {}
        self.mains: dict[str, int] = {}
        """Place ("" for the whole farm) to the row of its mains off that is still open."""
        self.troubles: dict[str, int] = {}
        """Id of the record to its row."""
        self.courses: dict[str, tuple[date, Dose]] = {}
        """Medicated feed to the last day of its course."""
        self._made: dict[int, tuple[Any, ...]] = {}
        """Identity of a list to its items as they were last told."""
        self._batches: dict[str, tuple[BatchFacts | None, tuple[Any, ...], BatchFacts]] = {}
        """The facts of each batch as they were last told, and what they were made of."""
        self.rows: dict[str, list[Any]] = {name: [] for name in ROWS}

    # what was answered

    def meant(self, keep: str) -> bool:
        """Whether somebody has said that the record is to be taken this way."""
        return self.answer is not None and self.answer.keep == keep

    # what a record changes

    def push(self, row: str, item: Any) -> None:
        self.ledger.push(self.rows[row], item)

    def change(self, row: str, index: int, item: Any) -> None:
        """Put another item in the place of one; the tables are lists by their rows."""
        self.ledger.swap(self.rows[row], index, item)

    def spend(self, what: str, paid: float, batch: str | None = None) -> None:
        self.push("expenses", h.Expense(self.day, what, paid, batch))

    def of_batch(self, field: str, batch: str, item: Any) -> None:
        if batch not in self.of:
            self.ledger.put(self.of, batch, [])
        self.ledger.push(self.of[batch], (field, item))

    def now(self, batch: BatchFacts, **said: Any) -> None:
        self.ledger.put(self.batches, batch.batch, replace(batch, **said))

    # names

    def batch(self, name: str) -> BatchFacts:
        found = self.batches.get(name)
        if found is None:
            known = ", ".join(sorted(self.batches)) or "-"
            raise Contradicts("batch", "no_batch", batch=name, known=known)
        return found

    def hatched(self, name: str) -> BatchFacts:
        found = self.batch(name)
        if found.hatched_on is None:
            raise Contradicts("batch", "before_hatch", batch=name)
        return found

    def place(self, field: str, place: str) -> None:
        if place not in self.places:
            self.known(field, place, self.places)

    def known(self, field: str, name: str, owned: Collection[str]) -> None:
        if name not in owned:
            known = ", ".join(sorted(owned)) or "-"
            raise Contradicts(field, "unknown_name", name=name, known=known)

    def amount(self, measure: str, measures: float, unit: str) -> float:
        """`measures` of the farm's own measure, in `unit` ("kg", "l")."""
        one = self._kg.get((measure, unit))
        if one is None:
            self.known("measure", measure, self.farm.measures)
            try:
                one = units.parse(f"1 {measure}", unit, self.farm.measures)
            except units.UnitError:
                raise Contradicts("measure", "odd_measure", measure=measure, unit=unit) from None
            self._kg[(measure, unit)] = one
        return one * measures

    # reading them

    def state(self, day: date, **beside: Any) -> State:
        """The state on `day`. It closes the spells: take the ledger back to where it was before."""
        self._balance()
        rows = {name: self._told(row) for name, row in self.rows.items()}
        batches = {name: self._facts(batch) for name, batch in self.batches.items()}
        self.ledger.swapped.clear()
        held = self.held.withdrawals(self.book.heads, day)
        rows["stops"] += tuple(Stop(day, "withdrawal", one.batch, one.place, one.ends()) for one in held)
        groups = self.book.groups()
        self.book.close(day)
        return State(
            day=day,
            groups=groups,
            batches=batches,
            bins_kg=dict(self.bins),
            spells=tuple(self.book.spells),
            head_counts=tuple(self.counts[key] for key in sorted(self.counts, key=str)),
            glances=tuple(self.glances[place] for place in sorted(self.glances)),
            withdrawals=held,
            medicated={place: feed.medicine for place, feed in sorted(self.held.feeds.items())},
            stands=dict(self.stands),
            watered=dict(self.watered),
            tanks_l=dict(self.tanks),
            orders=dict(self.orders),
            **rows,
            **beside,
        )

    def _told(self, row: list[Any] | None) -> tuple[Any, ...]:
        """The items of a list that only grows or is taken back at its end: made again only when it was. Then
        its last item is another object, since what is told keeps the old one alive."""
        if row is None:
            return ()
        made = self._made.get(id(row))
        same = made is not None and len(made) == len(row) and (not row or made[-1] is row[-1])
        if made is None or not same or id(row) in self.ledger.swapped:
            made = self._made[id(row)] = tuple(row)
        return made

    def _facts(self, batch: BatchFacts) -> BatchFacts:
        name = batch.batch
        items = self._told(self.of.get(name))
        said, told, made = self._batches.get(name, (None, (), batch))
        if said is not batch or told is not items:
            fields: dict[str, list[Any]] = {}
            for field, item in items:
                fields.setdefault(field, []).append(item)
            made = replace(batch, **{field: tuple(row) for field, row in fields.items()})  # type: ignore[arg-type]
            self._batches[name] = (batch, items, made)
        return made

    def _balance(self) -> None:
        alive = self.book.alive()
        for name, batch in self.batches.items():
            if alive.get(name, 0) + self.left.get(name, 0) != (batch.chicks or 0):
                raise ArithmeticError(f"birds of {name} do not balance")


ROWS = (
    "eggs", "fed_kg", "lows_C", "stops", "treatments", "moves", "fence_moves", "breaks", "fences", "looks",
    "water_l", "delivered_kg", "temperatures_C", "grass_cm", "sales", "expenses", "worked", "kit_lost",
    "troubles", "mains_off", "notes", "unknown", "withheld",
)  # fmt: skip
"""The fields of State that are lists of what happened, one after the other."""

Hear = Callable[[Books, Any], None]
