"""What `leyfold reckon` cannot answer: refused in words, exit 2, nothing printed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from leyfold.cli import main

DEMO = Path(__file__).parents[2] / "examples" / "demo"

CHANGED = {
    "no price for what is sold": (
        'carcass = "13.20 EUR/kg"\n',
        "",
        ["prices.carcass", "has no price", 'carcass = "… EUR/kg"'],
    ),
    "no price for a feed": ('price = "605 EUR/t"\n', "", ["feeds.layers.price", "has no price"]),
    "no price for hens left": ('old_hen = "6 EUR"\n', "", ["prices.old_hen", "has no price"]),
    "another currency": ('egg = "0.42 EUR"', 'egg = "0.42 GBP"', ["prices.egg", "EUR"]),
    "below nothing": ('egg = "0.42 EUR"', 'egg = "-0.42 EUR"', ["prices.egg", "-0.42"]),
    "a price of what": ('carcass = "13.20 EUR/kg"', 'carcass = "13.20 EUR"', ["prices.carcass"]),
    "no number": ('labour = "17 EUR/h"', 'labour = "nan EUR/h"', ["prices.labour"]),
    "an order before any killing": (
        "on = 2027-05-15",
        "on = 2027-04-30",
        ["orders.o-1", "30 Apr 2027", "4 May 2027"],
    ),
    "an order of nobody": (
        "number = 6\non = 2027-05-15",
        "number = 0\non = 2027-05-15",
        ["orders", "number"],
    ),
    "a weight class there is not": (
        'weight_class = "large"',
        'weight_class = "huge"',
        ["huge", "Known: small, middle, large"],
    ),
    "two classes of one weight": ('large = "1.8 kg"', 'large = "1.5 kg"', ["weight_classes", "same weight"]),
    "one order twice": ('id = "o-2"', 'id = "o-1"', ["o-1", "twice"]),
    "a deposit in other money": ('deposit = "30 EUR"', 'deposit = "30 SEK"', ["deposit", "EUR"]),
    "a customer with a name": ('customer = "mill"', 'customer = "The Mill, 12 High St"', ["customer"]),
    "work that takes longer than a day": (
        "[weight_classes]",
        '[work]\nbrooder_h_per_d = "30 h/d"\n\n[weight_classes]',
        ["brooder_h_per_d", "too much"],
    ),
    "work without a unit": (
        "[weight_classes]",
        "[work]\negg_h = 0.004\n\n[weight_classes]",
        ["egg_h", "h/egg"],
    ),
}


@pytest.mark.parametrize("case", CHANGED)
def test_a_farm_file_that_cannot_be_reckoned(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    was, now, words = CHANGED[case]
    shutil.copytree(DEMO, tmp_path / "farm")
    file = tmp_path / "farm" / "farm.toml"
    text = file.read_text(encoding="utf-8")
    assert was in text
    file.write_text(text.replace(was, now, 1), encoding="utf-8")
    refused(capsys, [str(file.parent), "--draws", "0"], words)


ASKED = {
    "fewer than no seasons": (["--draws", "-1"], ["--draws", "-1 seasons"]),
    "too many seasons": (["--draws", "100001"], ["--draws", "100000"]),
    "a season and a half": (["--draws", "1.5"], ["--draws", "from 100"]),
    "a seed below nothing": (["--seed", "-3"], ["--seed", "-3 is no seed"]),
    "a slip of no day": (["--slip", "0"], ["--slip", "0 days"]),
    "a slip of years": (["--slip", "400"], ["--slip", "400 days"]),
    "against no farm": (["--against", "nowhere-at-all"], ["farm.toml", "nowhere-at-all"]),
}


@pytest.mark.parametrize("case", ASKED)
def test_a_question_that_cannot_be(case: str, capsys: pytest.CaptureFixture[str]) -> None:
    arguments, words = ASKED[case]
    refused(capsys, [str(DEMO), *arguments], words)


def test_two_faults_are_named_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    refused(capsys, [str(DEMO), "--draws", "-1", "--seed", "-1"], ["--draws", "--seed"])


def test_against_a_farm_with_other_money(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = tmp_path / "other"
    shutil.copytree(DEMO, other)
    file = other / "farm.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("EUR", "NOK"), encoding="utf-8")
    refused(capsys, [str(DEMO), "--draws", "0", "--against", str(other)], ["NOK", "EUR", "same money"])


def refused(capsys: pytest.CaptureFixture[str], arguments: list[str], words: list[str]) -> None:
    assert main(["reckon", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert all(word in err for word in words), err
