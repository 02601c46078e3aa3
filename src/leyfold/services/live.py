"""A farm kept open while its server runs: files read again when they change, records folded as they come."""

from __future__ import annotations

import hashlib
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from threading import RLock

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.log.fold import Folding
from leyfold.log.undisturbed import undisturbed
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Record, State
from leyfold.season.begin import begin
from leyfold.season.learn import learn
from leyfold.services.opened import FILES, RECORDS, Opened
from leyfold.store.records import MOST_PULLED, Store

__all__ = ["Live", "Mark"]

Mark = tuple[object, ...]
"""As long as it stays the same, so do the farm's files and records."""
FARM_FILE, LAND_FILE = "farm.toml", "land.geojson"


class Live:
    """The farm in `folder`, its book open in `store`. Safe for threads.

    BadInput from any method while a file of the farm is faulty; `farm` answers then as before the fault.
    """

    def __init__(self, folder: Path, store: Store) -> None:
        self._texts, self._store = Texts(folder), store
        self._lock = RLock()
        self._read: Mark = ()
        self._named_by = _stamp(folder / FARM_FILE)
        self._named = self._described = read_farm(self._texts)
        self._plan: Plan | None = None
        self._folding = Folding(self._described)
        self._records: dict[str, Record] = {}
        self._written: tuple[Record, ...] = ()
        self._since = 0
        self._sha = ""

    def farm(self) -> Farm:
        """The farm as its file describes it, or did the last time it was without a fault."""
        stamp = _stamp(self._texts.folder / FARM_FILE)
        if stamp != self._named_by:
            with self._lock:
                with suppress(BadInput):
                    self._named = read_farm(self._texts)
                self._named_by = stamp
        return self._named

    def mark(self) -> Mark:
        """Of files and records as they are now."""
        stamps = [
            _stamp(self._texts.folder / name)
            for name in (*FILES, LAND_FILE, *self._described.weather.files, *self._heights())
        ]
        return (*stamps, self._store.version)

    def _heights(self) -> tuple[str, ...]:
        return () if self._described.heights is None else (self._described.heights,)

    def state(self, at: datetime, now: datetime) -> State:
        """The state at an instant; records ahead of `now` are asked about."""
        with self._lock:
            self._refresh()
            return self._folding.state(at, now=now)

    def opened(self, at: datetime, *, whole: bool = True) -> Opened:
        """As `services.opened.open_farm`, without reading again what was read before. Not `whole`: without
        its `records`, for who asks only what follows from them and need not wait for a list of them all."""
        with self._lock:
            self._refresh()
            assert self._plan is not None
            state = self._folding.state(at, now=at) if self._records else State()
            described, plan = self._described, self._plan
            records = tuple(self._records.values()) if whole else ()
            sha = hashlib.sha256(f"{self._sha}{self._store.book}{self._since}".encode()).hexdigest()
        farm = learn(described, state)
        return Opened(self._texts, described, farm, plan, begin(farm, plan, state), state, sha, records)

    def kinds(self, ids: set[str]) -> dict[str, str]:
        """Kind of each of these records that is there."""
        with self._lock:
            self._take_in()
            return {id: self._records[id].kind for id in ids if id in self._records}

    def _refresh(self) -> None:
        texts = self._texts
        stamps = tuple(_stamp(texts.folder / name) for name in FILES)
        if stamps != self._read:
            described = read_farm(texts)
            plan = read_plan(texts, described)
            written: tuple[Record, ...] = ()
            if texts.has(RECORDS):
                from leyfold.log.lines import read

                written = read(texts.read(RECORDS).text)
            if described != self._described or written != self._written:
                self._folding, self._records, self._since = Folding(described), {}, 0
                self._add(written)
            self._described, self._plan, self._written = described, plan, written
            self._sha = "".join(texts.read(name).sha for name in FILES if texts.has(name))
            self._read = stamps
        self._take_in()

    def _take_in(self) -> None:
        with undisturbed(self._store.version - self._since):
            while self._since < self._store.version:
                page = self._store.pull(self._since, MOST_PULLED)
                self._add(page.records)
                self._since = page.cursor

    def _add(self, records: tuple[Record, ...]) -> None:
        self._folding.add(records)
        self._records.update((record.id, record) for record in records)


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
