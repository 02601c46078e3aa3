"""What the fields of all kinds are made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "Age",
    "BirdKg",
    "Celsius",
    "Days",
    "Id",
    "Kg",
    "Litres",
    "Money",
    "Number",
    "Payload",
    "Some",
    "Text",
    "Yes",
]

Id = Annotated[str, Field(strict=True, min_length=1, max_length=64)]
Number = Annotated[int, Field(strict=True, ge=0, le=1_000_000)]
Some = Annotated[int, Field(strict=True, ge=1, le=1_000_000)]
Age = Annotated[int, Field(strict=True, ge=0, le=4000)]
Days = Annotated[int, Field(strict=True, ge=0, le=400)]
Kg = Annotated[float, Field(strict=True, ge=0, le=1_000_000, allow_inf_nan=False)]
BirdKg = Annotated[float, Field(strict=True, gt=0, le=20, allow_inf_nan=False)]
Litres = Annotated[float, Field(strict=True, ge=0, le=1_000_000, allow_inf_nan=False)]
Money = Annotated[float, Field(strict=True, ge=0, le=100_000_000, allow_inf_nan=False)]
"""In the currency of the farm."""
Celsius = Annotated[float, Field(strict=True, ge=-60, le=60, allow_inf_nan=False)]
Text = Annotated[str, Field(strict=True, max_length=2000)]
Yes = Annotated[bool, Field(strict=True)]


class Payload(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, defer_build=True)
