"""A farm's folder opened: what it describes, what it intends, what its records say."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from leyfold.farm.plan_file import parse_plan, read_plan
from leyfold.farm.read import FARM_FILE, read_farm
from leyfold.farm.texts import Texts, folder_of
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.record import Record, State
from leyfold.season.begin import begin
from leyfold.season.learn import learn
from leyfold.words import say

__all__ = ["Opened", "open_farm", "open_side", "read_all"]

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


def open_farm(where: Path, at: datetime, *, plan_file: Path | None = None) -> Opened:
    """The farm in folder `where` (or the folder of the farm.toml named) as of the instant `at`, with another
    plan in place of its own where a `plan_file` is named.

    BadInput with every fault of the first file that has any.
    """
    texts = Texts(folder_of(where))
    described = read_farm(texts)
    other = None if plan_file is None else Texts(plan_file.parent).read(plan_file.name)
    plan = read_plan(texts, described) if other is None else parse_plan(other, described)
    records, mark = read_all(texts)
    state = _state(described, records, at)
    farm = learn(described, state)
    shas = [texts.read(name).sha for name in FILES if texts.has(name)]
    shas += [] if other is None else [other.sha]
    digest = hashlib.sha256("".join([*shas, mark]).encode()).hexdigest()
    return Opened(texts, described, farm, plan, begin(farm, plan, state), state, digest, records)


def open_side(where: Path, other: Path, at: datetime, asker: str) -> tuple[Opened, str]:
    """One of two that are held against each other, and what it is called: a farm's folder, its farm.toml, or
    a plan file, which is of the farm in its own folder, else of the `other`'s.

    BadInput where neither folder holds a farm, and as `open_farm`; `asker` is the command that was given it.
    """
    plan_file = where if where.suffix == ".toml" and where.name != FARM_FILE else None
    homes = [path.parent if path.suffix == ".toml" else path for path in (where, other)]
    home = next((home for home in homes if (home / FARM_FILE).is_file()), None)
    if home is None or (plan_file is None and home != homes[0]):
        wrong = say("compare.no_farm", path=where)
        raise BadInput(Fault(asker, str(where), wrong, say("compare.no_farm_mend")))
    opened = open_farm(home, at, plan_file=plan_file)
    name = opened.farm.holding.name
    if plan_file is not None:
        name = say("compare.of_plan", farm=name, plan=plan_file.name)
    return opened, name


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
