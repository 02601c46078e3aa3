"""Lines of keys: every key the standard TOML reader finds has one, and its name stands in that line."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from leyfold.farm.locate import locate

ROOT = Path(__file__).parents[2]

AWKWARD = '''\
# a comment with [brackets] and "quotes
a = 1  # = 2
b . c = "x # y"
"q r" = """
multi = 3
[no.table]
\\""" """
'single' = \'\'\'
z = "\'\'\'
[t]
u = [
  1, # one ]
  {k = 2, l = [3,
   4]},
  "]", 'a,b',
]
v = {a = {b = 1}, "c.d" = 2, e.f = 3}
when = 2026-01-01
at = 07:32:00
[[l]]
x = 1
[l.sub]
y = 2
[[l]]
x = 2
  [[l.m]]
  z = 1
  [[l.m]]
  z = -2.5e3
[p."n.o".'q r']
last = true'''

LINES = {
    ("a",): 2,
    ("b", "c"): 3,
    ("q r",): 4,
    ("single",): 8,
    ("t",): 10,
    ("t", "u"): 11,
    ("t", "u", 0): 12,
    ("t", "u", 1, "l", 1): 14,
    ("t", "u", 3): 15,
    ("t", "v", "c.d"): 17,
    ("t", "v", "e", "f"): 17,
    ("t", "at"): 19,
    ("l", 0, "x"): 21,
    ("l", 0, "sub", "y"): 23,
    ("l", 1): 24,
    ("l", 1, "m", 1, "z"): 29,
    ("p", "n.o", "q r"): 30,
    ("p", "n.o", "q r", "last"): 31,
}


@pytest.mark.parametrize(("path", "line"), LINES.items())
def test_awkward_toml(path: tuple[str | int, ...], line: int) -> None:
    tomllib.loads(AWKWARD)
    assert locate(AWKWARD).of(path) == line


def test_what_is_not_there_has_the_line_of_what_is_around_it() -> None:
    lines = locate(AWKWARD)
    assert lines.of(("l", 1, "m", 1, "absent")) == 28
    assert lines.of(("absent",)) is None


def leaves(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield (*path, key)
            yield from leaves(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield (*path, index)
            yield from leaves(value, (*path, index))


def every_key_is_in_its_line(text: str) -> None:
    found = locate(text)
    rows = text.split("\n")
    for path in leaves(tomllib.loads(text)):
        line = found.of(path)
        assert line is not None, path
        key = path[-1]
        if isinstance(key, str) and key.isascii() and key.replace("_", "a").isalnum():
            assert key in rows[line - 1], (path, line)


@pytest.mark.parametrize("name", ["farm.toml", "plan.toml"])
def test_example(name: str) -> None:
    every_key_is_in_its_line((ROOT / "examples" / "demo" / name).read_text(encoding="utf-8"))


scalars = (
    st.integers(-999, 999)
    | st.booleans()
    | st.text(alphabet="ab#=[]{}\"'\\\n,é ", max_size=12)
    | st.just(date(2027, 3, 1))
)
keys = st.text(alphabet="abc_1", min_size=1, max_size=4) | st.sampled_from(["a.b", "a b", 'q"', "é"])
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(keys, values, max_size=4))
def test_any_document(data: dict[str, Any]) -> None:
    every_key_is_in_its_line(tomlkit.dumps(data))
