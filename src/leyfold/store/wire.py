"""A push as it comes over the wire: taken apart with limits on everything, each record by itself."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from leyfold.log.lines import read
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.store.content import DEEPEST, TooMuch
from leyfold.store.faults import refused
from leyfold.store.records import Refusal

__all__ = ["LONGEST_NAME", "MOST_BODY_BYTES", "MOST_RECORDS", "Batch", "body_of", "read_batch"]

MOST_BODY_BYTES = 1_048_576
MOST_RECORDS = 200
LONGEST_NAME = 64
_LONGEST_ID_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Batch:
    """What a device sends: the records that are records, and those that are not."""

    device: str
    records: tuple[Record, ...]
    refused: tuple[Refusal, ...]


def read_batch(body: bytes) -> Batch:
    """`{"device": "...", "records": [...]}`, taken apart.

    A record that is none is refused by itself. BadInput where the whole is no batch: over MOST_BODY_BYTES or
    MOST_RECORDS, not JSON in UTF-8, or with other keys.
    """
    if len(body) > MOST_BODY_BYTES:
        raise _no("batch_too_big", most=MOST_BODY_BYTES)
    try:
        page: Any = json.loads(body, object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise _no("batch_not_json") from None
    if not isinstance(page, dict) or page.keys() != {"device", "records"}:
        raise _no("batch_keys")
    device, items = page["device"], page["records"]
    if not isinstance(device, str) or not 0 < len(device) <= LONGEST_NAME or not device.isprintable():
        raise _no("batch_device", most=LONGEST_NAME)
    if not isinstance(items, list):
        raise _no("batch_keys")
    if len(items) > MOST_RECORDS:
        raise _no("batch_too_many", most=MOST_RECORDS)
    records: list[Record] = []
    no: list[Refusal] = []
    for item in items:
        try:
            records += read(json.dumps(item, ensure_ascii=False) + "\n")
        except RecursionError:
            deep = TooMuch("too_deep", most=DEEPEST)
            no.append(Refusal(_id_of(item), deep.why, deep.mend))
        except BadInput as wrong:
            fault = wrong.faults[0]
            no.append(Refusal(_id_of(item), f"{fault.field}: {fault.wrong}".removeprefix(": "), fault.mend))
    return Batch(device, tuple(records), tuple(no))


def body_of(records: tuple[Record, ...], device: str) -> bytes:
    """The inverse: a batch to be sent."""
    from leyfold.log.lines import write

    items = [json.loads(line) for line in write(records).splitlines()]
    return json.dumps({"device": device, "records": items}, ensure_ascii=False).encode()


def _no(name: str, *, most: int | None = None) -> BadInput:
    return refused(name, file="sync", most=most)


def _id_of(item: object) -> str:
    id = item.get("id") if isinstance(item, dict) else None
    return id[:_LONGEST_ID_SHOWN] if isinstance(id, str) else ""


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A key said twice has no meaning: JSON leaves open which of the two counts."""
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key is there twice")
    return found
