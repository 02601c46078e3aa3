"""`leyfold figures`: the cited figures with unit, evidence and source."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, table
from leyfold.services.figures import Cited, find
from leyfold.words import say

if TYPE_CHECKING:
    from rich.text import Text

__all__ = ["figures"]


def figures(name: str | None = None, *, json: bool = False) -> int:
    """Show the cited figures that fill what the farm file leaves out.

    Parameters
    ----------
    name
        A table (stock, feeds, limits, ...), a figure, or part of a figure's name. All without it.
    json
        Print one JSON object instead of tables.
    """
    found = find(name)
    if json:
        _print_json(found)
    else:
        _print_tables(found)
    return 0


_LIMIT = ("quantity", "scope", "at_most", "at_least", "gate", "status", "verified", "default")


def _print_json(found: list[Cited]) -> None:
    data = [
        {
            "path": f"{one.table}.{one.name}",
            "value": one.figure.value,
            "unit": one.figure.unit,
            "least": one.least,
            "most": one.most,
            "about": one.about,
            "evidence": one.figure.evidence,
            "source": one.figure.source,
            **({} if one.limit is None else {key: one.limit[key] for key in _LIMIT if key in one.limit}),
        }
        for one in found
    ]
    print_json("figures", data)


def _print_tables(found: list[Cited]) -> None:
    page_to = console()
    for where, group in groupby(found, key=lambda one: one.table):
        page = table(
            say(f"figures.title_{where}"),
            [
                (say("figures.column_name"), False),
                (say("figures.column_value"), True),
                (say("figures.column_unit"), False),
                (say("figures.column_evidence"), False),
                (say("figures.column_source"), False),
            ],
        )
        said: tuple[str, str] | None = None
        for one in group:
            # Columns of one entry share its sentence and source: said once, on the first line.
            same = said == (one.entry, one.figure.source)
            said = (one.entry, one.figure.source)
            words = "" if same else _sentences(one)
            page.add_row(one.name, f"{one.figure.value:g}", one.figure.unit, one.figure.evidence, words)
        page_to.print(page)


def _sentences(one: Cited) -> Text:
    from rich.text import Text

    lines = [one.about]
    if one.limit is not None:
        bound = "at_most" if "at_most" in one.limit else "at_least"
        lines.append(say(f"figures.{bound}", gate=one.limit["gate"], status=one.limit["status"]))
        lines += [say("figures.unverified")] if not one.limit["verified"] else []
        lines += [say("figures.default")] if one.limit.get("default") else []
    return Text.assemble("\n".join(lines), "\n", (one.figure.source, "dim"))
