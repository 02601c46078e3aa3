"""Everything that the planner lacks is named in one go, and nothing that it can do without."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from leyfold.cli import main
from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.plan.unpriced import unpriced
from leyfold.reckoning.reckon import reckon
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.services.compare import compare_plans
from leyfold.services.plan import plan_for

DEMO = Path(__file__).parents[2] / "examples" / "demo"
AT = datetime(2026, 12, 21, 7, tzinfo=UTC)
FARM = read_farm(Texts(DEMO))
PLAN = read_plan(Texts(DEMO), FARM)
ALL = [
    *("feeds.starter.price", "feeds.grower.price", "feeds.layers.price"),
    *("prices.carcass", "prices.pullet", "prices.old_hen", "prices.egg", "prices.hatching_egg"),
]


def bare(farm: Farm) -> Farm:
    """Without any price."""
    return replace(
        farm, prices={}, feeds={name: replace(feed, price_per_kg=None) for name, feed in farm.feeds.items()}
    )


def fields(farm: Farm, plan: Plan = PLAN) -> list[str]:
    return [fault.field for fault in unpriced(farm, plan)]


def test_all_that_lack_are_named_and_no_others() -> None:
    assert fields(FARM) == []
    assert fields(bare(FARM)) == ALL


def test_what_the_planner_asks_for_is_what_the_reckoning_needs() -> None:
    """Two ways to the same list: by age beforehand, and by what a whole season was found to use."""
    season = expect(FARM, complete(FARM, PLAN))
    with pytest.raises(BadInput) as wrong:
        reckon(bare(FARM), season)
    asked = {fault.field for fault in wrong.value.faults} - {"prices.day_old"}
    assert asked == set(ALL)
    only = {name.removeprefix("prices."): 1.0 for name in ALL if name.startswith("prices.")}
    assert reckon(replace(FARM, prices=only), season).entries


def test_no_hen_has_a_price_where_no_bird_grows_to_be_one() -> None:
    short = Plan((), (), first=date(2027, 3, 1), last=date(2027, 6, 30))
    assert not {"prices.egg", "prices.old_hen", "feeds.layers.price"} & set(fields(bare(FARM), short))
    longer = replace(short, last=date(2028, 3, 1))
    assert fields(bare(FARM), longer) == ALL


def edited(folder: Path, *patterns: str) -> Path:
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns(".leyfold"))
    file = folder / "farm.toml"
    text = file.read_text("utf-8")
    for pattern in patterns:
        text, times = re.subn(pattern, "", text, flags=re.DOTALL)
        assert times, pattern
    file.write_text(text, encoding="utf-8")
    return folder


NO_PRICES = (r"\[prices\].*?(?=\[temperatures\])", r'price = "540 EUR/t"\n')
NO_SHELTERS = r"\[shelters\.s1\].*?(?=\[buckets\.grey\])"
NO_MACHINES = r"\[incubators\.cabinet\].*?(?=\[brooders\.barn\])"


def test_kit_and_prices_are_named_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    farm = edited(tmp_path / "farm", *NO_PRICES, NO_SHELTERS, NO_MACHINES)
    (farm / "plan.toml").write_text("first = 2026-12-21\nlast = 2028-01-02\n", encoding="utf-8")
    with pytest.raises(BadInput) as wrong:
        plan_for(farm, AT)
    found = [fault.field for fault in wrong.value.faults]
    assert found == ["feeds.grower.price", "incubators", "shelters", *ALL[3:]]


def test_a_mend_can_be_typed_as_it_stands_but_for_the_number(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    farm = edited(tmp_path / "farm", *NO_PRICES)
    assert main(["plan", str(farm), "--at", "2026-12-21T08:00"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    said = re.findall(r"Add under \[(\S+)\], your own number for the dots: (.*)", err)
    assert ("feeds.grower", 'price = "… EUR/kg"') in said
    assert ("prices", 'egg = "… EUR"') in said
    assert len(said) == len(err.splitlines()) == 6
    typed = {table: "".join(f"{line}\n" for t, line in said if t == table) for table, _ in said}
    file = farm / "farm.toml"
    text = file.read_text("utf-8").replace("[feeds.grower]\n", "[feeds.grower]\n" + typed["feeds.grower"])
    text += "\n[prices]\n" + typed["prices"]
    file.write_text(text.replace("…", "2.50"), encoding="utf-8")
    assert fields(read_farm(Texts(farm))) == []


def test_two_farms_compared_name_the_prices_of_both(tmp_path: Path) -> None:
    one = edited(tmp_path / "one", r'carcass = "[^"]*"\n')
    two = edited(tmp_path / "two", r'\begg = "[^"]*"\n')
    with pytest.raises(BadInput) as wrong:
        compare_plans(one, two, AT)
    assert [fault.field for fault in wrong.value.faults] == ["prices.carcass", "prices.egg"]


def test_a_mend_without_prices_says_which_lack(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    farm = edited(tmp_path / "farm", *NO_PRICES)
    assert main(["replan", str(farm), "--at", "2027-06-02T18:00", "--if", "dead 30 in s2"]) == 0
    said = capsys.readouterr().out
    assert "no price in farm.toml: feeds.grower.price, prices.carcass" in said
