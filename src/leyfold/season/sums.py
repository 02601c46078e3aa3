"""What a whole season comes to."""

from __future__ import annotations

from dataclasses import dataclass

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch
from leyfold.nouns.season import Season

__all__ = ["Sums", "goes_to_house", "sums"]


@dataclass(frozen=True, slots=True)
class Sums:
    """Over all days shown. `carcass_kg` is of cockerels; `pullets_to_house` of those not in it at first."""

    eggs_set: float
    hatched: float
    bought: float
    dead: float
    killed: float
    killed_kg: float
    carcass_kg: float
    pullets_to_house: float
    alive_at_end: float
    feed_kg: dict[str, float]
    water_l: float
    n_kg: float
    p_kg: float
    k_kg: float
    eggs: float


def goes_to_house(batch: Batch) -> bool:
    """Whether pullets of a dated batch go to the house in the season: those there at first may be in it."""
    return batch.house_on is not None and (batch.origin != "present" or batch.house_on > batch.arrives_on)


def sums(farm: Farm, season: Season) -> Sums:
    """Birds and eggs, kg and litres of the season expected."""
    came = {"set": 0.0, "bought": 0.0, "present": 0.0}
    carcass = housed = 0.0
    for batch in season.plan.batches:
        rows = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id]
        start = min(max(season.index(batch.arrives_on), 0), season.days - 1)
        # Birds that leave on the day they come are in no lot's heads.
        came[batch.origin] += float((season.heads + season.killed)[rows, start].sum())
        cocks = [i for i in rows if season.lots[i].sex == "cockerel"]
        carcass += float(season.killed_kg[cocks].sum()) * farm.lines[batch.line].dressing_share.value
        if goes_to_house(batch) and batch.house_on is not None:
            day = season.index(batch.house_on)
            hens = [i for i in rows if season.lots[i].sex == "pullet"]
            housed += float(season.heads[hens, day].sum()) if 0 <= day < season.days else 0.0
    feed = {
        kind: float(season.feed_kg[season.feed_kind == index].sum())
        for index, kind in enumerate(season.feeds)
    }
    last = season.heads[:, -1] - season.dead[:, -1]
    return Sums(
        eggs_set=float(sum(b.eggs or 0 for b in season.plan.batches if b.origin == "set")),
        hatched=came["set"],
        bought=came["bought"] + came["present"],
        dead=float(season.dead.sum()),
        killed=float(season.killed.sum()),
        killed_kg=float(season.killed_kg.sum()),
        carcass_kg=carcass,
        pullets_to_house=housed,
        alive_at_end=float(last.sum()),
        feed_kg=feed,
        water_l=float(season.water_l.sum()),
        n_kg=float(season.n_kg.sum()),
        p_kg=float(season.p_kg.sum()),
        k_kg=float(season.k_kg.sum()),
        eggs=float(season.eggs.sum()),
    )
