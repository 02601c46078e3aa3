"""A farm's folder opened: what it describes, what it intends, what its records say."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Record, State
from leyfold.season.begin import begin
from leyfold.season.learn import learn

__all__ = ["Opened", "open_farm", "read_all"]

RECORDS = "records.jsonl"
BOOK = "records.db"
FILES = ("farm.toml", "plan.toml", RECORDS)


@dataclass(frozen=True, slots=True)
class Opened:
    """`described` is the farm as written, `farm` the same with its figures moved by its own records; `plan`
    is what was written, `ahead` the same with the facts of the records in place of its past. `records` are
    all there are, those after the instant too."""

    texts: Texts
    described: Farm
    farm: Farm
    plan: Plan
    ahead: Plan
    state: State
    sha256: str
    records: tuple[Record, ...] = ()


def open_farm(where: Path, at: datetime) -> Opened:
    """The farm in folder `where` (or the folder of the farm.toml named) as of the instant `at`.

    BadInput with every fault of the first file that has any.
    """
    texts = Texts(where.parent if where.is_file() else where)
    described = read_farm(texts)
    plan = read_plan(texts, described)
    records, mark = read_all(texts)
    state = _state(described, records, at)
    farm = learn(described, state)
    shas = [texts.read(name).sha for name in FILES if texts.has(name)]
    digest = hashlib.sha256("".join([*shas, mark]).encode()).hexdigest()
    return Opened(texts, described, farm, plan, begin(farm, plan, state), state, digest, records)


def read_all(texts: Texts) -> tuple[tuple[Record, ...], str]:
    """All records of a farm: those kept in its book and those in records.jsonl, each once; and a mark that
    changes with those of the book. BadInput where either is faulty."""
    # The kinds of records are as many models to build: a farm without records need not wait for them.
    written: tuple[Record, ...] = ()
    if texts.has(RECORDS):
        from leyfold.log.lines import read

        written = read(texts.read(RECORDS).text)
    if not (texts.folder / BOOK).exists():
        return written, ""
    from leyfold.store.records import read_records

    kept, mark = read_records(texts.folder)
    if not written:
        return kept, mark
    from leyfold.log.lines import merge

    return merge(written, kept), mark


def _state(farm: Farm, records: tuple[Record, ...], at: datetime) -> State:
    if not records:
        return State()
    from leyfold.log.fold import fold

    return fold(farm, records, at)
