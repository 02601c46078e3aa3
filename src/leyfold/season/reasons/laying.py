"""What a hen of the lot lays on a day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from leyfold.nature import lay, sun
from leyfold.nouns.why import Step, Term
from leyfold.season.laying import DAYS_A_WEEK
from leyfold.season.reasons.heads import heads
from leyfold.season.reasons.lot import Bird, given, step, written
from leyfold.words import say

__all__ = ["egg_mass", "laid", "laid_kg"]

Floats = NDArray[np.float64]


def laid(bird: Bird) -> Step:
    """Eggs of the lot."""
    there, rate = heads(bird), _rate(bird)
    return step("laid", there.value * rate.value, "eggs", "heads * laid_each", there, rate)


def laid_kg(bird: Bird) -> Step:
    """Their weight."""
    there, each = heads(bird), egg_mass(bird)
    return step("laid_kg", there.value * each.value, "kg", "heads * egg_mass", there, each)


def egg_mass(bird: Bird) -> Step:
    """Kilograms of egg a bird lays on the day."""
    rate = _rate(bird)
    if rate.value == 0.0:
        return step("egg_mass", 0.0, "kg", "laid_each", rate)
    each = _egg(bird)
    return step("egg_mass", rate.value * each.value, "kg", "laid_each * egg", rate, each)


def _rate(bird: Bird) -> Step:
    """Eggs a bird: none before she is old enough and has had the light to start."""
    hen, ripe = bird.row.line.hen, given("point_of_lay", bird.row.line.point_of_lay_d)
    if not bird.is_ripe:
        if bird.row.sex == "cockerel":
            return step("laid_each", 0.0, "eggs", "0", called="laid_by_cockerel")
        return step("laid_each", 0.0, "eggs", "0", ripe, bird.age, called="laid_too_young")
    waited = _waited_d(bird)
    needed = given("light_needed", hen.light_needed_h)
    if waited is None:
        return step("laid_each", 0.0, "eggs", "0", needed, _light(bird), called="laid_too_dark")
    started = written("waited", waited, "d", say("why.source_waited", hours=f"{needed.value:g}"), "guess")
    weeks = step(
        "weeks", (bird.age_d - waited) / DAYS_A_WEEK, "week", "(age - waited) / 7", bird.age, started
    )
    lit = _lit(bird)
    curve = lay.yang(
        weeks.value,
        a=hen.lay_a.value,
        b_per_wk=hen.lay_b_per_wk.value,
        c_per_wk=hen.lay_c_per_wk.value,
        d_wk=hen.lay_d_wk.value,
    )
    terms: tuple[Term, ...] = (
        given("lay_a", hen.lay_a),
        given("lay_b", hen.lay_b_per_wk),
        weeks,
        given("lay_c", hen.lay_c_per_wk),
        given("lay_d", hen.lay_d_wk),
        lit,
    )
    formula = "lay_a * exp(-lay_b * weeks) / (1 + exp(-lay_c * (weeks - lay_d))) * lit"
    source = say("why.source_lay")
    return step(
        "laid_each", float(curve) * lit.value, "eggs", formula, *terms, source=source, evidence="memory"
    )


def _waited_d(bird: Bird) -> int | None:
    """Days from point of lay until the light was enough; None while it has not been."""
    ripe = bird.row.batch.hatched_on + timedelta(days=round(bird.row.line.point_of_lay_d.value))
    days = [ripe + timedelta(days=i) for i in range((bird.day - ripe).days + 1)]
    needed = bird.row.line.hen.light_needed_h.value
    return lay.first_egg_delay_d(_hours(bird, days, bird.row.batch.house), from_day=0, needed_h=needed)


def _hours(bird: Bird, days: Sequence[date], house: str | None) -> Floats:
    """Hours of light on some days, by the sun and by the lamps of the house."""
    kit = bird.farm.houses.get(house or "")
    of_year = [day.timetuple().tm_yday for day in days]
    daylight = np.asarray(sun.day_length_h(bird.farm.holding.latitude_deg, of_year))
    return daylight if kit is None or kit.light_h is None else np.maximum(daylight, kit.light_h)


def _light(bird: Bird) -> Term:
    """Hours of light on the day, by the sun or by the lamps of the house."""
    house = bird.row.batch.house
    hours, sun_h = (float(_hours(bird, [bird.day], of)[0]) for of in (house, None))
    if hours > sun_h:
        where = say("why.source_kit", table="houses", place=house)
        return written("lamps", hours, "h", where, "farm file")
    latitude = f"{bird.farm.holding.latitude_deg:g}"
    return written("daylight", hours, "h", say("why.source_daylight", latitude=latitude), "paper")


def _lit(bird: Bird) -> Step:
    """Share of full lay kept at the light of the day."""
    hen, hours = bird.row.line.hen, _light(bird)
    dark, full = given("dark", hen.light_dark_h), given("full", hen.light_full_h)
    at_dark = given("at_dark", hen.lay_share_at_dark)
    value = lay.light_factor(hours.value, dark_h=dark.value, full_h=full.value, at_dark=at_dark.value)
    if hours.value >= full.value:
        return step("lit", float(value), "share", "1", hours, full)
    if hours.value <= dark.value:
        return step("lit", float(value), "share", "at_dark", at_dark, hours, dark)
    formula = f"at_dark + (1 - at_dark) * ({hours.key} - dark) / (full - dark)"
    return step("lit", float(value), "share", formula, at_dark, hours, dark, full)


def _egg(bird: Bird) -> Step:
    hen, age = bird.row.line.hen, bird.age
    grams = lay.egg_weight_g(
        age.value / DAYS_A_WEEK, p=hen.egg_p_g.value, q=hen.egg_q_g.value, r_per_wk=hen.egg_r_per_wk.value
    )
    terms = (given("egg_p", hen.egg_p_g), given("egg_q", hen.egg_q_g), given("egg_r", hen.egg_r_per_wk), age)
    source = say("why.source_egg")
    formula = "(egg_p - egg_q * exp(-egg_r * age / 7)) / 1000"
    return step("egg", float(grams) / 1000, "kg", formula, *terms, source=source, evidence="paper")
