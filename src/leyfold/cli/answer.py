"""How every command answers: tables for people, one JSON object for programs."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

__all__ = ["console", "print_json", "table"]

SCHEMA = "leyfold/1"


def print_json(kind: str, data: Any, *, inputs_sha256: str | None = None, seed: int | None = None) -> None:
    """The one envelope of `--json`: ISO dates, units in the keys, null for unknown."""
    from json import dumps

    answer = {"schema": SCHEMA, "kind": kind, "inputs_sha256": inputs_sha256, "seed": seed, "data": data}
    print(dumps(answer, ensure_ascii=False, allow_nan=False, indent=1))


def console() -> Console:
    """Where tables go; wide enough to be whole when piped to a file."""
    from rich.console import Console

    return Console(width=None if sys.stdout.isatty() else 150, highlight=False)


def table(title: str, columns: Sequence[tuple[str, bool]]) -> Table:
    """An empty table; each column is its heading and whether it holds numbers."""
    from rich import box
    from rich.table import Table

    page = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading, is_number in columns:
        page.add_column(heading, justify="right" if is_number else "left", no_wrap=is_number)
    return page
