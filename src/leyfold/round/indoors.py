"""Under heat: the brooder lamps tonight, and what suffers first when the mains go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from leyfold.farm.tables import figure
from leyfold.nature.machine import (
    brooder_carries,
    cold_embryo_grade,
    cooled_C,
    fuse_amps,
    hours_until_cooled,
    needed_C,
    under_heat,
)
from leyfold.nouns.ahead import BrooderHeat, Flock, GeneratorLoad, MainsOff
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.round.figures import tonight

__all__ = ["brooders", "hours_borne", "mains_off"]

MOST_H = 72.0


def brooders(farm: Farm, flocks: Sequence[Flock], barn_C: float) -> tuple[BrooderHeat, ...]:
    """Every brooder with birds that still look for heat tonight, the barn as cold as the air outside.

    Act where the lamps do not carry them with any one lamp or any one fuse out, or a fuse is overloaded;
    danger where they do not with all burning. Birds count as chicks under heat in proportion to how much
    warmth they lack of what day-olds lack.
    """
    found = []
    for name, kit in farm.brooders.items():
        mine = [f for f in flocks if f.place == name]
        lack = [float(under_heat(f.age_d, barn_C)) for f in mine]
        chicks = sum(f.heads * part for f, part in zip(mine, lack, strict=True))
        if not mine or chicks <= 0:
            continue
        lamps = [(lamp.watts, lamp.fuse) for lamp in kit.lamps]
        carries = brooder_carries(lamps, float(np.clip(barn_C, -40, 40)))
        amps = fuse_amps(lamps, volts=figure("kit.mains_v").value)
        over = tuple(f for f, a in amps.items() if f in kit.fuses_a and a > kit.fuses_a[f])
        all_on, lamp_out, fuse_out = (float(c) for c in carries)
        grade = 3 if chicks > all_on else 2 if chicks > min(lamp_out, fuse_out) or over else 0
        found.append(BrooderHeat(
            name, chicks, float(needed_C(min(f.age_d for f in mine))), barn_C, sum(w for w, _ in lamps),
            (all_on, lamp_out, fuse_out), over, grade,
        ))  # fmt: skip
    return tuple(found)


def hours_borne(day: int, *, room_C: float, tau_h: float) -> float | None:
    """Hours without mains until a set on `day` of incubation is in danger, by `cold_embryo_grade` of the time
    under 32 °C; None where it is not within three days."""
    below = float(hours_until_cooled(32.0, room_C=room_C, tau_h=tau_h))
    if below > MOST_H:
        return None
    hours = np.arange(0.0, MOST_H, 0.25)
    coldest = cooled_C(hours, room_C=room_C, tau_h=tau_h)
    grade = cold_embryo_grade(np.maximum(hours - below, 0.0), coldest, min(max(day, 0), 22))
    danger = np.flatnonzero(grade >= 3)
    return float(hours[danger[0]]) if len(danger) else None


def mains_off(farm: Farm, season: Season, heat: Sequence[BrooderHeat], day: date, room_C: float) -> MainsOff:
    """If the mains went tonight: chicks under heat first, within the hour (common practice), then each
    machine by the hours its set bears. The room stands as cold as the air outside: the worst case."""
    order: list[tuple[str, float | None, float, float | None]] = [
        (b.place, 1.0, b.heads, b.watts or None) for b in heat if b.heads > 0
    ]
    machines = []
    for batch in season.plan.batches:
        if batch.set_on is None or not batch.set_on <= day < batch.hatched_on or batch.incubator is None:
            continue
        hours = hours_borne((day - batch.set_on).days, room_C=room_C, tau_h=tonight(farm, "incubator_tau"))
        watts = farm.incubators[batch.incubator].watts
        machines.append((batch.incubator, hours, float(batch.eggs or 0), watts))
    machines.sort(key=lambda m: (MOST_H if m[1] is None else m[1], -m[2], m[0]))
    order += machines
    watts_of = {name: w for name, _, _, w in order if w is not None}
    generators = tuple(
        _loaded(name, kit.watts, list(dict.fromkeys(name for name, *_ in order)), watts_of)
        for name, kit in farm.generators.items()
        if kit.owned(day)
    )
    return MainsOff(tuple(order), sum(watts_of.values()), generators)


def _loaded(name: str, watts: float, order: Sequence[str], watts_of: Mapping[str, float]) -> GeneratorLoad:
    """Each in the order of need that still fits; one whose watts nobody wrote down is left without."""
    takes: list[str] = []
    for place in order:
        if place in watts_of and sum(watts_of[p] for p in (*takes, place)) <= watts:
            takes.append(place)
    return GeneratorLoad(name, watts, tuple(takes), tuple(p for p in order if p not in takes))
