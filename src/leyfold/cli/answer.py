"""How every command answers: tables for people, one JSON object for programs."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from leyfold.paper.ahead_page import Sheet

__all__ = ["console", "plain", "print_json", "print_pages", "table", "typed", "when"]

SCHEMA = "leyfold/1"


def print_json(kind: str, data: Any, *, inputs_sha256: str | None = None, seed: int | None = None) -> None:
    """The one envelope of `--json`: ISO dates, units in the keys, null for unknown."""
    from json import dumps

    answer = {"schema": SCHEMA, "kind": kind, "inputs_sha256": inputs_sha256, "seed": seed, "data": data}
    print(dumps(answer, ensure_ascii=False, allow_nan=False, indent=1))


def plain(value: Any) -> Any:
    """Dataclasses as objects, days as ISO text."""
    from dataclasses import fields, is_dataclass

    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {key: plain(one) for key, one in value.items()}
    return [plain(one) for one in value] if isinstance(value, tuple | list) else value


def typed(path: Path) -> str:
    """A path as it is typed into the next command."""
    from shlex import quote

    return quote(str(path))


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


def print_pages(out: Console, pages: Iterable[Sheet]) -> None:
    """A page of words, part by part: its title, its lines, its table."""
    for sheet in pages:
        out.print(f"\n{sheet.title}", style="bold", markup=False)
        for line in sheet.lines:
            out.print(line, soft_wrap=True, markup=False)
        if sheet.rows:
            shown = table("", sheet.columns)
            shown.title = None
            for row in sheet.rows:
                shown.add_row(*row)
            out.print(shown)


def when(text: str, farm: Path) -> datetime:
    """The instant that a time on the command line means."""
    from leyfold.farm.read import read_farm
    from leyfold.farm.texts import Texts, folder_of
    from leyfold.nouns.clock import instant

    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(Fault("--at", "", say("cli.not_time", text=text), say("cli.not_time_mend"))) from None
    if at.tzinfo is not None:
        return at.astimezone(UTC)
    holding = read_farm(Texts(folder_of(farm))).holding
    return instant(at.date(), at.time(), holding.zone)
