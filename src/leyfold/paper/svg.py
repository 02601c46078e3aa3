"""Plain SVG, written by hand: elements, numbers, paths, how wide a text is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from unicodedata import combining, east_asian_width

import numpy as np
from numpy.typing import NDArray

__all__ = ["clipped", "el", "escape", "n", "staircase", "text", "width"]

_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[] ·"), frozenset("mwMW@%")


def escape(words: str) -> str:
    """Words as character data of XML or HTML; what XML cannot hold becomes a replacement mark."""
    words = _FORBIDDEN.sub("\ufffd", words)
    for mark, name in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        words = words.replace(mark, name)
    return words


def n(value: float) -> str:
    """A coordinate to a tenth. ValueError where it is no number."""
    if not np.isfinite(value):
        raise ValueError(f"no coordinate: {value}")
    return f"{round(float(value), 1) + 0.0:.1f}".removesuffix(".0")


def el(name: str, /, *inside: str, **attributes: str | float) -> str:
    """One element. `class_` and `stroke_width` become `class` and `stroke-width`; values are escaped,
    what is `inside` is markup already."""
    parts = [name]
    for key, value in attributes.items():
        shown = value if isinstance(value, str) else n(value)
        parts.append(f'{key.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    head = " ".join(parts)
    return f"<{head}>{''.join(inside)}</{name}>" if inside else f"<{head}/>"


def text(words: str, x: float, y: float, classes: str, **attributes: str | float) -> str:
    """A line of text, escaped, from its left end unless a class says otherwise."""
    return el("text", escape(words), x=x, y=y, class_=classes, **attributes)


def staircase(x: Sequence[float], lower: NDArray[np.float64], upper: NDArray[np.float64]) -> str:
    """The path around a band of days: day i lies between x[i] and x[i + 1], from lower[i] to upper[i]."""
    there = _edge(x, upper)
    back = _edge(x, lower)
    return "M" + "L".join(there + back[::-1]) + "Z"


def _edge(x: Sequence[float], y: NDArray[np.float64]) -> list[str]:
    tenths = np.round(y, 1)
    turns = [0, *(np.flatnonzero(np.diff(tenths)) + 1).tolist(), len(tenths)]
    corners: list[str] = []
    for a, b in pairwise(turns):
        level = n(float(tenths[a]))
        corners += [f"{n(x[a])} {level}", f"{n(x[b])} {level}"]
    return corners


def width(words: str, size: float) -> float:
    """About how wide `words` come out in a generic face of `size`, rather too wide than too narrow."""
    return size * sum(map(_advance, words))


def _advance(letter: str) -> float:
    if combining(letter):
        return 0.0
    if east_asian_width(letter) in "WF":
        return 1.0
    if letter in _NARROW:
        return 0.34
    if letter in _WIDE:
        return 0.9
    return 0.7 if letter.isupper() else 0.57


def clipped(words: str, size: float, room: float) -> str:
    """As much of `words` as has room, with an ellipsis where something is left off; "" where nothing has."""
    if width(words, size) <= room:
        return words
    kept = words
    while kept and width(kept + "…", size) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…" if kept else ""
