"""Which birds a record meant, once somebody has said."""

from __future__ import annotations

from typing import Any

from leyfold.log.kinds.birds import Moved
from leyfold.log.kinds.said import Answer

__all__ = ["meant"]


def meant(data: Any, answer: Answer) -> Any:
    """The data with batch, sex and place as answered, where the kind holds them."""
    where = "from_" if isinstance(data, Moved) else "place"
    said = {"batch": answer.batch, "sex": answer.sex, where: answer.place}
    known = type(data).model_fields
    update = {name: value for name, value in said.items() if value is not None and name in known}
    return data.model_copy(update=update) if update else data
