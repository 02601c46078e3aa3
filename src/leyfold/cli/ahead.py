"""`leyfold ahead`: tonight, tomorrow and the week on one page."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, print_pages, when
from leyfold.words import say

if TYPE_CHECKING:
    from leyfold.nouns.ahead import Ahead
    from leyfold.nouns.farm import Farm

__all__ = ["ahead"]


def ahead(farm: Path, *, at: str | None = None, json: bool = False, picture: Path | None = None) -> int:
    """Tonight at the birds' height, tomorrow's heat and water, and the week, for the birds that stand there.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    at
        Look from this time instead of now: 2027-05-12T18:00, by the farm's clock unless it says an offset.
    json
        Print one JSON object.
    picture
        Also draw each group of birds into this folder, one SVG each.
    """
    from leyfold.services.ahead import ahead_of

    now = datetime.now(UTC)
    answer = ahead_of(farm, now if at is None else when(at, farm), now=now)
    if picture is not None:
        _draw(answer.farm, answer.ahead, picture)
    if json:
        from leyfold.services.ahead_records import records

        data = records(answer.ahead)
        print_json("ahead", data, inputs_sha256=answer.inputs_sha256, seed=answer.seed)
        return 0
    from leyfold.paper.ahead_page import page
    from leyfold.words.forms import day

    out = console()
    holding = answer.farm.holding
    title = say("ahead.title", farm=holding.name, day=day(answer.ahead.day, holding.language))
    out.print(title, style="bold", markup=False)
    print_pages(out, page(answer.farm, answer.ahead))
    return 0


def _draw(farm: Farm, seen: Ahead, folder: Path) -> None:
    from leyfold.paper.ahead_picture import group_picture
    from leyfold.paper.picture_file import write_picture

    for cold in seen.cold:
        water = next((w for w in seen.water if w.place == cold.flock.place), None)
        drawn = group_picture(farm, seen.night, cold, None if water is None else water.bucket)
        write_picture(drawn, folder / f"{cold.flock.place}-{cold.flock.batch}.svg")
