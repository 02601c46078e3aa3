"""Coming in and staying in: invitations, passphrases, sessions, cookies. Standards named beside each test."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from argon2 import extract_parameters

from leyfold.services.people import ABSOLUTE_S, IDLE_S, INVITED_S
from leyfold.web.routes import door
from web import Farm, copy_of_demo, error, served

GOOD = "seven wet geese at dawn"


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    with served(copy_of_demo(tmp_path / "farm")) as farm:
        yield farm


def invited(farm: Farm, person: str = "odd") -> str:
    return farm.house.doors.invite(person, farm.house.clock.machine_s())


def cookie(client: object) -> str:
    (token,) = (c.value for c in client.cookies.jar)  # type: ignore[attr-defined]
    return str(token)


def stored(farm: Farm) -> bytes:
    """All that is on the disk of the book."""
    farm.house.store.database.close()
    with sqlite3.connect(farm.folder / "records.db") as book:
        book.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return (farm.folder / "records.db").read_bytes()


def test_an_invitation_lets_in_once(farm: Farm) -> None:
    token = invited(farm)
    first = farm.client().post(f"/api/invitations/{token}/accept", json={})
    assert first.status_code == 200
    for body in ({}, {"passphrase": GOOD}):
        again = farm.client().post(f"/api/invitations/{token}/accept", json=body)
        assert error(again) == (401, "invitation")


def test_an_invitation_used_by_two_at_once_lets_one_in(farm: Farm) -> None:
    token = invited(farm)
    clients = [farm.client() for _ in range(8)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda c: c.post(f"/api/invitations/{token}/accept", json={}), clients))
    assert sorted(a.status_code for a in answers) == [200, *[401] * 7]


def test_an_invitation_runs_out(farm: Farm) -> None:
    now_s = farm.house.clock.machine_s()
    token = farm.house.doors.invite("odd", now_s - INVITED_S)
    assert error(farm.client().post(f"/api/invitations/{token}/accept", json={})) == (401, "invitation")


def test_a_refused_passphrase_leaves_the_invitation_good(farm: Farm) -> None:
    token, client = invited(farm), farm.client()
    for bad in ("short", "password123", "Sedge Rise", "aaaaaaaaaaaa", "x" * 129):
        answer = client.post(f"/api/invitations/{token}/accept", json={"passphrase": bad})
        assert error(answer) == (422, "invalid"), bad
        assert answer.json()["error"]["faults"][0]["field"] == "passphrase"
    assert client.post(f"/api/invitations/{token}/accept", json={"passphrase": GOOD}).status_code == 200


def test_the_first_3000_common_ones_are_refused() -> None:
    # ASVS 5.0, 6.2.4: the 3000 most common that keep to our own rules.
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    from leyfold.nouns.errors import BadInput
    from leyfold.services.passphrases import SHORTEST, check

    common = [word for word in FREQUENCY_LISTS["passwords"] if len(word) >= SHORTEST]
    assert len(common) > 3000
    for word in common[:3000]:
        with pytest.raises(BadInput):
            check(word.upper())


@pytest.mark.parametrize(
    "passphrase",
    ["alllowercase words", "ÆØÅ græs og høns", "12 34 56 78 90 11", " spaces round it ", "🐔" * 3 + " coops"],
)
def test_any_characters_will_do_and_none_are_changed(farm: Farm, passphrase: str) -> None:
    client = farm.client()
    answer = client.post(f"/api/invitations/{invited(farm)}/accept", json={"passphrase": passphrase})
    assert answer.status_code == 200, answer.text
    back = farm.client()
    for other in (passphrase.upper(), passphrase + "x", passphrase[:-1]):
        if other != passphrase:
            wrong = back.post("/api/sign-in", json={"name": "Odd", "passphrase": other})
            assert error(wrong) == (401, "sign_in_wrong")
    assert back.post("/api/sign-in", json={"name": "Odd", "passphrase": passphrase}).status_code == 200
    assert back.get("/api/me").json()["person"]["id"] == "odd"


def test_a_passphrase_is_changed_by_who_knows_it(farm: Farm) -> None:
    odd = farm.client()
    odd.post(f"/api/invitations/{invited(farm)}/accept", json={"passphrase": GOOD})
    odd.headers["X-Leyfold"] = odd.get("/api/me").json()["csrf"]
    other = farm.as_("odd")
    new = "eleven dry ducks at noon"
    assert error(odd.post("/api/passphrase", json={"now": "guessed it", "new": new})) == (403, "passphrase")
    assert error(odd.post("/api/passphrase", json={"now": GOOD, "new": "short"})) == (422, "invalid")
    assert odd.post("/api/passphrase", json={"now": GOOD, "new": new}).status_code == 200
    assert odd.get("/api/me").status_code == 200
    assert error(other.get("/api/me")) == (401, "sign_in")  # all others of theirs have ended
    assert error(farm.client().post("/api/sign-in", json={"name": "odd", "passphrase": GOOD}))[0] == 401
    assert farm.client().post("/api/sign-in", json={"name": "odd", "passphrase": new}).status_code == 200


def test_passphrases_are_kept_as_argon2id_and_tokens_as_hashes(farm: Farm) -> None:
    # RFC 9106, section 4, second choice: t=3, p=4, m=64 MiB, a salt of 128 and a tag of 256 bits.
    odd, token = farm.client(), invited(farm)
    odd.post(f"/api/invitations/{token}/accept", json={"passphrase": GOOD})
    waiting, session = invited(farm), cookie(odd)
    with farm.house.store.database.reading() as book:
        (hash,) = book.execute("SELECT hash FROM passphrase").fetchone()
    assert hash.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    parameters = extract_parameters(hash)
    assert (parameters.salt_len, parameters.hash_len) == (16, 32)
    disk = stored(farm)
    for secret in (GOOD, session, waiting):
        assert secret.encode() not in disk
    for secret in (GOOD, session, waiting, token):
        log = farm.folder / ".leyfold" / "web.log"
        assert not log.exists() or secret not in log.read_text(encoding="utf-8")


def test_tokens_are_256_random_bits_and_unlike(farm: Farm) -> None:
    tokens = {invited(farm) for _ in range(20)} | {cookie(farm.as_("odd")) for _ in range(3)}
    assert len(tokens) == 23
    assert all(re.fullmatch(r"[\w-]{43}", token) for token in tokens)  # 43 x 6 bits


def test_guessing_is_slowed_down_and_others_are_not_locked_out(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    from leyfold.web.limits import Limit

    monkeypatch.setattr(door, "BY_ADDRESS", Limit(100, 1.0))
    monkeypatch.setattr(door, "BY_NAME", Limit(5, 1 / 120))
    client = farm.client()
    for _ in range(5):
        wrong = client.post("/api/sign-in", json={"name": "odd", "passphrase": "not the one"})
        assert error(wrong) == (401, "sign_in_wrong")
    slow = client.post("/api/sign-in", json={"name": "ODD", "passphrase": "not the one"})
    assert error(slow) == (429, "not_now")
    assert int(slow.headers["retry-after"]) > 60
    other = client.post("/api/sign-in", json={"name": "runa", "passphrase": "not the one"})
    assert error(other) == (401, "sign_in_wrong")
    assert farm.as_("odd").get("/api/me").status_code == 200  # an invitation still lets them in


def test_who_is_there_cannot_be_told_from_the_answer(farm: Farm) -> None:
    farm.client().post(f"/api/invitations/{invited(farm)}/accept", json={"passphrase": GOOD})
    client = farm.client()
    answers = [
        client.post("/api/sign-in", json={"name": name, "passphrase": "not the one"})
        for name in ("odd", "tuva", "nobody")
    ]
    assert len({answer.content for answer in answers}) == 1
    assert {answer.status_code for answer in answers} == {401}


def test_signing_in_makes_a_new_session_and_ends_the_old(farm: Farm) -> None:
    odd = farm.client()
    odd.post(f"/api/invitations/{invited(farm)}/accept", json={"passphrase": GOOD})
    old = cookie(odd)
    odd.post("/api/sign-in", json={"name": "odd", "passphrase": GOOD})
    assert cookie(odd) != old
    name = next(iter(odd.cookies.jar)).name
    assert error(farm.client(Cookie=f"{name}={old}").get("/api/me")) == (401, "sign_in")
    assert odd.get("/api/me").status_code == 200


def test_signing_out_ends_the_session_for_good(farm: Farm) -> None:
    odd = farm.as_("odd")
    name, token = next((c.name, c.value) for c in odd.cookies.jar)
    assert odd.post("/api/sign-out", json={}).status_code == 200
    assert not list(odd.cookies.jar)
    assert error(farm.client(Cookie=f"{name}={token}").get("/api/me")) == (401, "sign_in")


def test_sessions_run_out_by_idleness_and_in_the_end(farm: Farm) -> None:
    doors, now_s = farm.house.doors, farm.house.clock.machine_s()
    idle = doors.accept(invited(farm), "phone", now_s, None, farm.house.live.farm())
    assert idle
    assert doors.session(idle.token, now_s + IDLE_S - 1)
    assert doors.session(idle.token, now_s + IDLE_S - 1 + IDLE_S - 1)  # used meanwhile
    assert doors.session(idle.token, now_s + 3 * IDLE_S) is None
    busy = doors.accept(invited(farm), "phone", now_s, None, farm.house.live.farm())
    assert busy
    for at_s in range(now_s, now_s + ABSOLUTE_S, IDLE_S // 2):
        assert doors.session(busy.token, at_s)
    assert doors.session(busy.token, now_s + ABSOLUTE_S) is None


def test_a_tampered_cookie_is_no_session(farm: Farm) -> None:
    odd = farm.as_("odd")
    name, token = next((c.name, c.value) for c in odd.cookies.jar)
    assert token
    for bad in (
        token[:-1] + ("A" if token[-1] != "A" else "B"),
        token.lower(),
        token + "A",
        "",
        "odd",
        "' OR 1=1 --",
    ):
        assert error(farm.client(Cookie=f'{name}="{bad}"').get("/api/me"))[0] in (401, 429), bad


def test_cookies_are_for_this_server_alone(farm: Farm) -> None:
    answer = farm.client().post(f"/api/invitations/{invited(farm)}/accept", json={})
    said = answer.headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said
    assert "path=/" in said
    assert "domain" not in said
    assert re.match(r"leyfold-\d+=", said)


def test_people_who_leave_the_farm_file_are_out_at_once(farm: Farm) -> None:
    odd = farm.as_("odd")
    file = farm.folder / "farm.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('role = "helper"', 'role = "looker-on"'), encoding="utf-8")
    farm.as_("runa").get("/api/state")
    assert odd.get("/api/me").json()["person"]["role"] == "looker-on"
    start = text.index("[people.odd]")
    file.write_text(text[:start] + text[text.index("[people.tuva]") :], encoding="utf-8")
    assert error(odd.get("/api/me")) == (401, "sign_in")


def test_the_farmer_signs_a_lost_phone_out(farm: Farm) -> None:
    runa, odd = farm.as_("runa"), farm.as_("odd", **{"User-Agent": "Mozilla/5.0 (Linux; Android 15)"})
    listed = runa.get("/api/sessions").json()
    assert [(s["person"], s["device"], s["here"]) for s in listed if s["person"] == "odd"] == [
        ("odd", "Android", False)
    ]
    lost = next(s["id"] for s in listed if s["person"] == "odd")
    assert error(odd.post(f"/api/sessions/{lost}/end", json={})) == (403, "right")
    assert runa.post(f"/api/sessions/{lost}/end", json={}).status_code == 200
    assert error(odd.get("/api/me")) == (401, "sign_in")
    assert error(runa.post(f"/api/sessions/{lost}/end", json={})) == (404, "nothing_here")


def test_a_person_is_signed_out_everywhere_with_invitations(farm: Farm) -> None:
    runa, waiting = farm.as_("runa"), invited(farm)
    phones = [farm.as_("odd"), farm.as_("odd")]
    assert runa.post("/api/people/odd/end", json={}).status_code == 200
    assert [error(phone.get("/api/me"))[0] for phone in phones] == [401, 401]
    assert error(farm.client().post(f"/api/invitations/{waiting}/accept", json={})) == (401, "invitation")
    assert runa.get("/api/me").status_code == 200


def test_another_book_knows_no_session_of_before(tmp_path: Path) -> None:
    # A backup put back must not bring a revoked phone in again: it is a book of another id.
    folder = copy_of_demo(tmp_path / "farm")
    with served(folder) as farm:
        odd = farm.as_("odd")
        name, token = next((c.name, c.value) for c in odd.cookies.jar)
        waiting = invited(farm)
    with sqlite3.connect(folder / "records.db") as book:
        book.execute("UPDATE about SET value = 'another' WHERE name = 'book'")
    with served(folder) as farm:
        assert farm.house.doors.session(token or "", farm.house.clock.machine_s()) is None
        assert error(farm.client().post(f"/api/invitations/{waiting}/accept", json={}))[0] == 401
    assert name


def test_the_link_of_this_machine_works_once(farm: Farm) -> None:
    token = invited(farm, "runa")
    client = farm.client()
    answer = client.get(f"/in/{token}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert client.get("/api/me").json()["person"]["id"] == "runa"
    other = farm.client()
    assert other.get(f"/in/{token}").status_code == 303
    assert error(other.get("/api/me")) == (401, "sign_in")


def test_the_link_is_not_followed_from_another_site(farm: Farm) -> None:
    # ASVS 5.0, 3.5.3: where GET changes something, Sec-Fetch-* must be those of a page opened by its user.
    token = invited(farm, "runa")
    for headers in (
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Dest": "image"},
        {"Sec-Fetch-Mode": "cors"},
    ):
        assert error(farm.client().get(f"/in/{token}", headers=headers)) == (403, "origin")
    fine = {"Sec-Fetch-Site": "none", "Sec-Fetch-Dest": "document", "Sec-Fetch-Mode": "navigate"}
    assert farm.client().get(f"/in/{token}", headers=fine).status_code == 303
