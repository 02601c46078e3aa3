"""The day sheet and the page for whoever does the round: one page, the heads of the round, the same bytes."""

from __future__ import annotations

from datetime import date, datetime
from io import BytesIO
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
    (page,) = PdfReader(BytesIO(paper_of(DEMO, kind, AT, on=on).content)).pages
    fence = next(c.fence for c in rounds_of(DEMO, AT, first=on).rounds[0].calls if c.fence)
    text = bare(page.extract_text())
    assert bare(fence.said) in text
    if kind == "day":
        assert all(bare(line or "?") in text for line in (fence.size, fence.walk, *fence.cautions))


def bare(text: str) -> str:
    """Without what breaking lines puts in or takes out."""
    return "".join(text.split()).replace("-", "").replace("\u2010", "")


def test_a_day_sheet_of_a_day_that_cannot_be_seen_is_refused() -> None:
    for on in (date(2027, 5, 7), date(2027, 5, 30)):
        with pytest.raises(BadInput) as wrong:
            paper_of(DEMO, "day", AT, on=on)
        assert wrong.value.faults[0].mend
