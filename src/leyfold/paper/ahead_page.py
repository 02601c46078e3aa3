"""The look-ahead as one page of words: what stands above all, at most three cautions, then tonight, tomorrow
and the week as tables and lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from leyfold.nature.cold import GRADES
from leyfold.nouns.ahead import Ahead, Cold, Water
from leyfold.nouns.farm import Farm
from leyfold.round.cautions import reason_words
from leyfold.round.spoken import Spoken
from leyfold.season.grazing import grass_grows
from leyfold.words import say
from leyfold.words.forms import day_and_month

__all__ = ["MOST_CAUTIONS", "Sheet", "page"]

MOST_CAUTIONS = 3
JULY = 7


@dataclass(frozen=True, slots=True)
class Sheet:
    """A part of the page: its title, lines of words, and a table (headings, and whether of numbers)."""

    title: str
    lines: tuple[str, ...] = ()
    columns: tuple[tuple[str, bool], ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


def page(farm: Farm, ahead: Ahead) -> tuple[Sheet, ...]:
    """All parts, in the order in which they are read."""
    s = Spoken(farm)
    parts = [_stops(ahead), _cautions(ahead), _tonight(s, ahead), _winds(s, ahead), _tomorrow(s, ahead)]
    parts += [_heat_sources(s, ahead), _turnout(s, ahead), _week(s, ahead), _from(ahead)]
    return tuple(part for part in parts if part is not None)


def _stops(ahead: Ahead) -> Sheet | None:
    if not ahead.stops:
        return None
    return Sheet(say("ahead.title_stops"), tuple(f"{o.said} {o.act}" for o in ahead.stops))


def _cautions(ahead: Ahead) -> Sheet:
    shown = ahead.cautions[:MOST_CAUTIONS]
    if not shown:
        return Sheet(say("ahead.title_cautions"), (say("ahead.no_caution"),))
    lines = [
        say("ahead.caution", nth=i, heads=f"{c.heads:.0f}", said=c.said, act=c.act)
        for i, c in enumerate(shown, start=1)
    ]
    rest = len(ahead.cautions) - len(shown)
    if rest:
        lines.append(say("ahead.more_cautions", n=rest))
    return Sheet(say("ahead.title_cautions"), tuple(lines))


def _tonight(s: Spoken, ahead: Ahead) -> Sheet:
    night = ahead.night
    line = say(
        "ahead.tonight", sunset=s.clock(night.sunset), sunrise=s.clock(night.sunrise),
        span=s.span(night.lowest_C.low, night.lowest_C.high), middle=s.degrees(night.lowest_C.middle),
        station=s.degrees(night.station_C.middle), rain=s(night.rain_mm.middle), most=s(night.rain_mm.high),
        wind=s(night.wind_m_per_s),
    )  # fmt: skip
    columns = tuple((say(f"ahead.column_{k}"), n) for k, n in (
        ("place", False), ("batch", False), ("sex", False), ("heads", True), ("age", True), ("weight", True),
        ("air", True), ("floor", True), ("under", True), ("chance", True), ("grade", False),
    ))  # fmt: skip
    cold = {(c.flock.place, c.flock.batch): c for c in ahead.cold}
    rows = []
    for flock in ahead.flocks:
        sex = say(f"ahead.sex_{flock.sex or 'both'}")
        head = (flock.place, flock.batch, sex, s(flock.heads), s(flock.age_d), s.kg(flock.weight_kg, 2))
        one = cold.get((flock.place, flock.batch))
        rows.append((*head, *(_cold_cells(s, one) if one else ("", "", "", "", say("ahead.under_heat")))))
    return Sheet(say("ahead.title_tonight"), (line, *_why(s, ahead)), columns, tuple(rows))


def _why(s: Spoken, ahead: Ahead) -> Iterator[str]:
    """What raises the floors, flocks of like reasons together."""
    alike: dict[str, list[str]] = {}
    for one in ahead.cold:
        if one.grade_bad:
            alike.setdefault(reason_words(one.reasons, s), []).append(one.flock.place)
    for why, places in alike.items():
        yield say("ahead.why", where=", ".join(dict.fromkeys(places)), why=why)


def _cold_cells(s: Spoken, one: Cold) -> tuple[str, ...]:
    said = say(f"ahead.grade_{GRADES[one.grade]}")
    if one.grade_bad > one.grade:
        said = say("ahead.grade_to", likely=said, bad=say(f"ahead.grade_{GRADES[one.grade_bad]}"))
    return (
        s.span(one.air_C.low, one.air_C.high), s.degrees(one.floor_C), s(one.hours_under.middle),
        f"{s(100 * one.chance)} %", said,
    )  # fmt: skip


def _winds(s: Spoken, ahead: Ahead) -> Sheet | None:
    if not ahead.gusts:
        return None
    columns = tuple((say(f"ahead.column_{k}"), n) for k, n in (
        ("place", False), ("gust", True), ("moves", True), ("how", False), ("stake_from", True),
        ("pull", True),
    ))  # fmt: skip
    rows = [
        (
            g.place, s.between(g.gust_m_per_s.low, g.gust_m_per_s.high),
            say("ahead.no_mass") if g.moves_at_m_per_s is None else s(g.moves_at_m_per_s),
            "" if g.how is None else say(f"ahead.how_{g.how}"),
            "" if g.stake_from_m_per_s is None else s(g.stake_from_m_per_s),
            "" if g.pull_n is None else s.kg(g.pull_n / 9.81),
        )
        for g in ahead.gusts
    ]  # fmt: skip
    return Sheet(say("ahead.title_wind"), (say("nature.caution_wind"),), columns, tuple(rows))


def _tomorrow(s: Spoken, ahead: Ahead) -> Sheet | None:
    if not ahead.heat and not ahead.water:
        return None
    lines = []
    if ahead.heat:
        hottest = ahead.heat[0]
        lines.append(say(
            "ahead.tomorrow", span=s.span(hottest.highest_C.low, hottest.highest_C.high),
            at=s.clock(hottest.at),
        ))  # fmt: skip
        for h in ahead.heat:
            if h.index_C is not None and h.grade > 0:
                key = "ahead.felt_far" if h.extrapolated else "ahead.felt"
                lines.append(say(
                    key, place=h.flock.place, batch=h.flock.batch, index=s.degrees(h.index_C),
                    state=say(f"ahead.heat_{h.state}"),
                ))  # fmt: skip
    columns = tuple((say(f"ahead.column_{k}"), n) for k, n in (
        ("place", False), ("litres", True), ("peak", True), ("bucket", False), ("warmest", True),
        ("refill", True), ("dry", True), ("shaded", True),
    ))  # fmt: skip
    return Sheet(
        say("ahead.title_tomorrow"), tuple(lines), columns, tuple(_water_cells(s, w) for w in ahead.water)
    )


def _water_cells(s: Spoken, w: Water) -> tuple[str, ...]:
    peak = max(range(24), key=lambda h: w.by_hour[h])
    first = (
        w.place,
        s.litres(w.litres),
        say("ahead.peak", litres=s.litres(w.by_hour[peak], 1), hour=f"{peak:02d}"),
    )
    b = w.bucket
    if b is None:
        return (*first, say("ahead.no_bucket"), "", "", "", "")
    refill = (
        say("ahead.not_needed")
        if b.refill_at is None
        else say(f"ahead.refill_{b.why}", at=s.clock(b.refill_at))
    )
    dry = say("ahead.lasts") if b.dry_h is None else say("ahead.dry_in", hours=f"{b.dry_h:.1f}")
    warmest = say("ahead.warmest", warmest=s.degrees(b.warmest_C), at=s.clock(b.warmest_at))
    return (*first, f"{b.colour}, {s.litres(b.holds_l)}", warmest, refill, dry, s.degrees(b.shaded_C))


def _heat_sources(s: Spoken, ahead: Ahead) -> Sheet | None:
    lines = [
        say(
            "ahead.brooder", place=b.place, heads=s(b.heads), barn=s.degrees(b.barn_C), all=s(b.carries[0]),
            lamp=s(b.carries[1]), fuse=s(b.carries[2]), grade=say(f"ahead.grade_{GRADES[b.grade]}"),
            needed=s.degrees(b.needed_C),
        )
        for b in ahead.brooders
    ]  # fmt: skip
    if ahead.mains.order:
        parts = [
            say("ahead.mains_hours", place=place, hours=s(hours), heads=s(heads))
            if hours is not None
            else say("ahead.mains_long", place=place, heads=s(heads))
            for place, hours, heads, _ in ahead.mains.order
        ]
        lines.append(say("ahead.mains", order="; ".join(parts), watts=s(ahead.mains.watts)))
        lines += [
            say(
                "ahead.generator" if load.takes else "ahead.generator_none",
                name=load.generator, watts=s(load.watts), takes=", ".join(load.takes),
                leaves=", ".join(load.leaves) or say("ahead.generator_all"),
            )
            for load in ahead.mains.generators
        ]  # fmt: skip
    if not lines:
        return None
    return Sheet(say("ahead.title_heat"), (*lines, say("nature.caution_electricity")))


def _turnout(s: Spoken, ahead: Ahead) -> Sheet | None:
    if not ahead.turnout:
        return None
    language = s.farm.holding.language
    columns = tuple((say(f"ahead.column_{k}"), n) for k, n in (
        ("batch", False), ("day", False), ("night_chance", True), ("floor_share", True), ("lamps", True),
    ))  # fmt: skip
    rows, lines = [], []
    for t in ahead.turnout:
        for d in t.days:
            lamps = "" if d.lamps is None else f"{d.lamps:.2f} {s.farm.holding.currency}"
            chance = say("ahead.chance_of", chance=s(100 * d.chance), nights=d.nights)
            rows.append(
                (t.batch, day_and_month(d.day, language), chance, f"{s(100 * d.floor_share)} %", lamps)
            )
        planned = day_and_month(t.planned, language)
        if t.best is None:
            lines.append(say("ahead.turnout_wait", batch=t.batch, planned=planned))
        else:
            best = day_and_month(t.best, language)
            lines.append(say("ahead.turnout_best", batch=t.batch, best=best, planned=planned))
    return Sheet(say("ahead.title_turnout"), tuple(lines), columns, tuple(rows))


def _week(s: Spoken, ahead: Ahead) -> Sheet:
    return Sheet(say("ahead.title_week"), tuple(_week_lines(s, ahead)))


def _week_lines(s: Spoken, ahead: Ahead) -> Iterator[str]:
    language = s.farm.holding.language
    for d in ahead.due:
        yield say(
            f"ahead.due_{d.what}", day=day_and_month(d.day, language), batch=d.batch, number=s(d.number)
        )
    for f in ahead.feed:
        if f.empty_on is None or f.order_by is None:
            yield say("ahead.feed_unknown" if f.has_kg is None else "ahead.feed_lasts", feed=f.feed)
        else:
            yield say(
                "ahead.feed_left", feed=f.feed, kg=s.kg(f.has_kg or 0.0),
                on=day_and_month(f.empty_on, language), order=day_and_month(f.order_by, language),
            )  # fmt: skip
    if ahead.tank_trips is not None:
        yield s.tanks(ahead.tank_l, ahead.tank_trips, ahead.tank_last)
    for e in ahead.settable:
        yield say("ahead.settable", where=e.where, eggs=s(e.eggs))
    for lay in {h.place: h for h in ahead.laying}.values():
        key = "ahead.light_short" if lay.light_h < lay.wanted_h else "ahead.light_enough"
        yield say(
            key, place=lay.place, light=s(lay.light_h, 1), lack=s(max(lay.wanted_h - lay.light_h, 0), 1)
        )
    yield say("ahead.day_length", hours=s(ahead.dark.day_h, 1))
    if ahead.cattle_d is not None:
        yield say("ahead.cattle", first=s(ahead.cattle_d[0]), last=s(ahead.cattle_d[1]))
    elif s.farm.cattle:
        yield say("ahead.cattle_cold")
    if ahead.grass_K_d is not None:
        if ahead.grass_on is not None and ahead.grass_on >= ahead.day:
            yield say("ahead.grass_on", sum=s(ahead.grass_K_d), on=day_and_month(ahead.grass_on, language))
        elif ahead.grass_on is None:
            yield say("ahead.grass_not_yet", sum=s(ahead.grass_K_d))
        elif ahead.day.month >= JULY and not grass_grows(s.farm, ahead.day):
            yield say("ahead.grass_over")
        else:
            yield say("ahead.grass_past", sum=s(ahead.grass_K_d))
    if ahead.frost_w is not None:
        yield say("ahead.frost", watts=s(ahead.frost_w))


def _from(ahead: Ahead) -> Sheet:
    """Where the weather comes from, and what was found wanting in it."""
    by: dict[str, list[str]] = {}
    for name, origin in ahead.said_of.items():
        by.setdefault(origin, []).append(say(f"ahead.what_{name.lower()}"))
    lines = [say(f"ahead.origin_{origin}", what=", ".join(names)) for origin, names in by.items()]
    depth = say("ahead.depth", source=ahead.depth_source)
    return Sheet(say("ahead.title_from"), (*lines, depth, *ahead.notes, say("ahead.graded")))
