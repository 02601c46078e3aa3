"""The browser and the farmer's phone of each file; the acts of one day on one served farm come in their
order: what a sheet ticks off is not there to tick."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Playwright, sync_playwright

from phones import ARGS, Server, chromium, signed_in


@pytest.fixture(scope="module")
def driver() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def browser(driver: Playwright) -> Iterator[Browser]:
    opened = driver.chromium.launch(executable_path=chromium(), args=ARGS)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def farmer(browser: Browser, server: Server) -> Iterator[BrowserContext]:
    phone = signed_in(browser, server)
    yield phone
    phone.close()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """As they stand in the file, though everything else is shuffled."""
    at = [i for i, item in enumerate(items) if item.path.name == "test_round_acts.py"]
    ordered = sorted((items[i] for i in at), key=lambda item: item.reportinfo()[1] or 0)
    for i, item in zip(at, ordered, strict=True):
        items[i] = item
