"""The page of a season without a browser: its tables hold the season's numbers, names are never markup,
nothing can be fetched or run."""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import replace
from datetime import date
from hashlib import sha256
from html.parser import HTMLParser

import pytest

import farms
import seasons
from leyfold.nouns.draws import WishChance
from leyfold.nouns.errors import Fault
from leyfold.nouns.farm import Farm, Wish
from leyfold.nouns.season import Season
from leyfold.paper.page import faults_page, season_page
from leyfold.paper.wall_sheet import columns
from leyfold.round.shown import Shown
from leyfold.season.draw import draw
from leyfold.season.sums import sums
from leyfold.season.weeks import weeks
from leyfold.words.forms import number

NASTY = '"><script>alert(1)</script><img src=x onerror=alert(2)>&\x00'
VOID = {"meta", "rect", "path", "circle"}


class Reader(HTMLParser):
    """Elements in order, and the cells of every table; refuses a page whose elements are not nested right."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.tables: list[list[list[str]]] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("th", "td"):
            self.tables[-1][-1].append("")
        self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in VOID
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "td" in self.open or "th" in self.open:
            self.tables[-1][-1][-1] += data


@pytest.fixture(scope="module")
def farm() -> Farm:
    wish = Wish("hens", "pullets", 40, date(2027, 8, 1), 0.9)
    return farms.farm(wishes=(wish,))


@pytest.fixture(scope="module")
def season(farm: Farm) -> Season:
    return seasons.season(farm, seasons.three())


@pytest.fixture(scope="module")
def page(farm: Farm, season: Season) -> str:
    return season_page(farm, season, weeks(season), sums(farm, season))


def test_week_table_is_the_season_week_by_week(farm: Farm, season: Season, page: str) -> None:
    head, *rows = Reader(page).tables[0]
    shown = columns(Shown(farm), season.feeds)
    assert head == [column.heading for column in shown]
    assert rows == [[column.cell(week) for column in shown] for week in weeks(season)]
    feeds = [i for i, heading in enumerate(head) if heading.startswith("of it")]
    assert len(feeds) == len(season.feeds)
    total = head.index("Feed kg")
    for row in rows[10:30]:
        parts, whole = (sum(_whole(row[i]) for i in at) for at in (feeds, [total]))
        assert abs(parts - whole) <= len(feeds)  # each is rounded for itself


def _whole(cell: str) -> int:
    return 0 if cell == "·" else int(cell.replace(",", ""))


def test_place_table_holds_every_bird_killed(season: Season, page: str) -> None:
    _, (_, *rows) = Reader(page).tables
    assert {row[1] for row in rows} <= set(season.places)
    assert sum(_whole(row[-1]) for row in rows) == pytest.approx(season.killed.sum(), abs=len(rows) / 2)


def test_tables_say_what_their_heads_are_for(page: str) -> None:
    read = Reader(page)
    heads = [attributes.get("scope") for tag, attributes in read.elements if tag == "th"]
    assert set(heads) == {"col", "row"}
    assert [tag for tag, _ in read.elements].count("caption") == len(read.tables) == 2


def test_big_numbers_are_the_totals(farm: Farm, season: Season, page: str) -> None:
    total = sums(farm, season)
    big = re.findall(r"<dd[^>]*>([^<]*)</dd>", page)
    feed = sum(total.feed_kg.values())
    assert big[:4] == [
        number(total.pullets_to_house),
        f"{number(total.carcass_kg)}\u00a0kg",
        number(total.eggs),
        f"{number(feed)}\u00a0kg",
    ]
    assert len(big) == 5


def test_nothing_is_said_of_a_house_on_a_farm_without_one() -> None:
    home = farms.farm(houses={})
    season = seasons.season(home, seasons.three())
    page = season_page(home, season, weeks(season), sums(home, season))
    assert "pullets are reared" in page
    assert "go to the house" not in page


def test_wishes_and_chances_stand_there_when_they_are_known(farm: Farm, season: Season, page: str) -> None:
    assert "years in 100" not in page
    tried = draw(farm, season.plan, n=60, seed=1)
    met = WishChance("hens", date(2027, 8, 1), 0.62, 44.0, 35.0, 52.0, 35.0, True)
    told = season_page(farm, season, weeks(season), sums(farm, season), tried, [met])
    assert (
        "40 pullets by 1 Aug 2027: not as likely as wished, 62 years in 100 (90 in 100 wished for)." in told
    )
    chances = Reader(told).tables[1]
    assert len(chances) == 1 + len(weeks(season))
    low, high = map(_whole, chances[20][1].split(" to "))
    assert low < season.heads.sum(axis=0)[19 * 7] < high
    assert told.count('class="chance"') == 5  # four strips and the key


def test_names_are_never_markup(farm: Farm) -> None:
    named = replace(
        farm,
        holding=replace(farm.holding, name=NASTY),
        houses={NASTY: replace(farm.houses["coop"], id=NASTY)},
    )
    season = seasons.season(
        named, replace(seasons.three(), batches=(seasons.bought(NASTY, date(2027, 4, 5), 20, 20),))
    )
    read = Reader(season_page(named, season, weeks(season), sums(named, season)))
    assert not {tag for tag, _ in read.elements} & {
        "script",
        "img",
        "iframe",
        "object",
        "link",
        "base",
        "form",
    }
    assert not any(name.startswith("on") or name == "style" for _, given in read.elements for name in given)
    fault = faults_page([Fault(NASTY, NASTY, NASTY, NASTY, 3, NASTY)])
    assert not {tag for tag, _ in Reader(fault).elements} & {"script", "img"}


def test_nothing_may_be_fetched_or_run(page: str) -> None:
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy
    rules = policy[1].replace("&#39;", "'")
    assert rules.startswith("default-src 'none';")
    styles = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    hashes = [b64encode(sha256(style.encode()).digest()).decode() for style in styles]
    assert re.findall(r"sha256-([^']+)'", rules) == hashes
    assert "unsafe" not in rules
    assert not re.search(r'(?:src|href)="(?!#)', page)
