"""What one bird eats, drinks and drops on a day, and the whole lot with it."""

from __future__ import annotations

from typing import Literal

from leyfold.nature import dung, intake, water
from leyfold.nature.heat import lower_critical_temperature_meltzer_1983_C
from leyfold.nouns.why import Step, Term
from leyfold.season.bird import KJ_PER_KCAL
from leyfold.season.reasons.heads import heads
from leyfold.season.reasons.laying import egg_mass
from leyfold.season.reasons.lot import Bird, given, step, written
from leyfold.season.reasons.weight import gain, weight
from leyfold.words import say

__all__ = ["NUTRIENTS", "dropped", "drunk", "fed", "live_kg"]

Nutrient = Literal["nitrogen", "phosphorus", "potassium"]
NUTRIENTS: dict[str, Nutrient] = {"n": "nitrogen", "p": "phosphorus", "k": "potassium"}

LAST_MEASURED_D = 70
"""Age up to which the lower critical temperature was measured; it is kept from then on."""


def live_kg(bird: Bird) -> Step:
    """Live weight of the lot."""
    there, each = heads(bird), weight(bird)
    return step("live_kg", there.value * each.value, "kg", "heads * weight", there, each)


def fed(bird: Bird) -> Step:
    """Feed given to the lot."""
    there, each = heads(bird), _given(bird)
    return step("fed", there.value * each.value, "kg", "heads * fed_each", there, each)


def drunk(bird: Bird) -> Step:
    """Water drunk by the lot."""
    there, each = heads(bird), _drunk(bird)
    return step("drunk", there.value * each.value, "l", "heads * drunk_each", there, each)


def dropped(bird: Bird, nutrient: Nutrient) -> Step:
    """A nutrient that the lot drops, with the feed it wastes."""
    there, each = heads(bird), _dropped(bird, nutrient)
    element = say(f"why.element_{nutrient}")
    value = there.value * each.value
    return step("dropped", value, "kg", "heads * dropped_each", there, each, element=element)


def _given(bird: Bird) -> Step:
    eaten, waste = _eaten(bird), given("waste", bird.row.traits.waste_share)
    value = float(intake.given_kg(eaten.value, waste_share=waste.value))
    return step("fed_each", value, "kg", "eaten / (1 - waste)", eaten, waste)


def _eaten(bird: Bird) -> Step:
    if bird.is_ripe:
        need, energy = _hen_energy(bird), given("energy", bird.feed.energy_kcal_per_kg, feed=bird.feed.id)
        return step("eaten", need.value / energy.value, "kg", "need / energy", need, energy)
    traits = bird.row.traits
    weighs, gained, cold = weight(bird), gain(bird), _cold(bird)
    value = intake.eaten_kg(
        weighs.value,
        gained.value,
        maintenance_kg_per_kg075=traits.maintenance_kg_per_kg075.value,
        per_gain_kg_per_kg=traits.per_gain_kg_per_kg.value,
        cold_kg=0.0 if cold is None else cold.value,
    )
    terms: list[Term] = [
        given("maintenance", traits.maintenance_kg_per_kg075),
        weighs,
        given("per_gain", traits.per_gain_kg_per_kg),
        gained,
    ]
    formula = "maintenance * weight ** 0.75 + per_gain * gain"
    if cold is not None:
        formula, terms = f"{formula} + cold", [*terms, cold]
    return step(
        "eaten", float(value), "kg", formula, *terms, source=say("why.source_intake"), evidence="paper"
    )


def _cold(bird: Bird) -> Step | None:
    """Feed against the cold; None indoors, and where it is warm enough."""
    batch = bird.row.batch
    if bird.day < (batch.turnout_on or batch.arrives_on):
        return None
    age, weighs, warmth = max(bird.age_d, 1), weight(bird), bird.warmth
    at = min(age, LAST_MEASURED_D)
    critical_C = float(lower_critical_temperature_meltzer_1983_C(at))
    if critical_C <= warmth.value:
        return None
    meltzer = say("why.source_critical")
    curve = f"35 - 0.286 * {at}" if at <= 21 else f"63.3 * {at} ** -0.254"
    critical = step("critical", critical_C, "C", curve, source=meltzer, evidence="paper", days=at)
    # A kilogram of bird one degree too cold asks for the slope itself.
    slope = float(intake.cold_extra_kj(1.0, age, critical_C - 1.0))
    need = float(intake.cold_extra_kj(weighs.value, age, warmth.value))
    terms = (
        written("slope", slope, "kJ/kg^0.75/K", say("why.source_cold"), "guess"),
        weighs,
        critical,
        warmth,
    )
    extra = step("cold_kj", need, "kJ", "slope * weight ** 0.75 * (critical - warmth)", *terms)
    share = given("cold_share", bird.row.traits.cold_share)
    energy = given("energy", bird.feed.energy_kcal_per_kg, feed=bird.feed.id)
    value = need * share.value / (energy.value * KJ_PER_KCAL)
    formula = f"cold_kj * cold_share / (energy * {KJ_PER_KCAL:g})"
    return step("cold", value, "kg", formula, extra, share, energy)


def _hen_energy(bird: Bird) -> Step:
    weighs, gained, eggs, warmth = weight(bird), gain(bird), egg_mass(bird), bird.warmth
    value = intake.hen_energy_nrc_1994_kcal(
        weighs.value,
        warmth.value,
        gain_g_per_d=gained.value * 1000,
        egg_mass_g_per_d=eggs.value * 1000,
    )
    formula = "weight ** 0.75 * (173 - 1.95 * warmth) + 5.5 * 1000 * gain + 2.07 * 1000 * egg_mass"
    source = say("why.source_hen_energy")
    return step(
        "need", float(value), "kcal", formula, weighs, warmth, gained, eggs, source=source, evidence="memory"
    )


def _drunk(bird: Bird) -> Step:
    traits, eaten, warmth = bird.row.traits, _given(bird), bird.warmth
    value = water.drunk_l(
        eaten.value,
        warmth.value,
        litres_per_kg=traits.water_l_per_kg.value,
        slope_per_K=traits.water_slope_per_K.value,
        base_C=traits.water_base_C.value,
    )
    terms: list[Term] = [given("per_kg", traits.water_l_per_kg), eaten]
    formula = "per_kg * fed_each"
    if warmth.value > traits.water_base_C.value:
        terms += [given("hotter", traits.water_slope_per_K), warmth, given("base", traits.water_base_C)]
        formula += " * (1 + hotter * (warmth - base))"
    return step("drunk_each", float(value), "l", formula, *terms)


def _dropped(bird: Bird, nutrient: Nutrient) -> Step:
    traits, hen, feed = bird.row.traits, bird.row.line.hen, bird.feed
    element = say(f"why.element_{nutrient}")
    eaten, gained, eggs = _given(bird), gain(bird), egg_mass(bird)
    content: Term
    if nutrient == "nitrogen":
        share = float(dung.nitrogen_share(feed.protein.value))
        protein = given("protein", feed.protein, feed=feed.id)
        content = step("content", share, "share", "protein / 6.25", protein, feed=feed.id, element=element)
    else:
        content = given("content", getattr(feed, nutrient), feed=feed.id, element=element)
    kept = given("kept", getattr(traits, f"{nutrient}_per_gain"), element=element)
    in_egg = given("in_egg", getattr(hen, f"{nutrient}_per_egg_kg"), element=element)
    value = dung.balance_kg(
        eaten.value,
        content.value,
        gain_kg=gained.value,
        kept_per_gain=kept.value,
        egg_kg=eggs.value,
        kept_per_egg=in_egg.value,
    )
    formula, terms = "fed_each * content - gain * kept", [eaten, content, gained, kept]
    if eggs.value > 0.0:
        formula, terms = f"{formula} - egg_mass * in_egg", [*terms, eggs, in_egg]
    return step("dropped_each", float(value), "kg", formula, *terms, element=element)
