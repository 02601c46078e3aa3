"""What asks for a hand tonight and tomorrow: stop-orders first, then cautions ranked by birds at risk."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from leyfold.nature.cold import GRADES
from leyfold.nouns.ahead import (
    BrooderHeat,
    Caution,
    Cold,
    FeedLeft,
    Flock,
    Gust,
    Heat,
    Night,
    StopOrder,
    Water,
)
from leyfold.nouns.alarm import Alarm
from leyfold.nouns.farm import Farm
from leyfold.nouns.record import State
from leyfold.round.spoken import Spoken
from leyfold.words import say
from leyfold.words.forms import day_and_month

__all__ = ["cautions", "ranked", "reason_words", "stop_orders"]

KINDS = (
    *("sick", "lamps", "cold", "pile", "wind", "dry", "warm", "heat"),
    *("heavy", "heavy_heads", "heavy_n", "ground", "gap", "feed", "falls", "unaccounted"),
)
SOUNDS = {"deaths": "sick", "unaccounted": "unaccounted"}
"""Alarms of the records to kinds of caution; the rest are water, feed or eggs that fall away."""
G = 9.81
LEAST_SAID_K = 0.5


def ranked(found: Iterable[Caution]) -> tuple[Caution, ...]:
    """By birds at risk, then by grade, then in a fixed order of kinds: the same input, the same order."""
    return tuple(sorted(found, key=lambda c: (-round(c.heads), -c.grade, KINDS.index(c.kind), c.where)))


def stop_orders(state: State, day: date) -> tuple[StopOrder, ...]:
    """Stop-orders that the records say hold on `day`; notifiable signs first."""
    order = ("notifiable signs", "housing order", "withdrawal", "wrong feed")
    held = sorted(
        (s for s in state.stops if s.holds(day)),
        key=lambda s: (order.index(s.why), s.on, s.batch or "", s.place or ""),
    )
    found = []
    for stop in held:
        key = stop.why.replace(" ", "_")
        where = ", ".join(w for w in (stop.batch, stop.place) if w) or say("ahead.whole_farm")
        found.append(
            StopOrder(stop.why, where, say(f"ahead.stop_{key}", where=where), say(f"ahead.stop_{key}_act"))
        )
    return tuple(found)


def reason_words(reasons: Sequence[tuple[str, float]], s: Spoken) -> str:
    """Why a floor is where it is: "floor 8 °C at this age, +6 K bare or wet ground"."""
    return ", ".join(
        say(f"ahead.reason_{what}", by=s.degrees(by) if what == "young" else s.warmer(by))
        for what, by in reasons
        if what in ("young", "soaked") or by >= LEAST_SAID_K
    )


def cautions(
    farm: Farm, day: date,
    *, night: Night, cold: Sequence[Cold], gusts: Sequence[Gust], heat: Sequence[Heat],
    water: Sequence[Water], brooders: Sequence[BrooderHeat], feed: Sequence[FeedLeft],
    flocks: Sequence[Flock], rung: Sequence[Alarm],
) -> tuple[Caution, ...]:  # fmt: skip
    """All that ask for a hand, one a kind, its places together, ranked. The cold that comes in one night of
    ten counts where somebody has forecast the night; a typical one is judged as likely as not. `rung`: the
    alarms of the records up to the day."""
    s = Spoken(farm)
    forecast = night.origin != "typical"
    return ranked([
        *_alarms(rung), *_lamps(brooders, s), *_cold(cold, s, forecast=forecast),
        *_pile(cold), *_wind(gusts, s), *_water(water, s), *_heat(heat, s), *_feed(feed, flocks, s, day),
    ])  # fmt: skip


def _alarms(rung: Sequence[Alarm]) -> Iterator[Caution]:
    """What the records say that luck does not bring. Signs of disease stand among the stop-orders."""
    found: dict[str, list[Alarm]] = {}
    for alarm in rung:
        if alarm.kind != "signs":
            found.setdefault(SOUNDS.get(alarm.kind, "falls"), []).append(alarm)
    for kind, of in found.items():
        where = tuple(dict.fromkeys(a.place for a in of if a.place is not None))
        heads = sum(abs(a.seen - a.expected) if kind == "unaccounted" else a.heads for a in of)
        said, act = (
            " ".join(dict.fromkeys(part)) for part in zip(*((a.said, a.act) for a in of), strict=True)
        )
        yield Caution(kind, max(a.grade for a in of), float(heads), where, said, act)


def _lamps(brooders: Sequence[BrooderHeat], s: Spoken) -> Iterator[Caution]:
    bad = [b for b in brooders if b.grade >= 2]
    if bad:
        parts = [
            say(
                "ahead.lamps_over" if b.over and b.heads <= min(b.carries) else "ahead.lamps_short",
                place=b.place,
                heads=s(b.heads), carries=s(min(b.carries)),
                fuse=", ".join(b.over),
            )
            for b in bad
        ]  # fmt: skip
        yield _joined("lamps", bad, parts, say("ahead.lamps_act"))


def _cold(cold: Sequence[Cold], s: Spoken, *, forecast: bool) -> Iterator[Caution]:
    grades = {id(c): max(c.grade, c.grade_bad if forecast and c.grade_bad >= 3 else 0) for c in cold}
    # Floors were made for growers in the open: full-feathered birds shut in and bedded wait for danger.
    bad = [c for c in cold if grades[id(c)] >= (3 if c.flock.kind == "house" else 2)]
    if bad:
        parts = [
            say(
                "ahead.cold", place=c.flock.place, span=s.span(c.air_C.low, c.air_C.high),
                floor=s.degrees(c.floor_C), grade=say(f"ahead.grade_{GRADES[grades[id(c)]]}"),
                why=reason_words(c.reasons, s),
            )
            for c in bad
        ]  # fmt: skip
        where = tuple(dict.fromkeys(c.flock.place for c in bad))
        grade = max(grades[id(c)] for c in bad)
        heads = sum(c.flock.heads for c in bad)
        yield Caution("cold", grade, heads, where, " ".join(parts), say("ahead.cold_act"))


def _pile(cold: Sequence[Cold]) -> Iterator[Caution]:
    bad = [c for c in cold if c.pile >= 3 and c.grade < 2]
    if bad:
        where = tuple(dict.fromkeys(c.flock.place for c in bad))
        heads = sum(c.flock.heads for c in bad)
        said = say("ahead.pile", where=", ".join(where))
        yield Caution("pile", 3, heads, where, said, say("ahead.pile_act"))


def _wind(gusts: Sequence[Gust], s: Spoken) -> Iterator[Caution]:
    bad = [g for g in gusts if g.grade >= 2 and g.moves_at_m_per_s is not None]
    if bad:
        parts = [
            say(
                f"ahead.wind_{g.how}", place=g.place,
                gust=s.between(g.gust_m_per_s.middle, g.gust_m_per_s.high),
                moves=s(g.moves_at_m_per_s or 0.0),
                pull=s.kg((g.pull_n or 0.0) / G),
            )
            for g in bad
        ]  # fmt: skip
        yield _joined("wind", bad, parts, say("ahead.wind_act"))


def _water(water: Sequence[Water], s: Spoken) -> Iterator[Caution]:
    """Buckets that run dry, and buckets that get too warm: one may do both."""
    bad = [(w, w.bucket) for w in water if w.grade >= 2 and w.bucket is not None]
    for why in ("dry", "warm"):
        here = [(w, b) for w, b in bad if (b.dry_at is not None if why == "dry" else b.why == "warm")]
        if here:
            parts = [
                say(
                    f"ahead.water_{why}", place=w.place,
                    at=s.clock(b.dry_at if why == "dry" else b.refill_at),
                    warmest=s.degrees(b.warmest_C), shaded=s.degrees(b.shaded_C), litres=s.litres(w.litres),
                    fills=b.fills,
                )
                for w, b in here
            ]  # fmt: skip
            yield _joined(why, [w for w, _ in here], parts, say(f"ahead.water_{why}_act"))


def _heat(heat: Sequence[Heat], s: Spoken) -> Iterator[Caution]:
    bad = [h for h in heat if h.grade >= 2]
    if bad:
        where = tuple(dict.fromkeys(h.flock.place for h in bad))
        said = say(
            "ahead.heat", where=", ".join(where), span=s.span(bad[0].highest_C.low, bad[0].highest_C.high),
            index=s.degrees(max(h.index_C or 0.0 for h in bad)),
        )  # fmt: skip
        heads = sum(h.flock.heads for h in bad)
        yield Caution("heat", max(h.grade for h in bad), heads, where, said, say("ahead.heat_act"))


def _feed(feed: Sequence[FeedLeft], flocks: Sequence[Flock], s: Spoken, day: date) -> Iterator[Caution]:
    language = s.farm.holding.language
    for left in feed:
        if left.empty_on is None or left.order_by is None or left.order_by > day:
            continue
        eaters = [f for f in flocks if _eats(s.farm, f) == left.feed]
        said = say(
            "ahead.feed_out", feed=left.feed, on=day_and_month(left.empty_on, language),
            order=day_and_month(left.order_by, language),
        )  # fmt: skip
        grade = 3 if (left.days or 0) <= 1 else 2
        where = tuple(dict.fromkeys(f.place for f in eaters))
        yield Caution("feed", grade, sum(f.heads for f in eaters), where, said, say("ahead.feed_out_act"))


def _eats(farm: Farm, flock: Flock) -> str | None:
    sexes = (None, *flock.sexes)
    phases = [p for p in farm.lines[flock.line].feeding if p.sex in sexes and p.from_d <= flock.age_d]
    return max(phases, key=lambda p: p.from_d).feed if phases else None


def _joined(kind: str, bad: Sequence[BrooderHeat | Gust | Water], parts: Sequence[str], act: str) -> Caution:
    heads = sum(b.heads for b in bad)
    return Caution(kind, max(b.grade for b in bad), heads, tuple(b.place for b in bad), " ".join(parts), act)
