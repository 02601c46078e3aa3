"""How the round looks and is reached: by a thumb in a glove, in full sun, by keyboard, by a screen reader."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from phones import PHONE, Server, signed_in

SCREENS = ["", "evening", "happened", "happened/fox", "paper", "phone", "records", "sign-in"]
LIGHTS = ["day", "dark", "sun"]
TOUCH_PX = 48

OVER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
# Everything that can be pressed, with its box; what is only for the ear or the keyboard aside.
TARGETS = """() => [...document.querySelectorAll('button, a[href], input, summary')]
  .filter(node => !node.matches('.skip'))
  .map(node => ({ words: node.ariaLabel || node.innerText, box: node.getBoundingClientRect() }))
  .filter(({ box }) => box.width > 0)
  .map(({ words, box }) => ({ words, wide: box.width, high: box.height, left: box.left, top: box.top }))"""
MOVING = """() => [...document.querySelectorAll('*')]
  .filter(node => parseFloat(getComputedStyle(node).transitionDuration) > 0).length"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("look") / "farm").start()
    yield made
    made.end()


@pytest.fixture(scope="module")
def session(browser: Browser, server: Server) -> Any:
    phone = signed_in(browser, server)
    page = phone.new_page()
    page.goto(server.base)
    call = page.locator("[data-call=s3]")
    call.get_by_role("button", name="Done as said").tap()  # something to be listed among the records
    expect(page.locator(".line")).to_contain_text("All sent", timeout=20_000)
    kept = phone.storage_state()
    phone.close()
    return kept


@pytest.fixture
def screen(browser: Browser, server: Server, session: Any) -> Iterator[Callable[..., Page]]:
    contexts = []

    def show(light: str, **face: Any) -> Page:
        context = browser.new_context(**(PHONE | {"storage_state": session, "bypass_csp": True} | face))
        contexts.append(context)
        page = context.new_page()
        page.add_init_script(f"localStorage.setItem('leyfold light', '{light}')")
        page.goto(server.base)
        page.locator("[data-call]").first.wait_for(timeout=30_000)
        return page

    yield show
    for context in contexts:
        context.close()


def go(page: Page, server: Server, name: str) -> None:
    page.goto(f"{server.base}#/{name}")
    page.locator("main h1, main form").first.wait_for()


@pytest.mark.parametrize("light", LIGHTS)
def test_every_screen(screen: Callable[..., Page], server: Server, light: str) -> None:
    """Screen reader's rules, contrast of 7:1 (WCAG 2.2, 1.4.6), targets of 48 px, nothing over the edge."""
    page = screen(light)
    for name in SCREENS:
        go(page, server, name)
        found = Axe().run(page, options={"rules": {"color-contrast-enhanced": {"enabled": True}}})
        assert found.violations_count == 0, f"{name}, {light}: {found.generate_report()}"
        passed = {rule["id"] for rule in found.response["passes"]}
        assert "color-contrast-enhanced" in passed, name
        assert page.evaluate(OVER) <= 0, name
        small = [t for t in page.evaluate(TARGETS) if min(t["wide"], t["high"]) < TOUCH_PX]
        assert small == [], f"{name}, {light}"


@pytest.mark.parametrize("size", [(320, 640), (820, 1180), (1400, 900)], ids=str)
def test_other_sizes(screen: Callable[..., Page], server: Server, size: tuple[int, int]) -> None:
    page = screen("sun", viewport={"width": size[0], "height": size[1]})
    for name in SCREENS:
        go(page, server, name)
        assert page.evaluate(OVER) <= 0, name
    go(page, server, "")
    if size[0] > 320:
        assert [t for t in page.evaluate(TARGETS) if min(t["wide"], t["high"]) < TOUCH_PX] == []


def test_targets_do_not_lie_on_each_other(screen: Callable[..., Page]) -> None:
    page = screen("day")
    bar = 844 - 60
    boxes = [t for t in page.evaluate(TARGETS) if t["top"] < bar - TOUCH_PX]
    assert len(boxes) > 5
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            across = min(a["left"] + a["wide"], b["left"] + b["wide"]) - max(a["left"], b["left"])
            down = min(a["top"] + a["high"], b["top"] + b["high"]) - max(a["top"], b["top"])
            assert across <= 0 or down <= 0, (a, b)


def test_by_keyboard_alone(screen: Callable[..., Page]) -> None:
    page = screen("day", has_touch=False, is_mobile=False)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # the link past the bar
    call = page.locator("[data-call=s4]")
    button = call.get_by_role("button", name="Done as said")
    for _ in range(80):
        page.keyboard.press("Tab")
        if button.evaluate("node => node === document.activeElement"):
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    expect(call.get_by_role("button", name="Fold s4 away")).to_be_visible()
    page.locator("[data-call=s4] .heads").press("Enter")
    expect(page.get_by_role("dialog")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_nothing_moves_for_who_does_not_want_it(screen: Callable[..., Page]) -> None:
    assert screen("day", reduced_motion="reduce").evaluate(MOVING) == 0


def test_the_light_is_chosen_and_kept(screen: Callable[..., Page], server: Server) -> None:
    page = screen("day", color_scheme="dark")
    go(page, server, "phone")
    paper = "getComputedStyle(document.body).backgroundColor"
    seen = {}
    for name in ("Day", "Dark", "Full sun", "As the phone"):
        page.get_by_role("button", name=name, exact=True).tap()
        seen[name] = page.evaluate(paper)
    assert seen["Full sun"] == "rgb(255, 255, 255)"
    assert seen["Dark"] == seen["As the phone"] != seen["Day"]
