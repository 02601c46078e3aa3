"""The published schemas: as committed, good schemas, and true of the example and the first files."""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from leyfold.farm.publish import SCHEMAS, schema_text

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", SCHEMAS)
def test_committed_schema_is_what_the_models_say(name: str) -> None:
    """Make it anew with: python tools/schema.py"""
    assert (ROOT / "docs" / "schema" / name).read_text(encoding="utf-8") == schema_text(name)


@pytest.mark.parametrize("name", SCHEMAS)
def test_schema_takes_the_example_and_refuses_an_unknown_key(name: str) -> None:
    schema = json.loads(schema_text(name))
    judge = jsonschema.Draft202012Validator(schema)
    judge.check_schema(schema)
    file = SCHEMAS[name][1]
    for text in (
        (ROOT / "examples" / "demo" / file).read_text(encoding="utf-8"),
        (files("leyfold.farm") / "begin" / file).read_text(encoding="utf-8").replace("YEAR", "2027"),
    ):
        data = json.loads(json.dumps(tomllib.loads(text), default=str))
        assert list(judge.iter_errors(data)) == []
        assert list(judge.iter_errors({**data, "hutches": {}}))
