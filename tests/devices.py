"""A phone as the store sees one: it writes down, sends until it hears that it came in, fetches by cursor."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from leyfold.log.lines import write
from leyfold.nouns.record import Record
from leyfold.store.records import Store
from leyfold.store.wire import body_of, read_batch

__all__ = ["Phone", "sync"]


@dataclass
class Phone:
    """`held`: all it knows; `unsent`: what nobody has acknowledged; `written`: what it wrote itself."""

    name: str
    held: dict[str, Record] = field(default_factory=dict)
    unsent: dict[str, Record] = field(default_factory=dict)
    written: list[Record] = field(default_factory=list)
    cursor: int = 0
    book: str = ""

    def write(self, fact: Record, skew: timedelta = timedelta(0)) -> None:
        record = replace(fact, device=self.name, who=self.name, entered=fact.entered + skew, line=None)
        self.held[record.id] = self.unsent[record.id] = record
        self.written.append(record)

    def push(self, store: Store, at: datetime, lose: str = "", most: int = 5) -> tuple[str, ...]:
        """Send some, over the wire and back. The ids that were acknowledged, as far as the reply came."""
        some = tuple(self.unsent.values())[:most]
        if not some or lose == "request":
            return ()
        batch = read_batch(body_of(some, self.name))
        assert batch.records == some
        answer = store.push(batch.records, batch.device, at)
        assert not answer.refused, answer.refused
        self._meets(store.book, answer.cursor)
        if lose == "reply":
            return ()
        for id in (*answer.accepted, *answer.duplicates):
            self.unsent.pop(id, None)
        return (*answer.accepted, *answer.duplicates)

    def pull(self, store: Store, limit: int, lose: str = "") -> bool:
        """Fetch one page; whether there is more."""
        page = store.pull(self.cursor, limit)
        if lose == "reply":
            return False
        if self._meets(store.book, page.cursor):
            return True
        for record in page.records:
            plain = json.loads(write([record]))
            assert self.held.setdefault(record.id, record) == record, plain
        self.cursor = page.cursor
        return page.more

    def _meets(self, book: str, cursor: int) -> bool:
        """Another book, or an older one, than the phone knew: ask it from the beginning, send it all."""
        known, self.book = self.book, book
        if known and (known != book or cursor < self.cursor):
            self.cursor = 0
            self.unsent = dict(self.held)
            return True
        return False


def sync(phone: Phone, store: Store, at: datetime) -> None:
    """Until nothing is left to send or to fetch."""
    while True:
        while phone.unsent:
            phone.push(store, at, most=200)
        while phone.pull(store, 500):
            pass
        if not phone.unsent:
            return
