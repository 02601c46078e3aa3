"""The farm's server as a browser meets it: signing in, records in and out, rounds, pages."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from signal import SIGINT

import pytest

from leyfold.cli.serve import serve
from leyfold.nouns.errors import BadInput
from leyfold.services.round import open_books
from leyfold.services.start import start_farm
from web import AT, Farm, copy_of_demo, error, record, sent, served


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Farm]:
    with served(copy_of_demo(tmp_path_factory.mktemp("web") / "farm")) as farm:
        yield farm


def test_me_tells_who_where_and_when(farm: Farm) -> None:
    me = farm.as_("odd").get("/api/me").json()
    assert me["person"] == {"id": "odd", "name": "Odd", "role": "helper"}
    assert me["farm"]["zone"] == "Europe/Stockholm"
    assert me["farm"]["measures"]["bucket"] == "8 kg"
    assert me["practice"] is True
    assert me["now"].startswith("2027-04-12T05:")
    assert "plan" not in me["rights"]


def test_a_record_goes_in_once_and_comes_out_again(farm: Farm) -> None:
    runa, odd = farm.as_("runa"), farm.as_("odd")
    one = record("note", text="Frost on the drinkers.")
    first = sent(runa, one)
    assert first["accepted"] == [one["id"]]
    assert sent(runa, one)["duplicates"] == [one["id"]]
    other = {**one, "data": {"text": "Something else."}}
    assert [no["id"] for no in sent(runa, other)["refused"]] == [one["id"]]
    page = odd.get("/api/records", params={"since": first["cursor"] - 1}).json()
    assert [r["id"] for r in page["records"]] == [one["id"]]
    assert page["records"][0]["data"] == one["data"]
    assert page["book"] == first["book"]


def test_a_farm_just_begun_has_no_round_before_its_season(tmp_path: Path) -> None:
    start_farm(tmp_path / "new", date(2027, 1, 1))
    with served(tmp_path / "new", datetime(2026, 11, 25, 6, tzinfo=UTC)) as new:
        answer = new.as_("me").get("/api/rounds")
        assert (answer.status_code, answer.json()["rounds"]) == (200, [])
    with served(tmp_path / "new", datetime(2027, 3, 1, 6, tzinfo=UTC)) as new:
        page = new.as_("me").get("/api/rounds").json()
        assert [due["what"] for due in page["rounds"][0]["due"]] == ["set"]


def test_rounds_hold_every_record_accepted_before(farm: Farm) -> None:
    runa = farm.as_("runa")

    def heads() -> dict[str, int]:
        page = runa.get("/api/rounds").json()
        assert len(page["rounds"]) == 16
        return {call["id"]: call["heads"] for call in page["rounds"][0]["calls"]}

    sent(runa, record("present", line="rowan", age_d=10, heads=40, place="barn", batch="early"))
    before = heads()
    assert before["barn"] >= 40
    sent(runa, record("found dead", place="barn", heads=2))
    assert heads()["barn"] == before["barn"] - 2


def test_the_state_is_of_the_instant_asked_for(farm: Farm) -> None:
    runa = farm.as_("runa")
    assert runa.get("/api/state").json()["day"] == "2027-04-12"
    before = runa.get("/api/state", params={"at": "2027-04-11T12:00:00Z"}).json()
    assert before["day"] == "2027-04-11"
    assert before["groups"] == []


def test_pages_and_files(farm: Farm) -> None:
    runa, nobody = farm.as_("runa"), farm.client()
    year = runa.get("/year")
    assert (year.status_code, "Sedge Rise" in year.text) == (200, True)
    assert error(nobody.get("/year")) == (401, "sign_in")
    for path in ("/farm.toml", "/%2e%2e/farm.toml", "/assets/..%2f..%2fapp.py", "/api", "/api/none"):
        assert error(nobody.get(path)) == (404, "nothing_here"), path
    assert error(nobody.post("/")) == (405, "method")


def test_follows_the_farm_file_and_tells_its_faults(tmp_path: Path) -> None:
    with served(copy_of_demo(tmp_path / "farm")) as farm:
        runa = farm.as_("runa")
        file = farm.folder / "farm.toml"
        good = file.read_text(encoding="utf-8")
        file.write_text(good.replace("Sedge Rise", "Other Rise"), encoding="utf-8")
        assert "Other Rise" in runa.get("/year").text
        file.write_text(good.replace("eggs = 168", "egs = 168"), encoding="utf-8")
        year = runa.get("/year")
        assert year.status_code == 422
        assert re.search(r"farm.toml, line \d+, .*egs", year.text)
        assert error(runa.get("/api/rounds")) == (422, "invalid")
        kept = record("note", text="Written while the file was faulty.")
        assert sent(runa, kept)["accepted"] == [kept["id"]]
        file.write_text(good, encoding="utf-8")
        assert runa.get("/year").status_code == 200


def test_a_taken_port_or_book_is_told(farm: Farm, tmp_path: Path) -> None:
    port = int(farm.address.rpartition(":")[2])
    folder = copy_of_demo(tmp_path / "farm")
    for number in (port, 700_000):
        with pytest.raises(BadInput, match="Name another"):
            serve(folder, port=number, open_browser=False)


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to another process")
def test_ctrl_c_ends_it_cleanly(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    command = [sys.executable, "-m", "leyfold", "serve", str(folder), "--port", "0", "--no-open-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
        assert run.stdout
        assert re.search(r"http://127\.0\.0\.1:\d+", run.stdout.readline())
        assert "/in/" in run.stdout.readline()
        with pytest.raises(BadInput, match="open"):
            serve(folder, port=0, open_browser=False)
        run.send_signal(SIGINT)
        _, said = run.communicate(timeout=30)
    assert (run.returncode, said) == (0, "Ended.\n")


def test_birds_killed_before_the_books_open_are_not_among_those_that_stand_there(tmp_path: Path) -> None:
    at = datetime(2027, 5, 8, 4, 10, tzinfo=UTC)
    with served(copy_of_demo(tmp_path / "farm"), at) as farm:
        birds = open_books(farm.house.live, farm.house.store, at)
        state = farm.house.live.state(at, at)
        assert sum(count.number for facts in state.batches.values() for count in facts.killed) == 28
        assert birds == sum(group.heads for group in state.groups)
        page = farm.as_("runa").get("/year").text
        assert "40 table birds by 12 Jun 2027: more than 99 years in 100" in page


def test_books_in_which_nothing_stands_are_opened_once(tmp_path: Path) -> None:
    folder = copy_of_demo(tmp_path / "farm")
    with served(folder) as farm:
        house = farm.house
        birds = open_books(house.live, house.store, AT)
        groups = house.live.state(AT, AT).groups
        assert birds == sum(group.heads for group in groups) > 100
        assert open_books(house.live, house.store, AT) == 0
        later = AT + timedelta(minutes=5)
        sent(farm.as_("runa"), record("found dead", "runa", later, place=groups[0].place, heads=1))
        after = house.live.state(later, later)
        assert not after.questions
        assert sum(group.heads for group in after.groups) == birds - 1
    (folder / "farm.toml").write_text("[", encoding="utf-8")
    assert open_books(house.live, house.store, AT) == 0
