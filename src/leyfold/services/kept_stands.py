"""Strips once laid out are kept beside the farm's files: laying them takes seconds and hangs on the land and
the sizes of shelters alone. What is kept can be thrown away at any time."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from leyfold.nouns.land import Area, Exclusion, Footprint, Land, Layout, Stand, Strip

__all__ = ["kept_layouts"]

Exclusions = Mapping[str, tuple[Exclusion, ...]]

VERSION = 1
MOST_KEPT = 24


def kept_layouts(folder: Path) -> Callable[..., Layout]:
    """`ground.stands.lay_out` for land and exclusions, its answers kept in `folder`, which need not be there
    nor be writable."""

    def lay(
        land: Land,
        footprint: Footprint,
        *,
        exclusions: Mapping[str, tuple[Exclusion, ...]],
        numbered_from: int,
    ) -> Layout:
        asked = (
            VERSION,
            land,
            footprint.length_m,
            footprint.width_m,
            sorted(exclusions.items()),
            numbered_from,
        )
        file = folder / f"stands-{hashlib.sha256(repr(asked).encode()).hexdigest()[:24]}.json"
        layout = _read(file, footprint)
        if layout is None:
            from leyfold.ground.stands import lay_out

            layout = lay_out(land, footprint, exclusions=exclusions, numbered_from=numbered_from)
            _keep(file, layout)
        return layout

    return lay


def _read(file: Path, footprint: Footprint) -> Layout | None:
    try:
        held = json.loads(file.read_text(encoding="utf-8"))
        strips = tuple(
            Strip(
                s["id"], s["field"], s["lane"], s["angle_deg"], tuple(Stand(**stand) for stand in s["stands"])
            )
            for s in held["strips"]
        )
        return Layout(footprint, strips, tuple(Area(**area) for area in held["areas"]))
    except (OSError, ValueError, KeyError, TypeError):
        # Not there, torn or of another make: it is laid out again.
        return None


def _keep(file: Path, layout: Layout) -> None:
    held: dict[str, Any] = {
        "strips": [asdict(strip) for strip in layout.strips],
        "areas": [asdict(area) for area in layout.areas],
    }
    part = file.with_suffix(f".{os.getpid()}.part")
    try:
        file.parent.mkdir(exist_ok=True)
        part.write_text(json.dumps(held, default=lambda number: number.item()), encoding="utf-8")
        part.replace(file)
        kept = sorted(file.parent.glob("stands-*.json"), key=lambda f: f.stat().st_mtime, reverse=True)
        for old in kept[MOST_KEPT:]:
            old.unlink(missing_ok=True)
    except OSError:
        part.unlink(missing_ok=True)
