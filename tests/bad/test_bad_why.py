"""Figures, names and days that there are not: each refused in plain words with what is near, exit 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = str(Path(__file__).resolve().parents[2] / "examples" / "demo")

ASKED = {
    ("fed",): ("no figure is called fed", "Nearest: feed"),
    ("",): ("no figure is called", "There are: heads"),
    ("feed:mach",): ("nothing here is called mach", "march"),
    ("feed:zzzzz",): ("nothing here is called zzzzz", "There are:"),
    ("feed/month",): ("month is no span", "day, week, season"),
    ("feed:march.april",): ("march and april cannot both be meant", "one of a kind"),
    ("feed:pullets.cockerels",): ("cannot both be meant", "a sex"),
    ("heads/season",): ("heads is of a day or a week", "Leave out"),
    ("kg_per_m2/season",): ("kg_per_m2 is of a day or a week", "Leave out"),
    ("hatched/week",): ("hatched is of the whole season", "Leave out"),
    ("pullets", "--at", "2027-06-01"): ("a figure of the whole season takes no date", "Leave out --at"),
    ("feed/season", "--at", "2027-06-01"): ("a figure of the whole season takes no date", "Leave out --at"),
    ("feed", "--at", "2030-01-01"): (
        "outside the season, which runs from 21 Dec 2026 to 2 Jan 2028",
        "within",
    ),
    ("feed", "--at", "2026-12-20"): ("20 Dec 2026 is outside the season", "within"),
    ("feed", "--at", "the fair"): ("--at", "date"),
    ("kg_n_per_ha:barn",): ("barn is no part of this figure", "s1"),
    ("floor:s1",): ("s1 is no part of this figure", "barn, loft"),
    ("floor:march",): ("march is no part of this figure", "barn"),
    ("heads:box",): ("box is no part of this figure", "yule"),
    ("shelters:s1",): ("s1 is no part of this figure", "leave the name out"),
    ("hatched:cockerels",): ("cockerels is no part of this figure", "yule"),
    ("water:starter",): ("starter is no part of this figure", "yule"),
}


@pytest.mark.parametrize("asked", ASKED, ids=" ".join)
def test_what_there_is_not_is_refused_with_what_is_near(
    asked: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["why", DEMO, *asked]) == 2
    out, error = capsys.readouterr()
    assert out == ""
    for words in ASKED[asked]:
        assert words in error
    assert "Traceback" not in error
