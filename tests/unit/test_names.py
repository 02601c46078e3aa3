"""The page of names and units lists every unit that names carry, and none that no name carries."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import leyfold.nature
import leyfold.nouns

PAGE = Path(__file__).parents[2] / "docs" / "names-and-units.md"
# After `_per_`: what a rate is over, when it is no unit.
OVER = {"egg", "gain", "pass", "bird", "hen", "per", "dm"}


def listed() -> set[str]:
    table = PAGE.read_text(encoding="utf-8").split("| ending | unit |")[1].split("\n\n")[0]
    first = [row.split("|")[1] for row in table.splitlines() if row.count("|") > 2]
    return {word for cell in first for word in re.findall(r"`(\w+)`", cell)}


def public_names() -> Iterator[str]:
    for package in (leyfold.nouns, leyfold.nature):
        for module in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            yield from names_of(importlib.import_module(module.name))


def names_of(module: ModuleType) -> Iterator[str]:
    for name, thing in vars(module).items():
        if getattr(thing, "__module__", None) != module.__name__:
            continue
        if isinstance(thing, type) and dataclasses.is_dataclass(thing):
            yield from (field.name for field in dataclasses.fields(thing))
        elif inspect.isfunction(thing) and not name.startswith("_"):
            yield from (name, *inspect.signature(thing).parameters)


def test_every_rate_is_of_units_on_the_page() -> None:
    known = listed() | OVER
    unknown = set()
    for name in public_names():
        if "_per_" in name:
            words = name.split("_per_", 1)[1].split("_")
            unknown |= {f"{name}: {word}" for word in words if word not in known}
    assert not unknown


def test_every_unit_on_the_page_is_carried_by_a_name() -> None:
    carried = {word for name in public_names() for word in name.split("_")}
    assert listed() <= carried
