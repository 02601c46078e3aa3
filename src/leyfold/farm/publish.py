"""The published JSON Schemas of the farm's files, made from the models that read them."""

from __future__ import annotations

import ast
import inspect
import json
import textwrap
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from pydantic import BaseModel

from leyfold.farm.quantity import Strict
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
    made = model.model_json_schema(by_alias=True)
    for table in {model.__name__: model, **{kind.__name__: kind for kind in _tables(Strict)}}.values():
        part = made if table is model else made.get("$defs", {}).get(table.__name__)
        if part is not None:
            _describe(table, part)
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **_plain(made)}
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def _tables(of: type[BaseModel]) -> Iterator[type[BaseModel]]:
    for kind in of.__subclasses__():
        yield kind
        yield from _tables(kind)


def _describe(table: type[BaseModel], part: dict[str, Any]) -> None:
    """Put the docstring under each key into the schema. Read here and not by the models themselves, which
    would parse every source file whenever a farm is opened."""
    said: dict[str, str] = {}
    for kind in reversed(table.__mro__):
        if (
            issubclass(kind, Strict)
            and kind.__module__.startswith("leyfold.")
            and kind.__qualname__ != "Strict"
        ):
            said |= _docstrings(kind)
    for name, field in table.model_fields.items():
        shape = part.get("properties", {}).get(field.alias or name)
        if shape is not None and name in said:
            shape.setdefault("description", said[name])


def _docstrings(kind: type[BaseModel]) -> dict[str, str]:
    try:
        (body,) = ast.parse(textwrap.dedent(inspect.getsource(kind))).body
    except (OSError, TypeError):
        # Made at run time from a cited table, which describes its keys itself.
        return {}
    assert isinstance(body, ast.ClassDef)
    return {
        key.target.id: inspect.cleandoc(doc.value.value)
        for key, doc in pairwise(body.body)
        if isinstance(key, ast.AnnAssign)
        and isinstance(key.target, ast.Name)
        and isinstance(doc, ast.Expr)
        and isinstance(doc.value, ast.Constant)
        and isinstance(doc.value.value, str)
    }


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
