"""The page in a real browser: nothing fetched, nothing over the edge, no label on another, read by a screen
reader's rules, by keyboard, in the dark and in print.

Needs Chromium: on the path, or named by CHROMIUM. `./x test` installs it where it may.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

import farms
import seasons
from leyfold.nouns.draws import WishChance
from leyfold.nouns.errors import Fault
from leyfold.nouns.farm import Wish
from leyfold.nouns.limits import Limit
from leyfold.paper.page import faults_page, season_page
from leyfold.season.draw import draw
from leyfold.season.sums import sums
from leyfold.season.weeks import weeks

FACES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "color_scheme": "light"},
    "phone in the dark": {"viewport": {"width": 390, "height": 844}, "color_scheme": "dark"},
    "tablet": {"viewport": {"width": 820, "height": 1180}, "color_scheme": "light"},
    "desk in the dark": {"viewport": {"width": 1400, "height": 900}, "color_scheme": "dark"},
}

# Boxes of all texts of the picture, in its own units.
TEXTS = """() => {
  const year = document.querySelector('.leyfold-year'), whole = year.getScreenCTM().inverse();
  return [...year.querySelectorAll('text')].map(node => {
    const box = node.getBBox(), at = whole.multiply(node.getScreenCTM());
    const words = [...node.childNodes].filter(n => n.nodeName !== 'title').map(n => n.textContent).join('');
    return {words, left: box.x + at.e, right: box.x + at.e + box.width,
            top: box.y + at.f, bottom: box.y + at.f + box.height};
  });
}"""
SIZE = (
    "() => { const b = document.querySelector('.leyfold-year').viewBox.baseVal; return [b.width, b.height] }"
)
OVER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
LOOK = "node => { const s = getComputedStyle(node); return [s.fill, s.backgroundColor, s.color] }"


@pytest.fixture(scope="module")
def document() -> str:
    """A season with all there is to show: three batches, a limit passed, chances and a wish."""
    farm = farms.farm(
        limits=(
            Limit("n", "kg_n_per_ha_pass", "shelter", 60.0, "test", False),
            Limit("hens", "heads_per_m2", "house", 2.0, "test", True),
            Limit("floor", "floor_share", "brooder", 0.3, "test", True),
        ),
        wishes=(Wish("hens", "pullets", 40, date(2027, 8, 1), 0.9),),
    )
    season = seasons.season(farm, seasons.three())
    met = WishChance("hens", date(2027, 8, 1), 0.62, 44.0, 35.0, 52.0, 35.0, True)
    tried = draw(farm, season.plan, n=40, seed=1)
    assert len({b.limit.id for b in season.breaches}) == 3
    return season_page(farm, season, weeks(season), sums(farm, season), tried, [met], today=date(2027, 5, 3))


@pytest.fixture
def shown(browser: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """A function that opens a document and holds it to fetching nothing and complaining of nothing."""
    contexts, asked, said = [], [], []

    def show(document: str, **face: object) -> Page:
        file = tmp_path / "page.html"
        file.write_text(document, encoding="utf-8")
        context = browser.new_context(bypass_csp=face.pop("bypass_csp", False), **face)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(file.as_uri())
        return page

    yield show
    for context in contexts:
        context.close()
    assert all(url.startswith("file:") for url in asked)
    assert len(asked) == len(contexts)
    assert said == []


FAULTY = faults_page([Fault("farm.toml", "eggs", "This is wrong.", "Mend it.", 3)])


@pytest.mark.parametrize("face", ["phone", "desk in the dark"])
@pytest.mark.parametrize("what", ["season", "faults"])
def test_meets_the_rules_for_screen_readers(
    document: str, shown: Callable[..., Page], face: str, what: str
) -> None:
    page = shown(document if what == "season" else FAULTY, **FACES[face], bypass_csp=True)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert any(rule["id"] == "color-contrast" for rule in found.response["passes"])


@pytest.mark.parametrize("face", FACES)
def test_nothing_runs_over_the_edge(document: str, shown: Callable[..., Page], face: str) -> None:
    assert shown(document, **FACES[face]).evaluate(OVER) <= 0


def test_no_label_lies_on_another_or_outside(document: str, shown: Callable[..., Page]) -> None:
    page = shown(document, **FACES["desk in the dark"])
    texts = page.evaluate(TEXTS)
    wide, high = page.eval_on_selector(".leyfold-year", SIZE)
    assert len(texts) > 100
    for a in texts:
        assert a["left"] >= 0, a
        assert a["right"] <= wide, a
        assert a["top"] >= 0, a
        assert a["bottom"] <= high, a
    for i, a in enumerate(texts):
        for b in texts[i + 1 :]:
            # A text's box has some room above and below its letters.
            across = min(a["right"], b["right"]) - max(a["left"], b["left"])
            down = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"])
            assert across <= 2 or down <= 5, (a, b)


def until(page: Page, true: str) -> None:
    """Waits for something to come true. Playwright's own way of waiting is forbidden by the page's policy."""
    for _ in range(100):
        if page.evaluate(true):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never: {true}")


def test_scrolled_sideways_by_keyboard(document: str, shown: Callable[..., Page]) -> None:
    page = shown(document, **FACES["phone"])
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('role')") == "region"
    page.keyboard.press("ArrowRight")
    until(page, "document.activeElement.scrollLeft > 0")
    page.keyboard.press("Shift+Tab")
    until(page, "document.activeElement.className == 'skip'")
    # The link slides into view when it has the focus: a key pressed before it is there is lost.
    until(page, "document.activeElement.getBoundingClientRect().top >= 0")
    page.locator(".skip").press("Enter")
    until(page, "document.querySelector('#weeks').getBoundingClientRect().top < innerHeight")


def test_dark_is_dark_and_print_is_light(document: str, shown: Callable[..., Page]) -> None:
    page = shown(document, **FACES["desk in the dark"])

    def brightness(selector: str, which: int) -> float:
        colour = page.eval_on_selector(selector, LOOK)[which]
        return sum(float(v) for v in colour[colour.index("(") + 1 : -1].split(",")[:3]) / 3

    assert brightness(".leyfold-year > .paper", 0) < 60 < 180 < brightness(".leyfold-year > .title", 0)
    assert brightness("body", 1) < 60 < 180 < brightness("body", 2)
    page.emulate_media(media="print", color_scheme="dark")
    assert brightness(".leyfold-year > .paper", 0) == 255
    assert brightness(".leyfold-year > .title", 0) < 60
    assert brightness("body", 2) < 60


def test_prints_the_picture_on_one_page(document: str, shown: Callable[..., Page]) -> None:
    page = shown(document, **FACES["desk in the dark"])
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1047, "height": 718})  # A4 landscape within its margins, at 96 an inch
    box = page.eval_on_selector(
        ".leyfold-year", "n => { const b = n.getBoundingClientRect(); return [b.width, b.height] }"
    )
    assert 500 < box[0] <= 1047
    assert 500 < box[1] <= 718
    assert page.pdf(prefer_css_page_size=True).startswith(b"%PDF")


@pytest.mark.parametrize("name", ['<b>x</b><script>document.title="taken"</script>', "ö" * 200])
def test_any_name_leaves_the_page_whole(shown: Callable[..., Page], name: str) -> None:
    farm = farms.farm()
    farm = replace(
        farm,
        holding=replace(farm.holding, name=name),
        houses={name: replace(farm.houses["coop"], id=name)},
    )
    season = seasons.season(
        farm, replace(seasons.three(), batches=(seasons.hatch(name, date(2027, 1, 12), 90),))
    )
    page = shown(season_page(farm, season, weeks(season), sums(farm, season)), **FACES["phone"])
    assert page.title() != "taken"
    assert page.text_content("h1") == name
    assert page.evaluate(OVER) <= 0
