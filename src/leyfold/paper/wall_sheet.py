"""The season in words and columns for people: the weeks as the wall sheet has them, limits passed, totals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from leyfold.nouns.limits import Breach
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.season.sums import Sums
from leyfold.words import say
from leyfold.words.forms import day, day_and_month, number

__all__ = ["Column", "breach_told", "columns", "in_all", "limits_passed"]


@dataclass(frozen=True, slots=True)
class Column:
    """A heading with its unit, and the cell of a week. The first column names the week."""

    heading: str
    cell: Callable[[Week], str]


def columns(language: str, feeds: Sequence[str] = ()) -> tuple[Column, ...]:
    """The wall sheet's columns; feed also by each kind of `feeds`."""

    def column(name: str, value: Callable[[Week], float], digits: int = 0) -> Column:
        return Column(say(f"season.column_{name}"), lambda week: _dashed(value(week), digits, language))

    def of(kind: str) -> Column:
        heading = say("season.column_feed_kind", kind=kind)
        return Column(heading, lambda week: _dashed(week.feed_kg[kind], 0, language))

    return (
        Column(say("season.column_week"), lambda week: day_and_month(week.monday, language)),
        column("eggs_set", lambda week: week.eggs_set),
        column("in_brooder", lambda week: week.in_brooder),
        column("at_grass", lambda week: week.at_grass),
        column("in_house", lambda week: week.in_house),
        column("killed", lambda week: week.killed),
        column("feed_kg", lambda week: sum(week.feed_kg.values())),
        *map(of, feeds),
        column("water_l", lambda week: week.water_l),
        column("n_kg", lambda week: week.n_kg, 1),
        column("eggs", lambda week: week.eggs),
        column("shelters", lambda week: week.shelters),
        column("heaviest_heads", lambda week: week.heaviest_heads),
        column("heaviest_kg_per_m2", lambda week: week.heaviest_kg_per_m2, 1),
        column("heaviest_kg_n_per_ha", lambda week: week.heaviest_kg_n_per_ha),
        column("floor_share", lambda week: 100 * week.floor_share),
    )


def _dashed(value: float, digits: int, language: str) -> str:
    """Nothing there is shown as nothing, so that the eye finds what is."""
    return number(value, digits, language) if value > 0.5 * 10**-digits else "·"


def limits_passed(season: Season, language: str) -> list[str]:
    """A line for each breach, by its first day."""
    return [breach_told(b, language) for b in sorted(season.breaches, key=lambda b: b.first)]


def breach_told(b: Breach, language: str) -> str:
    """One breach as a sentence."""
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


def in_all(t: Sums, language: str) -> list[str]:
    """The totals as sentences."""

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
