"""What the picture is drawn with: paper, ink, one green for grass, one warm colour for what needs a hand.

Batches are told apart by hatching and by name, never by colour, so that a copy in black and white says the
same. Plain classes, no custom properties: renderers that know little of CSS draw the light scheme.
"""

from __future__ import annotations

from leyfold.paper.svg import el

__all__ = ["STYLE", "hatch", "hatches"]

STYLE = """
.leyfold-year text{font-family:ui-sans-serif,system-ui,sans-serif;font-size:12px;fill:#23211c}
.leyfold-year text{font-variant-numeric:tabular-nums}
.leyfold-year .title{font-family:ui-serif,serif;font-size:25px}
.leyfold-year .small{font-size:11px}
.leyfold-year .strong{font-weight:700}
.leyfold-year .group{font-family:ui-serif,serif;font-style:italic;font-size:14px}
.leyfold-year .end{text-anchor:end}
.leyfold-year .mid{text-anchor:middle}
.leyfold-year .soft{fill:#5a554a}
.leyfold-year .halo{paint-order:stroke;stroke:#fbf9f3;stroke-width:3.5px;stroke-linejoin:round}
.leyfold-year .warm{fill:#a83a0c}
.leyfold-year .paper{fill:#fbf9f3}
.leyfold-year .grass{fill:#e3ecd8}
.leyfold-year .grassword{fill:#35602a}
.leyfold-year .ink{fill:#23211c}
.leyfold-year .shade{fill:#c9c3b4}
.leyfold-year .wash{fill:#dcd7c9}
.leyfold-year .chance{fill:#23211c;fill-opacity:.16}
.leyfold-year .over{fill:#d9622b}
.leyfold-year .line{fill:none;stroke:#23211c;stroke-width:1px}
.leyfold-year .outline{stroke:#23211c;stroke-width:.9px}
.leyfold-year .eggs{stroke-dasharray:2.5 2}
.leyfold-year .thread{fill:#a8a08e;stroke:#5a554a;stroke-width:.9px;stroke-linejoin:round}
.leyfold-year .rule{fill:none;stroke:#23211c;stroke-opacity:.2;stroke-width:.8px}
.leyfold-year .year{fill:none;stroke:#23211c;stroke-width:1.2px;stroke-opacity:.75}
.leyfold-year .base{fill:none;stroke:#23211c;stroke-opacity:.45;stroke-width:.8px}
.leyfold-year .limit{fill:none;stroke:#23211c;stroke-width:1.3px;stroke-dasharray:6 3}
.leyfold-year .lane{stroke-width:.9px;stroke-opacity:.7}
.leyfold-year .edge{fill:none;stroke:#23211c;stroke-width:.9px;stroke-dasharray:1.5 2}
.leyfold-year .breach{fill:none;stroke:#a83a0c;stroke-width:4.5px}
.leyfold-year .today{fill:none;stroke:#35602a;stroke-width:1.6px;stroke-dasharray:1 3;stroke-linecap:round}
.leyfold-year .pen{fill:none;stroke:#23211c;stroke-opacity:.5;stroke-width:.8px}
.leyfold-year .dot{fill:#23211c;fill-opacity:.6}
@media screen and (prefers-color-scheme:dark){
.leyfold-year text{fill:#ece7da}
.leyfold-year .soft{fill:#b6ae9d}
.leyfold-year .halo{stroke:#1c1b18}
.leyfold-year .warm{fill:#ff9b66}
.leyfold-year .paper{fill:#1c1b18}
.leyfold-year .grass{fill:#243020}
.leyfold-year .grassword{fill:#a9cd8e}
.leyfold-year .ink,.leyfold-year .dot{fill:#ece7da}
.leyfold-year .shade{fill:#575247}
.leyfold-year .wash{fill:#3b3831}
.leyfold-year .chance{fill:#ece7da}
.leyfold-year .over{fill:#c85a24}
.leyfold-year .line,.leyfold-year .outline,.leyfold-year .rule,.leyfold-year .year,.leyfold-year .base,
.leyfold-year .limit,.leyfold-year .edge,.leyfold-year .pen{stroke:#ece7da}
.leyfold-year .thread{fill:#8d8676;stroke:#a59d8b}
.leyfold-year .breach{stroke:#ff9b66}
.leyfold-year .today{stroke:#a9cd8e}
}
@media print{
.leyfold-year .paper{fill:#fff}
.leyfold-year .halo{stroke:#fff}
.leyfold-year .pen{stroke-opacity:.8}
.leyfold-year .dot{fill-opacity:.9}
}
"""

_PENS = (
    '<path class="pen" d="M-1 7L7 -1M5 7L7 5M-1 1L1 -1"/>',
    '<path class="pen" d="M0 1.5H6M0 4.5H6"/>',
    '<circle class="dot" cx="1.5" cy="1.5" r=".9"/><circle class="dot" cx="4.5" cy="4.5" r=".9"/>',
    '<path class="pen" d="M-1 -1L7 7M-1 5L1 7M5 -1L7 1"/>',
    '<path class="pen" d="M1.5 0V6M4.5 0V6"/>',
    '<path class="pen" d="M0 0L6 6M6 0L0 6"/>',
    '<path class="pen" d="M0 1.5H4M3 4.5H6M0 4.5H1"/>',
    '<path class="pen" d="M0 3H6M3 0V6"/>',
)
"""Tiles of 6 by 6; more batches than tiles begin again, and go by their names."""


def hatch(batch: int, *, dark: bool = False) -> str:
    """The fill of a batch by its place in the plan; `dark` for its cockerels."""
    return f"url(#year-{batch % len(_PENS)}{'d' if dark else ''})"


def hatches(batches: int) -> str:
    """The patterns that so many batches need."""
    return el(
        "defs",
        *(
            el(
                "pattern",
                el("rect", width=6, height=6, class_="wash" if dark else "paper"),
                pen,
                id=hatch(i, dark=dark)[5:-1],
                width=6,
                height=6,
                patternUnits="userSpaceOnUse",
            )
            for i, pen in enumerate(_PENS[:batches])
            for dark in (False, True)
        ),
    )
