"""`leyfold season`: week by week, what passes a limit, and the totals."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, table
from leyfold.words import say
from leyfold.words.forms import day, day_and_month, number

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.nouns.limits import Breach
    from leyfold.nouns.week import Week
    from leyfold.services.season import SeasonAnswer

__all__ = ["season"]


def season(farm: Path, *, json: bool = False, csv: Path | None = None) -> int:
    """Show the season that follows from a farm's files, week by week.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: weeks, breaches, totals, and every lot on every day.
    csv
        Also write every daily table into this folder, one CSV each, units in the headings.
    """
    from dataclasses import asdict

    from leyfold.paper.tables import season_sheets, write_sheets
    from leyfold.services.season import season_of

    answer = season_of(farm, datetime.now(UTC))
    sheets = season_sheets(answer.season, answer.weeks) if json or csv else ()
    if csv is not None:
        write_sheets(sheets, csv)
    if json:
        data = {"totals": asdict(answer.totals), **{sheet.name: sheet.records() for sheet in sheets}}
        print_json("season", data, inputs_sha256=answer.inputs_sha256)
    else:
        page = console()
        page.print(weekly(answer))
        for sentence in (*limits_passed(answer), *in_all(answer)):
            page.print(sentence, soft_wrap=True)
    return 0


def weekly(answer: SeasonAnswer) -> Table:
    """The wall sheet: one row a week."""
    holding = answer.farm.holding
    columns = _columns(answer)
    heads = [(say(f"season.column_{name}"), name != "week") for name, _ in columns]
    page = table(say("season.title", farm=holding.name), heads)
    for week in answer.weeks:
        page.add_row(*(cell(week) for _, cell in columns))
    return page


def _columns(answer: SeasonAnswer) -> list[tuple[str, Callable[[Week], str]]]:
    language = answer.farm.holding.language

    def whole(name: str) -> tuple[str, Callable[[Week], str]]:
        return name, lambda week: _dashed(getattr(week, name), 0, language)

    return [
        ("week", lambda week: day_and_month(week.monday, language)),
        whole("eggs_set"),
        whole("in_brooder"),
        whole("at_grass"),
        whole("in_house"),
        whole("killed"),
        ("feed_kg", lambda week: _dashed(sum(week.feed_kg.values()), 0, language)),
        whole("water_l"),
        ("n_kg", lambda week: _dashed(week.n_kg, 1, language)),
        whole("eggs"),
        whole("shelters"),
        whole("heaviest_heads"),
        ("heaviest_kg_per_m2", lambda week: _dashed(week.heaviest_kg_per_m2, 1, language)),
        whole("heaviest_kg_n_per_ha"),
        ("floor_share", lambda week: _dashed(100 * week.floor_share, 0, language)),
    ]


def _dashed(value: float, digits: int, language: str) -> str:
    """Nothing there is shown as nothing, so that the eye finds what is."""
    return number(value, digits, language) if value > 0.5 * 10**-digits else "·"


def limits_passed(answer: SeasonAnswer) -> list[str]:
    """A line for each breach, by its first day."""
    found = answer.season.breaches
    if not found:
        return [say("season.no_breach")]
    return [say("season.breaches"), *(_breach(b, answer.farm.holding.language) for b in found)]


def _breach(b: Breach, language: str) -> str:
    scale, digits = (100, 0) if b.limit.quantity == "floor_share" else (1, 1)
    return say(
        f"season.breach_{b.limit.quantity}",
        where=b.where,
        first=day(b.first, language),
        last=day(b.last, language),
        worst=number(scale * b.worst, digits, language),
        worst_on=day_and_month(b.worst_on, language),
        at_most=number(scale * b.limit.at_most, digits, language),
    )


def in_all(answer: SeasonAnswer) -> list[str]:
    """The totals as sentences."""
    t, language = answer.totals, answer.farm.holding.language

    def n(value: float, digits: int = 0) -> str:
        return number(value, digits, language)

    feed = ", ".join(f"{kind} {n(kg)}" for kind, kg in t.feed_kg.items())
    return [
        say(
            "season.total_birds", eggs=n(t.eggs_set), hatched=n(t.hatched), bought=n(t.bought), dead=n(t.dead)
        ),
        say("season.total_killed", killed=n(t.killed), kg=n(t.killed_kg), carcass=n(t.carcass_kg)),
        say("season.total_pullets", pullets=n(t.pullets_to_house), alive=n(t.alive_at_end)),
        say("season.total_feed", kg=n(sum(t.feed_kg.values())), feed=feed, water=n(t.water_l / 1000, 1)),
        say("season.total_rest", n=n(t.n_kg), p=n(t.p_kg), k=n(t.k_kg), eggs=n(t.eggs)),
    ]
