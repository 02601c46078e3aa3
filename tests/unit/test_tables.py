"""The cited tables: shapes, units, bounds, sources, and that nothing in them changes unseen."""

from __future__ import annotations

import dataclasses
import math
import subprocess
import sys
from importlib.resources import files
from itertools import pairwise

import pytest

from leyfold import units
from leyfold.farm import tables
from leyfold.farm.tables import TABLES, all_figures, figure, table
from leyfold.nouns.figure import EVIDENCE
from leyfold.nouns.limits import QUANTITIES
from leyfold.nouns.stock import Hen, Line, SexTraits

OUTSIDE = set(EVIDENCE) - {"farm file", "records"}
UNITS = {
    "1/K", "1/d", "1/week", "A", "C", "J", "K", "K d", "K s/m", "V", "W", "batch", "cm/head", "d", "egg",
    "g", "g/d", "h", "h/bird", "h/d", "h/egg", "head", "head/K", "head/m2", "kJ/kg/K", "kV", "kcal/kg",
    "kg", "kg/bird", "kg/bird/d", "kg/d", "kg/ha", "kg/kg", "kg/kg^0.75/d", "kg/l", "kg/m2", "kg/week", "l",
    "l/d", "l/kg", "m", "m/s", "m2/head", "mg/l", "min", "mm", "share", "times", "week",
}  # fmt: skip
CITED = {"about", "source", "evidence"}
ONE = {"value", "unit", "least", "most"}
BY_SEX = {"pullet", "cockerel", "unit", "least", "most"}
LIMIT = {"quantity", "scope", "unit", "gate", "status", "verified"}
QUANTITY_UNITS = {
    "heads": "head", "heads_per_m2": "head/m2", "kg_per_m2": "kg/m2", "kg_n_per_ha_pass": "kg/ha",
    "kg_n_per_ha_year": "kg/ha", "kg_p_per_ha_year": "kg/ha", "m2_per_head": "m2/head", "light_h": "h",
    "age_d": "d", "reach_m": "m", "killed_per_year": "head", "floor_share": "share",
}  # fmt: skip

# (figures, their sum, their sum weighted by place): change a table on purpose and this line with it.
PINNED: dict[str, tuple[int, float, float]] = {
    "stock": (72, 1135.7146, 32325.5717),
    "feeds": (20, 11450.8105, 107657.158),
    "ingredients": (200, 66493.5495, 6924562.5257),
    "inclusion": (18, 1.998, 12.325),
    "feeding": (12, 233.3725, 1733.3675),
    "requirements": (104, 30324.7568, 1561847.667),
    "space": (46, 1081.559, 29210.704),
    "limits": (45, 30581.02, 1093279.68),
    "keep_off": (13, 91, 252),
    "growth": (170, 435.3208, 45934.6424),
    "kit": (23, 1302.55, 22566.22),
    "risks": (7, 39.7605, 103.0005),
    "work": (15, 3597.904, 52136.81),
    "killing": (16, 3393.15, 26480.25),
    "priors": (9, 5010.1, 36920.6),
    "surfaces": (30, 19.24, 283.38),
    "tonight": (35, 819.516, 19459.549),
    "climate": (8, 21.57, 79.99),
}

SCALARS = [
    (name, key)
    for name in (
        "stock",
        "inclusion",
        "feeding",
        "space",
        "keep_off",
        "kit",
        "risks",
        "priors",
        "tonight",
        "climate",
        "killing",
    )
    for key, entry in table(name).items()
    if "unit" in entry
]
ENTRIES = [(name, key) for name in TABLES for key in table(name)]


def test_every_file_is_a_table_and_every_table_a_file() -> None:
    names = {f.name.removesuffix(".toml") for f in files(tables).iterdir() if f.name.endswith(".toml")}
    assert names == set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_nothing_changes_unseen(name: str) -> None:
    values = [f.value for f in all_figures(name).values()]
    weighted = math.fsum(i * v for i, v in enumerate(values, start=1))
    count, total, placed = PINNED[name]
    assert len(values) == count
    assert math.fsum(values) == pytest.approx(total, rel=1e-9)
    assert weighted == pytest.approx(placed, rel=1e-9)


@pytest.mark.parametrize(("name", "key"), ENTRIES)
def test_every_entry_says_what_it_is_and_where_it_comes_from(name: str, key: str) -> None:
    entry = table(name)[key]
    assert entry["about"].endswith(".")
    sexes = [s for s in ("pullet", "cockerel") if s in entry] or [""]
    for sex in sexes:
        source, evidence = (
            word if isinstance(word, str) else word[sex] for word in (entry["source"], entry["evidence"])
        )
        assert source.strip() == source != ""
        assert evidence in OUTSIDE


@pytest.mark.parametrize(("name", "key"), ENTRIES)
def test_every_entry_has_one_of_the_shapes_and_nothing_else(name: str, key: str) -> None:
    entry, keys = table(name)[key], set(table(name)[key])
    columns = set(tables._raw(name).get("units", {}))
    if name == "limits":
        assert keys - {"default"} == CITED | LIMIT | (keys & {"at_most", "at_least"})
        assert len(keys & {"at_most", "at_least"}) == 1
    elif "unit" in entry:
        assert keys in (CITED | ONE, CITED | BY_SEX)
    else:
        assert keys - CITED - {"by"} <= columns
        assert len(keys - CITED - {"by"}) >= 1
    if "by" in entry:
        ages = entry[entry["by"]]
        assert all(a < b for a, b in pairwise(ages))
        assert {len(entry[c]) for c in keys & columns} == {len(ages)}
    else:
        assert all(isinstance(entry[c], int | float) for c in keys & columns)


@pytest.mark.parametrize(("name", "key"), SCALARS)
def test_the_default_lies_within_what_a_farm_may_put(name: str, key: str) -> None:
    entry = table(name)[key]
    values = [entry[k] for k in ("value", "pullet", "cockerel") if k in entry]
    assert values
    assert all(entry["least"] <= v <= entry["most"] for v in values)
    assert entry["least"] < entry["most"]
    assert entry["least"] >= 0


def test_units_are_known_and_shares_are_shares() -> None:
    for path, fig in all_figures().items():
        assert fig.unit in UNITS, path
        assert math.isfinite(fig.value), path
        assert fig.value >= 0 or fig.unit == "C", path
        if fig.unit == "share":
            assert fig.value <= 1, path
        if not path.startswith("limits."):
            assert not path.partition(".")[2].startswith(("at_most", "at_least"))


WRITTEN = sorted({f.unit for t in ("stock", "feeds") for f in all_figures(t).values()})


@pytest.mark.parametrize("unit", WRITTEN)
def test_a_farm_file_can_write_the_units_of_stock_and_feeds(unit: str) -> None:
    assert units.parse(f"1 {unit}", unit) == pytest.approx(1.0)


def test_every_figure_of_a_stock_line_has_its_entry() -> None:
    def names(noun: type) -> set[str]:
        return {f.name for f in dataclasses.fields(noun)}

    wanted = names(SexTraits) - {"growth"} | names(Hen)
    wanted |= names(Line) - {"id", "name", "pullet", "cockerel", "hen", "feeding"}
    assert wanted <= set(table("stock"))
    for name in names(SexTraits) - {"growth"} | {"mature_kg", "hatch_kg", "known_age_d", "known_weight_kg"}:
        figure(f"stock.{name}", sex="pullet")
        figure(f"stock.{name}", sex="cockerel")


def test_limits_say_what_they_bound_and_the_defaults_are_these() -> None:
    for key, entry in table("limits").items():
        assert entry["unit"] == QUANTITY_UNITS[entry["quantity"]], key
        assert entry["gate"], key
        assert entry["status"], key
        assert isinstance(entry["verified"], bool), key
        if entry["verified"]:
            assert entry["evidence"] in ("standard", "common practice"), key
        if entry.get("default"):
            assert entry["quantity"] in QUANTITIES, key
            assert "at_most" in entry, key
    held = [entry for entry in table("limits").values() if entry.get("default")]
    defaults = {(entry["scope"], entry["quantity"]): entry["at_most"] for entry in held}
    assert defaults == {
        ("shelter", "kg_per_m2"): 21.0,
        ("shelter", "kg_n_per_ha_pass"): 170.0,
        ("house", "heads_per_m2"): 6.0,
        ("brooder", "floor_share"): 1.0,
    }


def test_ages_of_a_line_follow_each_other() -> None:
    turnout, sort = figure("stock.turnout_d").value, figure("stock.sort_d").value
    kill, house, lay = (figure(f"stock.{name}_d").value for name in ("kill", "house", "point_of_lay"))
    assert 7 < turnout < sort < min(kill, house)
    assert house < lay
    assert figure("stock.storage_free_d").value < figure("stock.storage_late_from_d").value
    assert figure("stock.light_dark_h").value < figure("stock.light_full_h").value
    for sex in ("pullet", "cockerel"):
        hatch, known, mature = (
            figure(f"stock.{n}", sex=sex).value for n in ("hatch_kg", "known_weight_kg", "mature_kg")
        )
        assert hatch < known < mature


def test_parts_of_a_feed_fit_into_the_whole() -> None:
    for name in ("feeds", "ingredients", "requirements"):
        for key, e in table(name).items():
            minerals = e.get("calcium", 0) + e.get("nonphytate_phosphorus", e.get("phosphorus", 0))
            assert e.get("protein", 0) + minerals + e.get("potassium", 0) <= 1, key
            if "lysine" in e:
                assert e["methionine"] <= e["methionine_and_cystine"], key
                # Crude protein counts nitrogen, of which pure methionine has less than protein.
                acids = e["lysine"] + e["methionine_and_cystine"]
                assert key == "dl_methionine" or acids <= e["protein"], key


def test_birds_only_get_heavier_and_feed_only_adds_up() -> None:
    for key, entry in table("growth").items():
        for column, values in entry.items():
            if isinstance(values, tuple):
                assert all(a < b for a, b in pairwise(values)), (key, column)


def test_a_figure_is_found_by_path_and_sex() -> None:
    assert figure("stock.mature_kg", sex="cockerel") is figure("stock.mature_kg.cockerel")
    assert figure("stock.fertility", sex="pullet") is figure("stock.fertility")
    assert figure("space.brooder_floor.heads_per_m2.28").value == 18
    assert figure("stock.known_weight_kg", sex="pullet").evidence == "guess"
    assert figure("stock.known_weight_kg", sex="cockerel").evidence == "paper"
    for missing in ("stock.mature_kg", "stock.fertilty", "stocks.fertility", "stock"):
        with pytest.raises(KeyError):
            figure(missing)
    with pytest.raises(KeyError):
        figure("stock.mature_kg", sex="hen")


def test_tables_cannot_be_written_to() -> None:
    with pytest.raises(TypeError):
        table("stock")["fertility"] = {}  # type: ignore[index]
    with pytest.raises(TypeError):
        table("stock")["fertility"]["value"] = 1.0  # type: ignore[index]
    with pytest.raises(TypeError):
        table("space")["brooder_floor"]["until_d"][0] = 1


def test_importing_reads_no_file() -> None:
    code = "import leyfold.farm.tables as t; raise SystemExit(t._raw.cache_info().currsize)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
