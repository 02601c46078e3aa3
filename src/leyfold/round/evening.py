"""The evening page: tonight, tomorrow, the ground, the feed, the water, and who is there in the morning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from leyfold.farm.tables import figure
from leyfold.nature.cold import GRADES
from leyfold.nouns.ahead import Band, Cold, FeedLeft, Gust, Heat, Night, Water
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import NetAhead
from leyfold.nouns.round import (
    ColdGroup,
    DayAhead,
    Evening,
    GroundLeft,
    Hand,
    Laid,
    Party,
    Said,
    ShelterGust,
)
from leyfold.round.fences import net_left
from leyfold.round.shown import Shown
from leyfold.round.spoken import Spoken
from leyfold.season.grazing import grazes
from leyfold.words import say

__all__ = ["evening"]

HANDS = ("farmer", "helper")
WARM_GAIN_K = 3.0
"""Shade is spoken of where it keeps a bucket so much cooler: a guess."""


def evening(
    farm: Farm,
    tomorrow: date,
    *,
    night: Night,
    cold: Sequence[Cold],
    gusts: Sequence[Gust],
    highest: Band,
    heat: Sequence[Heat],
    water: Sequence[Water],
    ground: Mapping[tuple[str, date], Laid],
    nets: Mapping[str, NetAhead],
    there: Mapping[str, Sequence[Party]],
    feed: Sequence[FeedLeft],
    tank: tuple[float, int | None, datetime | None],
    notes: Sequence[str],
) -> Evening:
    """All of `tomorrow` and of the night before it; `there` are those who stand where tonight."""
    s, shown = Spoken(farm), Shown(farm)
    said = say(
        "round.night", span=s.span(night.lowest_C.low, night.lowest_C.high),
        middle=s.degrees(night.lowest_C.middle), rain=s(night.rain_mm.middle), most=s(night.rain_mm.high),
        wind=s(night.wind_m_per_s),
    )  # fmt: skip
    return Evening(
        night_C=night.lowest_C, night_said=said, origin=night.origin,
        cold=tuple(_cold(c, s) for c in cold), gusts=tuple(_gust(g, s) for g in gusts),
        tomorrow=_tomorrow(s, shown, tomorrow, highest, heat, water),
        ground=(
            *(_ground(p, ground.get((p, tomorrow))) for p in farm.shelters if p in there),
            *(net_left(farm, nets[p], tomorrow) for p in farm.houses if p in there and p in nets),
        ),
        feed=tuple(_feed(left, s, shown) for left in feed), tank=_tank(farm, tomorrow, tank, s),
        hands=tuple(Hand(p.id, p.name, p.role) for p in farm.people.values() if p.role in HANDS),
        notes=tuple(notes),
    )  # fmt: skip


def _cold(c: Cold, s: Spoken) -> ColdGroup:
    grade = say(f"ahead.grade_{GRADES[c.grade]}")
    key = "round.cold_bears" if c.hours_under.high < 1 else "round.cold_under"
    said = say(
        key, place=c.flock.place, floor=s.degrees(c.floor_C), air=s.span(c.air_C.low, c.air_C.high),
        hours=s(c.hours_under.middle), most=s(c.hours_under.high), grade=grade,
    )  # fmt: skip
    return ColdGroup(
        c.flock.place, c.flock.batch, round(c.flock.heads), c.floor_C, c.hours_under, c.grade, said
    )


def _gust(g: Gust, s: Spoken) -> ShelterGust:
    words = {"place": g.place, "gust": s.between(g.gust_m_per_s.middle, g.gust_m_per_s.high)}
    if g.moves_at_m_per_s is None:
        said = say("round.gust_unknown", **words)
    else:
        key = "round.gust_stake" if g.grade >= 2 else "round.gust_stands"
        said = say(key, **words, moves=s(g.moves_at_m_per_s))
    return ShelterGust(g.place, g.gust_m_per_s, g.moves_at_m_per_s, g.grade, said)


def _tomorrow(
    s: Spoken, shown: Shown, day: date, highest: Band, heat: Sequence[Heat], water: Sequence[Water]
) -> DayAhead:
    litres = sum(w.litres for w in water)
    said = say("round.tomorrow", span=s.span(highest.low, highest.high), litres=shown.water(litres))
    fills, shaded = [], []
    for w in water:
        if w.bucket is None:
            continue
        if w.bucket.refill_at is not None:
            key = "round.fill_dry" if w.bucket.why == "dry" else "round.fill_warm"
            fills.append(say(key, place=w.place, at=s.clock(w.bucket.refill_at)))
        if w.bucket.why == "warm" and w.bucket.warmest_C - w.bucket.shaded_C >= WARM_GAIN_K:
            shaded.append(w.place)
    felt = [h.flock.place for h in heat if h.grade >= 1]
    shade = None
    if felt or shaded:
        shade = say(
            "round.shade_birds" if felt else "round.shade_buckets",
            where=", ".join(dict.fromkeys(felt or shaded)),
        )
    return DayAhead(day, highest, litres, said, tuple(fills), shade)


def _ground(place: str, laid: Laid | None) -> GroundLeft:
    if laid is None:
        return GroundLeft(place, None, say("round.left_unknown", place=place))
    if laid.left_d is None:
        return GroundLeft(place, None, say("round.left_all", place=place, move=laid.move.said))
    return GroundLeft(place, laid.left_d, say("round.left_days", place=place, days=laid.left_d))


def _feed(left: FeedLeft, s: Spoken, shown: Shown) -> Said:
    if left.empty_on is None or left.order_by is None:
        return Said(
            left.feed,
            say("ahead.feed_unknown" if left.has_kg is None else "ahead.feed_lasts", feed=left.feed),
        )
    said = say(
        "ahead.feed_left", feed=left.feed, kg=s.kg(left.has_kg or 0.0), on=shown.short(left.empty_on),
        order=shown.short(left.order_by),
    )  # fmt: skip
    return Said(left.feed, said)


def _tank(
    farm: Farm, tomorrow: date, tank: tuple[float, int | None, datetime | None], s: Spoken
) -> Said | None:
    """What is hauled for the birds; cattle may have water where they graze, so theirs is said beside it."""
    litres, trips, last = tank
    if trips is None:
        return None
    said = s.tanks(litres, trips, last)
    heads = sum(herd.heads for herd in farm.cattle.values() if grazes(farm, herd, tomorrow))
    if heads:
        drunk = heads * figure("feeding.cattle_water_l_per_d").value
        said = f"{said} {say('round.tank_cattle', litres=s.litres(drunk))}"
    return Said("tank", said)
