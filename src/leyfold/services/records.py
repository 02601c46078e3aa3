"""Writing records down from this machine: through the running server, or into the book itself."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from leyfold.log import fold
from leyfold.log.kinds import KINDS, payload
from leyfold.nouns.clock import read_clock, shown_twice
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.question import Question
from leyfold.nouns.record import Record
from leyfold.services.opened import open_farm
from leyfold.store.faults import refused
from leyfold.store.lock import Busy, Serving, hold
from leyfold.store.records import Store, open_store
from leyfold.words import say

__all__ = ["DESK", "WrittenDown", "holding", "instant_of", "kind_of", "typed", "write_down"]

DESK = "desk"
"""The device that this machine's command line is."""
_WAIT_S = 10.0
_ANSWER_S = 30.0
_LONGEST_ANSWER_BYTES = 4_000_000


@dataclass(frozen=True, slots=True)
class WrittenDown:
    """The record as it was kept, by the server or not, and what it leaves to be asked."""

    record: Record
    by_server: bool
    questions: tuple[Question, ...]


def write_down(
    where: Path,
    kind: str,
    said: Mapping[str, str],
    *,
    who: str,
    at: str | None,
    now: datetime,
    anyway: bool = False,
) -> WrittenDown:
    """Keep one fact, written down at the instant `now`; it happened at `at` on the farm's wall clock, or now.

    BadInput where the kind, its fields or the time cannot be, and, unless `anyway`, where the record would
    raise a question: it contradicts the book, or may be there already.
    """
    from ulid import ULID

    opened = open_farm(where, now)
    zone = opened.described.holding.zone
    kind = kind_of(kind)
    record = Record(
        id=str(ULID()),
        device=DESK,
        who=who,
        at=instant_of(at, zone, now),
        entered=now,
        kind=kind,
        data={key: typed(kind, key, text) for key, text in said.items()},
    )
    try:
        payload(record)
    except BadInput as wrong:
        raise BadInput(*(Fault("record", f.field, f.wrong, f.mend) for f in wrong.faults)) from None
    state = fold(opened.described, (*opened.records, record), now, now=now)
    asked = tuple(question for question in state.questions if record.id in question.about)
    if asked and not anyway:
        hint = say("store.anyway")
        raise BadInput(*(Fault("record", "", q.said, f"{q.mend} {hint}") for q in asked))
    return WrittenDown(record, _keep(opened.texts.folder, record, now), asked)


def kind_of(said: str) -> str:
    """The kind meant: `found-dead` is "found dead". BadInput, with the nearest there are, for no kind."""
    from difflib import get_close_matches

    kind = said.replace("-", " ").replace("_", " ").lower()
    if kind in KINDS:
        return kind
    near = ", ".join(get_close_matches(kind, KINDS, n=3)) or ", ".join(KINDS)
    values = {"kind": said, "near": near}
    raise BadInput(Fault("record", "", say("store.no_kind", **values), say("store.no_kind_mend", **values)))


def typed(kind: str, key: str, text: str) -> Any:
    """`text` as the field `key` of a kind takes it: a number, yes or no, a list by commas, or a text. What
    does not fit stays a text, for the kind to refuse."""
    schema = KINDS[kind].model_json_schema()
    return _as(schema["properties"].get(key, {}), text)


def instant_of(said: str | None, zone: str, now: datetime) -> datetime:
    """The instant of `06:10` today, `2027-03-01 06:10` on the farm's wall clock, or a time with its offset;
    None is now. BadInput for no time, or one that the clock skipped."""
    if said is None:
        return now
    text = said.strip()
    try:
        if len(text) <= len("06:10:00"):
            from datetime import time

            from leyfold.nouns.clock import civil

            clock = datetime.combine(civil(now, zone), time.fromisoformat(text))
        else:
            clock = datetime.fromisoformat(text)
            if len(text) == len("2027-03-01"):
                raise ValueError("a day, and no time")
    except ValueError:
        raise _no_time("record_time", said) from None
    if clock.tzinfo is not None:
        return clock.astimezone(UTC)
    at = read_clock(clock, zone)
    if at is None or shown_twice(clock, zone):
        raise _no_time("record_clock", said)
    return at


@contextmanager
def holding(folder: Path) -> Iterator[Store]:
    """The book of a farm's folder, to write in under the lock. BadInput where a server or another command
    has it."""
    try:
        with hold(folder, wait_s=_WAIT_S):
            store = open_store(folder)
            try:
                yield store
            finally:
                store.close()
    except Busy as busy:
        raise refused("held_by_server" if busy.serving else "held") from None


def _keep(folder: Path, record: Record, now: datetime) -> bool:
    """Write through the server that holds the lock, or take it. Whether the server did it."""
    for _ in range(2):  # the server may end between our finding it and our asking
        try:
            with hold(folder, wait_s=_WAIT_S):
                store = open_store(folder)
                try:
                    _all_taken(store.push([record], DESK, now).refused)
                finally:
                    store.close()
                return False
        except Busy as busy:
            if busy.serving is None:
                raise refused("held") from None
            if _post(busy.serving, record):
                return True
    raise refused("unanswered")


def _post(there: Serving, record: Record) -> bool:
    """Send the record to the server. False where nobody is there; BadInput where it is refused."""
    from ssl import create_default_context
    from urllib.error import HTTPError, URLError
    from urllib.request import HTTPSHandler, ProxyHandler, Request, build_opener

    from leyfold.store.wire import body_of

    headers = {"Authorization": f"Bearer {there.token}", "Content-Type": "application/json"}
    request = Request(f"{there.address.rstrip('/')}/api/sync", body_of((record,), DESK), headers)
    # The server is on this machine: whatever proxy the machine uses has no part in it.
    opener = build_opener(ProxyHandler({}), HTTPSHandler(context=create_default_context(cafile=there.ca)))
    try:
        with opener.open(request, timeout=_ANSWER_S) as answer:
            page = json.loads(answer.read(_LONGEST_ANSWER_BYTES))
    except HTTPError as error:
        raise refused("server_refused", reason=_reason(error.read(_LONGEST_ANSWER_BYTES))) from None
    except (URLError, OSError):
        return False
    _all_taken([_Refused(one["why"], one["mend"]) for one in page["refused"]])
    return True


@dataclass(frozen=True, slots=True)
class _Refused:
    why: str
    mend: str


def _all_taken(no: Sequence[Any]) -> None:
    if no:
        raise BadInput(*(Fault("record", "", one.why, one.mend) for one in no))


def _reason(body: bytes) -> str:
    try:
        return str(json.loads(body)["error"]["message"])
    except (ValueError, KeyError, TypeError):
        return "?"


def _as(schema: Mapping[str, Any], text: str) -> Any:
    ways = schema.get("anyOf", [schema])
    kinds = {way.get("type") for way in ways}
    if "array" in kinds:
        (items,) = (way.get("items", {}) for way in ways if way.get("type") == "array")
        return [_as(items, one.strip()) for one in text.split(",")]
    if "boolean" in kinds and text.lower() in ("yes", "no"):
        return text.lower() == "yes"
    if kinds & {"integer", "number", "boolean", "object"}:
        try:
            return json.loads(text)
        except ValueError:
            return text
    return text


def _no_time(name: str, said: str) -> BadInput:
    return BadInput(Fault("record", "at", say(f"store.{name}", at=said), say(f"store.{name}_mend", at=said)))
