"""What was really written down, once corrections are heard. A correction holds for every instant: it tells
what the fact always was."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from leyfold.log.faults import refused
from leyfold.log.kinds import Correction, Payload, payload
from leyfold.log.lines import merge
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record

__all__ = ["Fact", "facts"]


@dataclass(frozen=True, slots=True)
class Fact:
    record: Record
    data: Payload


def facts(records: Iterable[Record]) -> list[Fact]:
    """The records that stand, by (at, id), with their data checked; unknown kinds are left out. Of two
    corrections of one record the later holds. BadInput with every faulty record."""
    log = {record.id: record for record in merge(records)}
    faults: list[Fault] = []
    checked: dict[str, Payload | None] = {}
    for record in log.values():
        try:
            checked[record.id] = payload(record)
        except BadInput as error:
            faults.extend(error.faults)
    if faults:
        raise BadInput(*faults)
    said: set[str] = set()
    voided: set[str] = set()
    for record in reversed(log.values()):
        correction = checked[record.id]
        if not isinstance(correction, Correction) or record.id in voided:
            continue
        target = _target(record, correction, log)
        if target.id in said:
            continue
        said.add(target.id)
        if correction.void:
            voided.add(target.id)
        elif correction.at is not None and correction.at > record.entered:
            raise refused(record, "at", "corrected_ahead", of=target.id)
        else:
            content = target.data if correction.data is None else correction.data
            mended = replace(record, kind=target.kind, data=content, at=correction.at or target.at)
            checked[target.id] = payload(mended)
            log[target.id] = replace(mended, id=target.id)
    standing = (
        Fact(record, data)
        for record in log.values()
        if record.id not in voided
        and (data := checked[record.id]) is not None
        and not isinstance(data, Correction)
    )
    return sorted(standing, key=lambda fact: (fact.record.at, fact.record.id))


def _target(record: Record, correction: Correction, log: dict[str, Record]) -> Record:
    target = log.get(correction.of)
    if target is None:
        raise refused(record, "of", "corrects_nothing", of=correction.of)
    if target.kind == "correction":
        if not correction.void:
            raise refused(record, "of", "corrects_correction", of=target.id)
        if (target.at, target.id) >= (record.at, record.id):
            raise refused(record, "of", "corrects_later", of=target.id)
    return target
