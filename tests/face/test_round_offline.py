"""The round without a signal: what is written on the phone is there after a reload, after days, after the
browser was killed; and stands in the farm's book once, however often it was sent."""

from __future__ import annotations

import os
import re
import signal
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright, Route, expect

from phones import ARGS, PHONE, Server, chromium, shown, signed_in

KILLS = int(os.environ.get("LEYFOLD_KILLS", "3"))
"""How often the browser is killed while it sends. The long form takes 30."""
LATER = "2027-05-13T06:30"
"""Five days after the morning on which the phone last saw the server."""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    made = Server(tmp_path / "farm").start()
    yield made
    made.end()


def call(page: Page, place: str) -> Any:
    return page.locator(f"[data-call={place}]")


def tap(page: Page, place: str, name: str | re.Pattern[str], times: int = 1) -> None:
    for _ in range(times):
        call(page, place).get_by_role("button", name=name).tap()


def heads(page: Page, place: str) -> int:
    return int(call(page, place).locator(".heads b").inner_text())


def to_send(page: Page, n: int) -> None:
    line = page.locator("main .line a")
    expect(line).to_contain_text(
        re.compile("All sent|Nothing to send") if n == 0 else f"{n} to send", timeout=20_000
    )


def send(page: Page) -> None:
    """Asks for it, rather than to wait for the half minute."""
    page.evaluate("dispatchEvent(new Event('online'))")


def kinds(server: Server) -> Counter[str]:
    lines = server.lines()
    assert len({line["id"] for line in lines}) == len(lines)
    return Counter(line["kind"] for line in lines)


def test_a_week_without_a_server(browser: Browser, server: Server) -> None:
    phone = signed_in(browser, server)
    server.stop()
    with shown(phone) as page:
        page.clock.install()
        page.goto(server.base)
        before = heads(page, "s1")
        tap(page, "s1", "Done as said")
        tap(page, "s1", re.compile("^1 more: Dead"), times=2)
        expect(call(page, "s1").locator(".heads b")).to_have_text(str(before - 2))
        page.reload()  # the two taps were not kept yet, and are not lost
        expect(call(page, "s1").locator(".heads b")).to_have_text(str(before - 2))
        to_send(page, 4)
        for _ in range(5):
            page.clock.fast_forward("24:00:00")
            page.clock.run_for(11_000)
        expect(page.locator("h1")).to_have_text("Thursday")
        tap(page, "l1", "Done as said")
        turned = call(page, "cabinet").get_by_role("button", name="turned")
        turned.tap()
        expect(turned).to_have_attribute("aria-pressed", "true")
        to_send(page, 8)
        page.reload()
        to_send(page, 8)
        expect(turned).to_have_attribute("aria-pressed", "true")
        expect(page.get_by_text("have waited since 8 May")).to_be_visible()
        server.start(at=LATER)
        send(page)
        to_send(page, 0)
        wanted = {"shelter moved": 2, "fed": 2, "watered": 2, "found dead": 1, "tended": 1}
        assert kinds(server) == wanted
        tended = next(line for line in server.lines() if line["kind"] == "tended")
        assert tended["data"] == {"incubator": "cabinet", "what": "turned"}
        dead = next(line for line in server.lines() if line["kind"] == "found dead")
        assert dead["data"] == {"place": "s1", "heads": 2}
        assert dead["at"].startswith("2027-05-08T04:1")
        moved = [line for line in server.lines() if line["kind"] == "shelter moved"]
        assert moved[1]["at"].startswith("2027-05-13T04:1")
        # Now the server counts them, and nobody counts them twice.
        assert heads(page, "s1") == before - 2
    phone.close()


def test_eggs_turned_in_the_morning_are_turned_again(browser: Browser, server: Server) -> None:
    phone = signed_in(browser, server)
    server.stop()
    with shown(phone) as page:
        page.clock.install()
        page.goto(server.base)
        for _ in range(3):
            page.clock.fast_forward("24:00:00")
            page.clock.run_for(11_000)
        turned = call(page, "cabinet").get_by_role("button", name="turned")
        turned.tap()
        page.goto(server.base + "#/evening")
        # Nobody shuts eggs in.
        expect(call(page, "s1").get_by_role("button", name="All well")).to_be_visible()
        expect(call(page, "cabinet").get_by_role("button", name="All well")).to_have_count(0)
        expect(turned).to_have_attribute("aria-pressed", "true")
        page.clock.fast_forward("12:00:00")
        page.clock.run_for(11_000)
        expect(turned).to_have_attribute("aria-pressed", "false")
        turned.tap()
        expect(turned).to_have_attribute("aria-pressed", "true")
        page.get_by_role("link", name="More").tap()
        page.get_by_role("link", name="Written down").tap()
        expect(page.get_by_role("listitem").filter(has_text="cabinet: Eggs turned")).to_have_count(2)
    phone.close()


def test_a_start_wakes_no_service_worker(browser: Browser, server: Server) -> None:
    """Where the browser knows of routes: page, script and icon come from what it keeps."""
    phone = signed_in(browser, server)
    server.stop()
    with shown(phone) as page:
        session = phone.new_cdp_session(page)
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
        page.goto(server.base)
        call(page, "s1").wait_for()
        came = page.evaluate(
            "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
            ".map(one => one.toJSON()).filter(({name}) => !name.includes('/api/'))"
            ".map(one => [one.name, one.workerFinalSourceType])"
        )
        assert len(came) >= 2
        assert {source for _, source in came} <= {"cache", None}, came
    phone.close()


def test_today_is_there_before_the_week_and_after_one_visit_all_of_it(
    browser: Browser, server: Server
) -> None:
    phone = browser.new_context(**PHONE)
    held: list[Route] = []
    with shown(phone) as page:
        page.clock.install()
        page.route(re.compile("/api/rounds.*days=8"), lambda route: held.append(route))
        page.goto(server.link)
        tap(page, "s1", re.compile("^1 more: Dead"))
        page.wait_for_timeout(200)
        assert len(held) == 1, "the week was asked for, and is not there yet"
        held[0].continue_()
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        server.stop()
        for day in ("Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday"):
            page.clock.fast_forward("24:00:00")
            page.clock.run_for(11_000)
            expect(page.locator("h1")).to_have_text(day)
            expect(call(page, "caravan").get_by_role("button", name="Done as said")).to_be_visible()
    phone.close()


def test_the_round_in_taps(browser: Browser, server: Server) -> None:
    """A morning on which all goes as it should, without a signal: one tap a place, one a number read."""
    phone = signed_in(browser, server)
    server.stop()
    with shown(phone) as page:
        page.goto(server.base)
        call(page, "herd").wait_for()
        places = page.locator("[data-call]").count()
        taps = 0
        done = page.get_by_role("button", name="Done as said")
        while (left := done.count()) > 0:
            done.first.tap()
            taps += 1
            expect(done).to_have_count(left - 1)
        numbers = page.locator("[data-call=caravan]").get_by_role("button", name=re.compile("^Keep "))
        for button in (numbers.filter(has_text="egg"), numbers.filter(has_text="kV")):
            button.tap()
            taps += 1
        expect(page.get_by_text("The round is done")).to_be_visible()
        print(f"\nthe demo farm's morning: {taps} taps for {places} places")
        assert taps == places + 2
        page.evaluate("document.querySelector('[data-call=caravan]').scrollIntoView()")
        expect(page.locator("[data-call=caravan]")).to_contain_text("40 gathered today")
    phone.close()


def test_a_lost_reply_is_no_second_record(browser: Browser, server: Server) -> None:
    phone = signed_in(browser, server)
    with shown(phone) as page:
        lost: list[int] = []

        def lose(route: Route) -> None:
            lost.append(route.fetch().status)
            route.abort()

        page.route("**/api/sync", lose)
        page.goto(server.base)
        tap(page, "s1", "Done as said")
        to_send(page, 3)
        page.wait_for_timeout(1500)
        assert lost == [200] * len(lost) != []
        assert kinds(server).total() == 3
        to_send(page, 3)
        page.unroute("**/api/sync")
        send(page)
        to_send(page, 0)
        assert kinds(server) == {"shelter moved": 1, "fed": 1, "watered": 1}
    phone.close()


def test_browser_killed_while_it_sends(driver: Playwright, server: Server, tmp_path: Path) -> None:
    profile = tmp_path / "profile"
    launch = driver.chromium.launch_persistent_context
    phone = launch(profile, executable_path=chromium(), args=ARGS, **PHONE)
    page = phone.new_page()
    page.goto(server.link)
    call(page, "s1").wait_for(timeout=60_000)
    # Chromium writes cookies down every half minute: one that is killed at once forgets its session.
    session = phone.cookies()
    written = 0
    for nth in range(KILLS):
        page.route("**/api/sync", lambda route: route.abort())
        page.goto(server.base)
        # Four taps that each keep three records, and four more that take them back.
        for place in ("l1", "s1", "s3", "s4"):
            tap(page, place, "Done as said")
            page.get_by_role("button", name="Undo").tap()
            expect(call(page, place).get_by_role("button", name="Done as said")).to_be_visible()
        written += 24
        to_send(page, 24)
        page.unroute("**/api/sync")
        page.route("**/api/sync", lambda route: (time.sleep(0.05), route.continue_()))
        send(page)
        page.wait_for_timeout(40 * (nth % 5))
        killed = kill(profile)
        assert killed
        for lock in profile.glob("Singleton*"):
            lock.unlink()
        phone = launch(profile, executable_path=chromium(), args=ARGS, **PHONE)
        phone.add_cookies(session)  # type: ignore[arg-type]
        page = phone.new_page()
        page.goto(server.base)
        to_send(page, 0)
        assert kinds(server).total() == written
    phone.close()


def kill(profile: Path) -> int:
    """Every process of the browser that lives in `profile`, at once."""
    ours = []
    for entry in Path("/proc").iterdir():
        try:
            line = (entry / "cmdline").read_bytes() if entry.name.isdigit() else b""
        except OSError:
            continue
        if f"--user-data-dir={profile}".encode() in line:
            ours.append(int(entry.name))
    for pid in ours:
        try:
            os.kill(pid, signal.SIGKILL)
        except ProcessLookupError:
            continue
    time.sleep(0.3)
    return len(ours)


def test_storage_wiped(browser: Browser, server: Server) -> None:
    phone = signed_in(browser, server)
    with shown(phone) as page:
        page.goto(server.base)
        tap(page, "s1", "Done as said")
        expect(page.locator("main .line a")).to_contain_text("All sent", timeout=20_000)
        session = phone.new_cdp_session(page)
        page.goto("about:blank")
        session.send(
            "Storage.clearDataForOrigin",
            {
                "origin": server.base.rstrip("/"),
                "storageTypes": "indexeddb,local_storage,service_workers,cache_storage",
            },
        )
        page.goto(server.base)
        expect(call(page, "s1")).to_contain_text("Moved 06:", timeout=75_000)  # it asks each half minute
        assert kinds(server).total() == 3
    phone.close()


def test_two_phones_that_wrote_the_same_are_asked_once(browser: Browser, server: Server) -> None:
    first = signed_in(browser, server)
    with shown(first) as page:
        page.goto(server.base)
        csrf = page.evaluate("fetch('api/me').then(r => r.json()).then(me => me.csrf)")
        made = page.evaluate(
            """csrf => fetch('api/invitations', {method: 'POST', body: JSON.stringify({person: 'odd'}),
            headers: {'Content-Type': 'application/json', 'X-Leyfold': csrf}}).then(r => r.json())""",
            csrf,
        )
        second = browser.new_context(**PHONE)
        with shown(second) as other:
            other.goto(server.base + made["link"][made["link"].index("#") :])
            other.get_by_role("button", name="Join").tap()
            before = heads(page, "s1")
            expect(call(other, "s1").locator(".heads b")).to_have_text(str(before), timeout=20_000)
            for one in (page, other):
                tap(one, "s1", re.compile("^1 more: Dead"), times=2)
                to_send(one, 1)
                to_send(one, 0)
            question = re.compile("found dead")
            for one in (page, other):
                send(one)
                asked = one.get_by_role("region", name="Asked of you")
                expect(asked.locator(".question")).to_have_count(1, timeout=20_000)
                expect(asked).to_contain_text(question)
                expect(call(one, "s1").locator(".heads b")).to_have_text(str(before - 2))
            page.get_by_role("region", name="Asked of you").get_by_role("button").first.tap()
            to_send(page, 0)
            send(other)
            for one in (page, other):
                expect(one.get_by_role("region", name="Asked of you")).to_have_count(0, timeout=20_000)
                expect(call(one, "s1").locator(".heads b")).to_have_text(str(before - 2))
        second.close()
    assert kinds(server) == {"found dead": 2, "answer": 1}
    first.close()
