"""The grass a farm's shelters may stand on, as far as its folder tells, and how much of it a plan takes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from leyfold.farm.texts import HIDDEN
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Planned
from leyfold.nouns.planning import Grass
from leyfold.nouns.season import Season
from leyfold.season.complete import complete
from leyfold.season.dates import Window
from leyfold.season.expect import expect
from leyfold.season.hens_ground import nets_m2
from leyfold.services.ground import LAND_FILE
from leyfold.services.kept_stands import kept_layouts
from leyfold.services.opened import Opened

if TYPE_CHECKING:
    from leyfold.plan.answer import Answer

__all__ = ["GrassTaken", "grass_for", "inputs_sha256", "on_grass", "own_grass"]

Known = Literal["farm", "seen", "laid"]


@dataclass(frozen=True, slots=True)
class GrassTaken:
    """Fresh grass under shelters over a season [m2], and how much there is for it: by the farm's own word
    ("farm"), by lanes that anyone could peg out ("seen": so much at the least), by strips laid out in earnest
    ("laid"); None where nobody knows. `nets_m2`: what hens' paddocks take of that, where a limit says how
    large they are. `fits`: it is enough, on days of hay too."""

    takes_m2: float
    there_m2: float | None = None
    known: Known | None = None
    nets_m2: float = 0.0
    fits: bool = True


def own_grass(opened: Opened) -> Farm:
    """The farm with the grass that its file speaks of, less what was used on days behind the records' day."""
    farm = opened.farm
    if farm.planning.ground_m2 is None:
        return farm
    return _with(farm, _left(opened, (Grass(farm.planning.ground_m2),)))


def grass_for(opened: Opened, farm: Farm, plan: Plan) -> tuple[Farm, GrassTaken]:
    """`farm` (by `own_grass`) with the grass there is for a completed plan, and what the plan takes of it.

    What the farm file says holds. Else the land is looked at, where there is one: laying out its strips takes
    seconds, so that is done (and remembered) only where straight lanes do not hold the plan. BadInput for
    land that cannot be read.
    """
    season = expect(farm, plan)
    taken = GrassTaken(_used(farm, season, Grass(0.0)))
    for known, grass in _counted(opened, farm, season):
        farm = _with(farm, grass)
        nets = _nets_m2(farm, season) if any(g.nets for g in grass) else 0.0
        fits = all(_used(farm, season, g) + nets * g.nets <= g.m2 for g in grass)
        taken = GrassTaken(taken.takes_m2, max(g.m2 for g in grass), known, nets, fits)
        if fits:
            break
    return farm, taken


def inputs_sha256(opened: Opened) -> str:
    """Of all files that an answer on the farm's grass is made from: the land among them."""
    file = opened.texts.folder / LAND_FILE
    land = file.read_bytes() if file.is_file() else b""
    return hashlib.sha256(opened.sha256.encode() + land).hexdigest() if land else opened.sha256


def on_grass(
    opened: Opened, farm: Farm, ask: Callable[[Farm], Answer]
) -> tuple[Farm, Answer, GrassTaken | None]:
    """What `ask` answers for `farm` (by `own_grass`), which is as much as it says of grass then, and what the
    plan takes of it, None where no plan fits.

    The best plan of all is also the best on the grass there is, if it has room on it: so the land is not
    looked at before there is one, and only where it has none is asked a second time.
    """
    answer = ask(farm)
    if not isinstance(answer.outcome, Planned):
        return farm, answer, None
    narrow, taken = grass_for(opened, farm, answer.outcome.completed)
    if taken.fits:
        return narrow, answer, taken
    answer = ask(narrow)
    if not isinstance(answer.outcome, Planned):
        return narrow, answer, None
    return (narrow, answer, grass_for(opened, farm, answer.outcome.completed)[1])


def _with(farm: Farm, grass: tuple[Grass, ...]) -> Farm:
    return replace(farm, planning=replace(farm.planning, grass=grass))


def _counted(opened: Opened, farm: Farm, season: Season) -> Iterator[tuple[Known, tuple[Grass, ...]]]:
    """The grass there is: by the farm's word, or at first glance and then in earnest."""
    file = opened.texts.folder / LAND_FILE
    if opened.farm.planning.ground_m2 is not None:
        yield "farm", farm.planning.fresh
    elif file.is_file() and farm.shelters:
        from leyfold.ground.read import read_land
        from leyfold.ground.there import grass_laid, grass_seen

        place = (farm.holding.latitude_deg, farm.holding.longitude_deg)
        land, _ = read_land(file, name=LAND_FILE, place=place)
        sizes = [(kit.length_m, kit.width_m) for kit in farm.shelters.values()]
        span = (season.first, season.day(season.days))
        yield "seen", _left(opened, grass_seen(land, sizes, *span))
        lay = kept_layouts(opened.texts.folder / HIDDEN)
        yield "laid", _left(opened, grass_laid(land, sizes, *span, lay))


def _left(opened: Opened, grass: tuple[Grass, ...]) -> tuple[Grass, ...]:
    """Less what was used on days of the plan that lie behind the records' day."""
    first, today = opened.plan.first, opened.ahead.first
    if first is None or today is None or first >= today:
        return grass
    before = expect(opened.farm, complete(opened.farm, opened.plan))
    used = _used(opened.farm, before, Grass(0.0, first, today))
    return tuple(
        replace(g, m2=max(g.m2 - used, 0.0)) if g.first is None or g.first <= today else g for g in grass
    )


def _used(farm: Farm, season: Season, grass: Grass) -> float:
    """m2 under shelters on the days that some grass is said of."""
    first = 0 if grass.first is None else max(season.index(grass.first), 0)
    until = season.days if grass.until is None else max(season.index(grass.until), 0)
    return sum(
        float((season.places[name].heads[first:until] > 0).sum()) * kit.floor_m2 * kit.moves_per_day
        for name, kit in farm.shelters.items()
    )


def _nets_m2(farm: Farm, season: Season) -> float:
    heads = {house: season.places[house].heads for house in farm.houses}
    return nets_m2(farm, Window(season.first, season.days), heads)
