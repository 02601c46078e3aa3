"""The tables of farm.toml about feed: bought, and mixed at home."""

from __future__ import annotations

from typing import Annotated

from leyfold.farm.quantity import Days, Kg, KgOrNone, Price, Quantity, Share, Strict

__all__ = ["ContentsTable", "FeedTable", "IngredientTable", "RationTable"]

Energy = Annotated[float, Quantity("kcal/kg", least=500, most=6000)]
Money = Annotated[float, Price("kg")]


class FeedTable(Strict):
    """Shares by weight as fed. A feed with the name of one in the cited table may leave out any of them."""

    protein: Share | None = None
    energy: Energy | None = None
    phosphorus: Share | None = None
    potassium: Share | None = None
    calcium: Share | None = None
    price: Money | None = None
    bag: Kg | None = None
    has: KgOrNone | None = None
    """What is in store in bags when the season begins."""
    delivery: Days | None = None
    """From order to having it, where it comes in bags."""


class ContentsTable(Strict):
    """Metabolisable energy for poultry, and shares by weight as fed."""

    energy: Annotated[float, Quantity("kcal/kg", least=0, most=10000)] | None = None
    protein: Share | None = None
    lysine: Share | None = None
    methionine: Share | None = None
    methionine_and_cystine: Share | None = None
    threonine: Share | None = None
    calcium: Share | None = None
    nonphytate_phosphorus: Share | None = None


class IngredientTable(ContentsTable):
    """Something feed is mixed from, with the farm's own analysis where it has one."""

    like: str | None = None
    """The cited ingredient whose contents hold where nothing else is said; its own name where left out."""
    price: Money | None = None
    at_least: Share | None = None
    at_most: Share | None = None
    has: KgOrNone | None = None
    """What there is of it, where no more is to be had."""
    bag: Kg | None = None
    """It goes into the mixer by whole bags."""


class RationTable(ContentsTable):
    """A mix: what it holds at least. What is not said here comes from the cited requirement `needs`."""

    needs: str | None = None
    most: ContentsTable | None = None
    eaten: Annotated[float, Quantity("kg/d", above=0, most=1)] | None = None
    """Feed a hen eats in a day, where the requirement is so much a day."""
    batch: Kg | None = None
    """What goes into the mixer at once."""
