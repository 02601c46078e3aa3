"""The shape of what is promised in farm.toml: preorders by weight class."""

from __future__ import annotations

from typing import Annotated

from leyfold.farm.faults import Page
from leyfold.farm.quantity import Count, Day, Price, Slug, Strict
from leyfold.nouns.farm import Farm

__all__ = ["OrderTable", "look_through_orders"]


class OrderTable(Strict):
    """Carcasses somebody waits for."""

    id: Slug
    customer: Slug
    """A code of your own: no name, address or number needs to stand here."""
    number: Count
    on: Day
    """The day they are wanted."""
    weight_class: str | None = None
    """One of [weight_classes]; left out where any weight will do."""
    deposit: Annotated[float, Price("share")] | None = None
    """Paid already, for the whole order."""


def look_through_orders(page: Page, farm: Farm) -> None:
    """Note orders that name what is not there, and classes that cannot be told apart."""
    known = page.names("weight_classes")
    for i, order in enumerate(farm.orders):
        if order.weight_class is not None:
            page.refers(("orders", i, "weight_class"), order.weight_class, known, "weight_class")
    page.no_doubles("orders", [order.id for order in farm.orders])
    seen: dict[float, str] = {}
    for one in farm.weight_classes:
        if one.least_kg in seen:
            page.fault(
                ("weight_classes", one.id), "weight_class_twice", name=one.id, other=seen[one.least_kg]
            )
        seen.setdefault(one.least_kg, one.id)
