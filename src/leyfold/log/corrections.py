"""What was really written down, once corrections are heard. A correction holds for every instant: it tells
what the fact always was."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from leyfold.log.faults import refused
from leyfold.log.kinds import Payload, payload
from leyfold.log.kinds.said import Correction
from leyfold.log.lines import merge
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.record import Record

__all__ = ["Fact", "facts"]


@dataclass(frozen=True, slots=True)
class Fact:
    record: Record
    data: Payload


def facts(records: Iterable[Record]) -> list[Fact]:
    """The records that stand, by (at, id), with their data checked; unknown kinds are left out. Of
    several corrections of one record each holds until a later one says otherwise. BadInput with every
    faulty record: what was voided or replaced may be faulty."""
    log = {record.id: record for record in merge(records)}
    said_by = dict(log)
    corrections = _corrections(log)
    voided: set[str] = set()
    for record, correction in reversed(corrections):
        if log[correction.of].kind == "correction" and record.id not in voided:
            voided.add(correction.of)
    for record, correction in corrections:
        target = log[correction.of]
        if record.id in voided or target.kind == "correction":
            continue
        if correction.void:
            voided.add(target.id)
            continue
        voided.discard(target.id)
        if correction.data is not None:
            target = replace(target, data=correction.data)
            said_by[target.id] = record
        log[target.id] = replace(target, at=correction.at or target.at)
    standing = [r for r in log.values() if r.id not in voided and r.kind != "correction"]
    # A fault in what a correction says is the correction's.
    checked = _payloads(replace(said_by[r.id], kind=r.kind, data=r.data) for r in standing)
    found = [Fact(r, data) for r, data in zip(standing, checked, strict=True) if data is not None]
    return sorted(found, key=lambda fact: (fact.record.at, fact.record.id))


def _payloads(records: Iterable[Record]) -> list[Payload | None]:
    faults: list[Fault] = []
    checked: list[Payload | None] = []
    for record in records:
        try:
            checked.append(payload(record))
        except BadInput as error:
            faults.extend(error.faults)
    if faults:
        raise BadInput(*faults)
    return checked


def _corrections(log: Mapping[str, Record]) -> list[tuple[Record, Correction]]:
    """All corrections in order of (at, id), each with a target it may correct."""
    records = [record for record in log.values() if record.kind == "correction"]
    found = []
    for record, data in zip(records, _payloads(records), strict=True):
        assert isinstance(data, Correction)
        target = log.get(data.of)
        if target is None:
            raise refused(record, "of", "corrects_nothing", of=data.of)
        if target.kind == "correction":
            if not data.void:
                raise refused(record, "of", "corrects_correction", of=target.id)
            if (target.at, target.id) >= (record.at, record.id):
                raise refused(record, "of", "corrects_later", of=target.id)
        if data.at is not None and data.at > record.entered:
            raise refused(record, "at", "corrected_ahead", of=target.id)
        found.append((record, data))
    return found
