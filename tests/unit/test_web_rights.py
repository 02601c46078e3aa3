"""Who may do what: asked of the server itself, for every role and operation."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from fastapi.routing import APIRoute

from leyfold.log.kinds import COUNTS, KINDS, ROUND
from leyfold.web import rights
from leyfold.web.app import make_api
from web import AT, Farm, copy_of_demo, error, record, sent, served

PEOPLE = {"runa": "farmer", "odd": "helper", "tuva": "child", "iben": "looker-on"}
ASKED = {
    "me": ("GET", "/api/me"),
    "records": ("GET", "/api/records"),
    "cards": ("GET", "/api/cards"),
    "state": ("GET", "/api/state"),
    "sound": ("GET", "/api/sound"),
    "sessions": ("GET", "/api/sessions"),
    "invite": ("POST", "/api/invitations"),
    "end_session": ("POST", "/api/sessions/none/end"),
    "end_person": ("POST", "/api/people/none/end"),
    "people_page": ("GET", "/people"),
}


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Farm]:
    with served(copy_of_demo(tmp_path_factory.mktemp("rights") / "farm"), token="the-token") as farm:
        yield farm


def operations() -> set[str]:
    found = set()
    pending = list(make_api().routes)
    while pending:
        route = pending.pop()
        pending += getattr(getattr(route, "original_router", None), "routes", [])
        if isinstance(route, APIRoute):
            found.add(route.operation_id or route.name)
    return found


def test_the_table_names_every_operation_and_no_other() -> None:
    assert operations() - {"page"} == set(rights.OPERATIONS)
    named = set().union(*rights.RIGHTS.values())
    assert set(rights.OPERATIONS.values()) <= named | {rights.OPEN, rights.SIGNED}


def test_what_the_table_does_not_name_is_refused() -> None:
    for role in (*rights.RIGHTS, "stranger", ""):
        assert not rights.may(role, "burn_the_barn")
    assert not rights.may("stranger", "rounds")
    assert rights.may("farmer", "invite")


@pytest.mark.parametrize("person", PEOPLE)
def test_every_operation_is_held_to_the_table(farm: Farm, person: str) -> None:
    client, role = farm.as_(person), PEOPLE[person]
    for operation, (method, path) in ASKED.items():
        answer = client.request(method, path, json={"person": "odd"} if operation == "invite" else None)
        if rights.may(role, operation):
            assert answer.status_code in (200, 404), (operation, answer.text)
        else:
            assert error(answer) == (403, "right"), operation


def test_nobody_gets_anything_without_signing_in(farm: Farm) -> None:
    client = farm.client()
    for operation, (method, path) in ASKED.items():
        answer = client.request(method, path, json={"person": "odd"} if operation == "invite" else None)
        assert error(answer) == (401, "sign_in"), operation


@pytest.mark.parametrize("person", PEOPLE)
def test_each_writes_the_kinds_of_their_role(farm: Farm, person: str) -> None:
    client, role = farm.as_(person), PEOPLE[person]
    allowed = {"farmer": set(KINDS), "helper": set(ROUND), "child": set(COUNTS), "looker-on": set()}[role]
    ones = {kind: record(kind, person, nothing="of the kind") for kind in KINDS}
    answer = client.post("/api/sync", json={"device": "phone", "records": list(ones.values())})
    if role == "looker-on":
        assert error(answer) == (403, "right")
        return
    why = {no["id"]: no["why"] for no in answer.json()["refused"]}
    for kind, one in ones.items():
        is_for_us = "not for you" not in why.get(one["id"], "")
        assert is_for_us == (kind in allowed), (kind, why.get(one["id"]))


def test_a_helper_writes_in_no_other_name(farm: Farm) -> None:
    odd = farm.as_("odd")
    forged = record("eggs", "runa", place="house", eggs=3)
    (no,) = sent(odd, forged)["refused"]
    assert "runa" in no["why"]
    assert sent(farm.as_("runa"), record("note", "odd", text="Told me by word of mouth."))["accepted"]


def test_a_helper_changes_only_what_they_could_have_written(farm: Farm) -> None:
    runa, odd = farm.as_("runa"), farm.as_("odd")
    sold = record("expense", "runa", what="feed", paid=120.0)
    note = record("note", "runa", text="Gate left open.")
    fixed = record("correction", "runa", of=sold["id"], void=True)
    assert len(sent(runa, sold, note, fixed)["accepted"]) == 3
    for target in (sold["id"], fixed["id"], "01JZZZZZZZZZZZZZZZZZZZZZZZ"):
        (no,) = sent(odd, record("correction", "odd", of=target, void=True))["refused"]
        assert "not for you to change" in no["why"]
        (no,) = sent(odd, record("answer", "odd", of=[target], keep="left out"))["refused"]
        assert "not for you to change" in no["why"]
    assert sent(odd, record("correction", "odd", of=note["id"], void=True))["accepted"]


def test_a_helper_may_stop_things_and_only_the_farmer_lifts_it(farm: Farm) -> None:
    runa, odd = farm.as_("runa"), farm.as_("odd")
    mine = record("stop order", "odd", why="notifiable signs")
    theirs = record("stop order", "runa", why="wrong feed")
    assert sent(odd, mine)["accepted"]
    assert sent(runa, theirs)["accepted"]
    for target in (mine["id"], theirs["id"]):
        (no,) = sent(odd, record("correction", "odd", of=target, void=True))["refused"]
        assert "not for you to change" in no["why"]
        (no,) = sent(odd, record("answer", "odd", of=[target], keep="left out"))["refused"]
        assert "not for you to change" in no["why"]
        assert sent(runa, record("correction", "runa", of=target, void=True))["accepted"]


def test_a_helper_reads_the_round_and_no_more(farm: Farm) -> None:
    runa, odd, tuva = (farm.as_(person) for person in ("runa", "odd", "tuva"))
    bought = record("expense", "runa", what="straw", paid=80.0)
    old = record("note", "runa", AT - timedelta(days=40), text="Long ago.")
    note = record("note", "runa", text="Today.")
    eggs = record("eggs", "runa", place="house", eggs=5)
    since = sent(runa, bought, old, note, eggs)["cursor"] - 4

    def seen(client: object) -> list[str]:
        page = client.get("/api/records", params={"since": since}).json()  # type: ignore[attr-defined]
        assert page["cursor"] >= since + 4
        return [
            r["id"] for r in page["records"] if r["id"] in (bought["id"], old["id"], note["id"], eggs["id"])
        ]

    assert seen(runa) == [bought["id"], old["id"], note["id"], eggs["id"]]
    assert seen(odd) == [note["id"], eggs["id"]]
    assert seen(tuva) == [eggs["id"]]
    assert {"groups", "questions", "stops"} <= odd.get("/api/state").json().keys()
    assert not {"expenses", "sales", "orders"} & odd.get("/api/state").json().keys()
    assert error(odd.get("/api/state", params={"at": "2027-01-01T00:00:00Z"})) == (403, "right")


def test_a_helper_gets_today_and_tomorrow(farm: Farm) -> None:
    def days(person: str, **params: object) -> list[str]:
        page = farm.as_(person).get("/api/rounds", params=params).json()  # type: ignore[arg-type]
        return sorted({one["day"] for one in page["rounds"]})

    assert len(days("runa")) == 8
    for person in ("odd", "tuva", "iben"):
        assert days(person) == ["2027-04-12", "2027-04-13"]
        assert days(person, first="2027-04-13", days=8) == ["2027-04-13"]
        assert days(person, first="2027-04-15") == []


def test_the_token_of_the_lock_opens_what_commands_need(farm: Farm) -> None:
    client = farm.client(Authorization="Bearer the-token")
    assert sent(client, record("note", "odd", text="By leyfold record."))["accepted"]
    assert client.get("/api/sessions").status_code == 200
    assert error(client.get("/api/me")) == (401, "sign_in")
    for wrong in ("Bearer", "Bearer the-toke", "the-token-", "Basic dGhlLXRva2Vu"):
        answer = farm.client(Authorization=wrong).post("/api/sync", json={"device": "x", "records": []})
        assert error(answer)[0] in (401, 429), wrong


def test_no_house_without_a_token_lets_an_empty_one_in(tmp_path_factory: pytest.TempPathFactory) -> None:
    with served(copy_of_demo(tmp_path_factory.mktemp("none") / "farm")) as farm:
        for given in ("", "Bearer", "Bearer x"):
            answer = farm.client(Authorization=given).get("/api/sessions")
            assert error(answer) == (401, "sign_in")


def test_answers_hold_named_fields_alone(farm: Farm) -> None:
    me = farm.as_("tuva").get("/api/me").json()
    assert me.keys() == {"person", "rights", "csrf", "farm", "now", "practice", "version"}
    assert me["farm"].keys() == {"name", "zone", "language", "currency", "lengths", "measures", "people"}
    assert all(person.keys() == {"id", "name", "role"} for person in me["farm"]["people"])
