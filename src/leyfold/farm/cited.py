"""The type of a value in a farm file that stands in place of a cited figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from leyfold.farm.quantity import Quantity, Reader
from leyfold.farm.tables import table

__all__ = ["Cited"]


@dataclass(frozen=True)
class Cited(Reader):
    """A figure of a cited table: its unit and bounds are looked up when first needed, not on import."""

    table: str
    entry: str

    def read(self, value: Any, context: Mapping[str, Any]) -> float:
        return self._quantity().read(value, context)

    def json(self) -> dict[str, Any]:
        return {**self._quantity().json(), "description": table(self.table)[self.entry]["about"]}

    def _quantity(self) -> Quantity:
        entry = table(self.table)[self.entry]
        return Quantity(entry["unit"], least=entry["least"], most=entry["most"])
