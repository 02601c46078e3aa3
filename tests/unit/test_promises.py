"""Every test that a page names as holding a promise exists."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
NAMED = re.compile(r"(tests/[\w/]+\.py)::(\w+)")


@pytest.mark.parametrize("page", ["security.md", "promises.md"])
def test_every_test_named_on_the_page_exists(page: str) -> None:
    named = NAMED.findall((ROOT / "docs" / page).read_text(encoding="utf-8"))
    assert len(named) > 10
    for file, name in named:
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        known = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef)}
        assert name in known, f"{page}: {file}::{name}"


def test_every_row_of_the_list_says_what_holds_it_or_why_not() -> None:
    rows = [
        row.split("|") for row in (ROOT / "docs" / "security.md").read_text(encoding="utf-8").splitlines()
        if re.match(r"\| \d", row)
    ]  # fmt: skip
    assert len(rows) > 40
    assert all(len(row) == 5 and row[3].strip() for row in rows)
