"""The picture of the year: whole, honest to the season's numbers, safe with any name."""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import farms
import seasons
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Limit
from leyfold.nouns.plan import Plan
from leyfold.nouns.season import Season
from leyfold.paper.picture import season_picture
from leyfold.paper.picture.days import Days
from leyfold.paper.picture.flow import Ribbon, kills, ribbons, threads
from leyfold.paper.picture.lanes import lay
from leyfold.paper.picture_file import write_picture
from leyfold.paper.svg import clipped, el, escape, n, staircase, width
from leyfold.words.forms import day_and_month, month, number

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def farm() -> Farm:
    return farms.farm()


def speaking(farm: Farm, language: str) -> Farm:
    return replace(farm, holding=replace(farm.holding, language=language))


@pytest.fixture(scope="module")
def season(farm: Farm) -> Season:
    return seasons.season(farm, seasons.three())


@pytest.fixture(scope="module")
def svg(farm: Farm, season: Season) -> str:
    return season_picture(farm, season, today=date(2027, 5, 3))


def said(svg: str) -> list[str]:
    """All texts that are seen; titles of marks are not."""
    found = []
    for node in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        found.append(
            "".join([node.text or "", *(f"{s.text or ''}{s.tail or ''}" for s in node.iter(f"{SVG}tspan"))])
        )
    return found


def points(path: str) -> Iterator[tuple[float, float]]:
    """Every point a path names, control points too, in the drawing's own coordinates."""
    x = y = 0.0
    for sign, numbers in re.findall(r"([MLHVChvlZ])([^MLHVChvlZ]*)", path):
        given = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        if sign in "ML":
            for x, y in zip(given[::2], given[1::2], strict=True):
                yield x, y
        elif sign == "C":
            yield from zip(given[::2], given[1::2], strict=True)
            x, y = given[-2:]
        elif sign == "l":
            x, y = x + given[0], y + given[1]
        elif sign in "Hh":
            x = given[0] if sign == "H" else x + given[0]
        elif sign in "Vv":
            y = given[0] if sign == "V" else y + given[0]
        yield x, y


# --- what is there ------------------------------------------------------------------------------------


def test_is_one_self_contained_image_with_a_name(svg: str) -> None:
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    names = (root.get("aria-labelledby") or "").split()
    assert [root.find(f"*[@id='{name}']").text for name in names]  # type: ignore[union-attr]
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)|@import|@font-face|<script|<image|data:", svg)
    assert set(re.findall(r"url\(([^)]*)\)", svg)) <= {f"#{p.get('id')}" for p in root.iter(f"{SVG}pattern")}


@pytest.mark.parametrize("language", ["en", "sv", "de"])
def test_names_every_batch_place_and_month(farm: Farm, season: Season, language: str) -> None:
    texts = said(season_picture(speaking(farm, language), season))
    words = " ".join(texts)
    for batch in season.plan.batches:
        assert batch.id in words
        assert day_and_month(batch.arrives_on, language) in words
    assert set(season.places) <= set(texts)
    months = {month(season.day(i), language) for i in range(season.days)}
    assert all(any(text.startswith(name) for text in texts) for name in months)
    assert str(season.first.year) in texts
    assert any(text.endswith(str(season.first.year + 1)) for text in texts)


def test_every_killing_stands_there_with_its_number(season: Season, svg: str) -> None:
    texts = said(svg)
    found = kills(season, ribbons(season))
    assert len(found) >= 4
    assert sum(k.heads for k in found) == pytest.approx(season.killed.sum(), abs=1e-9)
    assert all(number(k.heads, 0, "en") in texts for k in found)


def test_nothing_lies_outside_the_drawing(svg: str) -> None:
    root = ElementTree.fromstring(svg)
    wide, high = map(float, (root.get("viewBox") or "").split()[2:])
    seen = 0
    parents = {child: parent for parent in root.iter() for child in parent}
    for node in root.iter():
        up = [node]
        while up[-1] in parents:
            up.append(parents[up[-1]])
        moved = next((u.get("transform") for u in up if u.get("transform")), "translate(0 0)")
        dx, dy = map(float, re.findall(r"-?[\d.]+", moved or ""))
        if any(u.tag in (f"{SVG}pattern", f"{SVG}defs") for u in up):
            continue
        at = list(points(node.get("d", "")))
        if node.tag in (f"{SVG}rect", f"{SVG}text") and node.get("x") is not None:
            x, y = float(node.get("x", 0)), float(node.get("y", 0))
            at += [(x, y), (x + float(node.get("width", 0)), y + float(node.get("height", 0)))]
        for x, y in at:
            seen += 1
            assert -1e-9 <= x + dx <= wide, (node.tag, node.attrib)
            assert -1e-9 <= y + dy <= high, (node.tag, node.attrib)
    assert seen > 500


def test_same_season_same_bytes(svg: str) -> None:
    again = seasons.season(farms.farm(), seasons.three())
    assert season_picture(farms.farm(), again, today=date(2027, 5, 3)) == svg


# --- honest to the numbers ----------------------------------------------------------------------------


def test_ribbons_hold_every_bird_and_egg_of_every_day(season: Season) -> None:
    drawn = ribbons(season)
    for place in season.places.values():
        held = np.zeros(season.days)
        for r in drawn:
            if r.place == place.place:
                held[r.start : r.end] += r.total
        assert held == pytest.approx(place.heads, abs=1e-9), place.place


def test_threads_bring_all_that_a_ribbon_begins_with(season: Season) -> None:
    """What is not bought or there at first has come along threads; none brings more than there is."""
    drawn = ribbons(season)
    came = threads(season, drawn)
    begun = dict.fromkeys(drawn, 0.0)
    for t in came:
        if t.day == t.target.start:
            begun[t.target] += t.heads_into
    fresh = {(i, season.index(b.arrives_on)) for i, b in enumerate(season.plan.batches) if b.origin != "set"}
    moved = [r for r in drawn if not r.is_eggs and (r.batch, r.start) not in fresh]
    assert len(moved) >= 10
    for r in moved:
        assert begun[r] == pytest.approx(float(r.total[0]), abs=1e-9), (r.batch, r.place)


@pytest.mark.parametrize("which", range(3))
def test_a_ribbon_is_as_thick_as_it_has_birds(farm: Farm, season: Season, which: int) -> None:
    drawn = ribbons(season)
    days = Days(season.first, season.days, 100.0, 1100.0, "en")
    lanes = lay(farm, season, drawn, 50.0, 1000.0 / season.days)
    svg = season_picture(farm, season)
    px = lanes.px
    ribbon = [r for r in drawn if r.is_eggs or len(r.layers) == 2][which * 3]
    sexes = [heads for heads in ribbon.layers.values() if heads.max() > 0]
    fills = re.findall(r"<g><title>([^<]*)</title>(.*?)</g>", svg)
    name = season.plan.batches[ribbon.batch].id
    paths = next(
        body
        for told, body in fills
        if told.startswith(f"{name} in {ribbon.place}, {day_and_month(season.day(ribbon.start))}")
    )
    for heads, path in zip(sexes, re.findall(r' d="([^"]*)"', paths), strict=True):
        left = [y for x, y in points(path) if x == min(x for x, _ in points(path))]
        assert max(left) - min(left) == pytest.approx(float(heads[0]) * px, abs=0.11)
    assert days.x(season.days) == 1100.0


def test_ribbons_of_a_lane_never_cover_one_another(farm: Farm, season: Season) -> None:
    drawn = ribbons(season)
    lanes = lay(farm, season, drawn, 50.0, 3.0)
    assert set(lanes.below) == set(drawn)
    for place in season.places:
        mine = [r for r in drawn if r.place == place]
        for a in mine:
            for b in (r for r in mine if r is not a):
                for day in range(max(a.start, b.start), min(a.end, b.end)):
                    low_a, low_b = (_low(lanes.below[r], r, day) for r in (a, b))
                    assert (
                        low_a >= low_b + b.total[day - b.start] - 1e-9
                        or low_b >= low_a + a.total[day - a.start] - 1e-9
                    )


def _low(below: np.ndarray, ribbon: Ribbon, day: int) -> float:  # type: ignore[type-arg]
    return float(below[day - ribbon.start])


def test_where_a_limit_on_heads_is_drawn_the_lanes_top_is_all_that_is_in(farm: Farm, season: Season) -> None:
    peak = float(season.places["coop"].heads.max())
    tight = replace(farm, limits=(Limit("few", "heads", "coop", round(peak) - 5, "test", True),))
    drawn = ribbons(season)
    lanes = lay(tight, season, drawn, 50.0, 3.0)
    lane = next(lane for lane in lanes.lanes if lane.place == "coop")
    assert lane.most == round(peak) - 5
    tops = np.zeros(season.days)
    for r in (r for r in drawn if r.place == "coop"):
        days = slice(r.start, r.end)
        tops[days] = np.maximum(tops[days], lanes.below[r] + r.total)
    assert tops == pytest.approx(season.places["coop"].heads, abs=1e-9)


def test_breaches_lie_over_their_days_and_say_the_worst(farm: Farm) -> None:
    tight = replace(farm, limits=(Limit("n", "kg_n_per_ha_pass", "shelter", 60.0, "test", False),))
    season = seasons.season(tight, seasons.three())
    svg = season_picture(tight, season)
    assert len(season.breaches) >= 2
    bars = re.findall(r'<path d="M([\d.]+) [\d.]+H([\d.]+)" class="breach"/>', svg)
    days = Days(season.first, season.days, 132.0, 1316.0, "en")
    for b in season.breaches:
        a, z = days.on(b.first), days.x(season.index(b.last) + 1)
        assert any(abs(float(x) - a) < 0.06 and abs(float(to) - max(z, a + 3)) < 0.06 for x, to in bars), b
        assert any(f"{number(b.worst)} kg/ha N on {day_and_month(b.worst_on)}" in t for t in said(svg)), b
    assert len(bars) == len(season.breaches)
    # The key says what such a bar is, also where there is none.
    none = season_picture(replace(farm, limits=()), replace(season, breaches=()))
    assert none.count('class="breach"') == 1


# --- any farm, any name -------------------------------------------------------------------------------


NASTY = "</text><script>alert(1)</script>&\"'\x00\x07 ]]> <!-- ‮"


def test_names_are_never_markup(farm: Farm) -> None:
    named = replace(
        farm,
        holding=replace(farm.holding, name=NASTY),
        incubators={NASTY: replace(farm.incubators["big"], id=NASTY)},
    )
    plan = Plan(
        (seasons.hatch(NASTY, date(2027, 1, 12), 90), seasons.bought(NASTY + "2", date(2027, 4, 5), 9, 9))
    )
    svg = season_picture(named, seasons.season(named, plan))
    root = ElementTree.fromstring(svg)
    assert {node.tag.removeprefix(SVG) for node in root.iter()} <= {
        "svg",
        "title",
        "desc",
        "style",
        "defs",
        "pattern",
        "rect",
        "path",
        "circle",
        "text",
        "tspan",
        "g",
    }
    assert "alert(1)" in "".join(root.itertext())


def test_a_farm_without_most_things_and_a_plan_without_batches(farm: Farm) -> None:
    bare = replace(farm, incubators={}, shelters={"s1": farm.shelters["s1"]}, limits=())
    few = Plan((seasons.bought("few", date(2027, 4, 5), 20, 0),))
    for plan in (few, Plan((), first=date(2027, 1, 4), last=date(2027, 1, 31))):
        ElementTree.fromstring(season_picture(bare, seasons.season(bare, plan)))


@settings(max_examples=12, deadline=None)
@given(
    sets=st.lists(st.tuples(st.integers(0, 200), st.integers(1, 140)), min_size=1, max_size=4),
    language=st.sampled_from(["en", "nb", "ja", "ar"]),
)
def test_any_plan_can_be_drawn_and_every_thread_has_birds(sets: list[tuple[int, int]], language: str) -> None:
    farm = farms.farm()
    start = date(2027, 1, 4).toordinal()
    batches = [seasons.hatch(f"b{i}", date.fromordinal(start + d), eggs) for i, (d, eggs) in enumerate(sets)]
    season = seasons.season(farm, Plan(tuple(batches)))
    ElementTree.fromstring(season_picture(speaking(farm, language), season))
    assert all(t.heads > 0 and t.heads_into <= t.heads + 1e-9 for t in threads(season, ribbons(season)))


def test_a_farm_in_pounds_reads_pounds(farm: Farm, season: Season) -> None:
    imperial = replace(farm, holding=replace(farm.holding, lengths="imperial"))
    texts = said(season_picture(imperial, season))
    feed_lb = season.feed_kg.sum(axis=0).max() / 0.45359237
    assert {"lb a day", "gal a day", "N lb/acre in one pass"} <= set(texts)
    assert not any("kg" in t for t in texts)
    assert any(t.startswith(f"{number(feed_lb)}, ") for t in texts)


# --- small parts --------------------------------------------------------------------------------------


def test_coordinates() -> None:
    assert [n(v) for v in (0, -0.04, 1.25, 3.999, -2.06)] == ["0", "0", "1.2", "4", "-2.1"]
    with pytest.raises(ValueError, match="no coordinate"):
        n(float("nan"))


def test_elements_escape_their_attributes() -> None:
    assert el("a", "x", class_='"<&', stroke_width=1.0) == '<a class="&quot;&lt;&amp;" stroke-width="1">x</a>'
    assert escape("a\x00b") == "a\ufffdb"


def test_staircase_goes_up_and_down_by_days() -> None:
    assert staircase([0, 1, 2], np.array([9.0, 9.0]), np.array([5.0, 4.0])) == "M0 5L1 5L1 4L2 4L2 9L0 9Z"


def test_clipped_keeps_what_has_room() -> None:
    assert clipped("brooder", 12, 500) == "brooder"
    short = clipped("a name of some length", 12, 60)
    assert short.endswith("…")
    assert width(short, 12) <= 60
    assert clipped("brooder", 12, 3) == ""


# --- files --------------------------------------------------------------------------------------------


def test_written_as_svg_and_png(tmp_path: Path, svg: str) -> None:
    write_picture(svg, tmp_path / "year.svg")
    assert (tmp_path / "year.svg").read_text("utf-8") == svg
    write_picture(svg, tmp_path / "year.PNG")
    png = (tmp_path / "year.PNG").read_bytes()
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high = struct.unpack(">II", png[16:24])
    root = ElementTree.fromstring(svg)
    assert wide / high == pytest.approx(float(root.get("width", 0)) / float(root.get("height", 0)), rel=0.01)
    assert wide > 2000
    assert sorted(p.name for p in tmp_path.iterdir()) == ["year.PNG", "year.svg"]


@pytest.mark.parametrize("name", ["year.jpg", "year", "none/year.png", "folder.svg"])
def test_another_ending_or_folder_is_refused_and_nothing_is_left(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder.svg").mkdir()
    with pytest.raises(BadInput) as wrong:
        write_picture("<svg/>", tmp_path / name)
    assert wrong.value.faults[0].mend
    assert [p.name for p in tmp_path.iterdir()] == ["folder.svg"]
