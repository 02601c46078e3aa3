"""What the map is drawn with. Shelters are told apart by the pattern of their line, never by colour alone."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.land import Point
from leyfold.paper.svg import el, n, text

__all__ = ["LINES", "STYLE", "Labels", "exclusion_hatch", "mark"]

LINES = ("l0", "l1", "l2", "l3", "l4", "l5", "l6", "l7")

STYLE = """
.leyfold-ground text{font-family:ui-sans-serif,system-ui,sans-serif;font-size:28px;fill:#23211c}
.leyfold-ground text{font-variant-numeric:tabular-nums}
.leyfold-ground .title{font-family:ui-serif,serif;font-size:60px}
.leyfold-ground .small{font-size:25px}
.leyfold-ground .strong{font-weight:700}
.leyfold-ground .soft{fill:#5a554a}
.leyfold-ground .warm{fill:#a83a0c}
.leyfold-ground .mid{text-anchor:middle}
.leyfold-ground .end{text-anchor:end}
.leyfold-ground .halo{paint-order:stroke;stroke:#fbf9f3;stroke-width:7px;stroke-linejoin:round}
.leyfold-ground .date.halo{stroke-width:5px}
.leyfold-ground .paper{fill:#fbf9f3}
.leyfold-ground .ink,.leyfold-ground .peg{fill:#23211c}
.leyfold-ground .blank{fill:#fbf9f3;stroke:#23211c;stroke-width:1.5px}
.leyfold-ground .field{fill:#e3ecd8;stroke:#23211c;stroke-width:5px;stroke-linejoin:round}
.leyfold-ground .furrow{fill:none;stroke:#35602a;stroke-opacity:.55;stroke-width:1px}
.leyfold-ground .tick{fill:none;stroke:#35602a;stroke-opacity:.55;stroke-width:1.6px}
.leyfold-ground .net{fill:none;stroke:#23211c;stroke-width:3px;stroke-dasharray:14 5 3 5}
.leyfold-ground .way{fill:none;stroke:#23211c;stroke-width:3.4px}
.leyfold-ground .l1{stroke-dasharray:14 6}
.leyfold-ground .l2{stroke-dasharray:4 5}
.leyfold-ground .l3{stroke-dasharray:18 5 4 5}
.leyfold-ground .l4{stroke-width:6.5px}
.leyfold-ground .l5{stroke-width:6.5px;stroke-dasharray:14 6}
.leyfold-ground .l6{stroke-width:6.5px;stroke-dasharray:4 5}
.leyfold-ground .l7{stroke-width:6.5px;stroke-dasharray:18 5 4 5}
.leyfold-ground .here{fill:#d9622b;stroke:#23211c;stroke-width:3px}
.leyfold-ground .thing{fill:url(#keep-off);stroke:#23211c;stroke-width:2.5px}
.leyfold-ground .open{fill:none}
.leyfold-ground .buffer{fill:none;stroke:#23211c;stroke-width:1.5px;stroke-dasharray:3 6}
.leyfold-ground .wide{stroke-dasharray:none;stroke-opacity:.1;stroke-linejoin:round;stroke-linecap:round}
.leyfold-ground .sign{fill:#fbf9f3;stroke:#23211c;stroke-width:3px}
@media print{.leyfold-ground .paper{fill:#fff}.leyfold-ground .halo{stroke:#fff}}
"""


class Labels:
    """What is written already, so that nothing is written over it."""

    def __init__(self) -> None:
        self._points: NDArray[np.float64] = np.empty((0, 2))

    def placed(self, start: Point, end: Point, size: float) -> bool:
        """Takes the room for a line of writing of this size; False, taking none, where it is not free."""
        share = np.linspace(0.0, 1.0, 9)[:, None]
        points = np.array(start) * (1 - share) + np.array(end) * share
        apart = np.hypot(*np.moveaxis(points[:, None] - self._points, 2, 0))
        if apart.size and apart.min() < 0.95 * size:
            return False
        self._points = np.vstack((self._points, points))
        return True


def exclusion_hatch() -> str:
    """The pattern of ground where nothing may stand."""
    pen = el("path", d="M-5 25L25 -5M-5 5L5 -5M15 25L25 15", fill="none", stroke="#23211c", stroke_width=1.5)
    blank = el("rect", width=20, height=20, class_="paper")
    tile = {"id": "keep-off", "patternUnits": "userSpaceOnUse"}
    return el("defs", el("pattern", blank, pen, width=20, height=20, **tile))


def mark(what: str, x: float, y: float, words: str) -> str:
    """A gate as two posts and a bar, water as a drop, each with its name."""
    if what == "gate":
        posts = f"M{n(x - 16)} {n(y - 14)}v28M{n(x + 16)} {n(y - 14)}v28M{n(x - 16)} {n(y)}h32"
        shape = el("path", d=posts, class_="sign")
    else:
        drop = f"M{n(x)} {n(y - 20)}C{n(x + 22)} {n(y + 4)} {n(x + 10)} {n(y + 18)} {n(x)} {n(y + 18)}"
        drop += f"C{n(x - 10)} {n(y + 18)} {n(x - 22)} {n(y + 4)} {n(x)} {n(y - 20)}Z"
        shape = el("path", d=drop, class_="sign")
    return shape + text(words, x, y + 44, "mid small halo")
