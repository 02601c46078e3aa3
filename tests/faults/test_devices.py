"""Three devices and a server that lose replies, send twice, die and are restored: in the end all of them hold
the same records, each once, and the same farm follows from them in whatever order. The long form is
`benchmarks/long_devices.py`."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from devices import Phone, sync
from farms import farm
from leyfold.log import fold
from leyfold.store.copies import backup as back_up
from leyfold.store.copies import put_in_place, stage
from leyfold.store.records import open_store
from logs import made_up

NOW = datetime(2027, 9, 1, 12, tzinfo=UTC)
FACTS = list(made_up(1)[0])[:25]
"""A season that never contradicts itself, so that only the way the records come could make a difference."""


class Farmyard(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory()
        self.folder = Path(self._folder.name)
        self.store = open_store(self.folder)
        self.all_phones = [Phone(name) for name in ("ada", "bo", "cy")]
        self.facts: Iterator[int] = iter(range(len(FACTS)))
        self.backups: list[Path] = []
        self.acknowledged: set[str] = set()

    @rule(which=st.integers(0, 2), skew_d=st.sampled_from([0, 0, 0, 3650, -3650]))
    def write(self, which: int, skew_d: int) -> None:
        """One more fact, on one phone; the clock by which it was entered may be years off."""
        number = next(self.facts, None)
        if number is not None:
            self.all_phones[which].write(FACTS[number], timedelta(days=max(0, skew_d)))

    @rule(which=st.integers(0, 2), lose=st.sampled_from(["", "", "request", "reply"]), twice=st.booleans())
    def push(self, which: int, lose: str, twice: bool) -> None:
        phone = self.all_phones[which]
        for _ in range(2 if twice else 1):
            self.acknowledged |= set(phone.push(self.store, NOW, lose))

    @rule(which=st.integers(0, 2), lose=st.sampled_from(["", "", "reply"]), limit=st.integers(1, 7))
    def pull(self, which: int, lose: str, limit: int) -> None:
        self.all_phones[which].pull(self.store, limit, lose)

    @rule()
    def restart(self) -> None:
        self.store.close()
        self.store = open_store(self.folder)

    @rule()
    def backup(self) -> None:
        if len(self.backups) < 3:
            to = self.folder / f"backup{len(self.backups)}.db"
            back_up(self.folder / "records.db", to)
            self.backups.append(to)

    @rule(which=st.integers(0, 2))
    def restore(self, which: int) -> None:
        """An older book takes the place of this one: what it lacks comes back from the phones."""
        if which < len(self.backups):
            self.store.close()
            aside = self.folder / "aside"
            aside.mkdir(exist_ok=True)
            put_in_place(self.folder, stage(self.folder, self.backups[which])[0], aside)
            self.store = open_store(self.folder)
            self.acknowledged = {record.id for record in self.store.all()}

    @invariant()
    def nothing_acknowledged_is_lost_or_doubled(self) -> None:
        ids = [record.id for record in self.store.all()]
        assert len(ids) == len(set(ids))
        assert self.acknowledged <= set(ids)

    def teardown(self) -> None:
        try:
            for _ in range(2):
                for phone in self.all_phones:
                    sync(phone, self.store, NOW)
            written = {r.id for phone in self.all_phones for r in phone.written}
            there = self.store.all()
            assert {r.id for r in there} == written, "every fact that any phone wrote, once"
            states = [fold(farm(), there, NOW)]
            states += [fold(farm(), list(phone.held.values()), NOW) for phone in self.all_phones]
            assert states.count(states[0]) == len(states), "the same farm on every device"
        finally:
            self.store.close()
            self._folder.cleanup()


TestFarmyard = Farmyard.TestCase
TestFarmyard.settings = settings(max_examples=8, stateful_step_count=20, deadline=None)
