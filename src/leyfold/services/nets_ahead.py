"""The nets of a farm from today on. Paddocks hang on the land and the plan alone and are cut once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

from leyfold.farm.tables import figure
from leyfold.nouns.farm import NET_REST_D, Farm, Net
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Ground, Land, Layout, NetAhead, NetStay, Paddock
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.season.grazing import grass_grows
from leyfold.services.kept_stands import kept_paddocks

__all__ = ["nets_ahead"]

AHEAD_D = 17
"""A week of rounds and what is due in the week after the last of them."""

_PADDOCKS: Kept[tuple[Paddock, ...]] = Kept(4)
_PLANNED: Kept[tuple[NetStay, ...]] = Kept(8)
_AHEAD: Kept[NetAhead] = Kept(8)


def nets_ahead(
    farm: Farm, planned: Season, state: State, today: date, land: Land | None,
    laid: Sequence[tuple[Layout, Ground]], known: object, kept: Path,
) -> tuple[NetAhead, ...]:  # fmt: skip
    """Every net round a house that has birds, from `today` on. `laid` are the shelters' stands as planned,
    `known` all that land and stands hang on; paddocks once cut are kept in the folder `kept`. `land` is None
    where none is drawn."""
    from leyfold.ground.whole import spells, wished_m2

    found = []
    for net in farm.nets.values():
        if net.house is None or not net.owned(today):
            continue
        until = today + timedelta(days=AHEAD_D)
        all_ = spells(planned, net.house)
        spell = next((s for s in all_ if today < s[1] and s[0] < until), None)
        if spell is None:
            continue
        shifts = tuple(m for m in state.fence_moves if m.what == net.id and m.on >= spell[0])
        months = tuple(f.value for f in farm.temperature_C)
        wished = None if land is None else wished_m2(farm, net, planned)
        on = (known, net, wished, all_, months, shifts, state.breaks, today)
        make = partial(_ahead, farm, planned, state, net, spell, today, land, laid, known, kept)
        found.append(_AHEAD.get(on, make))
    return tuple(found)


def _ahead(
    farm: Farm, planned: Season, state: State, net: Net, spell: tuple[date, date], today: date,
    land: Land | None, laid: Sequence[tuple[Layout, Ground]], known: object, kept: Path,
) -> NetAhead:  # fmt: skip
    from leyfold.ground.netted import corners_deg, grazed, net_ahead
    from leyfold.ground.whole import net_stays, paddocks_of, strips_taken, wished_m2
    from leyfold.nature.grazing import days_behind_cattle

    def behind(day: date) -> tuple[float, float]:
        mean = farm.temperature_C[day.month - 1].value
        first, last = (figure(f"tonight.behind_cattle.{end}").value for end in ("first_K_d", "last_K_d"))
        days = days_behind_cattle(mean, first_K_d=first, last_K_d=last)
        return float(days.first_d), float(days.last_d)

    origin = None if land is None else (land.origin_lon_deg, land.origin_lat_deg)
    paddocks: tuple[Paddock, ...] = ()
    stays: tuple[NetStay, ...] = ()
    if land is not None:
        wished = wished_m2(farm, net, planned)
        cut = (known, net.rolls, net.roll_m, wished)
        paddocks = _PADDOCKS.get(
            cut,
            lambda: paddocks_of(farm, net, planned, land, strips_taken(laid), wished, kept_paddocks(kept)),
        )
        months = tuple(f.value for f in farm.temperature_C)
        stays = _PLANNED.get(
            (cut, spell, net.shift_d, months),
            lambda: net_stays(farm, net, paddocks, land, *spell, NET_REST_D),
        )
    ahead = net_ahead(
        net, paddocks, stays, spell, state.fence_moves, today, today + timedelta(days=AHEAD_D),
        shift_days=net.stay_d, rest_days=NET_REST_D,
        fields=() if land is None else land.fields, grazed=grazed(state.breaks, behind),
        moving=lambda day: grass_grows(farm, day), there=spell[0] == planned.first, origin=origin,
    )  # fmt: skip
    if origin is None:
        return ahead
    return replace(ahead, corners_deg={s.paddock.id: corners_deg(s.paddock, origin) for s in ahead.coming})
