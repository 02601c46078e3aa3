"""What each kind of record holds. A kind that is not in `KINDS` is kept as it came and means nothing yet."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError

from leyfold.log.faults import fault
from leyfold.log.kinds import birds, daily, egg, office, said
from leyfold.log.kinds.base import Payload
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record

__all__ = ["CHECK", "COUNTS", "KINDS", "ROUND", "Payload", "payload"]

KINDS: Mapping[str, type[Payload]] = {
    "set": egg.Set,
    "candled": egg.Candled,
    "tray weighed": egg.TrayWeighed,
    "tended": egg.Tended,
    "hatched": egg.Hatched,
    "bought": birds.Bought,
    "present": birds.Present,
    "moved": birds.Moved,
    "sorted": birds.Sorted,
    "found dead": birds.Loss,
    "culled": birds.Loss,
    "missing": birds.Loss,
    "found alive": birds.FoundAlive,
    "killed": birds.Sent,
    "sold": birds.Sold,
    "glance": birds.Glance,
    "counted": birds.Counted,
    "weighed": birds.Weighed,
    "carcass weights": birds.CarcassWeights,
    "eggs": daily.Eggs,
    "fed": daily.Fed,
    "feed cleared": daily.FeedCleared,
    "feed read": daily.FeedRead,
    "delivered": daily.Delivered,
    "watered": daily.Watered,
    "tank read": daily.TankRead,
    "temperature read": daily.TemperatureRead,
    "grass height": daily.GrassHeight,
    "shelter moved": daily.ShelterMoved,
    "shut in": daily.ShutIn,
    "stands at": daily.StandsAt,
    "fence shifted": daily.FenceShifted,
    "fence voltage": daily.FenceVoltage,
    "break opened": daily.BreakOpened,
    "treated": office.Treated,
    "stop order": office.StopOrder,
    "trouble": office.Trouble,
    "settled": office.Settled,
    "mains off": office.MainsOff,
    "mains back": office.MainsBack,
    "kit lost": office.KitLost,
    "ordered": office.Ordered,
    "deposit": office.Deposit,
    "sale": office.Sale,
    "expense": office.Expense,
    "hours": office.Hours,
    "note": office.Note,
    "photograph": office.Photograph,
    "correction": said.Correction,
    "answer": said.Answer,
}

CHECK: Mapping[str, Callable[[Any], Any]] = {
    kind: model.__pydantic_validator__.validate_python for kind, model in KINDS.items()
}
"""What `payload` calls in the end, without its wrappers: they cost as much as the check itself. It raises
pydantic's own error."""

COUNTS = frozenset({"eggs", "glance", "counted"})
"""What a child may write."""
ROUND = COUNTS | {
    "found dead", "culled", "missing", "found alive", "moved", "fed", "feed cleared", "feed read", "watered",
    "tank read", "temperature read", "tended", "shelter moved", "shut in", "stands at", "fence shifted",
    "fence voltage", "break opened", "grass height", "trouble", "mains off", "mains back", "hours", "note",
    "photograph", "stop order", "correction", "answer",
}  # fmt: skip
"""What a helper may write: the round, and what happens on it."""

_WORDS = {
    "missing": "field_missing",
    "extra_forbidden": "field_unknown",
    "int_type": "field_whole",
    "int_from_float": "field_whole",
    "float_type": "field_number",
    "finite_number": "field_number",
    "greater_than": "field_above",
    "greater_than_equal": "field_least",
    "less_than_equal": "field_most",
    "literal_error": "field_choice",
    "date_type": "field_date",
    "date_parsing": "field_date",
    "date_from_datetime_parsing": "field_date",
    "date_from_datetime_inexact": "field_date",
    "datetime_parsing": "field_time",
    "datetime_from_date_parsing": "field_time",
    "timezone_aware": "field_time",
    "string_type": "field_text",
    "string_too_short": "field_text",
    "string_too_long": "field_long",
    "one_age": "one_age",
    "no_whence": "no_whence",
    "no_group": "no_group",
    "void_or_new": "void_or_new",
    "not_pairs": "not_pairs",
    "half_measure": "half_measure",
    "no_amount": "no_amount",
    "no_temperature": "no_temperature",
    "no_whereabouts": "no_whereabouts",
    "string_pattern_mismatch": "field_other",
    "tuple_type": "field_list",
    "bool_type": "field_yes",
}


def payload(record: Record) -> Payload | None:
    """The record's data, checked; None for a kind this version does not know. BadInput with every fault."""
    kind = KINDS.get(record.kind)
    if kind is None:
        return None
    try:
        return kind.model_validate(record.data)
    except ValidationError as error:
        faults = []
        for wrong in error.errors(include_url=False):
            field = ".".join(str(step) for step in wrong["loc"]) or "data"
            bounds: dict[str, Any] = dict(wrong.get("ctx", {}))
            bound = next((bounds[k] for k in ("ge", "gt", "le", "expected", "max_length") if k in bounds), "")
            name = _WORDS.get(wrong["type"], "field_other")
            given = "" if wrong["type"] == "missing" else repr(wrong["input"])[:60]
            faults.append(fault(record, field, name, given=given, bound=bound, known=_fields(kind)))
        raise BadInput(*faults) from None


def _fields(kind: type[Payload]) -> str:
    return ", ".join(info.alias or name for name, info in kind.model_fields.items())
