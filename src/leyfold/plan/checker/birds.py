"""The birds of one batch and sex: how many, how heavy, what they eat, drop and lay, day by day.

Written anew beside `season`, from the same conventions (docs/models.md) and the equations of `nature`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np

from leyfold.nature import dung, growth, intake, lay, sun
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Batch, Draft, Out, Plan
from leyfold.nouns.stock import FeedPhase, Line, Sex
from leyfold.plan.checker.days import Days, Floats

__all__ = ["Flock", "come", "flock"]

WEEK_D, YEAR_D = 7, 365
KJ_A_KCAL = 4.184


@dataclass(frozen=True, slots=True, eq=False)
class Flock:
    """All arrays are [day]. `alive`: heads at the day's start had none been taken, 0 before they come; `left`
    the share of them not taken yet; `weight_kg`, `n_kg` (dropped) and `eggs` of one of those left; `feed` the
    name of what it eats; `taken` heads killed or put out on the day, `taken_kg` their live weight."""

    batch: Batch
    sex: Sex
    line: Line
    age_d: Floats
    alive: Floats
    left: Floats
    weight_kg: Floats
    n_kg: Floats
    eggs: Floats
    feed: tuple[str, ...]
    taken: Floats
    taken_kg: Floats

    @property
    def heads(self) -> Floats:
        return self.alive * self.left


def come(batch: Batch, line: Line) -> dict[Sex, float]:
    """Heads by sex on the day the batch arrives; of a set, those that should hatch."""
    if batch.origin != "set":
        return {"pullet": batch.heads.get("pullet", 0.0), "cockerel": batch.heads.get("cockerel", 0.0)}
    fertile = (batch.eggs or 0) * line.fertility.value if batch.fertile is None else float(batch.fertile)
    chicks = fertile * line.hatch_of_fertile.value * _kept_eggs(batch.stored_d, line)
    return {"pullet": chicks * line.share_pullets.value, "cockerel": chicks * (1 - line.share_pullets.value)}


def _kept_eggs(stored_d: int, line: Line) -> float:
    """The mean over eggs of 0, 1, .. days, as many of each, of what storage leaves of their hatch."""
    free, late = line.storage_free_d.value, line.storage_late_from_d.value
    left = [
        1.0
        - line.storage_loss_per_d.value * max(0.0, min(age, late) - free)
        - line.storage_late_loss_per_d.value * max(0.0, age - late)
        for age in range(stored_d + 1)
    ]
    return sum(max(share, 0.0) for share in left) / len(left)


def flock(farm: Farm, plan: Plan, days: Days, batch: Batch, sex: Sex) -> Flock:
    """The flock over the days walked."""
    line = farm.lines[batch.line]
    traits = line.of(sex)
    age = days.since(batch.hatched_on)
    here = age >= (batch.arrives_on - batch.hatched_on).days
    grown = np.maximum(age, 0.0)
    alive = np.where(here, come(batch, line)[sex] * _living(batch, sex, line, days), 0.0)
    weight = np.asarray(growth.by_curve(traits.growth, grown))
    gain = np.asarray(growth.by_curve(traits.growth, grown + 1.0)) - weight
    leaving: Sequence[Draft | Out] = batch.drafts
    if sex == "pullet":
        leaving = [out for out in plan.outs if out.batch == batch.id]
    left, factor, taken, taken_kg = _taking(
        [x for x in leaving if x.on >= batch.arrives_on],
        traits.weight_cv.value if sex == "cockerel" else 0.0,
        days, alive, weight,
    )  # fmt: skip
    weight, gain = weight * factor, gain * factor
    feed = _eats(line.feeding, sex, grown)
    eggs, egg_kg = _laying(farm, batch, line, days) if sex == "pullet" else (np.zeros(days.count),) * 2
    ripe = (grown >= round(line.point_of_lay_d.value)) & (sex == "pullet")
    warmth = np.array([farm.temperature_C[days.day(i).month - 1].value for i in range(days.count)])
    energy = np.array([farm.feeds[name].energy_kcal_per_kg.value for name in feed])
    protein = np.array([farm.feeds[name].protein.value for name in feed])
    cold_kj = intake.cold_extra_kj(weight, np.maximum(grown, 1.0), warmth) * traits.cold_share.value
    outside = days.since(batch.turnout_on or days.first) >= 0
    grower = intake.eaten_kg(
        weight,
        gain,
        maintenance_kg_per_kg075=traits.maintenance_kg_per_kg075.value,
        per_gain_kg_per_kg=traits.per_gain_kg_per_kg.value,
        cold_kg=outside * cold_kj / (KJ_A_KCAL * energy),
    )
    hen = intake.hen_energy_nrc_1994_kcal(
        np.maximum(weight, 1e-3), warmth, gain_g_per_d=gain * 1000, egg_mass_g_per_d=eggs * egg_kg * 1000
    )
    given = intake.given_kg(np.where(ripe, hen / energy, grower), waste_share=traits.waste_share.value)
    kept = gain * traits.nitrogen_per_gain.value + eggs * egg_kg * line.hen.nitrogen_per_egg_kg.value
    n_kg = np.maximum(given * np.asarray(dung.nitrogen_share(protein)) - kept, 0.0)
    return Flock(batch, sex, line, age, alive, left, weight, n_kg, eggs, feed, taken, taken_kg)


def _living(batch: Batch, sex: Sex, line: Line, days: Days) -> Floats:
    """[day] share alive of those that arrived: one rate a day within a stage, the last one going on."""
    turnout = _age(batch, batch.turnout_on, line.turnout_d.value)
    parted = max(_age(batch, batch.sort_on, line.sort_d.value), turnout)
    if sex == "cockerel":
        reared = _age(batch, batch.drafts[-1].on if batch.drafts else None, line.kill_d.value)
    else:
        reared = _age(batch, batch.house_on, line.house_d.value)
    reared = max(reared, parted)
    stages = [
        (min(WEEK_D, turnout), line.survival_first_week.value),
        (turnout, line.survival_brooder.value),
        (parted, line.survival_shelter.value),
        (reared, line.of(sex).survival_grower.value),
    ]
    if sex == "pullet":
        stages.append((reared + YEAR_D, line.hen.survival_hen_year.value))
    arrived = (batch.arrives_on - batch.hatched_on).days
    oldest = max((days.day(days.count) - batch.hatched_on).days, arrived + 1, 1)
    daily, start, rate = np.ones(oldest), 0, 1.0
    for end, survival in stages:
        if end > start:
            rate = survival ** (1.0 / (end - start))
            daily[start:end] = rate
            start = end
    daily[start:] = rate
    share = np.concatenate(([1.0], np.cumprod(daily)))
    ages = days.since(batch.hatched_on).astype(np.int64)
    return np.asarray(share[np.clip(ages, arrived, oldest)] / share[arrived])


def _age(batch: Batch, day: date | None, usual_d: float) -> int:
    return max(round(usual_d) if day is None else (day - batch.hatched_on).days, 0)


def _taking(
    leaving: Sequence[Draft | Out], cv: float, days: Days, alive: Floats, weight: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """[day] share left, weight of those left over the mean, heads taken and their kg. The heaviest of a
    normal flock go first: both means are of a normal cut at quantiles."""
    left, factor = np.ones(days.count), np.ones(days.count)
    taken, taken_kg = np.zeros(days.count), np.zeros(days.count)
    gone = 0.0
    for event in sorted(leaving, key=lambda x: x.on):
        now = gone + (1.0 - gone) * event.share
        if now <= gone:
            continue
        at = days.index(event.on)
        if 0 <= at < days.count:
            heavy = 1.0 + cv * (_bell(now) - _bell(gone)) / (now - gone)
            taken[at] += alive[at] * (now - gone)
            taken_kg[at] += alive[at] * (now - gone) * weight[at] * heavy
        after = days.span(event.on, None)
        left[after] = 1.0 - now
        factor[after] = 1.0 - cv * _bell(now) / (1.0 - now) if now < 1.0 else 1.0
        gone = now
    return left, factor, taken, taken_kg


def _bell(upper: float) -> float:
    """Density of the normal at the point with the share `upper` above it."""
    return 0.0 if upper <= 0.0 or upper >= 1.0 else NormalDist().pdf(NormalDist().inv_cdf(1.0 - upper))


def _eats(feeding: Sequence[FeedPhase], sex: Sex, age_d: Floats) -> tuple[str, ...]:
    """[day] the feed of the last phase begun, of the first before any has."""
    own = sorted((p for p in feeding if p.sex in (None, sex)), key=lambda p: (p.from_d, p.sex or ""))
    begun = np.searchsorted([phase.from_d for phase in own], age_d, side="right")
    return tuple(own[i].feed for i in np.maximum(begun - 1, 0).tolist())


def _laying(farm: Farm, batch: Batch, line: Line, days: Days) -> tuple[Floats, Floats]:
    """[day] eggs a hen and kg an egg. She begins on the first day after point of lay with light enough, and
    the curve runs by her age less the days she waited."""
    ripe = batch.hatched_on + timedelta(days=round(line.point_of_lay_d.value))
    end = days.day(days.count)
    nothing = np.zeros(days.count)
    if ripe >= end:
        return nothing, nothing
    start = min(ripe, days.first)
    every = [start + timedelta(days=i) for i in range((end - start).days)]
    light = np.asarray(
        sun.day_length_h(farm.holding.latitude_deg, np.array([d.timetuple().tm_yday for d in every]))
    )
    house = farm.houses.get(batch.house or "")
    if house is not None and house.light_h is not None:
        light = np.maximum(light, house.light_h)
    hen = line.hen
    begins = next(
        (d for d, h in zip(every, light, strict=True) if d >= ripe and h >= hen.light_needed_h.value), None
    )
    if begins is None:
        return nothing, nothing
    age = days.since(batch.hatched_on)
    lit = lay.light_factor(
        light[-days.count :],
        dark_h=hen.light_dark_h.value,
        full_h=hen.light_full_h.value,
        at_dark=hen.lay_share_at_dark.value,
    )
    rate = lay.yang(
        np.maximum(age - (begins - ripe).days, 0.0) / WEEK_D,
        a=hen.lay_a.value,
        b_per_wk=hen.lay_b_per_wk.value,
        c_per_wk=hen.lay_c_per_wk.value,
        d_wk=hen.lay_d_wk.value,
    )
    grams = lay.egg_weight_g(
        np.maximum(age, 0.0) / WEEK_D,
        p=hen.egg_p_g.value,
        q=hen.egg_q_g.value,
        r_per_wk=hen.egg_r_per_wk.value,
    )
    lays = days.since(begins) >= 0
    return np.where(lays, rate * lit, 0.0), np.where(lays, grams / 1000.0, 0.0)
