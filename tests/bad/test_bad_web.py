"""What attackers, broken phones and other sites send: refused in one shape, nothing written, nothing told."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from datetime import timedelta

import httpx
import pytest

from web import AT, Farm, copy_of_demo, error, record, sent, served

BODY_S = 0.6
WRITING = {
    "test_a_request_sent_again_counts_once",
    "test_a_phone_whose_clock_is_years_off_loses_nothing_and_stops_nothing",
}


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Farm]:
    with served(copy_of_demo(tmp_path_factory.mktemp("bad-web") / "farm"), body_s=BODY_S) as farm:
        yield farm


@pytest.fixture
def runa(farm: Farm) -> httpx.Client:
    return farm.as_("runa")


@pytest.fixture(autouse=True)
def nothing_is_written(farm: Farm, request: pytest.FixtureRequest) -> Iterator[None]:
    before = farm.house.store.version
    yield
    if request.node.originalname not in WRITING:
        assert farm.house.store.version == before


def batch(*records: object) -> dict[str, object]:
    return {"device": "phone", "records": list(records)}


def raw(farm: Farm, sent: bytes, wait_s: float = 3.0) -> bytes:
    """What comes back for bytes that no client would send."""
    host, _, port = farm.address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port)), timeout=wait_s) as line:
        line.sendall(sent)
        got = b""
        try:
            while more := line.recv(65536):
                got += more
        except TimeoutError:
            pass
        return got


# --- other sites -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_a_post_from_another_site_is_refused(runa: httpx.Client, headers: dict[str, str]) -> None:
    answer = runa.post("/api/sync", json=batch(record("note", text="x")), headers=headers)
    assert error(answer) == (403, "origin")


@pytest.mark.parametrize("word", [None, "", "x", "0" * 64])
def test_a_write_without_the_pages_word_is_refused(runa: httpx.Client, word: str | None) -> None:
    headers = {} if word is None else {"X-Leyfold": word}
    if word is None:
        del runa.headers["X-Leyfold"]
    answer = runa.post("/api/sync", json=batch(record("note", text="x")), headers=headers)
    assert error(answer) == (403, "csrf")


def test_the_word_of_another_session_does_not_serve(farm: Farm, runa: httpx.Client) -> None:
    other = farm.as_("runa").headers["X-Leyfold"]
    answer = runa.post("/api/sync", json=batch(record("note", text="x")), headers={"X-Leyfold": other})
    assert error(answer) == (403, "csrf")


@pytest.mark.parametrize("host", ["farm.example", "127.0.0.1.example", "localhost:1", "", "a:b"])
def test_another_host_name_is_refused(farm: Farm, host: str) -> None:
    answer = farm.client().get("/", headers={"Host": host})
    assert error(answer)[0] in (400, 421)


def test_no_other_site_may_read_frame_or_script_it(runa: httpx.Client) -> None:
    answer = runa.get("/api/me", headers={"Origin": "https://elsewhere.example"})
    assert "access-control-allow-origin" not in answer.headers
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert runa.request("OPTIONS", "/api/sync").status_code in (404, 405)


# --- too much, too deep, too slow ----------------------------------------------------------------------


def test_a_body_too_big_is_refused_before_it_is_read(runa: httpx.Client) -> None:
    assert error(runa.post("/api/sync", content=b"x" * 1_200_000)) == (413, "too_big")

    def without_length() -> Iterator[bytes]:
        for _ in range(80):
            yield b" " * 16_000

    answer = runa.post("/api/sync", content=without_length(), headers={"Content-Type": "application/json"})
    assert error(answer) == (413, "too_big")


def test_a_batch_too_long_is_refused_whole(runa: httpx.Client) -> None:
    answer = runa.post("/api/sync", json=batch(*(record("note", text=str(i)) for i in range(201))))
    assert error(answer)[0] in (413, 422)


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 100_000,
        b'{"device": "p", "records": ' + b"[" * 5000 + b"]" * 5000 + b"}",
        b'{"device": "p", "records": [{"id": NaN}]}',
        b'{"device": "p", "records": [1, null, "x", []]}',
        b"\xff\xfe\x00",
        b'{"device": "p", "device": "q", "records": []',
        b"",
        b"null",
        b'"text"',
        b'{"device": "\\ud800", "records": []}',
        b'{"device": "p", "records": [' + b"9" * 5000 + b"]}",
    ],
)
def test_json_made_to_break_a_reader_is_refused(runa: httpx.Client, body: bytes) -> None:
    answer = runa.post("/api/sync", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code < 500
    if answer.status_code == 200:
        assert not answer.json()["accepted"]
    else:
        error(answer)


def test_other_kinds_of_content_are_refused(runa: httpx.Client) -> None:
    body = json.dumps(batch(record("note", text="x")))
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/xml"):
        answer = runa.post("/api/sync", content=body, headers={"Content-Type": kind})
        assert error(answer) == (415, "not_json")


def test_a_body_that_drips_is_given_up(farm: Farm) -> None:
    host = farm.address.removeprefix("http://")
    head = f"POST /api/sync HTTP/1.1\r\nHost: {host}\r\nContent-Length: 1000\r\n\r\n{{"
    got = raw(farm, head.encode(), wait_s=30.0)
    assert b" 408 " in got.splitlines()[0]


def test_what_is_no_http_is_refused(farm: Farm) -> None:
    for line in (b"\x16\x03\x01\x02\x00\x01\x00", b"GET\r\n\r\n", b"GET / HTTP/1.1\r\nHost x\r\n\r\n"):
        got = raw(farm, line + b"\r\n\r\n", wait_s=2.0)
        assert got == b"" or b" 400 " in got.splitlines()[0], line


def test_a_head_without_end_is_refused(farm: Farm) -> None:
    host = farm.address.removeprefix("http://")
    got = raw(farm, f"GET / HTTP/1.1\r\nHost: {host}\r\nX: {'x' * 60_000}".encode())
    assert got == b"" or b" 4" in got.splitlines()[0]


# --- files ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        "/../farm.toml",
        "/..%2ffarm.toml",
        "/%2e%2e/%2e%2e/records.db",
        "/assets/../../app.py",
        "/assets/..%5c..%5capp.py",
        "//etc/passwd",
        "/%00",
        "/records.db",
        "/farm.toml",
        "/.leyfold/server.json",
    ],
)
def test_no_path_leads_out_of_the_built_pages(farm: Farm, path: str) -> None:
    host = farm.address.removeprefix("http://")
    got = raw(farm, f"GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
    status, body = got.split(b"\r\n", 1)[0], got.partition(b"\r\n\r\n")[2]
    assert b" 200 " not in status or body.lstrip()[:15].lower() == b"<!doctype html>"
    assert b"root:x:" not in body
    assert b"[holding]" not in body
    assert b"SQLite" not in body


def test_unknown_things_below_api_are_no_page(runa: httpx.Client) -> None:
    for path in ("/api", "/api/", "/api/nothing", "/api/../api/nothing"):
        assert error(runa.get(path))[0] in (404, 405)
    assert error(runa.request("DELETE", "/api/records")) == (405, "method")


# --- who one is ----------------------------------------------------------------------------------------


def test_a_forged_role_or_person_is_not_believed(farm: Farm) -> None:
    tuva = farm.as_(
        "tuva", **{"X-Role": "farmer", "X-Forwarded-User": "runa", "X-Original-URL": "/api/state"}
    )
    assert tuva.get("/api/me").json()["person"]["role"] == "child"
    assert error(tuva.get("/api/state?role=farmer")) == (403, "right")
    assert error(tuva.post("/api/invitations", json={"person": "tuva", "role": "farmer"}))[0] == 403


def test_an_address_in_a_header_changes_no_limit(farm: Farm) -> None:
    with served(copy_of_demo(farm.folder.parent / "limits")) as fresh:
        answers = []
        for i in range(14):
            client = fresh.client(**{"X-Forwarded-For": f"10.0.0.{i}"})
            answers.append(client.post("/api/sign-in", json={"name": "runa", "passphrase": f"wrong {i}"}))
        assert [error(a)[0] for a in answers[:10]] == [401] * 10
        assert {error(a)[0] for a in answers[10:]} == {429}
        assert int(answers[-1].headers["retry-after"]) > 0


def test_a_request_sent_again_counts_once(farm: Farm, runa: httpx.Client) -> None:
    one = record("note", text="once")
    before = farm.house.store.version
    first = runa.post("/api/sync", json=batch(one)).json()
    again = [runa.post("/api/sync", json=batch(one)).json() for _ in range(5)]
    assert first["accepted"] == [one["id"]]
    assert all(a["accepted"] == [] and a["duplicates"] == [one["id"]] for a in again)
    assert farm.house.store.version == before + 1


@pytest.mark.parametrize("days", [366, -366, 4000])
def test_a_phone_whose_clock_is_years_off_loses_nothing_and_stops_nothing(
    runa: httpx.Client, days: int
) -> None:
    one = record("found dead", "runa", AT + timedelta(days=days), place="barn", heads=1)
    page = sent(runa, one)
    assert one["id"] in page["accepted"] or one["id"] in [no["id"] for no in page["refused"]]
    if days > 0:
        told = [f["id"] for f in (*page["flagged"], *page["refused"])]
        assert one["id"] in told
    assert runa.get("/api/rounds").status_code == 200
    assert runa.get("/api/state").status_code == 200


# --- what is told --------------------------------------------------------------------------------------


def test_refusals_tell_nothing_of_the_inside(runa: httpx.Client) -> None:
    for answer in (
        runa.get("/api/records?since=x"),
        runa.get("/api/state?at=yesterday"),
        runa.post("/api/replan", json={"what": ["the sky falls"]}),
        runa.post("/api/replan", json={"what": "text"}),
        runa.get("/api/rounds?first=9999-99-99"),
        runa.get("/api/rounds?days=9999999999999999999999"),
    ):
        error(answer)
        for word in ("Traceback", "sqlite", "/home", "/tmp", "site-packages", ".py"):
            assert word not in answer.text
        assert "server" not in answer.headers
