"""Which hatch to keep for laying: what the pullets of each hatch lay and earn by the end of the season.

A later hatch does not make the same hen: pullets that come of age under a short day wait for the spring.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from leyfold.nature.sun import day_length_h
from leyfold.nouns.farm import Farm
from leyfold.nouns.reckoning import Reckoning
from leyfold.nouns.season import Season

__all__ = ["Hatch", "hatches"]

AT_WEEKS = 20


@dataclass(frozen=True, slots=True)
class Hatch:
    """Pullets of one batch that went to the house in the season. `day_h`: hours of daylight when they are 20
    weeks old. A hen each: `eggs` by the end of the season, and `earns`: her eggs less all she costs from the
    house on, without the worth of the pullet; `worth_left` is what she is worth at the end."""

    batch: str
    hatched_on: date
    day_h: float
    first_egg_on: date | None
    pullets: float
    eggs: float
    earns: float
    worth_left: float

    @property
    def pays(self) -> float:
        """The most that such a pullet is worth on the day she goes to the house, by the season's end."""
        return self.earns + self.worth_left


def hatches(farm: Farm, season: Season, reckoning: Reckoning) -> tuple[Hatch, ...]:
    """In the order of hatch."""
    rows = []
    for batch in sorted(season.plan.batches, key=lambda b: b.hatched_on):
        own = [e for e in reckoning.entries if e.batch == batch.id and e.kind == "eggs"]
        pullets = sum(float(e.quantity.sum()) for e in own if e.rate.id == "pullet_in")
        if pullets <= 0:
            continue
        lots = [i for i, lot in enumerate(season.lots) if lot.batch == batch.id and lot.sex == "pullet"]
        eggs = season.eggs[lots].sum(axis=0)
        laying = np.flatnonzero(eggs)
        at = batch.hatched_on + timedelta(weeks=AT_WEEKS)
        money = sum(e.sum for e in own if not e.rate.stock and e.rate.id != "pullet_in")
        left = sum(e.sum for e in own if e.rate.id.startswith("left."))
        rows.append(
            Hatch(
                batch.id,
                batch.hatched_on,
                float(day_length_h(farm.holding.latitude_deg, at.timetuple().tm_yday)),
                season.day(int(laying[0])) if laying.size else None,
                pullets,
                float(eggs.sum()) / pullets,
                money / pullets,
                left / pullets,
            )
        )
    return tuple(rows)
