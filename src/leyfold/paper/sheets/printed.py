"""A sheet as PDF: tagged, the same bytes for the same sheet, with nothing fetched."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from typing import Any, Literal, get_args

from leyfold.paper.sheets.blocks import Sheet
from leyfold.words import LANGUAGE

__all__ = ["SIZES", "Size", "breakable", "pdf"]

Size = Literal["a4", "letter"]
SIZES: tuple[Size, ...] = get_args(Size)
_PAPER = {"a4": "a4", "letter": "us-letter"}

_FORM = frozenset({"block", "sides", "widths", "file"})
"""Keys whose values are for the layout and no words."""
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef\ufffe\uffff]")
"""Marks of direction too: one left open in a name would turn the rest of the sentence round."""
_LONG = re.compile(r"\w{15,}")
STEP = 7


def pdf(sheet: Sheet, size: Size = "a4") -> bytes:
    """The sheet on paper of that size, to PDF/UA-1.

    Faces that come with the program hold Latin, Greek, Cyrillic, Hebrew and Arabic. Only where a name has
    letters of another script are the machine's own faces asked; where these lack it too, an empty box is
    printed, and the file cannot keep to the standard.
    """
    import typst

    page = {
        "title": sheet.title, "foot": sheet.foot, "blocks": sheet.blocks, "size": sheet.size_pt,
        "flipped": sheet.flipped, "paper": _PAPER[size], "lang": LANGUAGE,
    }  # fmt: skip
    held = {
        "main.typ": files(__package__).joinpath("sheet.typ").read_bytes(),
        "sheet.json": json.dumps(_worded(page), ensure_ascii=False).encode(),
        **sheet.files,
    }
    made: bytes | None = None
    for own_faces, standards in ((True, ["ua-1"]), (False, ["ua-1"]), (False, [])):
        try:
            # Files in memory are taken, though its types do not say so.
            made = typst.compile(  # type: ignore[call-overload]
                held, format="pdf", pdf_standards=standards, ignore_system_fonts=own_faces
            )
            break
        except typst.TypstError as error:
            if "could not be displayed" not in str(error):
                raise
    assert made is not None
    return made


def breakable(text: str) -> str:
    """`text` without control characters, and with places to break in words too long for a narrow column."""
    return _LONG.sub(_broken, _CONTROL.sub(" ", text))


def _broken(found: re.Match[str]) -> str:
    word = found[0]
    # Letters that join (Arabic and its neighbours) are left whole: a break between them changes their shape.
    if any("\u0590" <= letter <= "\u08ff" for letter in word):
        return word
    return "\u200b".join(word[i : i + STEP] for i in range(0, len(word), STEP))


def _worded(value: Any, key: str = "") -> Any:
    if isinstance(value, str):
        return value if key in _FORM else breakable(value)
    if isinstance(value, dict):
        return {name: _worded(inner, name) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_worded(inner, key) for inner in value]
    return value
