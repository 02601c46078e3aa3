"""Birds that cannot go out: the barn week by week, its lamps, litter and air, and the sets still free."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from leyfold.nature.ammonia import MOST_PPM, ammonia_g_per_h, fresh_air_m3_per_h
from leyfold.nature.machine import under_heat
from leyfold.nouns.errors import BadInput
from leyfold.nouns.replanned import Number
from leyfold.plan.kit import carried
from leyfold.plan.offers import night_C
from leyfold.plan.replan.look import look
from leyfold.plan.replan.mending.birds import cancelled, not_yet_set
from leyfold.plan.replan.numbers.view import SOMEBODY, View
from leyfold.plan.replan.told import promise
from leyfold.reckoning.rates import work
from leyfold.season.dates import dated
from leyfold.words import say

__all__ = ["kept_in_longer", "sets_free", "weeks_inside"]

WEEK = 7
SMALL = 1e-9
MOST_WEEKS, MOST_SETS = 10, 4
LOST = timedelta(weeks=6)


def weeks_inside(view: View) -> Iterator[Number]:
    """Floor, lamps and air of every room with birds, week by week until there is grass; for six weeks where
    a room is lost."""
    ends = [s.until for s in view.case.of("no_grass") if s.until is not None]
    ends += [view.day + LOST for s in view.case.of("lost") if s.kit in view.case.farm.brooders]
    season, farm = view.now.season, view.case.farm
    last = min(season.index(max(ends, default=view.day)), season.days, view.today() + WEEK * MOST_WEEKS)
    if last > view.today():
        yield view.number("barn_weeks", float(-(-(last - view.today()) // WEEK)), None, view.day)
    for a in range(view.today(), last, WEEK):
        days = slice(a, min(a + WEEK, last))
        for name, kit in farm.brooders.items():
            place = season.places[name]
            if float(place.heads[days].max()) < SOMEBODY:
                continue
            on = season.day(a)
            want = float(place.floor_share[days].max()) * kit.floor_m2
            words = {
                "on": on,
                "room": name,
                "heads": float(place.heads[days].max()),
                "there": kit.floor_m2,
                "want": view.tell.n(want, 1),
                "over": say("replan.over") if want > kit.floor_m2 * (1 + SMALL) else "",
                "air": _air(view, name, days),
            }
            carries = min(carried(farm, kit, season.day(d)) for d in range(days.start, days.stop))
            warmed = max(_warmed(view, name, d) for d in range(days.start, days.stop))
            if np.isfinite(carries):
                key = "barn_lamps_m2" if warmed <= carries else "barn_cold_m2"
                yield view.number(key, want, name, on, carries=carries, warmed=warmed, **words)
            else:
                yield view.number("barn_m2", want, name, on, **words)


def _warmed(view: View, room: str, at: int) -> float:
    """Birds of a room as so many day-olds under heat, on the typical night of a day."""
    season = view.now.season
    barn = night_C(view.case.farm, season.day(at))
    return sum(
        float(season.heads[i, at] * under_heat(max(int(season.age_d[i, at]), 0), barn))
        for i, lot in enumerate(season.lots)
        if lot.place == room and season.heads[i, at] > 0
    )


def _air(view: View, room: str, days: slice) -> float:
    """Fresh air [m3/h] that carries off the ammonia of the worst day."""
    season = view.now.season
    rows = [i for i, lot in enumerate(season.lots) if lot.place == room]
    n_kg = float(season.n_kg[rows, days].sum(axis=0).max())
    mean_C = view.case.farm.temperature_C[season.day(days.start).month - 1].value
    return float(fresh_air_m3_per_h(ammonia_g_per_h(n_kg), mean_C, most_ppm=MOST_PPM))


def kept_in_longer(view: View) -> Iterator[Number]:
    """Litter of the days that a batch stays in longer: the reckoning counts it once a chick."""
    farm, season = view.case.farm, view.now.season
    planned = {b.id: b for b in dated(farm, view.before.plan)}
    each, kg_price = work(farm, "bedding_kg_per_chick"), view.price("bedding")
    for batch in season.plan.batches:
        old = planned.get(batch.id)
        if old is None or old.turnout_on is None or batch.turnout_on is None:
            continue
        longer = (batch.turnout_on - old.turnout_on).days
        usual = (old.turnout_on - batch.hatched_on).days
        if longer > 0 and usual > 0:
            at = view.at(old.turnout_on)
            heads = float(season.heads[view.rows(batch.id), at].sum())
            kg = heads * each * longer / usual
            words = {"batch": batch.id, "heads": heads, "days": longer, "kg": kg}
            if kg_price is None:
                yield view.number("litter_kg", kg, batch.id, old.turnout_on, **words)
            else:
                yield view.number(
                    "litter_priced_kg", kg, batch.id, old.turnout_on, money=kg * kg_price, **words
                )


def sets_free(view: View) -> Iterator[Number]:
    """What each set not yet set is worth: the money, wishes and limits without it. Eggs in a machine are not
    free."""
    for batch in not_yet_set(view.now)[:MOST_SETS]:
        idea = cancelled(view.now, batch)
        try:
            seen = look(idea.case, idea.plan, drawn=False)
        except BadInput:
            continue
        if view.mean.money is None or seen.money is None:
            continue
        cost = view.mean.money - seen.money
        worse = [
            f"{c.wish} {100 * c.chance:.0f} %"
            for c in seen.chances
            if c.chance < min((view.mean.chance(c.wish) or 0.0) - 0.005, 1.0)
        ]
        whole = [promise(b) for b in view.mean.ids if b not in seen.ids]
        key = "set_free" if cost >= 0 else "set_earns"
        yield view.number(
            key,
            cost,
            batch.id,
            batch.set_on,
            batch=batch.id,
            eggs=batch.eggs,
            set_on=batch.set_on,
            money=abs(cost),
            wishes=_said("wishes_then", worse),
            mends=_said("mends_then", whole),
        )
    inside = [b for b in view.now.plan.batches if b.set_on and b.set_on <= view.day < b.hatched_on]
    for batch in inside:
        yield view.number(
            "set_done",
            float(batch.eggs or 0),
            batch.id,
            _on(batch.set_on),
            batch=batch.id,
            eggs=batch.eggs,
            hatches=batch.hatched_on,
        )


def _on(day: date | None) -> date:
    assert day is not None
    return day


def _said(key: str, which: list[str]) -> str:
    return say(f"replan.{key}", which=", ".join(which)) if which else ""
