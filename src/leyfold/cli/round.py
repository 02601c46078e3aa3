"""`leyfold round`: the morning round, or the shut-in with the evening page."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, print_pages, typed, when
from leyfold.nouns.clock import civil
from leyfold.words import say
from leyfold.words.forms import day as spoken_day

if TYPE_CHECKING:
    from leyfold.services.round import RoundsAnswer

__all__ = ["round"]


def round(
    farm: Path, *, at: str | None = None, evening: bool = False, days: int = 1, json: bool = False
) -> int:  # fmt: skip
    """Today's places in walking order: birds that should be there, move, feed, water, and what to watch.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    at
        Look from this time instead of now: 2027-05-08T06:10, by the farm's clock unless it says an offset.
    evening
        The shut-in and the page of the evening instead of the morning.
    days
        So many days one after the other, up to 8.
    json
        Print one JSON object with mornings and evenings.
    """
    from leyfold.services.round import records, rounds_of

    now = datetime.now(UTC)
    answer = rounds_of(farm, now if at is None else when(at, farm), days=days, now=now)
    if json:
        print_json("round", records(answer), inputs_sha256=answer.inputs_sha256, seed=0)
        return 0
    from leyfold.paper.round_page import round_page

    out = console()
    part = "evening" if evening else "morning"
    if not answer.rounds:
        out.print(_outside(answer, farm), soft_wrap=True, markup=False)
    for one in answer.rounds:
        if one.part == part:
            title = say("round.title", farm=answer.farm.holding.name, what=one.said)
            out.print(title, style="bold", markup=False)
            out.print(say("round.subtitle", light=one.light_said, heads=one.heads), markup=False)
            print_pages(out, round_page(answer.farm, one))
    return 0


def _outside(answer: RoundsAnswer, farm: Path) -> str:
    """That no plan says anything of the day, and of which days one does."""
    season, holding = answer.season, answer.farm.holding
    today = civil(answer.made_at, holding.zone)
    return say(
        "round.none" if today < season.first else "round.none_over",
        farm=holding.name,
        day=spoken_day(today, holding.language),
        first=spoken_day(season.first, holding.language),
        last=spoken_day(season.day(season.days - 1), holding.language),
        farm_typed=typed(farm),
        at=f"{season.first}T07:00",
    )
