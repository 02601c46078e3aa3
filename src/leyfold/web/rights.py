"""Who may do what. This is the one place that says so, and what is not said here is refused."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from leyfold.log.kinds import COUNTS, ROUND
from leyfold.nouns.farm import Person
from leyfold.nouns.record import Record
from leyfold.store.records import Refusal
from leyfold.words import say

__all__ = ["BY_TOKEN", "OPEN", "OPERATIONS", "RIGHTS", "SIGNED", "may", "sees", "sort_out", "targets"]

OPEN = "open"
"""Asked for by those who are not signed in yet."""
SIGNED = "signed in"
"""Whoever is signed in may."""

RIGHTS: Mapping[str, frozenset[str]] = {
    "farmer": frozenset({"round", "week", "records", "write", "state", "plan", "people", "sound"}),
    "helper": frozenset({"round", "records", "write", "state"}),
    "child": frozenset({"round", "records", "write"}),
    "looker-on": frozenset({"round", "records"}),
}
"""By the role that the farm file gives. `week`: rounds after tomorrow, and all that there is of records and
state; `plan`: the year, and planning it again."""

OPERATIONS: Mapping[str, str] = {
    "sign_in": OPEN,
    "accept_invitation": OPEN,
    "enter": OPEN,
    "me": SIGNED,
    "sign_out": SIGNED,
    "change_passphrase": SIGNED,
    "sync": "write",
    "records": "records",
    "rounds": "round",
    "cards": "round",
    "state": "state",
    "replan": "plan",
    "year": "plan",
    "sound": "sound",
    "invite": "people",
    "sessions": "people",
    "end_session": "people",
    "end_person": "people",
    "people_page": "people",
    "people_page_act": "people",
}
"""Operation to the right it needs."""

BY_TOKEN = frozenset({"sync", "invite", "sessions", "end_session"})
"""Operations that a command on this machine may ask for with the token of the lock, as the farmer."""

WRITES: Mapping[str, frozenset[str] | None] = {
    "farmer": None, "helper": ROUND, "child": COUNTS, "looker-on": frozenset(),
}  # fmt: skip
"""Kinds of records; None: all of them, those not known yet too."""
SEES: Mapping[str, frozenset[str] | None] = {
    "farmer": None, "helper": ROUND, "child": COUNTS, "looker-on": ROUND,
}  # fmt: skip
SEEN_FOR = timedelta(days=14)
"""How far back those see who do not see all."""
ABOUT = ("correction", "answer")
"""Kinds that change what another record says."""
FARMERS = ("stop order",)
"""Kinds that others may write and only the farmer may take back: they stop things until that is safe."""


def may(role: str, operation: str) -> bool:
    """Whether somebody signed in with this role may ask for an operation."""
    needed = OPERATIONS.get(operation)
    return needed in (OPEN, SIGNED) or needed in RIGHTS.get(role, ())


def sees(person: Person, record: Record, now: datetime) -> bool:
    """Whether a person may read a record."""
    kinds = SEES.get(person.role, frozenset())
    return kinds is None or (record.kind in kinds and record.at >= now - SEEN_FOR)


def targets(records: Iterable[Record]) -> set[str]:
    """Ids of the records that others are about."""
    return {id for record in records for id in _about(record)}


def sort_out(
    person: Person, records: Sequence[Record], kinds: Mapping[str, str]
) -> tuple[list[Record], list[Refusal]]:
    """The records that a person may write, and those that are refused. `kinds`: of the records that theirs
    are about, as far as they are in the book."""
    allowed = WRITES.get(person.role, frozenset())
    if allowed is None:
        return list(records), []
    kinds = {**{r.id: r.kind for r in records}, **kinds}
    yes: list[Record] = []
    no: list[Refusal] = []
    for record in records:
        if record.who != person.id:
            no.append(_no(record, "who", who=record.who, person=person.id))
        elif record.kind not in allowed:
            no.append(_no(record, "kind", kind=record.kind))
        elif not {kinds.get(id, "") for id in _about(record)} <= allowed.difference(ABOUT, FARMERS):
            no.append(_no(record, "about"))
        else:
            yes.append(record)
    return yes, no


def _about(record: Record) -> tuple[str, ...]:
    if record.kind not in ABOUT:
        return ()
    of = record.data.get("of")
    if isinstance(of, str):
        return (of,)
    return tuple(id for id in of if isinstance(id, str)) if isinstance(of, list | tuple) else ()


def _no(record: Record, name: str, **values: object) -> Refusal:
    return Refusal(record.id, say(f"web.may_not_{name}", **values), say(f"web.may_not_{name}_mend", **values))
