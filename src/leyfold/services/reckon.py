"""What a farm's season costs and brings, and what its choices are worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from leyfold.farm.tables import all_figures
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.reckoning import Reckoning
from leyfold.nouns.season import Season
from leyfold.reckoning.compare import Comparison, compare
from leyfold.reckoning.keeping import Hens, Keeping, hens, keeping
from leyfold.reckoning.layers import Hatch, hatches
from leyfold.reckoning.matters import Matter, matters
from leyfold.reckoning.orders import Filled, Promise, Ring, filled, promises, ring_first, supplies
from leyfold.reckoning.reckon import reckon
from leyfold.reckoning.room import Pinch, pinches
from leyfold.reckoning.sums import Unit, cash_by_week, units
from leyfold.season.complete import complete
from leyfold.season.draw import draw
from leyfold.season.expect import expect
from leyfold.services.opened import Opened, open_farm, open_side
from leyfold.words import say

__all__ = ["ReckonAnswer", "reckon_farm"]

FEWEST_DRAWS, MOST_DRAWS = 100, 100_000
"""Of fewer seasons a 5 % point says nothing."""


@dataclass(frozen=True, slots=True)
class ReckonAnswer:
    """`reckoning` as asked for, with or without own hours; `other` the other way about. `ring` where killing
    days were asked to slip, `against` where another farm was named. `guesses`: figures of the table of work
    that rest on nothing better."""

    farm: Farm
    season: Season
    reckoning: Reckoning
    other: Reckoning
    units: tuple[Unit, ...]
    other_units: tuple[Unit, ...]
    cash: tuple[tuple[date, float], ...]
    matters: tuple[Matter, ...]
    keepings: tuple[Keeping, ...]
    hatches: tuple[Hatch, ...]
    hens: tuple[Hens, ...]
    pinches: tuple[Pinch, ...]
    promises: tuple[Promise, ...]
    orders: tuple[Filled, ...]
    ring: Ring | None
    against: Comparison | None
    against_name: str
    guesses: dict[str, Figure]
    inputs_sha256: str


def reckon_farm(
    where: Path,
    at: datetime,
    *,
    own_hours: bool = True,
    n: int = 1000,
    seed: int = 0,
    slip_d: int | None = None,
    against: Path | None = None,
) -> ReckonAnswer:
    """The farm in `where` as of `at`, with `n` seasons drawn (0: none, and no bands; else 100 to 100,000).
    `slip_d`: killing comes so many days later than planned. `against`: another farm, or another plan
    of this one, that it is held against.

    BadInput where a number cannot be, and as `reckon`.
    """
    _check(n, seed, slip_d)
    opened = open_farm(where, at)
    farm, season = opened.farm, _season(opened)
    draws = draw(farm, season.plan, n=n, seed=seed) if n else None
    reckoning = reckon(farm, season, draws, own_hours=own_hours)
    other = reckon(farm, season, own_hours=not own_hours)
    kept = {b.id: k for b in season.plan.batches if (k := keeping(farm, season, b)) is not None}
    found = supplies(farm, season, draws)
    orders = filled(farm, season, found)
    ring = None
    if slip_d is not None and found:
        ring = ring_first(farm, season, draws, days=slip_d, slips_on=found[0].on)
    theirs, name = _against(against, where, at, own_hours)
    return ReckonAnswer(
        farm,
        season,
        reckoning,
        other,
        units(reckoning),
        units(other),
        cash_by_week(farm, reckoning),
        matters(farm, season, reckoning),
        tuple(kept.values()),
        hatches(farm, season, reckoning),
        tuple(h for b in season.plan.batches if (h := hens(farm, season, b)) is not None),
        pinches(farm, season, kept),
        promises(farm, season, found),
        orders,
        ring,
        None if theirs is None else compare(theirs, reckoning),
        name,
        _guesses(farm),
        opened.sha256,
    )


def _season(opened: Opened) -> Season:
    return expect(opened.farm, complete(opened.farm, opened.ahead))


def _against(there: Path | None, here: Path, at: datetime, own_hours: bool) -> tuple[Reckoning | None, str]:
    if there is None:
        return None, ""
    opened, name = open_side(there, here, at, "leyfold reckon --against")
    return reckon(opened.farm, _season(opened), own_hours=own_hours), name


def _guesses(farm: Farm) -> dict[str, Figure]:
    found = {path.partition(".")[2]: figure for path, figure in all_figures("work").items()}
    return {k: f for k, f in found.items() if f.evidence == "guess" and k not in farm.work}


def _check(n: int, seed: int, slip_d: int | None) -> None:
    faults = []
    if n and not FEWEST_DRAWS <= n <= MOST_DRAWS:
        faults.append(_wrong("--draws", "draws", given=n, least=FEWEST_DRAWS, most=MOST_DRAWS))
    if seed < 0:
        faults.append(_wrong("--seed", "seed", given=seed))
    if slip_d is not None and not 1 <= slip_d <= 365:
        faults.append(_wrong("--slip", "slip", given=slip_d))
    if faults:
        raise BadInput(*faults)


def _wrong(field: str, key: str, **values: object) -> Fault:
    return Fault(
        "leyfold reckon",
        field,
        say(f"reckoning.{key}", **values),
        say(f"reckoning.{key}_mend", **values),
    )
