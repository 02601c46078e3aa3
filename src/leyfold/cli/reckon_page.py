"""The reckoning as a page: the big numbers first, the sums below them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate
from typing import TYPE_CHECKING

from leyfold.cli.answer import table
from leyfold.cli.reckon_choices import choices, promised
from leyfold.nouns.reckoning import CLASSES
from leyfold.reckoning.sums import by, by_month, by_rate
from leyfold.units import outward
from leyfold.words import say
from leyfold.words.forms import day
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table
    from rich.text import Text

    from leyfold.services.reckon import ReckonAnswer

__all__ = ["page_of"]

LINES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("sold", ("carcass", "egg", "old_hen")),
    ("handed_out", ("pullet_out", "hatching_egg_out")),
    ("left", ("left.",)),
    ("feed", ("feed.", "delivery")),
    ("bought", ("hatching_egg", "bought.")),
    ("handed_in", ("pullet_in", "hatching_egg_in")),
    ("first", ("first.",)),
    ("killing", ("killing",)),
    ("goods", ("bedding", "water", "electricity")),
    ("hours", ("labour",)),
)
"""Lines of the table: their rates, by name or, with a dot behind it, by how the name begins."""
MATTERS = 5
DIGITS = 2


def page_of(answer: ReckonAnswer) -> Iterator[RenderableType]:
    """What is printed, from top to bottom."""
    yield _headline(answer)
    yield _units(answer)
    yield _classes(answer)
    yield _batches(answer)
    yield _months(answer)
    yield _matters(answer)
    yield from choices(answer)
    yield from promised(answer)
    if answer.against is not None:
        yield _against(answer)
    yield from _notes(answer)


def _headline(answer: ReckonAnswer) -> Text:
    from rich.text import Text

    language, money = answer.farm.holding.language, answer.reckoning
    until = {"first": day(money.first, language), "last": day(money.last, language)}
    text = Text()
    text.append(
        say("reckoning.title", farm=answer.farm.holding.name, currency=money.currency, **until), "italic"
    )
    text.append("\n\n  ")
    style = "bold green" if money.total() >= 0 else "bold red"
    text.append(spoken(money.total(), 0, language), style)
    text.append("  " + say("reckoning.margin" if money.own_hours else "reckoning.margin_without"))
    text.append("\n  ")
    text.append(spoken(answer.other.total(), 0, language), "bold")
    text.append("  " + say("reckoning.margin_without" if money.own_hours else "reckoning.margin_with"))
    if money.bands is not None:
        band = money.bands.margin
        text.append("\n  ")
        low, high = spoken(band.low, 0, language), spoken(band.high, 0, language)
        text.append(say("reckoning.to", low=low, high=high), "bold")
        text.append(
            "  "
            + say(
                "reckoning.margin_band", loss=f"{100 * band.loss:.0f}", n=spoken(money.bands.n, 0, language)
            )
        )
    text.append("\n")
    return text


def _units(answer: ReckonAnswer) -> Table:
    language, money = answer.farm.holding.language, answer.reckoning
    other = "column_without" if money.own_hours else "column_with"
    page = table(
        say("reckoning.units"),
        [
            ("", False),
            (say("reckoning.column_made"), True),
            (say("reckoning.column_cost"), True),
            (say("reckoning.column_band"), True),
            (say(f"reckoning.{other}"), True),
            (say("reckoning.column_price"), True),
            (say("reckoning.column_break_even"), True),
        ],
    )
    for unit, without in zip(answer.units, answer.other_units, strict=True):
        if unit.cost is None:
            continue
        band = None if money.bands is None else money.bands.unit_cost[unit.kind]
        name, many = _told_by(answer, unit.kind)

        def each(value: float | None, many: float = many) -> str:
            return "" if value is None else spoken(value / many, DIGITS, language)

        page.add_row(
            name,
            spoken(unit.number * many, 0, language),
            each(unit.cost),
            "" if band is None else say("reckoning.to", low=each(band.low), high=each(band.high)),
            *(each(value) for value in (without.cost, unit.price, unit.break_even)),
        )
    return page


def _told_by(answer: ReckonAnswer, kind: str) -> tuple[str, float]:
    """The name of one of a kind, and how many there are to one inside: carcass is told by the farm's own unit
    of weight, the money for one of them with it."""
    pounds = kind == "table" and answer.farm.holding.lengths == "imperial"
    if pounds:
        return say("reckoning.unit_table_lb"), outward(1.0, "kg", "imperial")[0]
    return say(f"reckoning.unit_{kind}"), 1.0


def _classes(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.classes"),
        [
            ("", False),
            *((say(f"reckoning.class_{kind}"), True) for kind in CLASSES),
            (say("reckoning.column_farm"), True),
        ],
    )
    of = [by_rate(answer.reckoning, kind) for kind in CLASSES]
    for line, rates in LINES:
        cells = [sum(money for name, money in row.items() if _is_of(name, rates)) for row in of]
        if any(cells):
            shown = [spoken(x, 0, language) if x else "" for x in (*cells, sum(cells))]
            page.add_row(say(f"reckoning.line_{line}"), *shown)
    sums = [sum(row.values()) for row in of]
    page.add_section()
    page.add_row(
        say("reckoning.line_margin"), *(spoken(x, 0, language) for x in (*sums, sum(sums))), style="bold"
    )
    return page


def _is_of(name: str, rates: tuple[str, ...]) -> bool:
    return any(name == rate or (rate.endswith(".") and name.startswith(rate)) for rate in rates)


def _batches(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.batches"),
        [
            ("", False),
            (say("reckoning.column_takings"), True),
            (say("reckoning.column_costs"), True),
            *((say(f"reckoning.class_{kind}"), True) for kind in CLASSES),
            (say("reckoning.line_margin"), True),
        ],
    )
    money = answer.reckoning
    for name, part in by(money, lambda e: e.batch).items():
        mine = [sum(e.sum for e in money.entries if e.batch == name and e.kind == k) for k in CLASSES]
        page.add_row(
            name,
            *(spoken(x, 0, language) if x else "" for x in (part.takings, part.cost, *mine, part.margin)),
        )
    return page


def _months(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.months"),
        [
            ("", False),
            (say("reckoning.line_margin"), True),
            (say("reckoning.column_cash"), True),
            (say("reckoning.column_cash_so_far"), True),
        ],
    )
    cash: dict[str, float] = {}
    for monday, money in answer.cash:
        cash[f"{monday:%Y-%m}"] = cash.get(f"{monday:%Y-%m}", 0.0) + money
    margins = by_month(answer.reckoning)
    months = list(margins)
    so_far = accumulate(cash.get(month, 0.0) for month in months)
    for month, there in zip(months, so_far, strict=True):
        cells = (margins[month], cash.get(month, 0.0), there)
        page.add_row(month, *(spoken(x, 0, language) for x in cells))
    return page


def _matters(answer: ReckonAnswer) -> Table:
    language = answer.farm.holding.language
    page = table(
        say("reckoning.matters"),
        [
            ("", False),
            (say("reckoning.column_range"), True),
            (say("reckoning.column_margin_low"), True),
            (say("reckoning.column_margin_high"), True),
            (say("reckoning.column_per_cent"), True),
        ],
    )
    for row in answer.matters[:MATTERS]:
        low, high = (f"{100 * (x - 1):+.0f} %" for x in (row.low, row.high))
        page.add_row(
            say(f"reckoning.figure_{row.figure}"),
            say("reckoning.to", low=low, high=high),
            *(spoken(x, 0, language) for x in (row.margin_low, row.margin_high)),
            spoken(row.per_cent, 0, language),
        )
    return page


def _against(answer: ReckonAnswer) -> Table:
    assert answer.against is not None
    language = answer.farm.holding.language
    page = table(
        say("reckoning.against", name=answer.against_name),
        [
            ("", False),
            (say("reckoning.column_there"), True),
            (say("reckoning.column_here"), True),
            (say("reckoning.column_change"), True),
        ],
    )
    rows = [((say(f"reckoning.class_{row.name}"), 1.0), row, 0) for row in answer.against.margin]
    rows += [(_told_by(answer, row.name), row, DIGITS) for row in answer.against.unit_cost]
    for (name, many), row, digits in rows:
        cells = ("" if x is None else spoken(x / many, digits, language) for x in (row.a, row.b, row.change))
        page.add_row(name, *cells)
    return page


def _notes(answer: ReckonAnswer) -> Iterator[str]:
    language = answer.farm.holding.language
    yield say("reckoning.cash_note")
    lowest = min(accumulate(money for _, money in answer.cash), default=0.0)
    if lowest < 0:
        sums = list(accumulate(money for _, money in answer.cash))
        on = answer.cash[sums.index(lowest)][0]
        yield say("reckoning.cash_low", cash=spoken(-lowest, 0, language), week=day(on, language))
    if answer.reckoning.unpriced:
        names = ", ".join(
            say(f"reckoning.figure_price_{name}", amount=amount)
            for name, amount in answer.reckoning.unpriced.items()
        )
        yield say("reckoning.unpriced", names=names)
    yield say("reckoning.how")
    if answer.guesses:
        shown = ", ".join(f"{name} {figure.value:g} {figure.unit}" for name, figure in answer.guesses.items())
        yield say("reckoning.guesses", figures=shown)
