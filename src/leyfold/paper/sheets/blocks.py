"""What a sheet is made of: blocks of plain values, laid out by sheet.typ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

__all__ = [
    "Block", "Cell", "Column", "Sheet", "beside", "big", "cautions", "cell", "fitted", "heading", "items",
    "lines", "page_break", "picture", "says", "table", "ticks", "title", "together",
]  # fmt: skip

Block = Mapping[str, Any]
Cell = str | Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sheet:
    """`title` is the document's; `foot` stands at the foot of every page; `size_pt` is the body's type;
    `files` are pictures by name."""

    title: str
    foot: str
    blocks: tuple[Block, ...]
    size_pt: float = 11.0
    flipped: bool = False
    files: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Column:
    """`width`: "auto", a number of mm, or a share of what is left, "2fr". `side`: l, r or c."""

    head: str
    side: str = "r"
    width: str | float = "auto"


def title(text: str, sub: str = "") -> Block:
    """On a page of its own from here on."""
    return {"block": "title", "text": text, "sub": sub}


def heading(text: str) -> Block:
    """A heading of the second level; it stays with what follows."""
    return {"block": "heading", "text": text}


def says(text: str, *, soft: bool = False) -> Block:
    """A paragraph; `soft` for what explains."""
    return {"block": "says", "text": text, "soft": soft}


def big(*pairs: tuple[str, str]) -> Block:
    """Big numerals in a row, each with what it is beneath."""
    return {"block": "big", "items": [{"value": value, "label": label} for value, label in pairs]}


def items(sentences: Iterable[str]) -> Block:
    """A list of sentences."""
    return {"block": "list", "items": list(sentences)}


def ticks(sentences: Iterable[str]) -> Block:
    """A line each, with a box to tick."""
    return {"block": "ticks", "items": list(sentences)}


def cell(
    text: str | None = None,
    *,
    tick: int = 0,
    write_mm: float = 0,
    bold: str | None = None,
    large: str | None = None,
    sub: str | None = None,
) -> Cell:
    """A cell of more than words: boxes to tick, a line to write on, large, bold or small words."""
    held = {"text": text, "tick": tick, "write": write_mm, "bold": bold, "big": large, "sub": sub}
    return {name: value for name, value in held.items() if value}


def table(
    shown: Sequence[Column], rows: Iterable[Sequence[Cell]], *, tight: bool = False, grid: bool = False
) -> Block:
    """`grid` draws lines between the columns too, for pencil."""
    named = any(column.head for column in shown)
    return {
        "block": "table",
        "heads": [column.head for column in shown] if named else [],
        "sides": [column.side for column in shown],
        "widths": [_width(column.width) for column in shown],
        "rows": [list(row) for row in rows],
        "tight": tight,
        "grid": grid,
    }


def _width(width: str | float) -> str | dict[str, float]:
    if isinstance(width, str):
        return {"fr": float(width.removesuffix("fr"))} if width.endswith("fr") else width
    return {"mm": width}


def together(*blocks: Block) -> Block:
    """Kept on one page where one page holds it."""
    return {"block": "together", "blocks": blocks}


def beside(left: Sequence[Block], right: Sequence[Block]) -> Block:
    """Two halves of the page, read one after the other."""
    return {"block": "beside", "halves": [list(left), list(right)]}


def fitted(*blocks: Block, columns: int = 1, least_pt: float = 5.5, most_pt: float = 14.0) -> Block:
    """Set as large as the rest of this page allows, from `most_pt` down to `least_pt`; what is too much for
    that goes on overleaf, in type that can be read."""
    return {"block": "fitted", "count": columns, "least": least_pt, "most": most_pt, "blocks": blocks}


def cautions(text: str, sentences: Iterable[str]) -> Block:
    """What can hurt, in a frame of its own, unbroken."""
    return {"block": "cautions", "text": text, "items": list(sentences)}


def lines(count: int) -> Block:
    """Empty lines to write on."""
    return {"block": "lines", "count": count}


def picture(file: str, alt: str, most_mm: float) -> Block:
    """One of the sheet's files as wide as the page, at most `most_mm` high; `alt` says what it shows."""
    return {"block": "picture", "file": file, "alt": alt, "most_mm": most_mm}


def page_break() -> Block:
    """A new page from here on."""
    return {"block": "break"}
