"""farm.toml and plan.toml as nouns: what is absent is cited, what is given stands."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

from leyfold.farm.plan_file import read_plan
from leyfold.farm.read import read_farm
from leyfold.farm.schema import RisksTable
from leyfold.farm.schema_line import HEN_KEYS, LINE_KEYS, SEX_KEYS
from leyfold.farm.schema_work import KillingTable
from leyfold.farm.tables import figure, table
from leyfold.farm.texts import Texts
from leyfold.nature.growth import by_curve
from leyfold.nouns.errors import BadInput
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.plan import Batch, Draft, Plan
from leyfold.nouns.stock import SEXES, Hen, Line, SexTraits

HOLDING = '[holding]\nname = "Reed End"\nlatitude = 55.0\nlongitude = 9.0\nzone = "Europe/Copenhagen"\n'
KIT = """\
[lines.wren]
[incubators.cabinet]
eggs = 100
[brooders.barn]
floor = "9 m2"
[shelters.one]
sides = "8 x 10 ft"
height = "3 ft"
mass = "200 lb"
most_heads = 60
[houses.wagon]
floor = "12 m2"
"""


def farm_of(folder: Path, text: str) -> Farm:
    (folder / "farm.toml").write_text(HOLDING + text, encoding="utf-8")
    return read_farm(Texts(folder))


def plan_of(folder: Path, text: str, farm: str = KIT) -> Plan:
    read = farm_of(folder, farm)
    (folder / "plan.toml").write_text(text, encoding="utf-8")
    return read_plan(Texts(folder), read)


def batch_of(folder: Path, text: str, farm: str = KIT) -> Batch:
    (batch,) = plan_of(folder, text, farm).batches
    return batch


def test_a_bare_line_is_all_cited(tmp_path: Path) -> None:
    line = farm_of(tmp_path, "[lines.wren]\n").lines["wren"]
    assert line.fertility == figure("stock.fertility")
    assert line.kill_d == figure("stock.kill_d", sex="cockerel")
    for sex in SEXES:
        assert line.of(sex).waste_share == figure("stock.waste_share", sex=sex)
        assert line.of(sex).growth.mature_kg == figure("stock.mature_kg", sex=sex)
        known_d = figure("stock.known_age_d", sex=sex).value
        known_kg = figure("stock.known_weight_kg", sex=sex).value
        assert by_curve(line.of(sex).growth, known_d) == pytest.approx(known_kg, rel=1e-12)
        assert by_curve(line.of(sex).growth, 0) == pytest.approx(figure("stock.hatch_kg", sex=sex).value)
    assert line.hen.lay_a == figure("stock.lay_a")
    assert [phase.feed for phase in line.feeding] == ["starter", "grower", "layers"]


@pytest.mark.parametrize(
    ("noun", "keys"), [(Line, LINE_KEYS), (SexTraits, SEX_KEYS), (Hen, HEN_KEYS)], ids=["line", "sex", "hen"]
)
def test_every_figure_of_a_line_has_a_key(noun: type, keys: dict[str, str]) -> None:
    assert sorted(keys.values()) == sorted(f.name for f in fields(noun) if f.type == "Figure")
    assert all(name in table("stock") for name in keys.values())


def written(name: str, value: float) -> str:
    """A value as it may stand in the file: with its unit, or as a number where it has none."""
    unit = table("stock")[name]["unit"]
    return f'"{value!r} {unit}"'


def between(name: str) -> float:
    """A value within the bounds of a figure, and not its start value."""
    entry = table("stock")[name]
    start = next(entry[k] for k in ("value", "pullet", "cockerel", "hen") if k in entry)
    whole = isinstance(start, int)
    value = start + 0.125 * (entry["most"] - start) * 0.25
    return float(round(value) if whole else value)


ORDERED = {
    "turnout_d",
    "sort_d",
    "kill_d",
    "house_d",
    "storage_free_d",
    "storage_late_from_d",
    "light_dark_h",
    "light_full_h",
}


@pytest.mark.parametrize(("key", "name"), [*LINE_KEYS.items(), *SEX_KEYS.items()])
def test_each_key_under_the_line_takes(tmp_path: Path, key: str, name: str) -> None:
    value = between(name) if name not in ORDERED else figure_of(name)
    line = farm_of(tmp_path, f"[lines.wren]\n{key} = {written(name, value)}\n").lines["wren"]
    found = [getattr(line, name)] if key in LINE_KEYS else [getattr(line.of(sex), name) for sex in SEXES]
    for one in found:
        assert one == Figure(
            pytest.approx(value, rel=1e-12), table("stock")[name]["unit"], "farm.toml:7", "farm file"
        )  # type: ignore[arg-type]


def figure_of(name: str) -> float:
    entry = table("stock")[name]
    return float(next(entry[k] for k in ("value", "pullet", "cockerel") if k in entry))


@pytest.mark.parametrize(("key", "name"), SEX_KEYS.items())
def test_one_sex_differs_from_the_line(tmp_path: Path, key: str, name: str) -> None:
    start, own = written(name, figure_of(name)), written(name, between(name))
    text = f"[lines.wren]\n{key} = {start}\n[lines.wren.cockerel]\n{key} = {own}\n"
    line = farm_of(tmp_path, text).lines["wren"]
    assert getattr(line.pullet, name).value == pytest.approx(figure_of(name), rel=1e-12)
    assert getattr(line.pullet, name).source == "farm.toml:7"
    assert getattr(line.cockerel, name).value == pytest.approx(between(name), rel=1e-12)
    assert getattr(line.cockerel, name).source == "farm.toml:9"


@pytest.mark.parametrize(("key", "name"), HEN_KEYS.items())
def test_each_key_of_the_hens_takes(tmp_path: Path, key: str, name: str) -> None:
    value = figure_of(name) if name in ORDERED else between(name)
    line = farm_of(tmp_path, f"[lines.wren.hen]\n{key} = {written(name, value)}\n").lines["wren"]
    assert getattr(line.hen, name).value == pytest.approx(value, rel=1e-12)
    assert getattr(line.hen, name).evidence == "farm file"


def test_growth_through_a_weighing_and_by_parameters(tmp_path: Path) -> None:
    text = (
        "[lines.wren.pullet]\n"
        'growth = { model = "logistic", mature = "2 kg", rate = "0.04 /day", inflection = "70 days" }\n'
        "[lines.wren.cockerel]\n"
        'growth = { mature = "8 lb", hatch = "1.4 oz", at = "15 weeks", weighs = "5 lb" }\n'
    )
    line = farm_of(tmp_path, text).lines["wren"]
    assert by_curve(line.pullet.growth, 70) == pytest.approx(1.0)
    assert by_curve(line.cockerel.growth, 105) == pytest.approx(5 * 0.45359237)
    assert line.cockerel.growth.rate_per_d.evidence == "farm file"
    richards = (
        '[lines.wren]\ngrowth = { model = "richards", mature = "2 kg", rate = "0.03 /day", '
        'inflection = "60 days", shape = 1.0 }\n'
    )
    growth = farm_of(tmp_path, richards).lines["wren"].pullet.growth
    # Richards with shape 1 is Gompertz: A/e at the inflection.
    assert by_curve(growth, 60) == pytest.approx(2 / 2.718281828459045)


def test_a_curve_rests_on_its_weakest_leg(tmp_path: Path) -> None:
    line = farm_of(tmp_path, "[lines.wren]\n").lines["wren"]
    assert line.cockerel.growth.rate_per_d.evidence == "guess"


def test_kit_in_any_units(tmp_path: Path) -> None:
    shelter = farm_of(tmp_path, KIT).shelters["one"]
    assert (shelter.length_m, shelter.width_m) == pytest.approx((2.4384, 3.048))
    assert shelter.mass_kg == pytest.approx(90.718474)
    assert shelter.moves_per_day == figure("kit.shelter_moves_per_d").value


def test_limits_own_ones_stand_before_cited_ones(tmp_path: Path) -> None:
    own = (
        '[[limits]]\nid = "ours"\nquantity = "kg_per_m2"\nscope = "shelter"\n'
        'at_most = 18\nsource = "own rule"\n'
    )
    limits = {limit.id: limit for limit in farm_of(tmp_path, KIT + own).limits}
    assert limits["ours"].at_most == 18
    assert "eu_organic_meat_kg" not in limits
    assert limits["nitrates_pass"].source == table("limits")["nitrates_pass"]["source"]
    assert limits["one.heads"].at_most == 60
    assert limits["cabinet.eggs"].source == "farm.toml:8"
    assert "eu_organic_meat_kg" in {limit.id for limit in farm_of(tmp_path, KIT).limits}


def test_what_lies_just_within_is_taken(tmp_path: Path) -> None:
    text = (
        '[[wishes]]\nid = "w"\nwhat = "pullets"\nnumber = 1\n'
        "on = 2027-09-01\nuntil = 2027-09-01\nchance = 1\n"
        '[[limits]]\nid = "floor"\nquantity = "floor_share"\nscope = "brooder"\n'
        'at_most = 0.9\nsource = "own"\n'
        '[[limits]]\nid = "half"\nquantity = "eggs"\nscope = "cabinet"\nat_most = 50\nsource = "own"\n'
    )
    farm = farm_of(tmp_path, KIT + text)
    assert farm.wishes[0].until == farm.wishes[0].on
    assert {"floor", "half"} <= {limit.id for limit in farm.limits}


def test_feeds_declared_named_and_left_out(tmp_path: Path) -> None:
    text = '[lines.wren]\n[feeds.grower]\nprotein = "18 %"\nprice = "500 EUR/t"\n'
    feeds = farm_of(tmp_path, text).feeds
    assert feeds["grower"].protein == Figure(0.18, "share", "farm.toml:8", "farm file")
    assert feeds["grower"].energy_kcal_per_kg == figure("feeds.grower.energy_kcal_per_kg")
    assert feeds["grower"].price_per_kg == pytest.approx(0.5)
    assert feeds["starter"].price_per_kg is None


def test_temperatures_one_by_one_as_a_list_or_guessed(tmp_path: Path) -> None:
    months = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
    single = "[lines.wren]\n[temperatures]\n" + "".join(f'{m} = "{i} C"\n' for i, m in enumerate(months))
    mean = "[lines.wren]\n[temperatures]\nmean = [" + ", ".join(f'"{i} C"' for i in range(12)) + "]\n"
    for text in (single, mean):
        assert [f.value for f in farm_of(tmp_path, text).temperature_C] == pytest.approx(list(range(12)))
    guessed = farm_of(tmp_path, "[lines.wren]\n").temperature_C
    assert {f.evidence for f in guessed} == {"guess"}
    assert max(range(12), key=lambda month: guessed[month].value) == 6
    text = (HOLDING + "[lines.wren]\n").replace("55.0", "-38.0").replace("Copenhagen", "London")
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    south = read_farm(Texts(tmp_path)).temperature_C
    assert max(range(12), key=lambda month: south[month].value) == 0


def test_brooder_floor_is_cited_or_own(tmp_path: Path) -> None:
    cited = farm_of(tmp_path, KIT).floor_allowance
    assert [age for age, _ in cited] == list(table("space")["brooder_floor"]["until_d"])
    own = '[[brooder_floor]]\nuntil = "3 weeks"\nbirds_per_m2 = 20\n'
    assert [(age, f.value) for age, f in farm_of(tmp_path, KIT + own).floor_allowance] == [(21, 20.0)]


def test_risks_are_the_farm_s_own_where_it_gives_them(tmp_path: Path) -> None:
    text = (
        '[lines.wren]\n[risks]\nfox_chance = "0.2 %"\n'
        'fox_return_nights = "7 nights"\ntemperature_sd = "4 C"\n'
    )
    farm = farm_of(tmp_path, text)
    assert {name: (f.value, f.source) for name, f in farm.risks.items()} == {
        "fox_chance": (pytest.approx(0.002), "farm.toml:8"),
        "fox_return_nights": (7.0, "farm.toml:9"),
        "temperature_sd": (4.0, "farm.toml:10"),
    }
    assert set(RisksTable.model_fields) == set(table("risks"))
    assert farm_of(tmp_path, KIT).risks == {}


def test_the_killing_day_is_the_farm_s_own_where_it_says_so(tmp_path: Path) -> None:
    text = '[lines.wren]\n[killing]\nheater_w = "2 kW"\ncold_by_h = "18 h"\n'
    assert {name: f.value for name, f in farm_of(tmp_path, text).killing.items()} == {
        "heater_w": pytest.approx(2000.0),
        "cold_by_h": 18.0,
    }
    assert set(KillingTable.model_fields) == set(table("killing"))
    assert farm_of(tmp_path, KIT).killing == {}


def test_own_measures_hold_everywhere(tmp_path: Path) -> None:
    text = (
        '[measures]\ntub = "30 l"\nsack = "20 kg"\n[lines.wren]\n[tanks.cart]\nholds = "10 tubs"\n'
        '[feeds.starter]\nprice = "12 EUR/sack"\nbag = "1 sack"\n'
    )
    farm = farm_of(tmp_path, text)
    assert farm.tanks["cart"].holds_l == pytest.approx(300)
    assert farm.feeds["starter"].price_per_kg == pytest.approx(0.6)
    assert farm.measures == {"tub": "30 l", "sack": "20 kg"}


def test_a_set(tmp_path: Path) -> None:
    batch = batch_of(
        tmp_path,
        '[[set]]\nid = "early"\nline = "wren"\non = 2027-03-01\neggs = 80\nstored = "6 days"\n'
        'incubator = "cabinet"\nturnout = "4 weeks"\nsort = 2027-05-20\n'
        'kill = [{ on = 2027-06-28, share = "50 %" }, { on = "16 weeks" }]\n',
    )
    assert batch.hatched_on == batch.arrives_on == date(2027, 3, 22)
    assert batch.turnout_on == date(2027, 4, 19)
    assert batch.drafts == (Draft(date(2027, 6, 28), 0.5), Draft(date(2027, 7, 12), 1.0))
    assert (batch.stored_d, batch.eggs, batch.incubator, batch.house_on) == (6, 80, "cabinet", None)


def test_bought_as_hatched_and_sexed(tmp_path: Path) -> None:
    bought = '[[bought]]\nid = "b"\nline = "wren"\non = 2027-05-04\nage = "2 days"\n'
    batch = batch_of(tmp_path, bought + "chicks = 50\n", "[lines.wren]\nshare_pullets = 0.6\n")
    assert batch.heads == pytest.approx({"pullet": 30.0, "cockerel": 20.0})
    assert (batch.hatched_on, batch.arrives_on) == (date(2027, 5, 2), date(2027, 5, 4))
    assert batch_of(tmp_path, bought + "pullets = 12\n").heads == {"pullet": 12.0, "cockerel": 0.0}


PRESENT = '[[present]]\nid = "p"\nline = "wren"\non = 2027-05-03\n'


@pytest.mark.parametrize(
    ("birds", "ends"),
    [
        # heads of each sex, and until when each is where it is
        ('age = "10 days"\npullets = 9\ncockerels = 8\nplace = "barn"\n', {"pullet": 28, "cockerel": 28}),
        ('age = "60 days"\npullets = 9\ncockerels = 8\nplace = "one"\n', {"pullet": 126, "cockerel": 98}),
        ('age = "0 days"\npullets = 9\nplace = "barn"\n', {"pullet": 28}),
        ('age = "60 days"\npullets = 9\nplace = "one"\nto_house = "100 days"\n', {"pullet": 100}),
    ],
)
def test_birds_present_stay_until_their_next_step(tmp_path: Path, birds: str, ends: dict[str, int]) -> None:
    plan = plan_of(tmp_path, PRESENT + birds)
    hatched = plan.batches[0].hatched_on
    assert {s.sex: (s.until - hatched).days for s in plan.stays} == ends
    assert all(s.first == date(2027, 5, 3) for s in plan.stays)


def test_hens_present_stay_beyond_any_season(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, PRESENT + 'hatched = 2026-05-01\nhens = 30\nplace = "wagon"\n')
    assert plan.batches[0].heads == {"pullet": 30.0, "cockerel": 0.0}
    (stay,) = plan.stays
    assert (stay.until - stay.first).days > 730


def test_a_written_stay_takes_birds_present_on(tmp_path: Path) -> None:
    stay = '[[stay]]\nbatch = "p"\nplace = "one"\nfrom = 2027-05-10\nuntil = 2027-05-20\n'
    plan = plan_of(tmp_path, PRESENT + 'age = "20 days"\npullets = 9\nplace = "barn"\n' + stay)
    assert [(s.place, s.first, s.until) for s in plan.stays] == [
        ("barn", date(2027, 5, 3), date(2027, 5, 10)),
        ("one", date(2027, 5, 10), date(2027, 5, 20)),
    ]


def test_a_stay_written_from_the_first_day_stands_for_the_place(tmp_path: Path) -> None:
    stay = '[[stay]]\nbatch = "p"\nplace = "one"\nfrom = 2027-05-03\nuntil = 2027-05-20\n'
    plan = plan_of(tmp_path, PRESENT + 'age = "20 days"\npullets = 9\nplace = "barn"\n' + stay)
    assert [s.place for s in plan.stays] == ["one"]


def test_all_faults_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = (
        '[lines.wren]\nfertility = 1.2\nturnout = "9 weeks"\nsort = "8 weeks"\n'
        '[shelters.one]\nsides = "8 x 10"\nheight = "3 ft"\ncolour = "red"\n'
    )
    with pytest.raises(BadInput) as refused:
        farm_of(tmp_path, text)
    assert [fault.line for fault in refused.value.faults] == [7, 8, 11, 13]
    assert all(fault.file == "farm.toml" and fault.mend for fault in refused.value.faults)


@pytest.mark.parametrize("folder", ["examples/demo"])
def test_example_reads(folder: str) -> None:
    texts = Texts(Path(__file__).parents[2] / folder)
    farm = read_farm(texts)
    plan = read_plan(texts, farm)
    assert len([b for b in plan.batches if b.origin == "set"]) == 6
    assert len(farm.shelters) == 7
    assert len({s.floor_m2 for s in farm.shelters.values()}) == 2


def test_first_files_read(tmp_path: Path) -> None:
    for name in ("farm.toml", "plan.toml"):
        text = (files("leyfold.farm") / "begin" / name).read_text(encoding="utf-8").replace("YEAR", "2027")
        (tmp_path / name).write_text(text, encoding="utf-8")
    farm = read_farm(Texts(tmp_path))
    assert len(read_plan(Texts(tmp_path), farm).batches) == 2
