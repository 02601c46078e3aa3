"""Strips and paddocks once laid out are kept beside the farm's files: laying them takes seconds and hangs on
the land and the sizes of shelters and nets alone. What is kept can be thrown away at any time."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

from leyfold.nouns.land import Area, Exclusion, Footprint, Land, Layout, Paddock, Stand, Strip

__all__ = ["kept_layouts", "kept_paddocks"]

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


def kept_paddocks(folder: Path) -> Callable[..., tuple[Paddock, ...]]:
    """`ground.nets.fence`, its answers kept as those of `kept_layouts`."""

    def cut(
        land: Land, area_m2: float, net_m: float, *, exclusions: Mapping[str, tuple[Exclusion, ...]]
    ) -> tuple[Paddock, ...]:
        asked = (VERSION, land, area_m2, net_m, sorted(exclusions.items()))
        file = folder / f"stands-net-{hashlib.sha256(repr(asked).encode()).hexdigest()[:24]}.json"
        with suppress(OSError, ValueError, KeyError, TypeError):
            held = json.loads(file.read_text(encoding="utf-8"))["paddocks"]
            rings = [tuple((x, y) for x, y in p["ring"]) for p in held]
            return tuple(
                Paddock(**p | {"ring": ring, "house": ()}) for p, ring in zip(held, rings, strict=True)
            )
        from leyfold.ground.nets import fence

        paddocks = fence(land, area_m2, net_m, exclusions=exclusions)
        _write(file, {"paddocks": paddocks})
        return paddocks

    return cut


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
    _write(file, {"strips": layout.strips, "areas": layout.areas})


def _plain(value: Any) -> Any:
    """The fields of a noun, or the number that numpy holds."""
    return {f.name: getattr(value, f.name) for f in fields(value)} if is_dataclass(value) else value.item()


def _write(file: Path, held: dict[str, Any]) -> None:
    part = file.with_suffix(f".{os.getpid()}.part")
    try:
        file.parent.mkdir(exist_ok=True)
        part.write_text(json.dumps(held, default=_plain), encoding="utf-8")
        part.replace(file)
        kept = sorted(file.parent.glob("stands-*.json"), key=lambda f: f.stat().st_mtime, reverse=True)
        for old in kept[MOST_KEPT:]:
            old.unlink(missing_ok=True)
    except OSError:
        part.unlink(missing_ok=True)
