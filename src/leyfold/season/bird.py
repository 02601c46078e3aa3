"""What one bird eats, drinks, drops and lays on each day of its course."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from leyfold.nature import dung, intake, water
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.kept import Kept
from leyfold.nouns.stock import Feed, Line, Sex
from leyfold.season.course import Course, Row, one_bird
from leyfold.season.dates import Window
from leyfold.season.laying import laying
from leyfold.words import say

__all__ = ["PerHead", "alike", "per_head", "temperatures"]

Floats = NDArray[np.float64]

KJ_PER_KCAL = 4.184


@dataclass(frozen=True, slots=True, eq=False)
class PerHead:
    """[row, day], of one bird: kg of feed given and its index in the farm's feeds (-1 before hatch),
    litres drunk, kg of nutrients dropped with the feed it wastes, eggs and their kg."""

    feed_kg: Floats
    feed_kind: NDArray[np.int8]
    water_l: Floats
    n_kg: Floats
    p_kg: Floats
    k_kg: Floats
    eggs: Floats
    egg_kg: Floats


_EACH: Kept[PerHead] = Kept(6)


def alike(
    farm: Farm,
    course: Course,
    pick: Sequence[int] | NDArray[np.intp],
    weight_factor: Sequence[float] | Floats,
    warmth_C: Floats | None = None,
) -> tuple[PerHead, NDArray[np.intp]]:
    """`per_head` where birds of one row and weight eat alike, one of each; and which of these each of those
    picked is. Its arrays may not be written to."""
    pairs, of = np.unique(np.column_stack((pick, weight_factor)), axis=0, return_inverse=True)
    rows, factors = pairs[:, 0].astype(np.intp), pairs[:, 1]
    of = of.reshape(-1)
    if warmth_C is not None:
        return per_head(farm, course, rows, factors, warmth_C), of
    # What one bird does hangs neither on how many they are nor on which place she is in, but for its lamps.
    lines = {name: one_bird(line) for name, line in farm.lines.items()}
    bare, alone = replace(farm, lines={}), replace(course, rows=tuple(_alone(r, lines) for r in course.rows))
    weighed = (course.weight_kg.tobytes(), course.gain_kg.tobytes())
    key = (bare, alone.rows, course.window, weighed, rows.tobytes(), factors.tobytes())
    return _EACH.get(key, lambda: per_head(bare, alone, rows, factors)), of


def _alone(row: Row, lines: Mapping[str, Line]) -> Row:
    batch = replace(
        row.batch, incubator=None, brooder=None, ring=None, eggs=None, fertile=None, stored_d=0, heads={}
    )
    return Row(batch, row.sex, lines[batch.line])


def temperatures(farm: Farm, window: Window) -> Floats:
    """[day] mean out of doors: the month's mean holds on each of its days."""
    months = window.dates.astype("datetime64[M]").astype(np.int64) % 12
    return np.array([f.value for f in farm.temperature_C])[months]


def per_head(
    farm: Farm,
    course: Course,
    pick: Sequence[int] | NDArray[np.intp],
    weight_factor: Sequence[float] | Floats,
    warmth_C: Floats | None = None,
) -> PerHead:
    """One bird of each picked row of the course, of `weight_factor` times the row's mean weight, out of
    doors at the temperatures of the months, or at `warmth_C`, [day] or [pick, day]."""
    at = np.asarray(pick, dtype=np.intp)
    rows = [course.rows[i] for i in pick]
    age = course.age_d[at]
    hatched = age >= 0
    factor = np.asarray(weight_factor, dtype=np.float64)[:, None]
    weight = course.weight_kg[at] * factor
    gain = course.gain_kg[at] * factor * hatched
    warmth = np.atleast_2d(temperatures(farm, course.window) if warmth_C is None else warmth_C)
    kinds, feed = _feeds(farm, rows, age)

    lays = laying(farm, course)
    rate, egg_kg_each, ripe = lays.rate[at], lays.egg_kg[at], lays.ripe[at]
    eaten = np.where(ripe, _hen_eats(weight, gain, warmth, rate, egg_kg_each, feed), 0.0)
    eaten += np.where(hatched & ~ripe, _grower_eats(rows, age, weight, gain, warmth, feed), 0.0)
    given = intake.given_kg(eaten, waste_share=_column(rows, lambda r: r.traits.waste_share))
    drunk = water.drunk_l(
        given,
        warmth,
        litres_per_kg=_column(rows, lambda r: r.traits.water_l_per_kg),
        slope_per_K=_column(rows, lambda r: r.traits.water_slope_per_K),
        base_C=_column(rows, lambda r: r.traits.water_base_C),
    )
    egg_kg = rate * egg_kg_each
    n_kg, p_kg, k_kg = (
        _dropped(rows, nutrient, given, feed(nutrient), gain, egg_kg)
        for nutrient in ("nitrogen", "phosphorus", "potassium")
    )
    return PerHead(given, kinds, drunk, n_kg, p_kg, k_kg, rate, egg_kg)


def _column(rows: Sequence[Row], figure: Callable[[Row], Figure]) -> Floats:
    return np.array([figure(r).value for r in rows], dtype=np.float64)[:, None]


def _feeds(
    farm: Farm, rows: Sequence[Row], age: NDArray[np.int64]
) -> tuple[NDArray[np.int8], Callable[[str], Floats]]:
    """[row, day] index of the feed of the day's age, and a function from a content to its [row, day]."""
    order = {name: i for i, name in enumerate(farm.feeds)}
    kinds = np.full(age.shape, -1, dtype=np.int8)
    alike: dict[tuple[str, Sex], list[int]] = {}
    for i, row in enumerate(rows):
        alike.setdefault((row.line.id, row.sex), []).append(i)
    for (_, sex), same in alike.items():
        feeding = rows[same[0]].line.feeding
        phases = sorted((p for p in feeding if p.sex in (None, sex)), key=lambda p: (p.from_d, p.sex or ""))
        at = np.searchsorted([p.from_d for p in phases], age[same], side="right") - 1
        kinds[same] = np.where(at >= 0, np.array([order[p.feed] for p in phases], dtype=np.int8)[at], -1)
    feeds: Iterable[Feed] = farm.feeds.values()
    contents = {
        "nitrogen": [float(dung.nitrogen_share(f.protein.value)) for f in feeds],
        "phosphorus": [f.phosphorus.value for f in feeds],
        "potassium": [f.potassium.value for f in feeds],
        "energy": [f.energy_kcal_per_kg.value for f in feeds],
    }
    return kinds, lambda content: np.array(contents[content])[kinds]


def _grower_eats(
    rows: Sequence[Row],
    age: NDArray[np.int64],
    weight: Floats,
    gain: Floats,
    warmth: Floats,
    feed: Callable[[str], Floats],
) -> Floats:
    """Maintenance and gain, and out of doors what the cold costs."""
    turnout = np.array([(r.batch.turnout_on or r.batch.arrives_on).toordinal() for r in rows])
    hatched = np.array([r.batch.hatched_on.toordinal() for r in rows])
    outside = age >= (turnout - hatched)[:, None]
    cold_kj = intake.cold_extra_kj(weight, np.maximum(age, 1), np.broadcast_to(warmth, age.shape))
    cold_kg = (
        outside * cold_kj * _column(rows, lambda r: r.traits.cold_share) / (feed("energy") * KJ_PER_KCAL)
    )
    return intake.eaten_kg(
        weight,
        gain,
        maintenance_kg_per_kg075=_column(rows, lambda r: r.traits.maintenance_kg_per_kg075),
        per_gain_kg_per_kg=_column(rows, lambda r: r.traits.per_gain_kg_per_kg),
        cold_kg=cold_kg,
    )


def _hen_eats(
    weight: Floats,
    gain: Floats,
    warmth: Floats,
    rate: Floats,
    egg_kg_each: Floats,
    feed: Callable[[str], Floats],
) -> Floats:
    energy = intake.hen_energy_nrc_1994_kcal(
        weight, warmth, gain_g_per_d=gain * 1000, egg_mass_g_per_d=rate * egg_kg_each * 1000
    )
    return energy / feed("energy")


def _dropped(
    rows: Sequence[Row], nutrient: str, given: Floats, content: Floats, gain: Floats, egg_kg: Floats
) -> Floats:
    kept = _column(rows, lambda r: getattr(r.traits, f"{nutrient}_per_gain"))
    in_egg = _column(rows, lambda r: getattr(r.line.hen, f"{nutrient}_per_egg_kg"))
    short = given * content * (1.0 + dung.ROUNDING) < gain * kept + egg_kg * in_egg
    if short.any():
        row = rows[int(np.argmax(short.any(axis=1)))]
        raise BadInput(
            Fault(
                "farm.toml",
                f"lines.{row.line.id}.{row.sex}",
                say(f"season.short_{nutrient}", line=row.line.name, sex=row.sex),
                say("season.short_mend"),
            )
        )
    return dung.balance_kg(
        given, content, gain_kg=gain, kept_per_gain=kept, egg_kg=egg_kg, kept_per_egg=in_egg
    )
