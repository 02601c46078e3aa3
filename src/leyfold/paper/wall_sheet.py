"""The season in words and columns for people: the weeks as the wall sheet has them, limits passed, totals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from leyfold.nouns.limits import Breach
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.round.shown import Shown
from leyfold.season.sums import Sums
from leyfold.words import say

__all__ = ["Column", "breach_told", "columns", "in_all", "limits_passed"]


@dataclass(frozen=True, slots=True)
class Column:
    """A heading with its unit, and the cell of a week. The first column names the week."""

    heading: str
    cell: Callable[[Week], str]


def columns(shown: Shown, feeds: Sequence[str] = ()) -> tuple[Column, ...]:
    """The wall sheet's columns in the farm's own units; feed also by each kind of `feeds`."""

    def column(name: str, value: Callable[[Week], float], digits: int = 0, unit: str = "") -> Column:
        heading = say(f"season.column_{name}", unit=shown.unit(unit))
        return Column(heading, lambda week: _dashed(shown.outward(value(week), unit), digits, shown))

    def of(kind: str) -> Column:
        heading = say("season.column_feed_kind", kind=kind)
        return Column(heading, lambda week: _dashed(shown.outward(week.feed_kg[kind], "kg"), 0, shown))

    return (
        Column(say("season.column_week"), lambda week: shown.short(week.monday)),
        column("eggs_set", lambda week: week.eggs_set),
        column("in_brooder", lambda week: week.in_brooder),
        column("at_grass", lambda week: week.at_grass),
        column("in_house", lambda week: week.in_house),
        column("killed", lambda week: week.killed),
        column("feed", lambda week: sum(week.feed_kg.values()), unit="kg"),
        *map(of, feeds),
        column("water", lambda week: week.water_l, unit="l"),
        column("nitrogen", lambda week: week.n_kg, 1, "kg"),
        column("eggs", lambda week: week.eggs),
        column("shelters", lambda week: week.shelters),
        column("heaviest_heads", lambda week: week.heaviest_heads),
        column("heaviest_weight", lambda week: week.heaviest_kg_per_m2, 1, "kg/m2"),
        column("heaviest_nitrogen", lambda week: week.heaviest_kg_n_per_ha, unit="kg/ha"),
        column("floor_share", lambda week: 100 * week.floor_share),
    )


def _dashed(value: float, digits: int, shown: Shown) -> str:
    """Nothing there is shown as nothing, so that the eye finds what is."""
    return shown.n(value, digits) if value > 0.5 * 10**-digits else "·"


def limits_passed(season: Season, shown: Shown) -> list[str]:
    """A line for each breach, by its first day."""
    return [breach_told(b, shown) for b in sorted(season.breaches, key=lambda b: b.first)]


def breach_told(b: Breach, shown: Shown) -> str:
    """One breach as a sentence."""
    worst, at_most = (shown.limited(b.limit.quantity, value) for value in (b.worst, b.limit.at_most))
    return say(
        "season.breach",
        where=b.where,
        first=shown.day(b.first),
        last=shown.day(b.last),
        worst=worst,
        worst_on=shown.short(b.worst_on),
        at_most=at_most,
    )


def in_all(t: Sums, shown: Shown) -> list[str]:
    """The totals as sentences."""
    n = shown.n

    def kg(value: float) -> str:
        return shown.of(value, "kg")

    feed = ", ".join(f"{kind} {kg(given)}" for kind, given in t.feed_kg.items())
    return [
        say(
            "season.total_birds", eggs=n(t.eggs_set), hatched=n(t.hatched), bought=n(t.bought), dead=n(t.dead)
        ),
        say("season.total_killed", killed=n(t.killed), live=kg(t.killed_kg), carcass=kg(t.carcass_kg)),
        say(
            f"season.total_pullets{'' if shown.farm.houses else '_no_house'}",
            pullets=n(t.pullets_to_house),
            alive=n(t.alive_at_end),
        ),
        say(
            "season.total_feed", given=kg(sum(t.feed_kg.values())), feed=feed, water=shown.of(t.water_l, "l")
        ),
        say("season.total_rest", n=kg(t.n_kg), p=kg(t.p_kg), k=kg(t.k_kg), eggs=n(t.eggs)),
    ]
