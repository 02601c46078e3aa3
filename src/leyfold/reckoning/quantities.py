"""How much of everything each batch used and brought, by class and day: what the rates multiply."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.reckoning import CLASSES, Class
from leyfold.nouns.season import Season
from leyfold.reckoning.hatching import at_setting
from leyfold.reckoning.lump import Lump
from leyfold.reckoning.rates import Rates, work
from leyfold.reckoning.worth import killing, worth

__all__ = ["Flow", "Flows", "by_batch", "load_kg", "lumps"]

Floats = NDArray[np.float64]

WATTS = 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class Flow:
    """`amount` [lot, day] of what `rate` prices: so much for each head there on the day, or for each bird
    killed (`by`). `kind` where it is not the class that the birds are of on the day."""

    rate: str
    by: Literal["heads", "killed"]
    amount: Floats
    kind: Class | None = None


class Flows:
    """The quantities of one season that go with its birds, and the class of every bird on every day."""

    def __init__(self, farm: Farm, season: Season, rates: Rates) -> None:
        self.farm, self.season, self.rates = farm, season, rates
        self.batches = {batch.id: batch for batch in season.plan.batches}
        self.cocks = np.array([lot.sex == "cockerel" for lot in season.lots], dtype=bool).reshape(-1, 1)

    @cached_property
    def classes(self) -> dict[Class, NDArray[np.bool_]]:
        """[lot, day] which class a bird is of: the day she goes to the house makes a pullet a hen."""
        season = self.season
        shape = season.heads.shape
        day = np.arange(season.days)
        batches = (self.batches[lot.batch] for lot in season.lots)
        housed = [season.index(batch.house_on or batch.arrives_on) for batch in batches]
        in_house = (day >= np.array(housed, dtype=np.int64).reshape(-1, 1)).reshape(shape)
        cocks = np.broadcast_to(self.cocks, shape)
        return {"table": cocks, "pullets": ~cocks & ~in_house, "eggs": ~cocks & in_house}

    def __iter__(self) -> Iterator[Flow]:
        season, farm = self.season, self.farm
        for index, feed in enumerate(season.feeds):
            eaten = season.feed_kg * (season.feed_kind == index)
            yield Flow(f"feed.{feed}", "heads", eaten)
            if load := load_kg(farm, feed):
                yield Flow("delivery", "heads", eaten / load)
        yield Flow("water", "heads", season.water_l)
        yield Flow("bedding", "heads", self._bedding_kg())
        yield Flow(
            "labour",
            "heads",
            season.eggs * work(self.farm, "egg_h") + self._sorted() * work(self.farm, "sort_h"),
        )
        yield Flow("egg", "heads", season.eggs)
        yield from self._killing()
        yield from self._housing()
        yield from self._stock()

    def _killing(self) -> Iterator[Flow]:
        season = self.season
        dressing = [self.farm.lines[self.batches[lot.batch].line].dressing_share.value for lot in season.lots]
        carcass = season.killed_kg * self.cocks * np.array(dressing).reshape(-1, 1)
        yield Flow("carcass", "killed", carcass)
        for rate, each in killing(self.rates, 1.0).items():
            yield Flow(rate, "killed", season.killed * self.cocks * each)
        yield Flow("old_hen", "killed", season.killed * ~self.cocks)

    def _housing(self) -> Iterator[Flow]:
        """Pullets that go to the house on a day after they came: what rearing hands to the laying flock."""
        handed = np.zeros(self.season.heads.shape)
        for i, batch in self._lots("pullet"):
            if batch.house_on is not None and batch.house_on > batch.arrives_on:
                day = self.season.index(batch.house_on)
                if 0 <= day < self.season.days:
                    handed[i, day] = self.season.heads[i, day]
        yield Flow("pullet_out", "heads", handed, "pullets")
        yield Flow("pullet_in", "heads", handed, "eggs")

    def _stock(self) -> Iterator[Flow]:
        """Birds there at first or bought, on the day they come into the books; and those left at the end."""
        season = self.season
        found: dict[str, Floats] = {}

        def put(rate: str, i: int, day: int, heads: float, batch: Batch, after: int = 0) -> None:
            age = int(season.age_d[i, day]) + after
            for name, each in worth(self.farm, self.rates, batch, season.lots[i].sex, age).items():
                of = found.setdefault(f"{rate}.{name}", np.zeros(season.heads.shape))
                of[i, day] += each * heads

        last = season.days - 1
        for i, batch in self._lots():
            arrives = season.index(batch.arrives_on)
            day = max(arrives, 0)
            if day <= last and season.heads[i, day] > 0 and (arrives < 0 or batch.origin != "set"):
                bought = arrives >= 0 and batch.origin == "bought"
                put("bought" if bought else "first", i, day, float(season.heads[i, day]), batch)
            elif 0 <= day <= last and batch.origin != "set" and season.killed[i, day] > 0:
                # Gone on the very day they came.
                bought = arrives >= 0 and batch.origin == "bought"
                put("bought" if bought else "first", i, day, float(season.killed[i, day]), batch)
            left = float(season.heads[i, last] - season.dead[i, last])
            if left > 0:
                put("left", i, last, left, batch, after=1)
        for rate, amount in found.items():
            yield Flow(rate, "heads", amount)

    def _lots(self, sex: str | None = None) -> Iterator[tuple[int, Batch]]:
        for i, lot in enumerate(self.season.lots):
            if sex in (None, lot.sex):
                yield i, self.batches[lot.batch]

    def _bedding_kg(self) -> Floats:
        """A chick's bedding on the day she comes to the brooder, a hen's day by day in the house."""
        season = self.season
        found = np.zeros(season.heads.shape)
        for i, batch in self._lots():
            kind = season.places[season.lots[i].place].kind
            day = season.index(batch.arrives_on)
            if kind == "house":
                found[i] = season.heads[i] * work(self.farm, "bedding_kg_per_hen_d")
            elif kind == "brooder" and batch.origin != "present" and 0 <= day < season.days:
                found[i, day] = season.heads[i, day] * work(self.farm, "bedding_kg_per_chick")
        return found

    def _sorted(self) -> Floats:
        """Birds caught and sorted, on the day."""
        season = self.season
        found = np.zeros(season.heads.shape)
        for i, batch in self._lots():
            if batch.sort_on is not None and batch.sort_on > batch.arrives_on:
                day = season.index(batch.sort_on)
                if 0 <= day < season.days:
                    found[i, day] = season.heads[i, day]
        return found


def load_kg(farm: Farm, feed: str) -> float:
    """What the lorry brings of a feed at once: what its bins hold, or no more than a lorry carries; 0 where
    the feed is kept in no bin, and no lorry comes for it."""
    return sum(
        store.holds_kg if store.lorry_most_kg is None else min(store.holds_kg, store.lorry_most_kg)
        for store in farm.bins.values()
        if store.feed == feed
    )


def lumps(farm: Farm, season: Season, flows: Flows) -> Iterator[Lump]:
    """What does not go by the head: hours and current of places in use, shared by the heads there that day;
    eggs set, the hours of a set and the current of the machine."""
    hours = {kind: work(farm, f"{kind}_h_per_d") for kind in ("brooder", "shelter", "house")}

    def watts(place: str) -> float:
        brooder = farm.brooders.get(place)
        return sum(lamp.watts for lamp in brooder.lamps) if brooder else 0.0

    shared = {
        "labour": _in_place(season, lambda place: hours.get(season.places[place].kind, 0.0)),
        "electricity": _in_place(season, lambda place: watts(place) / WATTS * work(farm, "lamp_h_per_d")),
    }
    for rate, amount in shared.items():
        yield from by_batch(season, flows, rate, amount)
    yield from at_setting(farm, season)


def by_batch(
    season: Season, flows: Flows, rate: str, amount: Floats, kind: Class | None = None
) -> Iterator[Lump]:
    """[lot, day] as sums of each batch and class, without those that are nothing."""
    for batch in season.plan.batches:
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
        for name in CLASSES if kind is None else (kind,):
            part = amount[rows] if kind is not None else amount[rows] * flows.classes[name][rows]
            sums: Floats = part.sum(axis=0)
            if sums.any():
                yield Lump(rate, batch.id, name, sums)


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
