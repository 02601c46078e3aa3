"""Broken farm and plan files: each names its file, line and key, says what is wrong and how to mend it.

A file NAME.farm.toml stands in for farm.toml beside good.plan.toml, NAME.plan.toml the other way about. Its
first line holds what is expected: file:line | key | part of what is wrong | part of the mend. Line 0: the
fault is that something is not there at all.
"""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import pytest

from leyfold.cli import main

FILES = Path(__file__).parent / "farm"
CASES = sorted(path.name for path in FILES.glob("*.toml") if not path.name.startswith("good."))


def lay(folder: Path, name: str) -> None:
    kind = name.split(".")[-2]
    for each in ("farm", "plan"):
        shutil.copy(FILES / (name if each == kind else f"good.{each}.toml"), folder / f"{each}.toml")


def test_there_are_many_and_the_good_ones_are_good(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(CASES) >= 120
    lay(tmp_path, "good.farm.toml")
    assert main(["check", str(tmp_path)]) == 0
    assert capsys.readouterr().out.startswith("Nothing wrong")


@pytest.mark.parametrize("name", CASES)
def test_broken_file(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lay(tmp_path, name)
    expected = (FILES / name).read_text(encoding="utf-8").split("\n")[0].removeprefix("#")
    place, key, wrong, mend = (part.strip() for part in expected.split("|"))
    file, _, line = place.partition(":")

    assert main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert "Traceback" not in said.out + said.err
    first, last = said.out.strip().split("\n")
    assert first.startswith(f"{place}: " if line != "0" else f"{file}: ")
    assert last == "Faults found: 1."

    assert main(["check", "--json", str(tmp_path)]) == 2
    (fault,) = json.loads(capsys.readouterr().out)["data"]["faults"]
    assert (fault["file"], fault["line"] or 0, fault["field"]) == (file, int(line), key)
    assert wrong in fault["wrong"]
    assert mend in fault["mend"]
    assert fault["wrong"][-1] in ".:"
    assert fault["mend"]


@pytest.mark.parametrize("name", [CASES[0], CASES[-1]])
def test_other_commands_refuse_it_the_same(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lay(tmp_path, name)
    place = (FILES / name).read_text(encoding="utf-8").split("|")[0].removeprefix("#").strip()
    assert main(["season", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(place)


def test_faults_of_both_files_and_of_form_and_sense_together(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lay(tmp_path, "good.farm.toml")
    farm, plan = tmp_path / "farm.toml", tmp_path / "plan.toml"
    farm.write_text(
        farm.read_text(encoding="utf-8")
        .replace("eggs = 100", 'eggs = "many"')
        .replace("[lines.wren]", '[lines.wren]\nturnout = "10 weeks"'),
        encoding="utf-8",
    )
    plan.write_text(plan.read_text(encoding="utf-8").replace("eggs = 80", "eggs = 0"), encoding="utf-8")
    assert main(["check", "--json", str(tmp_path)]) == 2
    faults = json.loads(capsys.readouterr().out)["data"]["faults"]
    assert [(f["file"], f["field"]) for f in faults] == [
        ("farm.toml", "lines.wren.turnout"),
        ("farm.toml", "incubators.cabinet.eggs"),
        ("plan.toml", "set.early.eggs"),
    ]


@pytest.mark.parametrize("gone", ["farm.toml", "plan.toml"])
def test_a_missing_file(gone: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lay(tmp_path, "good.farm.toml")
    (tmp_path / gone).unlink()
    assert main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr().out
    assert said.startswith(f"{gone}: there is no {gone}")
    assert "leyfold start" in said


JUNK = [
    "",
    "[",
    "]",
    "=",
    '"',
    "'",
    "{",
    "}",
    ",",
    "\n",
    "#",
    "-",
    "nan",
    "inf",
    "1e400",
    "true",
    "[[x]]",
    "0",
    "é",
    "\t",
    ".",
    "9" * 40,
]


@pytest.mark.parametrize("seed", range(8))
def test_whatever_is_typed_is_answered_and_never_a_traceback(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Letters, marks, words and lines of good files struck out, swapped or put in at random."""
    chance = random.Random(seed)
    demo = Path(__file__).parents[2] / "examples" / "demo"
    good = {name: (demo / name).read_text(encoding="utf-8") for name in ("farm.toml", "plan.toml")}
    for _ in range(12):
        for name, text in good.items():
            rows = text.split("\n")
            for _ in range(chance.randint(0, 3)):
                at = chance.randrange(len(rows))
                row = rows[at]
                cut = chance.randint(0, len(row))
                rows[at] = chance.choice(
                    [
                        row[:cut] + chance.choice(JUNK) + row[cut:],
                        row[:cut] + row[cut + chance.randint(1, 4) :],
                        chance.choice(rows),
                        row.partition("=")[0] + "= " + chance.choice(rows).partition("=")[2],
                    ]
                )
            (tmp_path / name).write_text("\n".join(rows), encoding="utf-8")
        code = main(["check", "--json", str(tmp_path)])
        faults = json.loads(capsys.readouterr().out)["data"]["faults"]
        assert code == (2 if faults else 0)
        assert all(fault["wrong"] and fault["mend"] for fault in faults)


def test_a_plan_too_large_to_reckon_with_is_refused_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lay(tmp_path, "good.farm.toml")
    sets = "".join(f'[[set]]\nid = "b{i}"\nline = "wren"\non = 2027-03-01\neggs = 5\n\n' for i in range(501))
    (tmp_path / "plan.toml").write_text(sets, encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("plan.toml:1: set: there are more than 500 of these")
    assert said[1:] == ["Faults found: 1."]
