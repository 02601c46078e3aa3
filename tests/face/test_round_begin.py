"""A farm only just described: the phone says from what day on there is a round, and what to do."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from leyfold.cli import main
from phones import DEMO, PHONE, Server, shown


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Server]:
    assert main(["start", str(tmp_path / "farm")]) == 0
    made = Server(tmp_path / "farm")
    yield made
    made.end()


def opened(browser: Browser, farm: Server, at: str, screen: str = "") -> Iterator[Page]:
    farm.start(at)
    context = browser.new_context(**PHONE)
    with shown(context) as page:
        page.goto(farm.link)
        page.locator("header.day").wait_for(timeout=30_000)
        if screen:
            page.goto(page.url.split("#")[0] + screen)
        yield page
    context.close()
    farm.end()


def test_before_the_season_it_says_from_when_and_what_to_do(browser: Browser, farm: Server) -> None:
    for screen in ("", "#/evening"):
        for page in opened(browser, farm, "2026-11-26T07:00", screen):
            main_ = page.locator("main")
            expect(main_).to_contain_text("The farm’s season has not begun.")
            expect(main_).to_contain_text("1 March 2027")
            expect(main_).to_contain_text("[[present]]")
            expect(main_).not_to_contain_text("Get into reach")
            expect(main_).not_to_contain_text("is done")


def test_on_the_morning_of_the_first_set_nobody_is_there_and_the_work_is(
    browser: Browser, farm: Server
) -> None:
    for page in opened(browser, farm, "2027-03-01T07:00"):
        main_ = page.locator("main")
        expect(main_).to_contain_text("nobody to call at")
        expect(main_).to_contain_text("set 70 eggs of first in cabinet")


def test_after_the_plan_it_says_that_it_is_over(browser: Browser, farm: Server) -> None:
    for page in opened(browser, farm, "2028-06-01T07:00"):
        expect(page.locator("main")).to_contain_text("The plan ended on 5 March 2028.")
        expect(page.locator("main")).to_contain_text("leyfold plan")


def test_what_the_books_were_opened_with_is_not_there_to_be_taken_back(
    browser: Browser, tmp_path: Path
) -> None:
    """Nobody tapped it, and one tap would leave a shelter empty."""
    shutil.copytree(DEMO, tmp_path / "demo", ignore=shutil.ignore_patterns("records.*", ".leyfold"))
    demo = Server(tmp_path / "demo")
    for page in opened(browser, demo, "2027-05-12T06:10"):
        page.locator("[data-call=s2]").get_by_role("button", name="Done as said").tap()
        assert [line for line in demo.lines() if line["kind"] == "present"]
        page.goto(page.url.split("#")[0] + "#/records")
        expect(page.locator("main")).to_contain_text("s2: Moved")
        expect(page.locator("main")).not_to_contain_text("present")


def test_a_gap_under_the_skirt_is_told_with_the_move(browser: Browser, tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "demo", ignore=shutil.ignore_patterns("records.*", ".leyfold"))
    for page in opened(browser, Server(tmp_path / "demo"), "2027-05-12T06:10"):
        told = page.locator("[data-call=l2]").inner_text()
        assert (
            told.index("Move") < told.index("a gap of") < told.index("Feed") < told.index("Dead or missing")
        )
