"""Writes docs/schema anew from the models of the farm's files."""

from __future__ import annotations

from pathlib import Path

from leyfold.farm.publish import SCHEMAS, schema_text

if __name__ == "__main__":
    for name in SCHEMAS:
        (Path(__file__).parents[1] / "docs" / "schema" / name).write_text(schema_text(name), encoding="utf-8")
