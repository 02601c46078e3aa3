"""The day on which the hens' net is due: seen, tapped, taken back, tapped out of signal."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from phones import PHONE, Server, shown

AT = "2027-05-11T06:10"
"""A shift of four days after the third paddock of the season."""
OVER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("net") / "farm", at=AT).start()
    yield made
    made.end()


@pytest.fixture
def page(farmer: BrowserContext, server: Server) -> Iterator[Page]:
    with shown(farmer) as opened:
        opened.goto(server.base)
        opened.locator("[data-call=caravan]").wait_for(timeout=30_000)
        yield opened
    opened.close()


def step(page: Page) -> Any:
    return page.locator("[data-call=caravan]").get_by_role("button", name="Shift Net")


def shifts(server: Server) -> list[dict[str, Any]]:
    voided = {line["data"]["of"] for line in server.lines() if line["kind"] == "correction"}
    return [line for line in server.lines() if line["kind"] == "fence shifted" and line["id"] not in voided]


def sent(page: Page, server: Server, many: int) -> list[dict[str, Any]]:
    until = time.monotonic() + 20
    while len(found := shifts(server)) != many and time.monotonic() < until:
        page.evaluate("dispatchEvent(new Event('online'))")
        page.wait_for_timeout(200)
    return found


def test_one_tap_shifts_it_and_one_takes_it_back(page: Page, server: Server) -> None:
    call = page.locator("[data-call=caravan]")
    expect(step(page)).to_contain_text("Net and caravan to paddock 4 of long-ley")
    expect(call).to_contain_text("Energiser off before anybody touches net or earth rod")
    expect(call).to_contain_text("of net: 4 of 4 rolls")
    step(page).tap()
    expect(step(page)).to_have_attribute("aria-pressed", "true")
    expect(call).not_to_contain_text("Energiser off")
    (one,) = sent(page, server, 1)
    corners = one["data"].pop("corners_deg")
    assert one["data"] == {"net": "round-the-caravan", "to": "long-ley/n4"}
    assert len(corners) >= 8
    assert all(
        14.3 < lon < 14.5 and 57.7 < lat < 57.9 for lon, lat in zip(corners[::2], corners[1::2], strict=True)
    )
    page.reload()
    expect(step(page)).to_have_attribute("aria-pressed", "true")  # as the server has it too
    step(page).tap()
    expect(step(page)).to_have_attribute("aria-pressed", "false")
    assert sent(page, server, 0) == []


def test_out_of_signal_it_is_kept_and_sent_later(page: Page, farmer: BrowserContext, server: Server) -> None:
    farmer.set_offline(True)
    step(page).tap()
    expect(step(page)).to_have_attribute("aria-pressed", "true")
    page.wait_for_timeout(300)
    assert shifts(server) == []
    farmer.set_offline(False)
    assert [one["data"]["to"] for one in sent(page, server, 1)] == ["long-ley/n4"]
    step(page).tap()
    assert sent(page, server, 0) == []


def test_done_as_said_shifts_it_with_the_rest(page: Page, server: Server) -> None:
    call = page.locator("[data-call=caravan]")
    call.get_by_role("button", name="Done as said").tap()
    assert len(sent(page, server, 1)) == 1
    expect(call).to_contain_text("Fold caravan away")
    page.get_by_role("button", name="Undo").tap()
    assert sent(page, server, 0) == []


def test_cattle_are_let_into_a_field_that_is_kept_in_mind(page: Page, server: Server) -> None:
    def opened() -> list[dict[str, Any]]:
        return [line["data"] for line in server.lines() if line["kind"] == "break opened"]

    herd = page.locator("[data-call=herd]")
    herd.get_by_role("button", name="Alder piece").tap()
    expect(herd.get_by_role("button", name="Alder piece")).to_have_attribute("aria-pressed", "true")
    herd.get_by_role("button", name="Break opened").tap()
    until = time.monotonic() + 20
    while not opened() and time.monotonic() < until:
        page.wait_for_timeout(200)
    assert opened() == [{"cattle": "herd", "to": "alder-piece"}]


@pytest.mark.parametrize("light", ["day", "dark", "sun"])
@pytest.mark.parametrize("size", [(390, 844), (820, 1180)], ids=str)
def test_it_can_be_read(
    browser: Browser, farmer: BrowserContext, server: Server, light: str, size: tuple[int, int]
) -> None:
    kept = farmer.storage_state()
    viewport = {"width": size[0], "height": size[1]}
    context = browser.new_context(
        **(PHONE | {"storage_state": kept, "bypass_csp": True, "viewport": viewport})
    )
    page = context.new_page()
    page.add_init_script(f"localStorage.setItem('leyfold light', '{light}')")
    page.goto(server.base)
    step(page).wait_for(timeout=30_000)
    found = Axe().run(
        page,
        {"include": [["[data-call=caravan]"]]},
        {"rules": {"color-contrast-enhanced": {"enabled": True}}},
    )
    assert found.violations_count == 0, found.generate_report()
    assert page.evaluate(OVER) <= 0
    box = step(page).bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 48
    context.close()
