"""The day sheet and the page for whoever does the round: one page, the heads of the round, the same bytes."""

from __future__ import annotations

from datetime import date, datetime
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from leyfold.nouns.errors import BadInput
from leyfold.services.paper import paper_of
from leyfold.services.round import rounds_of

DEMO = Path(__file__).parents[2] / "examples" / "demo"
AT = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))


@pytest.mark.parametrize("kind", ["day", "neighbour"])
def test_the_round_on_paper_is_the_round(kind: str) -> None:
    made = paper_of(DEMO, kind, AT)
    assert made.content == paper_of(DEMO, kind, AT).content
    (page,) = PdfReader(BytesIO(made.content)).pages
    text = " ".join(page.extract_text().split())
    morning, evening = rounds_of(DEMO, AT).rounds
    at = 0
    for call in morning.calls:
        at = text.index(f"{call.name} {call.who}", at)
        assert str(call.heads) in text[at : at + 60], call.name
    for warning in morning.warnings:
        assert warning.short in text
    assert "paces" in text
    if kind == "day":
        assert all(f"of {c.heads}" in text for c in evening.calls if c.heads)


@pytest.mark.parametrize("kind", ["day", "neighbour"])
def test_a_net_to_be_shifted_stands_on_the_page_with_its_cautions(kind: str) -> None:
    on = next(
        r.day
        for r in rounds_of(DEMO, AT, days=8).rounds
        if r.part == "morning" and any(c.fence for c in r.calls)
    )
    page, *_ = PdfReader(BytesIO(paper_of(DEMO, kind, AT, on=on).content)).pages
    fence = next(c.fence for c in rounds_of(DEMO, AT, first=on).rounds[0].calls if c.fence)
    text = bare(page.extract_text())
    assert bare(fence.said) in text
    if kind == "day":
        assert all(bare(line or "?") in text for line in (fence.size, fence.walk, *fence.cautions))


def test_what_is_too_long_for_a_page_parts_between_morning_and_dusk() -> None:
    on = date(2027, 5, 15)
    pages = PdfReader(BytesIO(paper_of(DEMO, "day", AT, on=on).content)).pages
    morning, dusk = (" ".join(page.extract_text().split()) for page in pages)
    rounds = rounds_of(DEMO, AT, first=on).rounds
    (fence,) = [c.fence for c in rounds[0].calls if c.fence]
    assert bare(fence.walk or "?") in bare(morning)
    for call in rounds[1].calls:
        if call.kind != "incubator":
            assert f"of {call.heads}" in dusk, call.name
    assert "Shut-in" not in morning


def test_long_words_push_no_column_into_the_next() -> None:
    """On the day l2 stands over a hollow its move takes three lines."""
    (page,) = PdfReader(BytesIO(paper_of(DEMO, "neighbour", AT, on=date(2027, 5, 12)).content)).pages
    words: list[tuple[str, float, float]] = []

    def seen(text: str, cm: list[float], tm: list[float], _font: object, _size: object) -> None:
        words.append(
            (text.strip(), tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5])
        )

    text = page.extract_text(visitor_text=seen)
    assert "gap of" in text
    line = next(y for word, _, y in words if word == "moved")
    at = {word: x for word, x, y in words if abs(y - line) < 1}
    heads = [at[head] for head in ("place", "birds", "moved", "feed", "water", "ring at")]
    assert all(right - left > 20 for left, right in pairwise(heads)), heads


def bare(text: str) -> str:
    """Without what breaking lines puts in or takes out."""
    return "".join(text.split()).replace("-", "").replace("\u2010", "")


@pytest.mark.parametrize("at", ["2027-05-08T06:10", "2027-06-01T05:30", "2027-03-03T07:30"])
def test_what_stands_above_the_neighbours_table_is_what_it_adds_up_to(at: str) -> None:
    """On the first of June a shelter is to be emptied: its birds are still there to be watered."""
    then = datetime.fromisoformat(at).replace(tzinfo=AT.tzinfo)
    pages = PdfReader(BytesIO(paper_of(DEMO, "neighbour", then).content)).pages
    text = " ".join(pages[0].extract_text().split())
    (morning,) = (r for r in rounds_of(DEMO, then).rounds if r.part == "morning")
    birds = [c for c in morning.calls if c.kind not in ("incubator", "cattle")]
    assert f"{sum(c.heads for c in birds)} birds {len(birds)} places with birds" in text
    litres = sum(c.water.litres for c in birds if c.water)
    assert f"{litres:.0f} l water for the birds today" in text
    killing = "Kill none yourself" in text
    assert killing is (then.date() == date(2027, 6, 1))
    eggs = [c for c in morning.calls if c.kind == "incubator"]
    assert all(f"{c.who} {c.eggs} eggs" in text and c.checks[0].said in text for c in eggs)


def test_a_day_sheet_of_a_day_that_cannot_be_seen_is_refused() -> None:
    for on in (date(2027, 5, 7), date(2027, 5, 30)):
        with pytest.raises(BadInput) as wrong:
            paper_of(DEMO, "day", AT, on=on)
        assert wrong.value.faults[0].mend
