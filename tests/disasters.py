"""The disasters that a plan must survive, as cases for several tests, on the farm of `troubles`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache

from leyfold.nouns.farm import Brooder, Farm, Wish
from leyfold.nouns.replanned import Number, Replanned
from leyfold.nouns.season import Season
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from troubles import HOLLOW_ASH, after

DRY = replace(HOLLOW_ASH, planning=replace(HOLLOW_ASH.planning, ground_m2=2000.0))
SMALL_BARN = replace(HOLLOW_ASH, brooders={"barn": Brooder("barn", 7.0), "loft": Brooder("loft", 5.0)})
LOW_BIN = replace(HOLLOW_ASH, bins={"tower": replace(HOLLOW_ASH.bins["tower"], has_kg=60.0, holds_kg=400.0)})
MORE_PULLETS = replace(HOLLOW_ASH, wishes=(Wish("flock", "pullets", 60, date(2027, 9, 20), 0.9),))


@dataclass(frozen=True)
class Case:
    """`alive`: heads by place, counted by hand; `first`: the promise that breaks first, and its day; `mends`:
    kinds of mends, one of which must be whole; `dark` and `learn`: words of what is said; `numbers`: those
    that must be told, held to hand sums in test_disaster_numbers.py."""

    day: str
    what: tuple[str, ...]
    alive: dict[str, int]
    first: tuple[str, date]
    mends: set[str]
    dark: str
    learn: str
    care: str = ""
    farm: Farm = HOLLOW_ASH
    numbers: tuple[str, ...] = ()


CASES = {
    "poor hatch": Case(
        "2027-04-12",
        ("hatch of middle is 20",),
        {"loft": 20},
        ("wish:flock", date(2027, 9, 20)),
        {"more_eggs", "pullets", "day_olds"},
        "Open all eggs left",
        "never average the cause away",
        numbers=("hatch_heads", "next_set_eggs", "orders_kept"),
    ),
    "fox night": Case(
        "2027-06-01",
        ("dead 20 in s1",),
        {"s1": 8},
        ("wish:flock", date(2027, 9, 20)),
        {"pullets", "day_olds"},
        "Find where it got in",
        "next year's boards",
        "ring the vet",
        numbers=("dead_heads", "claim", "survivors_kg", "fox_back_share"),
    ),
    "housing order": Case(
        "2027-05-20",
        ("housing from 2027-05-22 until 2027-07-20",),
        {"s1": 28, "s2": 28, "s3": 58},
        ("limit:brooder.floor:barn", date(2027, 5, 22)),
        {"net", "barn_more"},
        "sales of birds stop",
        "floor under a roof",
        "notifiable",
        SMALL_BARN,
        numbers=("roof_m2", "roof_over_heads", "roof_litter_kg", "mesh_m2", "forward_heads", "stopped_kill"),
    ),
    "late spring": Case(
        "2027-05-08",
        ("grass from 2027-06-10",),
        {"loft": 59, "s1": 28, "s2": 28},
        ("limit:brooder.floor:loft", date(2027, 5, 24)),
        {"barn_more"},
        "Eggs not yet set are the only ones still free",
        "first turnout by the late years",
        "hang each lamp",
        numbers=("barn_m2", "litter_priced_kg", "set_earns"),
    ),
    "drought": Case(
        "2027-05-10",
        ("drought until 2027-08-15",),
        {"s1": 28, "s2": 28, "loft": 59},  # To be turned out that day.
        ("ground", date(2027, 8, 15)),
        {"cancel_set", "cancel_set+pullets"},
        "peg what is still green",
        "hay for twenty days",
        farm=DRY,
        numbers=(
            "ground_ends_m2",
            "strips_wider_short_m2",
            "hay_kg",
            "beast_sold_kg",
            "break_m2",
            "water_no_tank_l",
            "water_drawn_m3",
            "set_earns",
        ),
    ),
    "shelters blown over": Case(
        "2027-06-12",
        ("s2 lost", "s3 lost", "loose s2 s3"),
        {"s1": 57, "loft": 29, "barn": 43},
        ("limit:brooder.floor:loft", date(2027, 6, 12)),
        {"shelter", "barn_more"},
        "Stake every other shelter",
        "Ring every batch in its colour",
        "never hold it by hand in a gust",
    ),
    "mains off": Case(
        "2027-04-05",
        ("power off 30 h at 2 C",),
        {"s1": 59},
        ("wish:flock", date(2027, 9, 20)),
        {"more_eggs", "pullets", "day_olds"},
        "candle five days from now",
        "Cool the empty machine once",
        "licensed electrician",
        numbers=("cooled_chicks",),
    ),
    "sick batch": Case(
        "2027-06-03",
        ("sick in s2 until 2027-06-28",),
        {"s2": 28},
        ("order:inn", date(2027, 6, 25)),
        {"kill", "split", "order_later", "order_less"},
        "Healthy and young first, sick last",
        "deaths, water and feed by day",
        "Medicines and withdrawal are the vet's",
        numbers=("walk", "ring_at", "ground_blocked_m2", "held_due_heads", "day_more"),
    ),
    "wrong sex ratio": Case(
        "2027-06-06",
        ("cockerels 75 % of middle",),
        {"s3": 57},
        ("wish:flock", date(2027, 9, 20)),
        {"swap"},
        "cockerels for pullets of the same week",
        "Half is only the mean",
        farm=MORE_PULLETS,
        numbers=("cockerels_heads", "cockerel_shelters", "swap_cockerels"),
    ),
    "killing day lost": Case(
        "2027-06-05",
        ("no killing from 2027-06-06 until 2027-06-28",),
        {"s2": 28},
        ("order:inn", date(2027, 6, 25)),
        {"order_later+kill", "order_less+kill"},
        "a second day",
        "Book a second day",
        "Whoever kills must be trained",
        numbers=("day_more", "kg_per_m2_under", "kg_n_per_ha_pass_under", "freezer_unknown_kg", "second_day"),
    ),
    "lorry does not come": Case(
        "2027-06-05",
        ("no feed until 2027-06-25",),
        {"s1": 28},
        ("feed:grower", date(2027, 6, 17)),
        {"bags"},
        "Who may eat what",
        "keep three days in bags",
        farm=LOW_BIN,
        numbers=("feed_by_plan", "feed_lasts_d", "feed_unread_kg"),
    ),
    "wrong feed": Case(
        "2027-06-03",
        ("wrong feed in s2 until 2027-06-26",),
        {"s2": 28},
        ("order:inn", date(2027, 6, 25)),
        {"kill", "split", "order_later", "order_less"},
        "Take the feed out of troughs",
        "One colour a feed",
        "Medicines and withdrawal are the vet's",
        numbers=("held_due_heads", "day_more", "second_day"),
    ),
    "heat and a blocked drinker": Case(
        "2027-07-10",
        ("no water in s2",),
        {"s2": 28},
        ("water:s2", date(2027, 7, 10)),
        {"carry"},
        "Water to them within the hour",
        "Two drinkers in every shelter",
        numbers=("water_hot_l", "water_never"),
    ),
    "farmer in hospital": Case(
        "2027-06-10",
        ("away ida until 2027-07-01",),
        {"barn": 43, "coop": 29},
        ("hands", date(2027, 6, 10)),
        {"neighbour"},
        "leyfold paper neighbour FARM",
        "printed every Sunday",
        numbers=("due",),
    ),
}


@cache
def answer(name: str) -> Replanned:
    case = CASES[name]
    return after(case.day, *case.what, farm=case.farm)


def of(found: Replanned, name: str, what: str | None = None) -> list[Number]:
    return [n for n in found.numbers if n.name == name and what in (None, n.of)]


def season(found: Replanned) -> Season:
    return expect(found.farm, complete(found.farm, found.plan))
