"""Cited figures as data: one TOML file a table, every number with unit, source and evidence.

An entry takes one of three shapes:

- one figure with its `unit`: `value` (a limit: `at_most` or `at_least`), or one each for `pullet` and
  `cockerel`, whose `source` and `evidence` may then differ too. `least` and `most` bound what a farm file
  may put in its place.
- a row: one number a column; the units of the columns stand under `[units]`.
- a series: `by` names the column (of ages) along which the lists of the others run.

A figure's path is `table.entry`, with `.sex`, `.column` or `.column.age` behind it where there are several:
`stock.fertility`, `stock.mature_kg.cockerel`, `feeds.starter.protein`, `growth.pullet_brown.weight_kg.126`.
Files are read when first asked for.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal, cast

from leyfold.nouns.figure import Figure

__all__ = ["TABLES", "all_figures", "figure", "table"]

TABLES = (
    "stock", "feeds", "ingredients", "inclusion", "requirements", "feeding", "space", "limits", "keep_off",
    "growth", "kit", "risks", "work", "killing", "priors", "surfaces", "tonight", "climate",
)  # fmt: skip

Entry = Mapping[str, Any]

_ONE = ("value", "at_most", "at_least")
_SEXES = ("pullet", "cockerel")


@cache
def table(name: str) -> Mapping[str, Entry]:
    """The entries of one table, read-only, lists as tuples. KeyError for a table there is not."""
    return cast(Mapping[str, Entry], _frozen({k: v for k, v in _raw(name).items() if k != "units"}))


@cache
def all_figures(name: str | None = None) -> Mapping[str, Figure]:
    """Every figure by path, of one table or of all, in the order of the files."""
    names = TABLES if name is None else (name,)
    return MappingProxyType({path: fig for each in names for path, fig in _figures(each)})


def figure(path: str, *, sex: Literal["pullet", "cockerel"] | None = None) -> Figure:
    """The figure at `path`; with `sex`, that sex's own where the entry differs by sex.

    KeyError where there is none, and where an entry differs by sex and no sex was said.
    """
    found = all_figures(path.partition(".")[0])
    if sex is not None and f"{path}.{sex}" in found:
        return found[f"{path}.{sex}"]
    if path not in found:
        raise KeyError(f"no figure {path!r}" + (f" for a {sex}" if sex else ""))
    return found[path]


@cache
def _raw(name: str) -> dict[str, Any]:
    if name not in TABLES:
        raise KeyError(f"no table {name!r}")
    return tomllib.loads((files(__name__) / f"{name}.toml").read_text(encoding="utf-8"))


def _figures(name: str) -> Iterator[tuple[str, Figure]]:
    units: dict[str, str] = _raw(name).get("units", {})
    for entry_id, entry in table(name).items():
        for leaf, value, unit in _leaves(entry, units):
            sex = leaf if leaf in _SEXES else ""
            yield (
                f"{name}.{entry_id}.{leaf}".rstrip("."),
                Figure(float(value), unit, _of(entry["source"], sex), _of(entry["evidence"], sex)),
            )


def _leaves(entry: Entry, units: Mapping[str, str]) -> Iterator[tuple[str, float, str]]:
    """Every number of an entry that is a figure: (what follows the entry in its path, value, unit)."""
    if "unit" in entry:
        for key in (*_ONE, *_SEXES):
            if key in entry:
                yield "" if key in _ONE else key, entry[key], entry["unit"]
        return
    by = entry.get("by")
    for column, unit in units.items():
        if column not in entry or column == by:
            continue
        if by is None:
            yield column, entry[column], unit
        else:
            for at, value in zip(entry[by], entry[column], strict=True):
                yield f"{column}.{at}", value, unit


def _of(word: str | Mapping[str, str], sex: str) -> str:
    return word if isinstance(word, str) else word[sex]


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({k: _frozen(v) for k, v in value.items()})
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
