"""`leyfold fields`: the farm's fields out of a map file."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from leyfold.cli.answer import console, print_json, table
from leyfold.words import say

__all__ = ["fields"]


def fields(farm: Path, file: Path, *, json: bool = False) -> int:
    """Bring fields in from a map file: GeoJSON, or with the extra `gis` KML, GPX, GeoPackage or Shapefile.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    file
        The map file. Things to keep off carry `kind` (well, water, ditch, building, ...), gates and water
        points too.
    json
        Print one JSON object: the fields with their sizes, and what was mended.
    """
    from leyfold.services.fields import bring_fields
    from leyfold.words.forms import number

    brought = bring_fields(farm, file)
    if json:
        print_json(
            "fields",
            {
                "fields": [asdict(size) for size in brought.sizes],
                "remarks": list(brought.remarks),
            },
        )
        return 0
    heads = [
        (say("stands.field"), False),
        (say("stands.area"), True),
        (say("stands.perimeter"), True),
        (say("stands.usable"), True),
        (say("stands.keep_off"), True),
    ]
    page = table(say("stands.fields_title"), heads)
    language = brought.language
    for size in brought.sizes:
        page.add_row(
            size.name,
            number(size.area_m2 / 1e4, 2, language),
            number(size.perimeter_m, 0, language),
            number(size.usable_m2 / 1e4, 2, language),
            number(size.keep_off, 0, language),
        )
    out = console()
    out.print(page)
    for remark in brought.remarks:
        out.print(remark, soft_wrap=True, markup=False)
    return 0
