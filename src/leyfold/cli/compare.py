"""`leyfold compare`: two plans side by side, where they differ first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, print_json, table
from leyfold.units import outward
from leyfold.words import say
from leyfold.words.forms import day
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.services.compare import CompareAnswer, Row

__all__ = ["compare"]

DIGITS = {"money": 2, "money/kg": 2, "kg": 1, "kg/m2": 1, "kg/ha": 1, "share": 2}
GROUPS = ("dates", "shelters", "feed", "chances", "money")


def compare(a: Path, b: Path, *, json: bool = False, seed: int = 0) -> int:
    """Hold two plans side by side: dates, shelters, feed, the chance of each wish, the margin.

    Parameters
    ----------
    a
        A farm's folder, its farm.toml, or a plan file of its farm (or of the other's).
    b
        The same, to be held against it.
    json
        Print one JSON object instead of tables.
    seed
        Another number, other luck, where eggs a day are wished for.
    """
    from leyfold.services.compare import compare_plans

    answer = compare_plans(a, b, datetime.now(UTC), seed=seed)
    if json:
        print_json("compare", _data(answer), inputs_sha256=answer.inputs_sha256, seed=seed)
        return 0
    answer = _in_own_units(answer)
    page = console()
    page.print(say("compare.title", a=answer.a.name, b=answer.b.name), soft_wrap=True, markup=False)
    page.print()
    differences = list(dict.fromkeys(_differences(answer)))
    page.print(say("compare.differ" if differences else "compare.alike"), style="bold", soft_wrap=True)
    for line in differences:
        page.print(f"  {line}", soft_wrap=True, markup=False)
    page.print()
    for group in GROUPS:
        page.print(_table(answer, group))
    return 0


def _data(answer: CompareAnswer) -> dict[str, Any]:
    def plain(value: float | date | None) -> float | str | None:
        return value.isoformat() if isinstance(value, date) else value

    def row(one: Row) -> dict[str, Any]:
        return {
            "group": one.group,
            "what": one.what,
            "of": one.of or None,
            "unit": one.unit,
            "a": plain(one.a),
            "b": plain(one.b),
            "change": one.change,
        }

    return {
        "a": answer.a.name,
        "b": answer.b.name,
        "currency": answer.a.reckoning.currency,
        "differences": [row(one) for one in answer.differences],
        "rows": [row(one) for one in answer.rows],
    }


def _in_own_units(answer: CompareAnswer) -> CompareAnswer:
    """The same, its rows in the units of the first farm."""

    def told(row: Row) -> Row:
        many, _ = _own_unit(answer, row)
        each = 1.0 / many if row.unit == "money/kg" else many
        a, b = (each * end if isinstance(end, float) else end for end in (row.a, row.b))
        return replace(row, a=a, b=b)

    return replace(answer, rows=tuple(map(told, answer.rows)))


def _own_unit(answer: CompareAnswer, row: Row) -> tuple[float, str]:
    """How many of the farm's own unit one of the row's is, or one of those it is money for; and its name."""
    many, name = outward(1.0, row.unit.removeprefix("money/"), answer.a.farm.holding.lengths)
    return many, name.replace("m2", "m²")


def _what(answer: CompareAnswer, row: Row) -> str:
    unit = _own_unit(answer, row)[1]
    if row.what.startswith("kill"):
        what = say("compare.what_kill", n=row.what.removeprefix("kill"))
    elif row.group == "shelters" and row.what == "heads":
        what = say("compare.what_in_shelter")
    elif row.unit == "money/kg":
        what = say("compare.what_weight_cost", unit=unit)
    else:
        what = say(f"compare.what_{row.what}", unit=unit)
    if not row.of:
        return what
    return say("compare.of", of=say(f"compare.of_{row.of}") if row.group == "money" else row.of, what=what)


def _differences(answer: CompareAnswer) -> Iterator[str]:
    """A line a difference; a batch that only one of the two has is one line."""
    sides = (answer.a, answer.b)
    has = [{batch.id for batch in side.season.plan.batches} for side in sides]
    for row in answer.differences:
        alone = [side.name for side, of in zip(sides, has, strict=True) if row.of in of]
        if row.group == "dates" and len(alone) == 1:
            yield say("compare.only_in", of=row.of, side=alone[0])
        elif _shown_apart(answer, row):
            yield _said(answer, row)


def _shown_apart(answer: CompareAnswer, row: Row) -> bool:
    """Whether they still differ by what is shown of them: to the cent, to the per cent."""
    return _value(answer, row, row.a) != _value(answer, row, row.b)


def _value(answer: CompareAnswer, row: Row, value: float | date | None) -> str:
    language = answer.a.farm.holding.language
    if value is None:
        return say("compare.absent")
    if isinstance(value, date):
        return day(value, language)
    if row.unit == "chance":
        return f"{100 * value:.0f} %"
    return spoken(value, DIGITS.get(row.unit, 0), language)


def _change(answer: CompareAnswer, row: Row) -> str:
    change = row.change
    if change is None or not _shown_apart(answer, row):
        return ""
    if row.unit == "day":
        unit = "day" if abs(change) == 1 else "days"
        return say(f"compare.{unit}_{'later' if change > 0 else 'sooner'}", days=f"{abs(change):.0f}")
    # As from the two that are shown, so that it can be checked by hand.
    digits = 2 if row.unit == "chance" else DIGITS.get(row.unit, 0)
    assert isinstance(row.a, float)
    assert isinstance(row.b, float)
    shown = abs(round(row.b, digits) - round(row.a, digits))
    sign = "+" if change > 0 else "−"
    if row.unit == "chance":
        return f"{sign}{100 * shown:.0f} %"
    return sign + spoken(shown, digits, answer.a.farm.holding.language)


def _said(answer: CompareAnswer, row: Row) -> str:
    change = _change(answer, row)
    return say(
        "compare.difference",
        what=_what(answer, row),
        a=_value(answer, row, row.a),
        b=_value(answer, row, row.b),
        change=say("compare.change", change=change) if change else "",
    )


def _table(answer: CompareAnswer, group: str) -> Table:
    title = say(f"compare.{group}", currency=answer.a.reckoning.currency)
    heads = [("", False), (answer.a.name, True), (answer.b.name, True)]
    page = table(title, [*heads, (say("compare.column_change"), True)])
    for row in (row for row in answer.rows if row.group == group):
        ends = (_value(answer, row, end) for end in (row.a, row.b))
        style = "bold" if _shown_apart(answer, row) else ""
        page.add_row(_what(answer, row), *ends, _change(answer, row), style=style)
    return page
