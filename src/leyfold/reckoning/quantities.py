"""How much of everything each batch used and brought, by class and day: what the rates multiply.

Every quantity is linear in the birds of a batch, but for the hours and current of a place, which the lots in
it share by their heads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Brooder, Farm
from leyfold.nouns.reckoning import CLASSES, Class
from leyfold.nouns.season import Season
from leyfold.reckoning.rates import work

__all__ = ["Quantity", "quantities"]

Floats = NDArray[np.float64]

WATTS = 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """`amount` [day] of what the rate `rate` prices."""

    rate: str
    batch: str
    kind: Class
    amount: Floats


def quantities(farm: Farm, season: Season) -> Iterator[Quantity]:
    """Every quantity of the season that is not nothing."""
    by_lot = dict(_by_lot(farm, season))
    shares = _classes(season)
    for rate, amount in by_lot.items():
        for batch in season.plan.batches:
            rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
            for kind in CLASSES:
                sums: Floats = (amount[rows] * shares[kind][rows]).sum(axis=0)
                if sums.any():
                    yield Quantity(rate, batch.id, kind, sums)
    yield from _at_setting(farm, season)
    yield from _handed_over(season)


def _classes(season: Season) -> dict[Class, NDArray[np.bool_]]:
    """[lot, day] which class a bird is of: the day she goes to the house makes a pullet a hen."""
    shape = season.heads.shape
    day = np.arange(season.days)
    housed = {b.id: season.index(b.house_on or b.arrives_on) for b in season.plan.batches}
    cock = np.array([lot.sex == "cockerel" for lot in season.lots]).reshape(-1, 1)
    in_house = np.array([day >= housed[lot.batch] for lot in season.lots]).reshape(shape)
    cocks = np.broadcast_to(cock, shape)
    return {"table": cocks, "pullets": ~cocks & ~in_house, "eggs": ~cocks & in_house}


def _by_lot(farm: Farm, season: Season) -> Iterator[tuple[str, Floats]]:
    """[lot, day] of each rate."""
    for index, feed in enumerate(season.feeds):
        yield f"feed.{feed}", season.feed_kg * (season.feed_kind == index)
    cocks = np.array([lot.sex == "cockerel" for lot in season.lots]).reshape(-1, 1)
    dressing = np.array([_dressing(farm, season, lot.batch) for lot in season.lots]).reshape(-1, 1)
    yield "carcass", season.killed_kg * cocks * dressing
    yield "killing", season.killed * cocks
    yield "old_hen", season.killed * ~cocks
    yield "egg", season.eggs
    yield "water", season.water_l
    yield "labour", _hours(season) + season.eggs * work("egg_h")
    yield "electricity", _lamp_kwh(farm, season)
    yield "bedding", _bedding_kg(season)


def _dressing(farm: Farm, season: Season, batch: str) -> float:
    line = next(b.line for b in season.plan.batches if b.id == batch)
    return farm.lines[line].dressing_share.value


def _in_place(season: Season, share: Callable[[str], float]) -> Floats:
    """[lot, day] of something each place takes a day while birds are in it, shared by heads."""
    found = np.zeros(season.heads.shape)
    for place in season.places.values():
        rows = [i for i, lot in enumerate(season.lots) if lot.place == place.place]
        amount = share(place.place) if rows else 0.0
        if amount:
            heads = season.heads[rows]
            there = heads.sum(axis=0)
            found[rows] = np.divide(heads * amount, there, out=np.zeros_like(heads), where=there > 0)
    return found


def _hours(season: Season) -> Floats:
    per_kind = {kind: work(f"{kind}_h_per_d") for kind in ("brooder", "shelter", "house")}
    return _in_place(season, lambda place: per_kind[season.places[place].kind])


def _lamp_kwh(farm: Farm, season: Season) -> Floats:
    def kwh(place: str) -> float:
        brooder: Brooder | None = farm.brooders.get(place)
        return sum(lamp.watts for lamp in brooder.lamps) / WATTS * work("lamp_h_per_d") if brooder else 0.0

    return _in_place(season, kwh)


def _bedding_kg(season: Season) -> Floats:
    """A chick's bedding on the day she comes to the brooder, a hen's day by day."""
    kinds = [season.places[lot.place].kind for lot in season.lots]
    brooding = np.array([kind == "brooder" for kind in kinds]).reshape(-1, 1)
    housed = np.array([kind == "house" for kind in kinds]).reshape(-1, 1)
    heads = season.heads * brooding
    before = np.concatenate([np.zeros((len(kinds), 1)), heads[:, :-1]], axis=1)
    comes = heads * (before == 0)
    found: Floats = comes * work("bedding_kg_per_chick") + season.heads * housed * work(
        "bedding_kg_per_hen_d"
    )
    return found


def _at_setting(farm: Farm, season: Season) -> Iterator[Quantity]:
    """Eggs set, birds bought, and the hours and current of the machine, shared by the sexes hatched."""
    for i, batch in enumerate(season.plan.batches):
        share = farm.lines[batch.line].share_pullets.value
        halves: tuple[tuple[Class, float], ...] = (("pullets", share), ("table", 1.0 - share))
        day = season.index(batch.set_on or batch.arrives_on)
        if not 0 <= day < season.days or batch.origin == "present":
            continue
        once = np.zeros(season.days)
        once[day] = 1.0
        if batch.origin == "bought":
            for kind, sex in (("pullets", "pullet"), ("table", "cockerel")):
                heads = batch.heads.get(sex, 0.0)  # type: ignore[call-overload]
                if heads:
                    yield Quantity("day_old", batch.id, kind, once * heads)  # type: ignore[arg-type]
            continue
        assert batch.eggs is not None
        machine = farm.incubators[batch.incubator] if batch.incubator else None
        watts = machine.watts if machine and machine.watts is not None else work("incubator_w")
        eggs = season.hatching_eggs[i]
        room = machine.eggs if machine else batch.eggs
        kwh = eggs / room * watts / WATTS * 24.0
        for kind, part in halves:
            yield Quantity("hatching_egg_in", batch.id, kind, once * batch.eggs * part)
            yield Quantity("labour", batch.id, kind, once * work("set_h") * part)
            yield Quantity("electricity", batch.id, kind, kwh * part)
        yield Quantity("hatching_egg_out", batch.id, "eggs", once * batch.eggs)


def _handed_over(season: Season) -> Iterator[Quantity]:
    """Pullets that go to the house: what rearing hands to the laying flock."""
    for batch in season.plan.batches:
        if batch.house_on is None or batch.origin == "present":
            continue
        day = season.index(batch.house_on)
        if 0 <= day < season.days:
            rows = [i for i, x in enumerate(season.lots) if x.batch == batch.id and x.sex == "pullet"]
            once = np.zeros(season.days)
            once[day] = float(season.heads[rows, day].sum())
            yield Quantity("pullet_out", batch.id, "pullets", once)
            yield Quantity("pullet_in", batch.id, "eggs", once)
