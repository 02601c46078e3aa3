"""What people do on the round, each act as its record in the farm's book; and what each role may do."""

from __future__ import annotations

import re
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from phones import PHONE, Server, shown

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("acts") / "farm").start()
    yield made
    made.end()


@pytest.fixture
def page(farmer: BrowserContext, server: Server) -> Iterator[Page]:
    with shown(farmer) as opened:
        opened.goto(server.base)
        opened.locator("[data-call]").first.wait_for()
        yield opened
    opened.close()


Written = Callable[[str], list[dict[str, Any]]]


@pytest.fixture
def written(server: Server, page: Page) -> Written:
    """The records of a kind that came into the book since the test began, once all is sent."""
    before = {line["id"] for line in server.lines()}

    def since(kind: str) -> list[dict[str, Any]]:
        until = time.monotonic() + 20.0
        while True:
            page.evaluate("dispatchEvent(new Event('online'))")
            expect(page.locator("main .line a")).to_contain_text(re.compile("All sent"), timeout=20_000)
            found = [line for line in server.lines() if line["id"] not in before and line["kind"] == kind]
            # What was just tapped may not stand among what is to be sent yet.
            if found or time.monotonic() > until:
                return found
            page.wait_for_timeout(200)

    return since


def call(page: Page, place: str) -> Any:
    return page.locator(f"[data-call={place}]")


def glance(page: Page, place: str) -> None:
    call(page, place).locator(".heads").tap()
    page.get_by_role("dialog").get_by_role("button", name="Seen at a glance").tap()


def test_a_glance_is_no_count(page: Page, written: Written) -> None:
    for kind, button, fewer in (("glance", "Seen at a glance", 1), ("counted", "Counted by hand", 2)):
        call(page, "l1").locator(".heads").tap()
        for _ in range(fewer):
            page.get_by_role("dialog").get_by_role("button", name="1 less: birds", exact=True).tap()
        page.get_by_role("dialog").get_by_role("button", name=button).tap()
        (record,) = written(kind)
        assert record["data"] == {"place": "l1", "heads": 66 - fewer}
    assert call(page, "l1").locator(".heads b").inner_text() == "66"


def test_other_amounts_and_undo(page: Page, written: Written) -> None:
    feed = call(page, "s1").get_by_role("group", name="Feed")
    feed.get_by_role("button", name=re.compile("more: Feed")).tap()
    page.wait_for_timeout(500)  # written behind the tap, which waits for nothing
    page.reload()  # what was stepped to is kept before it is ticked
    feed.get_by_role("button", name="s1: Fed").tap()
    (fed,) = written("fed")
    assert fed["data"] == {"place": "s1", "feed": "grower", "measure": "scoop", "measures": 1.75}
    feed.get_by_role("button", name=re.compile("more: Feed")).tap()
    (mended,) = written("correction")
    assert mended["data"] == {"of": fed["id"], "data": fed["data"] | {"measures": 2}}
    page.goto(page.url.split("#")[0] + "#/records")
    page.get_by_role("button", name=re.compile("Undo s1: Fed")).tap()
    expect(page.get_by_text("s1: Fed")).to_have_count(0)
    assert written("correction")[1]["data"] == {"of": fed["id"], "void": True}


def test_dead_with_a_reason_taken_back_one_by_one(page: Page, written: Written) -> None:
    s4 = call(page, "s4")
    heads = int(s4.locator(".heads b").inner_text())
    for name in ("1 more: Dead or missing", "1 more: Dead or missing", "missing", "fox or mink"):
        s4.get_by_role("button", name=name, exact=True).tap()
    expect(s4.locator(".heads b")).to_have_text(str(heads - 2))
    page.goto(page.url.split("#")[0] + "#/evening")
    expect(s4.locator(".heads b")).to_have_text(str(heads - 2))
    page.wait_for_timeout(5_500)
    (lost,) = written("missing")
    assert lost["data"] == {"place": "s4", "heads": 2, "reason": "fox or mink"}
    page.goto(page.url.split("#")[0] + "#/")
    s4.get_by_role("button", name="1 less: Dead or missing").tap()
    expect(s4.locator(".heads b")).to_have_text(str(heads - 1))
    assert written("correction")[0]["data"]["data"]["heads"] == 1


def test_written_at_noon_with_the_true_hour(page: Page, written: Written) -> None:
    page.get_by_role("button", name="Written as of now").tap()
    page.get_by_role("button", name="Yesterday").tap()
    for _ in range(2):
        page.get_by_role("button", name="1 more: Hours").tap()
    page.get_by_role("button", name="Write for this time").tap()
    expect(page.get_by_role("button", name=re.compile("Writing as of 7 May, 08:"))).to_be_visible()
    page.get_by_role("button", name=re.compile("Writing as of")).tap()
    page.get_by_role("button", name="Today").tap()
    page.get_by_role("button", name="1 less: Hours").tap()
    page.get_by_role("button", name="Write for this time").tap()
    call(page, "barn").get_by_role("button", name=re.compile("^Water")).tap()
    (record,) = written("watered")
    assert record["at"] < record["entered"]
    assert record["at"].startswith("2027-05-08T03:1")


def test_the_shut_in_and_a_second_pair_of_eyes(page: Page, written: Written) -> None:
    page.goto(page.url.split("#")[0] + "#/evening")
    page.get_by_role("button", name="Odd", exact=True).tap()
    caravan = call(page, "caravan")
    for _ in range(2):
        caravan.get_by_role("button", name=re.compile("less: kV")).tap()
    caravan.get_by_role("button", name="All well").tap()
    expect(caravan).to_contain_text("Shut in by Odd")
    page.get_by_role("button", name="Runa", exact=True).tap()
    caravan.get_by_role("button", name="I looked too").tap()
    expect(caravan).to_contain_text("Looked at again by Runa")
    first, second = written("shut in")
    assert first["data"] == {"place": "caravan", "doors": True, "water": True, "kV": 3}
    assert (first["who"], second["who"]) == ("odd", "runa")
    assert second["data"] == {"place": "caravan", "doors": True, "water": True, "again": True}


def test_something_happened_without_a_signal(page: Page, written: Written, farmer: BrowserContext) -> None:
    farmer.set_offline(True)
    try:
        page.goto(page.url.split("#")[0] + "#/happened")
        expect(page.locator(".cards a")).to_have_count(6)
        page.get_by_role("link", name=re.compile("fox")).tap()
        page.get_by_role("button", name="s1", exact=True).tap()
        for _ in range(3):
            page.get_by_role("button", name="1 more: Found dead", exact=True).tap()
        page.wait_for_timeout(1000)  # a tap is on the disk a moment later
        page.reload()  # offline, with the card half filled
        expect(page.get_by_role("button", name="s1", exact=True)).to_have_attribute("aria-pressed", "true")
        page.get_by_role("button", name="Write it down").tap()
        expect(page.get_by_text("follows when the farm")).to_be_visible()
        page.get_by_role("button", name=re.compile("^Net on")).tap()
    finally:
        farmer.set_offline(False)
    assert written("trouble")[0]["data"] == {"what": "fox", "place": "s1"}
    assert written("found dead")[0]["data"] == {"place": "s1", "heads": 3}


def test_a_pencilled_sheet(page: Page, written: Written) -> None:
    page.goto(page.url.split("#")[0] + "#/paper")
    page.get_by_role("button", name="60 less: Hour").tap()
    page.get_by_role("button", name="60 less: Hour").tap()
    page.get_by_role("button", name="All as the sheet said").tap()
    call(page, "l1").get_by_role("button", name="1 more: Found dead").tap()
    call(page, "l1").get_by_role("button", name="Moved").tap()  # that one was not
    for _ in range(3):
        call(page, "caravan").get_by_role("button", name="10 more: Eggs").tap()
    page.get_by_role("button", name="Keep the sheet").tap()
    assert {line["data"]["place"] for line in written("shelter moved")} == {"s1", "s3", "s4", "caravan"}
    assert len(written("fed")) == 7
    assert written("eggs")[0]["data"] == {"place": "caravan", "eggs": 30}
    assert {line["at"] for line in written("fed")} == {"2027-05-08T03:00:00Z"}


def test_unsent_records_as_a_file(page: Page, farmer: BrowserContext) -> None:
    farmer.set_offline(True)
    try:
        glance(page, "loft")
        page.goto(page.url.split("#")[0] + "#/phone")
        with page.expect_download() as saved:
            page.get_by_role("button", name="Unsent records as a file").tap()
    finally:
        farmer.set_offline(False)
    path = saved.value.path()
    from leyfold.log.lines import read

    (record,) = read(Path(path).read_text(encoding="utf-8"))
    assert (record.kind, record.data) == ("glance", {"place": "loft", "heads": 66})


# --- roles -------------------------------------------------------------------------------------------


@pytest.fixture
def joined(browser: Browser, server: Server, page: Page) -> Iterator[Callable[[str], Page]]:
    contexts = []

    def join(person: str) -> Page:
        made = page.evaluate(
            """async person => {
              const {csrf} = await (await fetch('api/me')).json();
              const headers = {'Content-Type': 'application/json', 'X-Leyfold': csrf};
              const body = JSON.stringify({person});
              return (await fetch('api/invitations', {method: 'POST', body, headers})).json();
            }""",
            person,
        )
        context = browser.new_context(**PHONE)
        contexts.append(context)
        phone = context.new_page()
        phone.goto(server.base + made["link"][made["link"].index("#") :])
        phone.get_by_role("button", name="Join").tap()
        phone.locator("[data-call]").first.wait_for(timeout=30_000)
        return phone

    yield join
    for context in contexts:
        context.close()


def test_a_child_counts_eggs_and_no_more(joined: Callable[[str], Page]) -> None:
    phone = joined("tuva")
    expect(phone.get_by_role("navigation").get_by_role("link")).to_have_count(2)
    expect(phone.get_by_role("button", name="Done as said")).to_have_count(0)
    expect(phone.get_by_role("button", name=re.compile("Dead"))).to_have_count(0)
    expect(call(phone, "caravan").get_by_role("group", name="Eggs")).to_be_visible()
    call(phone, "caravan").get_by_role("button", name="10 more: Eggs").tap()
    call(phone, "caravan").get_by_role("button", name=re.compile("Keep .* eggs")).tap()
    expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=20_000)


def test_a_helper_does_the_round(joined: Callable[[str], Page], server: Server) -> None:
    phone = joined("odd")
    glance(phone, "barn")
    expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=20_000)
    phone.goto(server.base + "#/phone")
    expect(phone.get_by_role("link", name="The year")).to_have_count(0)


# --- what a phone may lack, and what may come over it --------------------------------------------------


class Passing(BaseHTTPRequestHandler):
    """Passes everything on to the real server; gives out a newer service worker once told to."""

    server: Any

    def log_message(self, *_: Any) -> None:
        return

    def _pass(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0)) or None
        url = f"http://127.0.0.1:{self.server.onto}{self.path}"
        dropped = ("accept-encoding", "host", "origin", "referer")
        headers = {k: v for k, v in self.headers.items() if k.lower() not in dropped}
        asked = urllib.request.Request(url, body, headers, method=self.command)
        try:
            reply = urllib.request.build_opener(Stay).open(asked, timeout=30)
        except urllib.error.HTTPError as error:
            reply = error
        content = reply.read()
        if self.path == "/sw.js" and self.server.newer:
            content = re.sub(rb"leyfold-[0-9a-f]{16}", b"leyfold-newer", content)
        self.send_response(reply.status)
        for key, value in reply.headers.items():
            if key.lower() not in ("content-length", "transfer-encoding", "connection"):
                self.send_header(key, value)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    do_GET = do_POST = _pass


class Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: Any) -> None:
        return None


@pytest.fixture
def middle(server: Server) -> Iterator[Any]:
    """Something between phone and server, as on the way to a farm's own name."""
    made: Any = ThreadingHTTPServer(("127.0.0.1", 0), Passing)
    made.onto, made.newer = server.port, False
    threading.Thread(target=made.serve_forever, daemon=True).start()
    yield made
    made.shutdown()
    made.server_close()


def plain_phone(browser: Browser, farmer: BrowserContext) -> BrowserContext:
    """A phone of the farmer's, signed in at an address that is no secure context."""
    context = browser.new_context(**PHONE)
    cookies = [
        {"name": c["name"], "value": c["value"], "domain": "farm.test", "path": "/"} for c in farmer.cookies()
    ]
    context.add_cookies(cookies)  # type: ignore[arg-type]
    return context


def test_plain_http_still_records_and_says_what_is_missing(
    browser: Browser, middle: Any, farmer: BrowserContext
) -> None:
    """An address that is no secure context, as a farm's own network has it without --https."""
    context = plain_phone(browser, farmer)
    phone = context.new_page()
    base = f"http://farm.test:{middle.server_port}/"
    phone.goto(base)
    call(phone, "loft").wait_for(timeout=30_000)
    assert (
        phone.evaluate("[isSecureContext, 'serviceWorker' in navigator, 'locks' in navigator]") == [False] * 3
    )
    glance(phone, "loft")
    expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=20_000)
    phone.goto(base + "#/phone")
    expect(phone.get_by_text("plain http")).to_be_visible()
    context.close()


def test_a_new_version_waits_for_the_form(browser: Browser, middle: Any, farmer: BrowserContext) -> None:
    base = f"http://127.0.0.1:{middle.server_port}/"
    context = browser.new_context(**PHONE)
    context.add_cookies(farmer.cookies())  # type: ignore[arg-type]
    with shown(context) as phone:
        phone.goto(base + "#/paper")
        call(phone, "l1").wait_for(timeout=30_000)
        phone.evaluate("navigator.serviceWorker.ready.then(() => true)")
        phone.reload()
        more = call(phone, "l1").get_by_role("button", name="1 more: Found dead")
        for _ in range(3):
            more.tap()
        middle.newer = True
        phone.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true)")
        expect(phone.get_by_text("A newer Leyfold is here")).to_be_visible(timeout=15_000)
        dead = call(phone, "l1").get_by_role("group", name="Found dead").locator("output")
        expect(dead).to_have_text("3")  # nothing was reloaded under the form
        phone.get_by_role("button", name="Use it now").tap()
        expect(phone.get_by_text("A newer Leyfold is here")).to_have_count(0, timeout=15_000)
        expect(dead).to_have_text("3")
        names = phone.evaluate("caches.keys()")
        assert names == ["leyfold-newer"]
    context.close()


def test_a_wrong_clock_is_told_and_mended(browser: Browser, server: Server, farmer: BrowserContext) -> None:
    context = browser.new_context(**PHONE)
    context.add_cookies(farmer.cookies())  # type: ignore[arg-type]
    with shown(context) as phone:

        def honest(route: Any) -> None:
            route.fulfill(json=route.fetch().json() | {"practice": False})

        # The practice clock is far from this machine's: without the word practice it is a wrong clock.
        phone.route("**/api/me", honest)
        phone.goto(server.base)
        call(phone, "barn").wait_for(timeout=30_000)
        expect(phone.get_by_text("behind the farm’s")).to_be_visible()
        before = {line["id"] for line in server.lines()}
        glance(phone, "s3")
        expect(phone.locator("main .line a")).to_contain_text("All sent", timeout=20_000)
        (made,) = [line for line in server.lines() if line["id"] not in before]
        assert made["at"].startswith("2027-05-08T04:")
        own = sum(
            "0123456789ABCDEFGHJKMNPQRSTVWXYZ".index(c) * 32**n for n, c in enumerate(made["id"][9::-1])
        )
        assert abs(own / 1000 - phone.evaluate("Date.now()") / 1000) < 60  # the id tells the phone's own time
    context.close()
