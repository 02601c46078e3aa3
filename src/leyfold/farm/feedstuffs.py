"""Ingredients and rations of farm.toml as nouns, with the cited tables behind what is left out."""

from __future__ import annotations

from collections.abc import Mapping

from leyfold.farm.faults import Page
from leyfold.farm.locate import Path
from leyfold.farm.schema_feed import ContentsTable, IngredientTable, RationTable
from leyfold.farm.tables import all_figures, figure, table
from leyfold.nouns.feed import NUTRIENTS, Ingredient, Ration
from leyfold.nouns.figure import Figure

__all__ = ["cited_needs", "read_ingredients", "read_rations"]

G_PER_KG = 1000.0


def read_ingredients(page: Page, given: Mapping[str, IngredientTable]) -> dict[str, Ingredient]:
    """The ingredients of a farm file; what is wrong with them is noted on `page`."""
    return {name: _ingredient(page, name, one) for name, one in given.items()}


def read_rations(page: Page, given: Mapping[str, RationTable]) -> dict[str, Ration]:
    """The rations of a farm file; what is wrong with them is noted on `page`."""
    return {name: _ration(page, name, one) for name, one in given.items()}


def cited_needs(name: str, *, eaten_kg: float | None = None) -> dict[str, Figure]:
    """What the feed of a row of the cited table of requirements holds at least, by nutrient.

    A requirement in grams a day becomes a share by the feed a bird eats in a day: `eaten_kg`, or what the
    row was given for. KeyError for a row there is not.
    """
    row = table("requirements")[name]
    needs = {n: figure(f"requirements.{name}.{n}") for n in NUTRIENTS if n in row}
    if "feed_g_per_d" in row:
        eaten_g = row["feed_g_per_d"] if eaten_kg is None else eaten_kg * G_PER_KG
        for nutrient in NUTRIENTS:
            if f"{nutrient}_g_per_d" in row:
                daily = figure(f"requirements.{name}.{nutrient}_g_per_d")
                source = f"{daily.value:g} g a day in {eaten_g:g} g of feed: {daily.source}"
                needs[nutrient] = Figure(daily.value / eaten_g, "share", source, daily.evidence)
    return needs


def _ingredient(page: Page, name: str, given: IngredientTable) -> Ingredient:
    path: Path = ("ingredients", name)
    if given.like is not None:
        page.refers((*path, "like"), given.like, table("ingredients"), "ingredient")
    row = given.like or name
    contents = {n: f for n in NUTRIENTS if (f := all_figures("ingredients").get(f"ingredients.{row}.{n}"))}
    contents |= _own(page, path, given)
    at_most = all_figures("inclusion").get(f"inclusion.{row}")
    if given.at_most is not None:
        at_most = Figure(given.at_most, "share", page.source(*path, "at_most"), "farm file")
    at_least = given.at_least or 0.0
    if at_most is not None and at_least > at_most.value:
        page.fault((*path, "at_least"), "at_least_over", least=f"{at_least:.3g}", most=f"{at_most.value:.3g}")
    return Ingredient(name, contents, given.price, at_least, at_most, given.has, given.bag)


def _ration(page: Page, name: str, given: RationTable) -> Ration:
    path: Path = ("rations", name)
    least: dict[str, Figure] = {}
    if given.needs is not None:
        page.refers((*path, "needs"), given.needs, table("requirements"), "requirement")
        if given.needs in table("requirements"):
            least = cited_needs(given.needs, eaten_kg=given.eaten)
    least |= _own(page, path, given)
    if not least:
        page.fault(path, "ration_asks_nothing")
    most = _own(page, (*path, "most"), given.most) if given.most is not None else {}
    return Ration(name, least, most, given.batch)


def _own(page: Page, path: Path, given: ContentsTable) -> dict[str, Figure]:
    own = {}
    for nutrient in NUTRIENTS:
        key, unit = ("energy", "kcal/kg") if nutrient == "energy_kcal_per_kg" else (nutrient, "share")
        value = getattr(given, key)
        if value is not None:
            own[nutrient] = Figure(value, unit, page.source(*path, key), "farm file")
    return own
