"""A day sheet typed in becomes the records the book takes, or is refused with the mend."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from shutil import copytree, ignore_patterns

import pytest

from leyfold.cli import main
from leyfold.log.kinds import payload
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.nouns.round import Call, Feeding, Move
from leyfold.round.entry import entered
from leyfold.services.opened import open_farm
from leyfold.services.records import typed

AT = datetime(2027, 5, 8, 5, tzinfo=UTC)
FEED = Feeding("grower", 4.0, "scoop", 2.5, "2½ × scoop")
SHELTER = Call(
    "s3", "s3", "shelter", "s3", "pullets", 33, move=Move("ahead", "ahead", stand="ley/1.5"), feeds=(FEED,)
)
HOUSE = Call("van", "van", "house", "van", "hens", 55, feeds=(FEED,), eggs=40, net="net")
HERD = Call("herd", "herd", "cattle", "herd", "cattle", 9)


@pytest.mark.parametrize(
    ("call", "line", "kinds"),
    [
        (SHELTER, "", []),
        (SHELTER, ".", ["shelter moved", "fed", "watered"]),
        (SHELTER, ". d2 m1", ["shelter moved", "fed", "watered", "found dead", "missing"]),
        (SHELTER, "c31 g32 f3,25", ["counted", "glance", "fed"]),
        (HOUSE, ". e38 k4.2", ["fed", "watered", "eggs", "fence voltage"]),
        (HERD, ".", ["break opened"]),
        (replace(SHELTER, move=Move("stay", "stays", 0), feeds=()), ".", ["watered"]),
    ],
)
def test_lines_become_records_that_the_book_takes(call: Call, line: str, kinds: list[str]) -> None:
    found = entered(call, line)
    assert [kind for kind, _ in found] == kinds
    for kind, said in found:
        data = {key: typed(kind, key, text) for key, text in said.items()}
        assert payload(Record("01MMZ94CE10000000000000001", "desk", "runa", AT, AT, kind, data))


@pytest.mark.parametrize(
    ("call", "line"),
    [(SHELTER, "e3"), (SHELTER, "k4"), (SHELTER, "two"), (SHELTER, "d0"), (SHELTER, "d1.5"), (HERD, "d1")],
)
def test_what_is_not_asked_of_the_place_is_refused(call: Call, line: str) -> None:
    with pytest.raises(BadInput) as wrong:
        entered(call, line)
    assert wrong.value.faults[0].mend


class Later(datetime):
    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Later:
        return cls(2027, 1, 2, tzinfo=tz)


@pytest.fixture
def farm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    demo = Path(__file__).parents[2] / "examples" / "demo"
    copytree(demo, tmp_path / "farm", ignore=ignore_patterns("records.*", ".leyfold", "land.geojson"))
    monkeypatch.setattr("leyfold.cli.enter.datetime", Later)
    return tmp_path / "farm"


def typed_in(farm: Path, monkeypatch: pytest.MonkeyPatch, lines: list[str], day: str) -> int:
    left = iter(lines)

    def line(_: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", line)
    return main(["enter", str(farm), "--day", day, "--at", "06:40", "--who", "runa"])


def kept(farm: Path) -> list[str]:
    return [r.kind for r in open_farm(farm, datetime(2027, 1, 3, tzinfo=UTC)).records]


def test_a_sheet_typed_in_stands_in_the_book(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Hens in the caravan, the herd not at grass: what cannot be read is asked again.
    assert typed_in(farm, monkeypatch, [". e31 z9", ". e31"], "2026-12-28") == 0
    assert kept(farm) == ["fed", "watered", "eggs"]


def test_a_sheet_left_off_keeps_nothing(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert typed_in(farm, monkeypatch, [". e31 z9"], "2026-12-28") == 0
    assert kept(farm) == []


def test_a_day_to_come_is_refused(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert typed_in(farm, monkeypatch, [], "2027-01-05") == 2
