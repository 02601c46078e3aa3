"""The shape of [lines.NAME]: a key for every figure of `nouns.stock`, with the unit and bounds of the table.

The key is the figure's name without its unit: `turnout_d` is written `turnout = "4 weeks"`. A figure that
differs by sex may stand under the line, for both, or under `pullet` or `cockerel`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, create_model

from leyfold.farm.cited import Cited
from leyfold.farm.quantity import Called, Days, Kg, Quantity, Strict
from leyfold.nouns.stock import Hen, Line, Sex, SexTraits

__all__ = ["HEN_KEYS", "LINE_KEYS", "SEX_KEYS", "GrowthTable", "HenTable", "LineTable", "SexTable"]

_UNIT = re.compile(r"(?:_kg_per_kg075|_kg_per_kg|_l_per_kg|_per_(?:d|wk|K)|_(?:kg|g|d|wk|h|C))$")


def _keys(noun: type) -> Mapping[str, str]:
    """Key in the farm file -> name of the figure, for the figures of a noun."""
    return {_UNIT.sub("", f.name): f.name for f in fields(noun) if f.type == "Figure"}


LINE_KEYS = _keys(Line)
SEX_KEYS = _keys(SexTraits)
HEN_KEYS = _keys(Hen)


def _figures(name: str, keys: Mapping[str, str]) -> type[Strict]:
    wanted: dict[str, Any] = {
        key: (Annotated[float, Cited("stock", figure)] | None, None) for key, figure in keys.items()
    }
    return create_model(name, __base__=Strict, **wanted)


if TYPE_CHECKING:

    class _OfSex(Strict): ...

    class _OfHen(Strict): ...

    class _OfLine(Strict): ...

else:
    _OfSex = _figures("FiguresOfSex", SEX_KEYS)
    _OfHen = _figures("FiguresOfHen", HEN_KEYS)
    _OfLine = _figures("FiguresOfLine", {**LINE_KEYS, **SEX_KEYS, "grower_from": "grower_from_d"})


class GrowthTable(Strict):
    """Either a Gompertz curve through the hatch weight and one known weight (`hatch`, `at`, `weighs`), or
    any model by its parameters (`rate`, `inflection`, and `shape` for richards)."""

    model: Literal["gompertz", "logistic", "richards"] = "gompertz"
    mature: Kg | None = None
    hatch: Kg | None = None
    at: Days | None = None
    weighs: Kg | None = None
    rate: Annotated[float, Quantity("1/d", above=0, most=1)] | None = None
    inflection: Annotated[float, Quantity("d", least=0, most=400)] | None = None
    shape: Annotated[float, Field(gt=0, le=20, allow_inf_nan=False)] | None = None


class PhaseTable(Strict):
    """From this age on the birds eat this feed."""

    feed: str
    from_d: Days = Field(alias="from")
    sex: Sex | None = None
    weighs: Kg | None = None
    """The mean weight the change is meant for: it comes when the birds are that heavy, early or late."""


class SexTable(_OfSex):
    growth: GrowthTable | None = None


class HenTable(_OfHen):
    """What holds from point of lay on."""


class LineTable(_OfLine):
    name: Called | None = None
    growth: GrowthTable | None = None
    feeding: tuple[PhaseTable, ...] | None = Field(default=None, strict=False, min_length=1)
    pullet: SexTable | None = None
    cockerel: SexTable | None = None
    hen: HenTable | None = None
