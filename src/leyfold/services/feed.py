"""Feed, bedding and water ahead of a farm, and the ration it mixes itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from leyfold.farm.tables import figure
from leyfold.feed.batch import Batch, weigh_out
from leyfold.feed.bedding import Bedding, bedding
from leyfold.feed.changeover import Change, changes
from leyfold.feed.demand import demand
from leyfold.feed.haul import Hauled, hauled
from leyfold.feed.least_cost import Clash, Mix, least_cost
from leyfold.feed.lime import Lime, lime, no_calcium
from leyfold.feed.mix import Need, lacks
from leyfold.feed.needs import Label, cited_ration, labels, needs_of, stages
from leyfold.feed.orders import Orders, plan_orders
from leyfold.feed.stores import Filled, empty_on, hoppers, stores
from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.feed import Ingredient, Ration
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.opened import open_farm
from leyfold.words import say

__all__ = ["FeedAnswer", "RationAnswer", "feed_of", "mixed"]


@dataclass(frozen=True, slots=True)
class RationAnswer:
    """`mix` and `batch` are None where no mix fits: `clash` then says why."""

    ration: Ration
    needs: tuple[Need, ...]
    batch_kg: float
    mix: Mix | None
    batch: Batch | None
    clash: Clash | None


@dataclass(frozen=True, slots=True)
class FeedAnswer:
    """`empty_on` is the day each bin runs out if nothing comes, bags as "", by feed."""

    farm: Farm
    orders: tuple[Orders, ...]
    empty_on: Mapping[str, Mapping[str, date | None]]
    hoppers: tuple[Filled, ...]
    changes: tuple[Change, ...]
    lime: tuple[Lime, ...]
    no_calcium: tuple[str, ...]
    labels: tuple[Label, ...]
    bedding: tuple[Bedding, ...]
    hauled: tuple[Hauled, ...]
    ration: RationAnswer | None
    inputs_sha256: str


def feed_of(where: Path, at: datetime, ration: str | None = None) -> FeedAnswer:
    """What the farm in `where` needs to order, change and haul from the instant `at`, and the cheapest mix
    for `ration`: one of its own by name, or a cited requirement.

    BadInput for a ration there is not, and where a price or an analysis it takes is missing.
    """
    opened = open_farm(where, at)
    farm = opened.farm
    mix = None if ration is None else mixed(farm, ration)
    season = expect(farm, complete(farm, opened.ahead))
    changed = changes(farm, opened.described, season, opened.state)
    wanted = demand(season, changed)
    today = civil(at, farm.holding.zone)
    kept = stores(farm, opened.state, wanted)
    return FeedAnswer(
        farm=farm,
        orders=tuple(plan_orders(store, wanted, today) for store in kept),
        empty_on={store.feed: empty_on(store, wanted) for store in kept},
        hoppers=hoppers(farm, wanted),
        changes=tuple(c for c in changed if c.on is None or c.on >= season.first),
        lime=lime(farm, season),
        no_calcium=no_calcium(farm, season),
        labels=labels(farm, season),
        bedding=bedding(farm, season),
        hauled=hauled(farm, season),
        ration=mix,
        inputs_sha256=opened.sha256,
    )


def mixed(farm: Farm, name: str) -> RationAnswer:
    """The cheapest mix of the farm's ingredients for the ration `name`, and one batch of it weighed out."""
    ration = farm.rations.get(name) or (cited_ration(name) if name in stages() else None)
    if ration is None:
        known = ", ".join((*farm.rations, *stages()))
        raise BadInput(
            Fault(
                "farm.toml",
                f"rations.{name}",
                say("feed.no_ration", name=name),
                say("feed.no_ration_mend", names=known),
            )
        )
    used = tuple(farm.ingredients.values())
    if not used:
        raise BadInput(
            Fault("farm.toml", "ingredients", say("feed.no_ingredients"), say("feed.no_ingredients_mend"))
        )
    needs = needs_of(ration)
    _known(used, needs)
    batch_kg = ration.batch_kg or figure("feeding.mixer_kg").value
    found = least_cost(used, needs, most_kg=batch_kg)
    if isinstance(found, Clash):
        return RationAnswer(ration, needs, batch_kg, None, None, found)
    step = figure("feeding.scale_step_kg").value
    batch = weigh_out(found.shares, used, needs, batch_kg=batch_kg, step_kg=step)
    return RationAnswer(ration, needs, batch_kg, found, batch, None)


def _known(used: Sequence[Ingredient], needs: Sequence[Need]) -> None:
    """BadInput with every price and every content that the mix takes and nobody gave."""
    faults = [
        Fault(
            "farm.toml",
            f"ingredients.{i.id}.price",
            say("feed.no_price", name=i.id),
            say("feed.no_price_mend"),
        )
        for i in used
        if i.price_per_kg is None
    ]
    nutrients = dict.fromkeys(need.nutrient for need in needs)
    for unknown in lacks(used, nutrients):
        key = "energy" if unknown.nutrient == "energy_kcal_per_kg" else unknown.nutrient
        what = say(
            "feed.no_content", name=unknown.ingredient, nutrient=say(f"feed.nutrient_{unknown.nutrient}")
        )
        mend = say("feed.no_content_mend", key=key)
        faults.append(Fault("farm.toml", f"ingredients.{unknown.ingredient}.{key}", what, mend))
    if faults:
        raise BadInput(*faults)
