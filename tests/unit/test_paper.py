"""The printed sheets, the calendar and the workbook: whole, tagged, the same bytes, true to the season."""

from __future__ import annotations

import importlib
import io
import json
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from farms import farm
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Stay
from leyfold.nouns.record import BatchFacts, Count, State
from leyfold.nouns.season import Season
from leyfold.paper.calendar import calendar
from leyfold.paper.sheets.blocks import Sheet, says, title
from leyfold.paper.sheets.printed import breakable, pdf
from leyfold.paper.tables import season_sheets
from leyfold.paper.workbook import SUMMED, workbook
from leyfold.round.shown import Shown
from leyfold.round.told import told
from leyfold.season.expect import expect
from leyfold.season.kill_day import kill_day, killing_days
from leyfold.season.weeks import weeks
from leyfold.season.work import KINDS, heads_of, work
from papers import LONG, NAMES, extreme, ready
from seasons import season, three

KINDS_OF_SHEET = ("wall", "week", "shelter", "brooder", "kill", "vet", "neighbour")
ON = date(2027, 5, 12)


@cache
def small() -> tuple[Farm, Season]:
    made = farm()
    return made, season(made, three())


def sheet(kind: str, made: Farm, s: Season, on: date = ON, state: State | None = None) -> Sheet:
    make = getattr(importlib.import_module(f"leyfold.paper.sheets.{kind}"), kind)
    return make(ready(made, s, on, 1 if kind == "vet" else None, state))  # type: ignore[no-any-return]


ends = cache(extreme)


@cache
def at_the_ends(kind: str) -> bytes:
    """The sheet of the farm at the ends of what names can be."""
    return pdf(sheet(kind, *ends(), date(2027, 3, 3)), "letter")


def pages(content: bytes) -> list[str]:
    from pypdf import PdfReader

    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]


def words(content: bytes) -> str:
    """All text of a PDF without the spaces and places to break in it."""
    return "".join("".join(pages(content)).replace("\u200b", "").replace("\u2060", "").split())


@pytest.mark.parametrize("kind", KINDS_OF_SHEET)
def test_a_sheet_is_tagged_titled_and_the_same_twice(kind: str) -> None:
    from pypdf import PdfReader

    one = sheet(kind, *small())
    first, second = pdf(one), pdf(sheet(kind, *small()))
    assert first == second
    book = PdfReader(io.BytesIO(first))
    root = book.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert book.metadata is not None
    assert book.metadata.title == one.title
    # PDF/UA-1 says so of itself in its metadata.
    assert b"pdfuaid:part" in first or "pdfuaid" in str(book.xmp_metadata.stream.get_data())  # type: ignore[union-attr]


def test_letter_and_a4_are_their_sizes() -> None:
    from pypdf import PdfReader

    one = Sheet("t", "f", (title("t"),))
    for size, (wide, high) in {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}.items():
        box = PdfReader(io.BytesIO(pdf(one, size))).pages[0].mediabox  # type: ignore[arg-type]
        assert (float(box.width), float(box.height)) == pytest.approx((wide, high), abs=0.2)


@pytest.mark.parametrize("kind", KINDS_OF_SHEET)
def test_names_of_sixty_letters_markup_and_other_scripts_are_words_and_nothing_more(kind: str) -> None:
    found = words(at_the_ends(kind))
    assert "".join(LONG.split()) in found
    if kind in ("wall", "week", "shelter", "neighbour"):
        assert "#setpage(width:1pt)*bold*_it_$x$@ref<lab>" in found
        assert "\\u{41}`raw`//note/*more*/]])" in found
    if kind in ("wall", "week", "shelter"):
        assert "Большойптичникуозераномерсемь" in found


@pytest.mark.parametrize("kind", KINDS_OF_SHEET)
def test_nothing_leaves_the_page(kind: str) -> None:
    """Every run of text begins within the margins (12 mm are 34 points), whatever the names."""
    from pypdf import PdfReader

    content = at_the_ends(kind)
    outside: list[str] = []

    for page in PdfReader(io.BytesIO(content)).pages:
        wide, high = float(page.mediabox.width), float(page.mediabox.height)

        def look(
            text: str, cm: list[float], tm: list[float], *_: object, wide: float = wide, high: float = high
        ) -> None:
            x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
            y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            if text.strip() and not (0 < x < wide - 36 and 10 < y < high):
                outside.append(text)

        page.extract_text(visitor_text=look)
    assert outside == []


def test_letters_no_face_has_still_print() -> None:
    assert pdf(Sheet("鶏舎", "f", (title("鶏舎 \U0001f414"), says("\U0001fae8"))))[:5] == b"%PDF-"


def test_marks_that_turn_text_round_are_left_out_and_long_words_can_break() -> None:
    assert breakable("a\u202eb\x00c") == "a b c"
    assert breakable(LONG).replace("\u200b", "") == LONG
    assert max(map(len, breakable(LONG).split("\u200b"))) <= 7
    assert breakable("مأوىالدجاجالكبيربجانب") == "مأوىالدجاجالكبيربجانب"


# --- work ------------------------------------------------------------------------------------------


def test_work_is_in_order_within_the_season_and_can_all_be_told() -> None:
    made, s = small()
    tasks = work(made, s)
    assert [t.day for t in tasks] == sorted(t.day for t in tasks)
    assert all(s.first <= t.day <= s.day(s.days - 1) for t in tasks)
    shown = Shown(made)
    for task in tasks:
        assert told(task, shown)
    assert {t.kind for t in tasks} >= set(KINDS) - {
        "gather",
        "ready",
        "out",
        "limit",
        "wish",
        "order",
        "shift",
    }


def test_work_has_every_date_of_the_plan_with_the_season_s_birds() -> None:
    made, s = small()
    tasks = work(made, s)
    for b in s.plan.batches:
        mine = {t.kind: t for t in tasks if t.batch == b.id}
        if b.origin == "set":
            assert mine["set"].day == b.set_on
            assert mine["hatch"].day == b.hatched_on
            assert mine["lift"].day == b.hatched_on - timedelta(days=3)
        assert mine["turnout"].day == b.turnout_on
        assert mine["sort"].day == b.sort_on
        assert mine["house"].day == b.house_on
        assert mine["turnout"].values["heads"] == pytest.approx(heads_of(s, b.turnout_on, b.id))
    killed = sum(float(t.values["heads"]) for t in tasks if t.kind == "kill")  # type: ignore[arg-type]
    assert killed == pytest.approx(s.killed.sum(), rel=1e-9)


def test_who_goes_from_shelter_to_shelter_is_told_with_how_many_and_where_from() -> None:
    """Pullets into another shelter, half of them back, the rest after them."""
    made, s = small()
    stay = max((x for x in s.plan.stays if x.sex == "pullet" and x.place in made.shelters), key=_days)
    here, there = stay.place, next(name for name in made.shelters if name != stay.place)
    moved, spread, closed = (stay.first + timedelta(days=n) for n in (3, 6, 9))
    half = {"share": stay.share / 2}
    parts = (
        replace(stay, until=moved),
        replace(stay, id="there", place=there, first=moved, until=spread),
        replace(stay, id="half-there", place=there, first=spread, until=closed, **half),
        replace(stay, id="half-here", first=spread, until=closed, **half),
        replace(stay, id="back", first=closed),
    )
    others = tuple(x for x in s.plan.stays if x is not stay)
    season = expect(made, replace(s.plan, stays=(*others, *parts)))
    heads = heads_of(season, moved, stay.batch, "pullet")
    tasks = [t for t in work(made, season) if t.kind == "shift" and t.batch == stay.batch]
    assert [(t.day, t.values["from"], t.values["to"]) for t in tasks] == [
        (moved, (here,), (there,)), (spread, (there,), (here,)), (closed, (there,), (here,)),
    ]  # fmt: skip
    assert [t.values["heads"] for t in tasks] == pytest.approx([heads, heads / 2, heads / 2], rel=0.02)
    assert told(tasks[0], Shown(made)) == (
        f"move {round(heads)} pullets of {stay.batch} from {here} to {there}"
    )


def _days(stay: Stay) -> int:
    return (stay.until - stay.first).days


def test_no_work_twice() -> None:
    made, s = ends()
    tasks = work(made, s)
    assert len({(t.day, t.kind, t.batch, t.place, str(t.values)) for t in tasks}) == len(tasks)


# --- words and numbers ------------------------------------------------------------------------------


def test_feed_is_told_in_the_farm_s_own_measure() -> None:
    shown = Shown(farm(measures={"bucket": "8 kg", "scoop": "1.6 kg", "churn": "38 l"}))
    assert shown.feed(12.0) == ("1½ × bucket", "12.0\u00a0kg")
    assert shown.feed(2.0)[0] == "1¼ × scoop"
    assert shown.feed(0.1)[0] == "0.10\u00a0kg"
    assert Shown(farm()).feed(3.0) == ("3.0\u00a0kg", "3.0\u00a0kg")


def test_units_are_the_farm_s_own() -> None:
    holding = replace(farm().holding, lengths="imperial")
    shown = Shown(farm(holding=holding))
    assert shown.mass(10.0) == "22.0\u00a0lb".replace("22.0", "22") or shown.mass(10.0).endswith("lb")
    assert shown.temperature(35.0) == "95\u00a0°F"
    assert shown.unit("kg/m2") == "lb/sq ft"


@pytest.mark.parametrize(
    ("hours", "said"), [(7.0, "07:00"), (-2.0, "22:00"), (12.76, "12:45"), (24.0, "00:00")]
)
def test_hours_are_times_of_day(hours: float, said: str) -> None:
    assert Shown(farm()).time(hours) == said


# --- the killing day ---------------------------------------------------------------------------------


def test_the_killing_day_is_timed_backwards() -> None:
    made = farm()
    day = kill_day(made, [("tawny", 30.0, 70.0)], ON)
    assert day.cold_h - day.stop_h == 4.0
    assert day.done_h - day.first_h == pytest.approx(30 * 0.2)
    assert day.first_h - day.feed_off_until_h == 10.0
    assert day.first_h - day.feed_off_from_h == 12.0
    assert day.heater_on_h == pytest.approx(day.first_h - day.scald_h)
    assert day.done_h <= day.stop_h
    assert day.live_kg == pytest.approx(day.carcass_kg + day.offal_kg)
    assert day.ice_bring_kg == pytest.approx(0.7 * day.carcass_kg)
    assert day.ice_bring_kg >= day.ice_least_kg


def test_more_birds_than_hands_are_told_and_more_hands_do_more() -> None:
    from leyfold.nouns.farm import Person

    alone = kill_day(farm(), [("tawny", 300.0, 700.0)], ON)
    assert alone.fits < 300
    assert alone.first_h == 7.0
    assert alone.done_h == alone.stop_h
    crew = {n: Person(n, n, "helper") for n in "abc"} | {"d": Person("d", "d", "child")}
    assert kill_day(farm(people=crew), [("tawny", 300.0, 700.0)], ON).fits == pytest.approx(3 * alone.fits)
    with pytest.raises(ValueError, match="nobody"):
        kill_day(farm(), [], ON)


def test_killing_days_are_those_of_the_plan() -> None:
    made, s = small()
    days = killing_days(work(made, s), "second")
    assert days == (date(2027, 6, 1), date(2027, 6, 14))


# --- the vet ----------------------------------------------------------------------------------------


def test_what_nobody_wrote_down_stays_open() -> None:
    made, s = small()
    b = s.plan.batches[1]
    facts = BatchFacts(b.id, b.line, "set", dead=(Count(ON - timedelta(days=2), 7, kind="dead"),))
    blocks = json.dumps(sheet("vet", made, s, ON, State(batches={b.id: facts})).blocks, default=list)
    rows = next(r for r in _tables(json.loads(blocks)) if len(r) == 14)
    assert [row[1] for row in rows].count("") == 13
    assert rows[12][1] == {"bold": "7"}


def _tables(blocks: object) -> list[list[list[object]]]:
    if isinstance(blocks, list):
        return [t for b in blocks for t in _tables(b)]
    if isinstance(blocks, dict):
        return ([blocks["rows"]] if "rows" in blocks else []) + _tables(blocks.get("blocks", []))
    return []


# --- the calendar -----------------------------------------------------------------------------------


def test_another_library_reads_the_calendar() -> None:
    import vobject

    made, s = ends()
    tasks = work(made, s)
    content = calendar(made, s, tasks)
    assert content == calendar(made, s, tasks)
    book = vobject.readOne(content.decode())
    events = book.vevent_list
    assert len(events) == len(tasks)
    assert len({e.uid.value for e in events}) == len(tasks)
    for event, task in zip(events, tasks, strict=True):
        assert event.dtstart.value == task.day
        assert event.dtend.value == task.day + timedelta(days=1)
        assert event.summary.value == told(task, Shown(made))
    # RFC 5545, 3.1: lines of 75 octets at the most, ended by CRLF.
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert content.count(b"\n") == content.count(b"\r\n")


def test_an_event_keeps_its_name_when_its_day_moves() -> None:
    import vobject

    def named(plan_moved: bool) -> dict[str, date]:
        plan = three()
        if plan_moved:
            first = plan.batches[0]
            on = first.turnout_on or first.hatched_on + timedelta(days=40)
            plan = replace(plan, batches=(replace(first, turnout_on=on), *plan.batches[1:]))
        made = farm()
        s = season(made, plan)
        book = vobject.readOne(calendar(made, s, work(made, s)).decode())
        return {
            e.uid.value: e.dtstart.value
            for e in book.vevent_list
            if e.summary.value.startswith("turn out first")
        }

    before, after = named(False), named(True)
    assert before.keys() == after.keys()
    assert before != after


# --- the workbook -----------------------------------------------------------------------------------


def test_another_library_reads_the_workbook_and_its_totals_are_true() -> None:
    from openpyxl import load_workbook
    from openpyxl.utils import get_column_letter

    made, s = small()
    content = workbook(made, s, weeks(s), work(made, s))
    assert content == workbook(made, s, weeks(s), work(made, s))
    formulas, values = (load_workbook(io.BytesIO(content), data_only=only) for only in (False, True))
    for table in season_sheets(s, weeks(s)):
        page, shown = formulas[table.name], values[table.name]
        head = [c.value for c in page[1]]
        assert head == list(table.columns)
        top = 3 if any(c in SUMMED.get(table.name, ()) for c in head) else 2
        assert page.max_row == top - 1 + len(table.rows)
        for i, column in enumerate(head, 1):
            total = page.cell(2, i).value if top == 3 else None
            if isinstance(total, str) and total.startswith("="):
                letter = get_column_letter(i)
                assert total == f"=SUM({letter}{top}:{letter}{page.max_row})"
                cells = [page.cell(r, i).value for r in range(top, page.max_row + 1)]
                assert shown.cell(2, i).value == pytest.approx(sum(c or 0 for c in cells), rel=1e-9, abs=1e-9)
            if column in ("date", "monday", "first"):
                first = page.cell(top, i).value if table.rows else None
                assert first is None or first.date() == date.fromisoformat(table.rows[0][i - 1])  # type: ignore[arg-type]
    farm_page = values["farm"]
    dead = [c.value for c in farm_page[1]].index("dead") + 1
    assert farm_page.cell(2, dead).value == pytest.approx(float(np.sum(s.dead)))


def test_a_name_that_looks_like_a_formula_is_text() -> None:
    from openpyxl import load_workbook

    made, s = ends()
    book = load_workbook(io.BytesIO(workbook(made, s, weeks(s), work(made, s))))
    texts = {c.value: c.data_type for row in book["places"].iter_rows(min_row=2, max_col=1) for c in row}
    assert texts[NAMES[-1]] == "s"


def test_the_template_is_part_of_the_package() -> None:
    import leyfold.paper.sheets

    assert (Path(leyfold.paper.sheets.__file__).parent / "sheet.typ").is_file()
