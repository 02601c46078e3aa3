"""Who may what on the phone, what becomes of the plan when something has happened, and what a phone says
whose session, rights or clock are not what they seem."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from phones import PHONE, Server, shown

NOW = "Written as of now"
PRACTICE_S = 1_809_749_400
"""When the practice clock begins: 06:10 on the farm, 8 May 2027."""
YEAR_MS = 365 * 86_400_000
GUEST = '\n[people.sif]\nname = "Sif"\nrole = "looker-on"\n'
WRITE = """async record => {
  const {csrf, person} = await (await fetch('api/me')).json();
  const headers = {'Content-Type': 'application/json', 'X-Leyfold': csrf};
  const about = {id: '01MN0000000000000000000000', device: 'd', who: person.id};
  const at = '2027-05-08T04:00:00Z';
  const body = JSON.stringify({device: 'd', records: [{...about, at, entered: at, ...record}]});
  const reply = await fetch('api/sync', {method: 'POST', body, headers});
  return {status: reply.status, ...await reply.json()};
}"""
INVITE = """async person => {
  const {csrf} = await (await fetch('api/me')).json();
  const headers = {'Content-Type': 'application/json', 'X-Leyfold': csrf};
  return (await fetch('api/invitations', {method: 'POST', body: JSON.stringify({person}), headers})).json();
}"""
# Somebody makes the phone believe that its owner is a farmer.
FORGE = """async () => {
  const open = indexedDB.open('leyfold');
  const db = await new Promise(ready => { open.onsuccess = () => ready(open.result) });
  const store = db.transaction('things', 'readwrite').objectStore('things');
  const asked = store.get('me');
  const kept = await new Promise(ready => { asked.onsuccess = () => ready(asked.result) });
  kept.value.person.role = 'farmer';
  const put = store.put(kept);
  await new Promise(ready => { put.onsuccess = ready });
  db.close();
}"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("people") / "farm")
    with (made.folder / "farm.toml").open("a", encoding="utf-8") as text:
        text.write(GUEST)
    made.start()
    yield made
    made.end()


@pytest.fixture
def joined(browser: Browser, server: Server, farmer: BrowserContext) -> Iterator[Callable[[str], Page]]:
    contexts = []

    def join(person: str) -> Page:
        desk = farmer.new_page()
        desk.goto(server.base)
        link = desk.evaluate(INVITE, person)["link"]
        desk.close()
        context = browser.new_context(**PHONE)
        contexts.append(context)
        phone = context.new_page()
        phone.goto(server.base + link[link.index("#") :])
        phone.get_by_role("button", name="Join").tap()
        phone.locator("[data-call]").first.wait_for(timeout=60_000)
        return phone

    yield join
    for context in contexts:
        context.close()


@pytest.fixture
def another(browser: Browser, farmer: BrowserContext) -> Iterator[BrowserContext]:
    """Another phone of the farmer's, with nothing on it yet."""
    context = browser.new_context(**PHONE)
    cookies: list[Any] = list(farmer.cookies())
    context.add_cookies(cookies)
    yield context
    context.close()


def call(page: Page, place: str) -> Any:
    return page.locator(f"[data-call={place}]")


def all_sent(page: Page) -> None:
    """Nothing waits: to be asked before something is tapped, or once it was seen waiting."""
    expect(page.locator("main .line a")).to_contain_text(
        re.compile("All sent|Nothing to send"), timeout=30_000
    )


def pressed(page: Page) -> list[str]:
    """What can be pressed on this screen, besides links."""
    return [one.get_attribute("aria-label") or one.inner_text() for one in page.get_by_role("button").all()]


# --- a looker-on, a child ------------------------------------------------------------------------------


def test_a_looker_on_sees_the_round_and_can_write_nothing(
    joined: Callable[[str], Page], server: Server
) -> None:
    before = server.lines()
    phone = joined("sif")
    for room in ("", "evening"):
        phone.goto(f"{server.base}#/{room}")
        expect(call(phone, "caravan")).to_be_visible()
        expect(call(phone, "s1").locator(".heads b")).to_have_text(re.compile(r"\d+"))
        assert pressed(phone) == [], room
    expect(call(phone, "s1")).to_contain_text("s1")
    phone.goto(server.base + "#/")
    expect(phone.get_by_text("You may look on")).to_be_visible()
    # What to do when the fox was there, they are told as well; there is nothing to be written down.
    phone.goto(server.base + "#/happened/fox")
    expect(phone.get_by_role("heading", name="Now", exact=True)).to_be_visible()
    expect(phone.get_by_role("button", name="Write it down")).to_have_count(0)
    phone.goto(server.base + "#/phone")
    expect(phone.get_by_role("link", name="Enter a pencilled sheet")).to_have_count(0)
    answer = phone.evaluate(WRITE, {"kind": "glance", "data": {"place": "s1", "heads": 1}})
    assert (answer["status"], answer["error"]["code"]) == (403, "right")
    assert server.lines() == before


def test_a_child_only_counts(joined: Callable[[str], Page], server: Server) -> None:
    before = {line["id"] for line in server.lines()}
    phone = joined("tuva")
    call(phone, "caravan").get_by_role("button", name=re.compile("Keep .* eggs")).tap()
    expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=30_000)
    counts = re.compile("eggs|Count|Eggs")
    assert [name for name in pressed(phone) if not counts.search(name) and name not in ("Undo", NOW)] == []
    refused = phone.evaluate(WRITE, {"kind": "fed", "data": {"place": "s1", "kg": 1}})["refused"]
    assert [one["id"] for one in refused] == ["01MN0000000000000000000000"]
    assert [line["kind"] for line in server.lines() if line["id"] not in before] == ["eggs"]


def test_forged_rights_are_refused_in_plain_words(joined: Callable[[str], Page], server: Server) -> None:
    phone = joined("tuva")
    phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
    before = server.lines()
    phone.context.set_offline(True)
    phone.evaluate(FORGE)
    phone.reload()
    call(phone, "s1").get_by_role("button", name="Done as said").tap()
    expect(phone.locator("main .line a")).to_contain_text("3 to send")
    phone.context.set_offline(False)
    phone.evaluate("dispatchEvent(new Event('online'))")
    expect(phone.get_by_text("3 records were not taken")).to_be_visible(timeout=30_000)
    expect(phone.get_by_role("button", name="Done as said")).to_have_count(0)
    phone.goto(server.base + "#/phone")
    expect(phone.get_by_role("button", name="Put it aside")).to_have_count(3)
    expect(phone.get_by_text("nothing is lost")).to_be_visible()
    assert server.lines() == before


def test_dead_birds_are_not_written_down_without_their_place(
    joined: Callable[[str], Page], server: Server
) -> None:
    page = joined("odd")
    page.goto(server.base + "#/happened/fox")
    keep = page.get_by_role("button", name="Write it down")
    expect(keep).to_be_enabled()
    where = page.get_by_role("group", name="Where?")
    expect(where.get_by_role("button", name="s2")).to_be_visible()
    expect(where.get_by_role("button", name="cabinet")).to_have_count(0)  # An incubator has no birds,
    expect(where.get_by_role("button", name="herd")).to_have_count(0)  # nor has a herd.
    more = page.get_by_role("button", name="1 more: Found dead")
    more.tap()
    expect(keep).to_be_disabled()
    expect(page.get_by_text("Not said yet: Where?")).to_be_visible()
    where.get_by_role("button", name="s2").tap()
    expect(keep).to_be_enabled()
    page.get_by_role("button", name="1 less: Found dead").tap()
    where.get_by_role("button", name="s2").tap()


# --- something happened ----------------------------------------------------------------------------------


@pytest.mark.parametrize("out_of_signal", [False, True], ids=["in reach", "out of signal"])
@pytest.mark.parametrize(("card", "place"), [("fox", "s3"), ("blown_over", "s4")])
def test_what_becomes_of_the_plan(
    another: BrowserContext, server: Server, card: str, place: str, out_of_signal: bool
) -> None:
    """First what to do, then what is known; the records reach the book, then the plan is made again by it."""
    with shown(another) as phone:
        phone.goto(server.base)
        call(phone, place).wait_for(timeout=60_000)
        all_sent(phone)
        phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
        before = {line["id"] for line in server.lines()}
        phone.goto(server.base + "#/happened/" + card)
        expect(phone.get_by_role("heading", name="Now", exact=True)).to_be_visible()
        another.set_offline(out_of_signal)
        phone.get_by_role("button", name=place, exact=True).tap()
        dead = phone.get_by_role("group", name="Found dead")
        for n in (1, 2):
            dead.get_by_role("button", name="1 more").first.tap()
            expect(dead.locator("output")).to_have_text(str(n))
        phone.get_by_role("button", name="Write it down").tap()
        expect(phone.get_by_text("Written down.")).to_be_visible()
        if out_of_signal:
            expect(phone.get_by_text("follows when the farm")).to_be_visible()
            expect(phone.locator("main .line a")).to_contain_text("2 to send")
            assert {line["id"] for line in server.lines()} == before
            phone.reload()
            expect(phone.get_by_text("follows when the farm")).to_be_visible()
            another.set_offline(False)
            phone.evaluate("dispatchEvent(new Event('online'))")
        heading = phone.get_by_role("heading", name="What becomes of the plan")
        answer = phone.locator("section").filter(has=heading)
        expect(answer).to_be_visible(timeout=120_000)
        written = [line for line in server.lines() if line["id"] not in before]
        assert {line["kind"]: line["data"].get("place") for line in written} == {
            "trouble": place,
            "found dead": place,
        }
        said = answer.inner_text()
        assert "Before dark" in said or "Every promise" in said, said
        another.set_offline(True)  # what was answered stays on the phone
        phone.reload()
        expect(answer).to_be_visible()
        assert answer.inner_text() == said
        another.set_offline(False)
        phone.get_by_role("button", name="Something else happened").tap()
        expect(phone.locator(".cards a").first).to_be_visible()


# --- a session, a clock that are not what they seem ------------------------------------------------------


def tampered(context: BrowserContext) -> list[Any]:
    """The cookies of a phone, each written backwards: a new first letter might be the old one."""
    return [one | {"value": one.get("value", "")[::-1]} for one in context.cookies()]


@pytest.fixture
def spoiled(browser: Browser, farmer: BrowserContext) -> Iterator[BrowserContext]:
    """A phone whose cookie somebody has had a hand in."""
    context = browser.new_context(**PHONE)
    context.add_cookies(tampered(farmer))
    yield context
    context.close()


def test_a_tampered_cookie_leads_to_the_sign_in(spoiled: BrowserContext, server: Server) -> None:
    with shown(spoiled) as phone:
        phone.goto(server.base)
        expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
        phone.get_by_label("Your name").fill("Runa")
        phone.get_by_label("Passphrase").fill("not this one")
        phone.get_by_role("button", name="Sign in").tap()
        expect(phone.get_by_role("alert")).to_have_text(re.compile(r"\w+ \w+"))
    phone.close()


def test_a_session_that_ends_on_the_round_loses_nothing(
    joined: Callable[[str], Page], server: Server
) -> None:
    phone = joined("odd")
    before = {line["id"] for line in server.lines()}
    good: list[Any] = list(phone.context.cookies())
    phone.context.add_cookies(tampered(phone.context))
    call(phone, "barn").locator(".heads").tap()
    phone.get_by_role("dialog").get_by_role("button", name="Seen at a glance").tap()
    expect(phone.get_by_text("Sign in again to send.")).to_be_visible(timeout=30_000)
    expect(phone.locator("main .line a")).to_contain_text("1 to send")
    phone.reload()
    expect(call(phone, "barn")).to_contain_text("seen")  # the round is there, and what was written
    phone.context.add_cookies(good)
    phone.evaluate("dispatchEvent(new Event('online'))")
    all_sent(phone)
    assert [line["kind"] for line in server.lines() if line["id"] not in before] == ["glance"]


@pytest.mark.parametrize("years", [-1, 1], ids=["behind", "ahead"])
def test_a_clock_a_year_off(another: BrowserContext, server: Server, years: int) -> None:
    with shown(another) as phone:

        def honest(route: Any) -> None:
            route.fulfill(json=route.fetch().json() | {"practice": False})

        phone.route("**/api/me", honest)
        farm_now = PRACTICE_S * 1000
        phone.clock.install(time=(farm_now + years * YEAR_MS) / 1000)
        phone.goto(server.base)
        expect(phone.get_by_role("heading", name="Saturday")).to_be_visible(timeout=60_000)
        way = "ahead of" if years > 0 else "behind"
        expect(phone.get_by_text(f"This phone’s clock is 365 days {way} the farm’s")).to_be_visible()
        before = {line["id"] for line in server.lines()}
        call(phone, "barn").locator(".heads").tap()
        phone.get_by_role("dialog").get_by_role("button", name="Seen at a glance").tap()
        expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=30_000)
        (made,) = [line for line in server.lines() if line["id"] not in before]
        assert made["at"].startswith("2027-05-08T0")


def test_a_clock_that_jumps_without_a_signal_is_told(another: BrowserContext, server: Server) -> None:
    """A phone that lost its time in the field has no round for the day it believes in: it says why."""
    with shown(another) as phone:
        phone.goto(server.base)
        call(phone, "barn").wait_for(timeout=60_000)
        all_sent(phone)
        phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
        another.set_offline(True)
        phone.clock.install(time=phone.evaluate("Date.now()") / 1000 + YEAR_MS / 1000)
        phone.reload()
        expect(phone.get_by_text("No round is kept on this phone for")).to_be_visible()
        expect(phone.get_by_text(re.compile("worked out on 8 May 2027; .* set its clock"))).to_be_visible()
