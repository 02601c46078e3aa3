"""When each batch's pullets come into lay, and what they lay from then on.

A pullet past point of lay starts once the day gives her enough light; the published curve, which runs by
age, then runs by her age less the days she waited: one that waited for the spring starts it in the spring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from leyfold.nature import lay, sun
from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Kept
from leyfold.season.course import Course, Row

__all__ = ["Laying", "laying"]

Floats = NDArray[np.float64]

DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """[row, day] of the course: past point of lay or not, eggs a bird and day, kg an egg (0 before any)."""

    ripe: NDArray[np.bool_]
    rate: Floats
    egg_kg: Floats


_LAYING: Kept[Laying] = Kept(6)


def laying(farm: Farm, course: Course) -> Laying:
    """Cockerels never lay; pullets of a batch go by the light of the house the batch is for. Its arrays may
    not be written to."""
    # Neither what they weigh nor how many they are comes into it.
    rows = tuple(
        (row.sex, row.line.hen, row.line.point_of_lay_d, row.batch.hatched_on, row.batch.house)
        for row in course.rows
    )
    key = (farm.holding.latitude_deg, farm.houses, course.window, rows)
    return _LAYING.get(key, lambda: _laying(farm, course))


def _laying(farm: Farm, course: Course) -> Laying:
    shape = course.age_d.shape
    ripe, rate, each = np.zeros(shape, dtype=bool), np.zeros(shape), np.zeros(shape)
    opens = [_ripe_on(row) for row in course.rows if row.sex == "pullet"]
    first = min([course.window.first.toordinal(), *opens])
    daylight = _daylight_h(farm, first, course.window.first.toordinal() + course.window.days)
    for i, row in enumerate(course.rows):
        if row.sex == "pullet":
            ripe[i] = course.age_d[i] >= round(row.line.point_of_lay_d.value)
            if ripe[i].any():
                light = _in_house(farm, row, daylight)
                rate[i], each[i] = _lays(
                    row, course.age_d[i], light[_ripe_on(row) - first :], light[-shape[1] :]
                )
    for array in (ripe, rate, each):
        array.setflags(write=False)
    return Laying(ripe, rate, each)


def _ripe_on(row: Row) -> int:
    return row.batch.hatched_on.toordinal() + round(row.line.point_of_lay_d.value)


def _daylight_h(farm: Farm, first: int, end: int) -> Floats:
    """Hours of daylight on each day from `first` to before `end` (ordinals)."""
    days = np.datetime64("0001-01-01", "D") + np.arange(first - 1, end - 1)
    day_of_year = (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(np.int64) + 1
    return np.asarray(sun.day_length_h(farm.holding.latitude_deg, day_of_year))


def _in_house(farm: Farm, row: Row, daylight_h: Floats) -> Floats:
    house = farm.houses.get(row.batch.house or "")
    return daylight_h if house is None or house.light_h is None else np.maximum(daylight_h, house.light_h)


def _lays(row: Row, age_d: NDArray[np.int64], since_ripe_h: Floats, now_h: Floats) -> tuple[Floats, Floats]:
    """[day] eggs a bird, kg an egg. `since_ripe_h` is light from point of lay on, `now_h` of the window."""
    hen = row.line.hen
    delay = lay.first_egg_delay_d(since_ripe_h, from_day=0, needed_h=hen.light_needed_h.value)
    if delay is None:
        return np.zeros(age_d.shape), np.zeros(age_d.shape)
    lays = age_d >= round(row.line.point_of_lay_d.value) + delay
    rate = lay.yang(
        np.maximum(age_d - delay, 0) / DAYS_A_WEEK,
        a=hen.lay_a.value,
        b_per_wk=hen.lay_b_per_wk.value,
        c_per_wk=hen.lay_c_per_wk.value,
        d_wk=hen.lay_d_wk.value,
    )
    lit = lay.light_factor(
        now_h,
        dark_h=hen.light_dark_h.value,
        full_h=hen.light_full_h.value,
        at_dark=hen.lay_share_at_dark.value,
    )
    grams = lay.egg_weight_g(
        np.maximum(age_d, 0) / DAYS_A_WEEK,
        p=hen.egg_p_g.value,
        q=hen.egg_q_g.value,
        r_per_wk=hen.egg_r_per_wk.value,
    )
    return np.where(lays, rate * lit, 0.0), np.where(lays, grams / 1000, 0.0)
