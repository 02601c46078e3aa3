"""`leyfold record`: one fact, checked, kept by whoever may write."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread
from typing import Any, ClassVar

import pytest

from leyfold.cli import main
from leyfold.log.kinds import KINDS
from leyfold.nouns.errors import BadInput
from leyfold.nouns.record import Record
from leyfold.services.opened import open_farm
from leyfold.services.records import instant_of, typed, write_down
from leyfold.store.lock import hold
from leyfold.store.records import read_records
from leyfold.store.wire import body_of, read_batch

DEMO = Path(__file__).parents[2] / "examples" / "demo"
NOW = datetime(2027, 5, 3, 5, 30, tzinfo=UTC)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "fold"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("records*", ".leyfold"))
    return folder


def down(farm: Path, kind: str, at: str | None = None, anyway: bool = False, **said: str) -> Record:
    return write_down(farm, kind, said, who="ada", at=at, now=NOW, anyway=anyway).record


def test_what_is_written_down_is_there(farm: Path) -> None:
    bought = down(farm, "bought", batch="may", line="rowan", heads="50", place="barn")
    weighed = down(farm, "weighed", batch="may", weights_kg="0.041, 0.039")
    assert dict(weighed.data) == {"batch": "may", "weights_kg": [0.041, 0.039]}
    assert weighed.entered == NOW
    opened = open_farm(farm, NOW)
    assert opened.records == (bought, weighed)
    assert opened.state.groups[0].heads == 50
    other = open_farm(DEMO, NOW)
    assert opened.sha256 != other.sha256


def test_times_are_those_of_the_wall() -> None:
    zone = "Europe/Oslo"
    assert instant_of("06:10", zone, NOW) == datetime(2027, 5, 3, 4, 10, tzinfo=UTC)
    assert instant_of("2027-03-01 06:10", zone, NOW) == datetime(2027, 3, 1, 5, 10, tzinfo=UTC)
    assert instant_of("2027-03-01T06:10+00:00", zone, NOW) == datetime(2027, 3, 1, 6, 10, tzinfo=UTC)
    assert instant_of(None, zone, NOW) == NOW
    for wrong in ("noon", "2027-03-01", "25:00", "2027-03-28T02:30", "2027-10-31T02:30", ""):
        with pytest.raises(BadInput):
            instant_of(wrong, zone, NOW)


def test_values_are_what_the_kind_takes() -> None:
    assert typed("found dead", "heads", "2") == 2
    assert typed("found dead", "place", "7") == "7"
    assert typed("weighed", "weights_kg", "1.9,2") == [1.9, 2]
    assert typed("shelter moved", "again", "yes") is True
    assert typed("correction", "data", '{"eggs": 3}') == {"eggs": 3}
    assert typed("found dead", "no such", "1") == "1"


@pytest.mark.parametrize(
    ("kind", "said", "wrong"),
    [
        ("egs", {"eggs": "3"}, "no kind of record"),
        ("eggs", {"eggs": "many", "place": "caravan"}, "not a whole number"),
        ("eggs", {"eggs": "3"}, "not given"),
        ("eggs", {"eggs": "3", "place": "shed"}, "shed"),
        ("found dead", {"place": "barn"}, "--anyway"),
    ],
)
def test_a_slip_is_refused_and_nothing_made(farm: Path, kind: str, said: dict[str, str], wrong: str) -> None:
    with pytest.raises(BadInput, match=wrong):
        down(farm, kind, **said)
    assert not (farm / "records.db").exists()


def test_anyway_keeps_it_and_it_is_asked(farm: Path) -> None:
    written = write_down(farm, "found dead", {"place": "barn"}, who="ada", at=None, now=NOW, anyway=True)
    assert [q.id for q in written.questions] == [written.record.id]
    assert read_records(farm)[0] == (written.record,)


def test_the_command(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [
        "record",
        str(farm),
        "bought",
        "batch=may",
        "line=rowan",
        "heads=5",
        "place=barn",
        "--who",
        "ada",
    ]
    assert main([*words, "--json"]) == 0
    page = json.loads(capsys.readouterr().out)
    assert page["data"]["who"] == "ada"
    assert main(["record", str(farm), "found", "dead", "place=barn"]) == 0
    assert "found dead" in capsys.readouterr().out
    assert main(["record", str(farm), "found", "dead"]) == 2
    assert "reason?" in capsys.readouterr().err
    assert main(["record", str(farm)]) == 2
    assert main(["record", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.replace("│", " ").split())
    assert all(kind in said for kind in KINDS)
    assert len(read_records(farm)[0]) == 2


# --- through the running server -----------------------------------------------------------------------


class Server(BaseHTTPRequestHandler):
    """The server's side of the bargain, as small as it can be."""

    token: ClassVar[str] = ""
    answer: ClassVar[tuple[int, Any]] = (200, {})
    came: ClassVar[list[Record]] = []

    def do_POST(self) -> None:
        assert self.path == "/api/sync"
        assert self.headers["Authorization"] == f"Bearer {self.token}"
        batch = read_batch(self.rfile.read(int(self.headers["Content-Length"])))
        self.came.extend(batch.records)
        code, page = self.answer
        body = json.dumps(page).encode()
        self.send_response(code)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Quiet."""


@contextmanager
def served(farm: Path, code: int, page: Any) -> Iterator[None]:
    Server.answer, Server.came = (code, page), []
    with HTTPServer(("127.0.0.1", 0), Server) as server, hold(farm) as held:
        Server.token = held.announce(f"http://127.0.0.1:{server.server_port}/")
        thread = Thread(target=server.serve_forever)
        thread.start()
        try:
            yield
        finally:
            server.shutdown()
            thread.join()


def test_it_goes_through_the_server(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("http_proxy", "http://127.0.0.1:9")
    with served(farm, 200, {"accepted": [], "duplicates": [], "refused": [], "cursor": 1}):
        record = down(farm, "bought", batch="may", line="rowan", heads="50", place="barn")
    assert Server.came == [record]
    assert not (farm / "records.db").exists()


def test_what_the_server_refuses_is_said(farm: Path) -> None:
    no = {"refused": [{"id": "x", "why": "The day is shut.", "mend": "Open it."}]}
    said = {"batch": "may", "line": "rowan", "heads": "50", "place": "barn"}
    with served(farm, 200, no), pytest.raises(BadInput, match=r"The day is shut\. Open it\."):
        down(farm, "bought", **said)
    with served(farm, 403, {"error": {"message": "Not you."}}), pytest.raises(BadInput, match="Not you"):
        down(farm, "bought", **said)


def test_a_server_that_does_not_answer_is_said(farm: Path) -> None:
    with hold(farm) as held:
        held.announce("http://127.0.0.1:9")
        with pytest.raises(BadInput, match="does not answer"):
            down(farm, "bought", batch="may", line="rowan", heads="50", place="barn")


# --- what comes over the wire -------------------------------------------------------------------------


def test_a_batch_there_and_back(farm: Path) -> None:
    records = (down(farm, "bought", batch="may", line="rowan", heads="50", place="barn"),)
    batch = read_batch(body_of(records, "phone"))
    assert (batch.device, batch.records, batch.refused) == ("phone", records, ())


@pytest.mark.parametrize(
    "body",
    [
        b"", b"[]", b"{}", b"\xff", b'{"device": "a"}', b'{"device": "", "records": []}',
        b'{"device": "a\\u0000", "records": []}', b'{"device": "a", "records": {}}',
        b'{"device": "a", "device": "b", "records": []}', b'{"device": "a", "records": [], "x": 1}',
        b'{"device": "a", "records": [' + b",".join([b"1"] * 201) + b"]}",
        b'{"device": "a", "records": ["' + b"x" * 1_100_000 + b'"]}',
        b'{"device": "a", "records": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"device": "a", "records": [' + b"1" * 5000 + b"]}",
    ],
)  # fmt: skip
def test_what_is_no_batch_is_refused(body: bytes) -> None:
    with pytest.raises(BadInput) as error:
        read_batch(body)
    assert error.value.faults[0].mend


@pytest.mark.parametrize(
    "item",
    [
        "1", "null", '"x"', "{}", '{"id": 7}', '{"id": "01JNP4V0W3T7QK1M2X5B8C9D0E"}',
        '{"id": "' + "x" * 1000 + '"}', "[" * 900 + "]" * 900, '{"data": NaN}',
    ],
)  # fmt: skip
def test_one_that_is_no_record_does_not_sink_the_others(farm: Path, item: str) -> None:
    good = body_of((down(farm, "bought", batch="may", line="rowan", heads="50", place="barn"),), "phone")
    batch = read_batch(good.replace(b'"records": [', b'"records": [' + item.encode() + b", "))
    assert len(batch.records) == len(batch.refused) == 1
    assert batch.refused[0].why
    assert len(batch.refused[0].id) <= 40
