"""How a record is refused: by its id and line, with what is wrong and the mend."""

from __future__ import annotations

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record
from leyfold.words import say

__all__ = ["FILE", "fault", "refused"]

FILE = "records.jsonl"


def fault(record: Record, field: str, name: str, /, **values: object) -> Fault:
    """The sentences `log.<name>` and `log.<name>_mend` about one record."""
    return Fault(
        file=FILE,
        line=record.line,
        feature=f"{record.kind} {record.id}",
        field=field,
        wrong=say(f"log.{name}", **values),
        mend=say(f"log.{name}_mend", **values),
    )


def refused(record: Record, field: str, name: str, /, **values: object) -> BadInput:
    """To be raised: one record that cannot be."""
    return BadInput(fault(record, field, name, **values))
