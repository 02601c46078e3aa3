"""The published JSON Schemas of the farm's files, made from the models that read them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from leyfold.farm.schema import FarmTable
from leyfold.farm.schema_plan import PlanTable

__all__ = ["SCHEMAS", "schema_text"]

SCHEMAS: Mapping[str, tuple[type[BaseModel], str]] = {
    "farm.schema.json": (FarmTable, "farm.toml"),
    "plan.schema.json": (PlanTable, "plan.toml"),
}
"""File under docs/schema: the model, and the file it describes."""


def schema_text(name: str) -> str:
    """The JSON Schema (draft 2020-12) of one file, as committed. `x-unit` is the unit a text is read in."""
    model, title = SCHEMAS[name]
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        **_plain(model.model_json_schema(by_alias=True)),
    }
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def _plain(part: Any) -> Any:
    """Without made-up titles, and without null, which TOML does not have."""
    if isinstance(part, list):
        return [_plain(item) for item in part]
    if not isinstance(part, dict):
        return part
    kept = {key: _plain(value) for key, value in part.items() if key != "title" or isinstance(value, dict)}
    if "default" in kept and kept["default"] is None:
        del kept["default"]
    either = [option for option in kept.pop("anyOf", []) if option != {"type": "null"}]
    return {**kept, **either[0]} if len(either) == 1 else {**kept, **({"anyOf": either} if either else {})}
