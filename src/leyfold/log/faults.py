"""How a record is refused: by its id and line, with what is wrong and the mend."""

from __future__ import annotations

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record
from leyfold.words import say

__all__ = ["FILE", "Contradicts", "fault", "refused"]

FILE = "records.jsonl"


class Contradicts(Exception):
    """What a record says cannot be, by the records before it. `name` is that of the sentence in `words`;
    `fits` are groups (batch, sex, place) that may have been meant; `can` are the answers that would let it
    stand after all: "as it stands", "all there"."""

    def __init__(
        self,
        field: str,
        name: str,
        /,
        *,
        fits: tuple[tuple[str, str | None, str], ...] = (),
        can: tuple[str, ...] = (),
        **values: object,
    ) -> None:
        super().__init__(name)
        self.field, self.name, self.values, self.fits, self.can = field, name, values, fits, can


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
