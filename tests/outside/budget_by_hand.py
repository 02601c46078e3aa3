"""An enterprise budget of an invented farm, worked by hand in plain Python: no line of Leyfold in it, and no
number of its tables. The form is that of enterprise budgets in farm management handbooks (Kay, Edwards and
Duffy, Farm Management, from memory): for each enterprise the value of what it sells and hands on plus closing
stock, less what it buys and takes over, labour and opening stock; costs of one unit are costs less
by-products over the units.

Two batches and an old flock: eggs set, partly from the old hens; day-olds bought; cockerels killed at home.
"""

import math
from collections import defaultdict
from datetime import date, timedelta

FIRST, DAYS = date(2027, 3, 1), 364  # whole weeks from a Monday
CLASSES = ("table", "pullets", "eggs")

PRICES = {
    "carcass": 11.70, "pullet": 19.50, "old_hen": 4.20, "egg": 0.37, "hatching_egg": 0.95, "day_old": 3.65,
    "labour": 14.30, "electricity": 0.31, "bedding": 0.22, "water": 0.0021, "delivery": 38.0,
}  # fmt: skip
FEED_PRICES = {"starter": 0.71, "grower": 0.56, "layers": 0.595}
KCAL = {"starter": 2870.0, "grower": 2810.0, "layers": 2725.0}
BIN_KG = {"grower": 1400.0}

WARMTH_C = 13.0
EGGS, STORED_D, SETTABLE, SET_ON = 310, 3, 0.78, date(2027, 3, 12)
FERTILITY, HATCH_OF_FERTILE, PULLETS = 0.92, 0.79, 0.49
TURNOUT_D, SORT_D, HOUSE_D, LAY_D = 29, 57, 124, 139
SURVIVAL = (0.983, 0.988, 0.972)  # first week, to turnout, to sorting
GROWER = {"pullet": 0.976, "cockerel": 0.969}
HEN_YEAR = 0.905
CURVE = {"pullet": (2.25, 0.0235, 58.0), "cockerel": (3.45, 0.0229, 64.0)}
KEEP = {"pullet": (0.0415, 1.52, 0.055), "cockerel": (0.0431, 1.57, 0.047)}  # maintenance, gain, waste
CV, DRESSING = 0.115, 0.675
WATER_L = 1.9  # a kg of feed; it is never warm enough for more
LAY = (0.91, 0.0058, 0.88, 23.9)
EGG_G = (62.5, 28.0, 0.05)
DRAFTS = {"set": [(92, 0.45), (106, 1.0)], "bought": [(99, 1.0)]}

BOUGHT_ON, BOUGHT = date(2027, 5, 3), {"pullet": 38.0, "cockerel": 41.0}
OLD_HATCHED, OLD_HENS, OLD_OUT = date(2026, 4, 20), 66.0, date(2027, 10, 4)

WORK = {
    "set_h": 1.3, "brooder_h_per_d": 0.45, "shelter_h_per_d": 0.15, "house_h_per_d": 0.8, "egg_h": 0.0035,
    "kill_h": 0.23, "sort_h": 0.025, "bedding_kg_per_chick": 0.5, "bedding_kg_per_hen_d": 0.012,
    "lamp_h_per_d": 13.0, "hen_life_d": 380.0,
}  # fmt: skip
LAMPS_W = {"set": 500.0, "bought": 0.0}  # over the brooder of each batch
INCUBATOR_W = 210.0


def weight(sex, age):
    grown, rate, at = CURVE[sex]
    return grown * math.exp(-math.exp(-rate * (age - at)))


def alive(batch, sex, age):
    """Share alive at the start of a day, of those hatched: a constant daily rate within each stage."""
    end = max(a for a, _ in DRAFTS[batch]) if sex == "cockerel" else HOUSE_D
    steps = [(7, SURVIVAL[0]), (TURNOUT_D, SURVIVAL[1]), (SORT_D, SURVIVAL[2]), (end, GROWER[sex])]
    if sex == "pullet":
        steps.append((end + 365, HEN_YEAR))
    share, begins = 1.0, 0
    for ends, lives in steps:
        share *= lives ** ((min(max(age, begins), ends) - begins) / (ends - begins))
        begins = ends
    return share


def feed_of(sex, age):
    return "starter" if age < 40 else "layers" if sex == "pullet" and age >= 130 else "grower"


def lays(age):
    """(eggs a hen, kg an egg): the house is lit, so that she lays by her age alone."""
    if age < LAY_D:
        return 0.0, 0.0
    a, b, c, d = LAY
    x = age / 7
    grams = EGG_G[0] - EGG_G[1] * math.exp(-EGG_G[2] * x)
    return a * math.exp(-b * x) / (1 + math.exp(-c * (x - d))), grams / 1000


def eats(sex, age, factor):
    kg, gain = factor * weight(sex, age), factor * (weight(sex, age + 1) - weight(sex, age))
    maintenance, per_gain, waste = KEEP[sex]
    if sex == "pullet" and age >= LAY_D:
        rate, each = lays(age)
        kcal = kg**0.75 * (173 - 1.95 * WARMTH_C) + 5500 * gain + 2070 * rate * each
        eaten = kcal / KCAL[feed_of(sex, age)]
    else:
        eaten = maintenance * kg**0.75 + per_gain * gain
    return eaten / (1 - waste)


def cut(share_below):
    low, high = -9.0, 9.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if 0.5 * math.erfc(-middle / math.sqrt(2)) < share_below else (low, middle)
    return middle


def bell(share_below):
    if share_below in (0.0, 1.0):
        return 0.0
    x = cut(share_below)
    return math.exp(-x * x / 2) / math.sqrt(2 * math.pi)


def heavier(low, high):
    """Weight over the mean of birds whose rank from the lightest lies between two shares."""
    return 1 + CV * (bell(low) - bell(high)) / (high - low)


class Books:
    def __init__(self):
        self.money = defaultdict(float)  # (class, batch, what) -> money
        self.amount = defaultdict(float)
        self.months = defaultdict(float)

    def put(self, kind, batch, what, amount, price, day):
        self.money[kind, batch, what] += amount * price
        self.amount[kind, batch, what] += abs(amount)
        self.months[f"{day:%Y-%m}"] += amount * price


def budget():
    books = Books()
    cost = lambda *a: books.put(*a[:3], -a[3], a[4], a[5])  # noqa: E731
    gets = books.put
    hatch = SET_ON + timedelta(days=21)
    chicks = EGGS * FERTILITY * HATCH_OF_FERTILE
    came = {
        "set": (hatch, {"pullet": chicks * PULLETS, "cockerel": chicks * (1 - PULLETS)}),
        "bought": (BOUGHT_ON, BOUGHT),
    }

    # The old flock: heads day by day, and the eggs of the days before the set.
    def old_heads(day):
        age = (day - OLD_HATCHED).days
        return OLD_HENS * HEN_YEAR ** ((age - (FIRST - OLD_HATCHED).days) / 365) if day < OLD_OUT else 0.0

    own = 0.0
    for i in range(1, STORED_D + 1):
        day = SET_ON - timedelta(days=i)
        own += SETTABLE * old_heads(day) * lays((day - OLD_HATCHED).days)[0]
    assert own < EGGS  # the rest is bought
    cover = {"pullets": PULLETS, "table": 1 - PULLETS}
    for kind, part in cover.items():
        cost(kind, "set", "hatching_egg_in", own * part, PRICES["hatching_egg"], SET_ON)
        cost(kind, "set", "hatching_egg", (EGGS - own) * part, PRICES["hatching_egg"], SET_ON)
        cost(kind, "set", "labour", WORK["set_h"] * part, PRICES["labour"], SET_ON)
        for i in range(21):
            kwh = INCUBATOR_W * 24 / 1000 * part
            cost(kind, "set", "electricity", kwh, PRICES["electricity"], SET_ON + timedelta(days=i))
    gets("eggs", "old", "hatching_egg_out", own, PRICES["hatching_egg"], SET_ON)
    for i in range(1, STORED_D + 1):
        day = SET_ON - timedelta(days=i)
        set_ = SETTABLE * old_heads(day) * lays((day - OLD_HATCHED).days)[0]
        cost("eggs", "old", "egg", set_, PRICES["egg"], day)
    for sex, kind in (("pullet", "pullets"), ("cockerel", "table")):
        cost(kind, "bought", "bought.day_old", BOUGHT[sex], PRICES["day_old"], BOUGHT_ON)

    # Old hens on the first day.
    spent = ((FIRST - OLD_HATCHED).days - HOUSE_D) / WORK["hen_life_d"]
    cost("eggs", "old", "first.pullet", OLD_HENS * (1 - spent), PRICES["pullet"], FIRST)
    cost("eggs", "old", "first.old_hen", OLD_HENS * spent, PRICES["old_hen"], FIRST)

    made = {"carcass_kg": 0.0, "pullets": 0.0, "eggs": 0.0}
    for i in range(DAYS):
        day = FIRST + timedelta(days=i)
        groups = []  # class, batch, sex, age, heads, factor, place
        if day < OLD_OUT:
            groups.append(("eggs", "old", "pullet", (day - OLD_HATCHED).days, old_heads(day), 1.0, "house"))
        for batch, (hatched, heads) in came.items():
            age = (day - hatched).days
            if age < 0:
                continue
            for sex in ("pullet", "cockerel"):
                there = heads[sex] * alive(batch, sex, age)
                if sex == "cockerel":
                    left, factor = 1.0, 1.0
                    for at, share in DRAFTS[batch]:
                        if age < at:
                            break
                        if age == at:
                            after = left * (1 - share)
                            killed = there * (left - after)
                            kg = killed * weight(sex, age) * heavier(after, left) * DRESSING
                            gets("table", batch, "carcass", kg, PRICES["carcass"], day)
                            cost("table", batch, "labour", killed * WORK["kill_h"], PRICES["labour"], day)
                            made["carcass_kg"] += kg
                        left *= 1 - share
                        factor = heavier(0.0, left) if left > 0 else 1.0
                    there *= left
                    kind = "table"
                else:
                    factor = 1.0
                    kind = "eggs" if age >= HOUSE_D else "pullets"
                if there <= 0:
                    continue
                place = (
                    f"brooder {batch}" if age < TURNOUT_D
                    else f"{batch} together" if age < SORT_D
                    else "house" if kind == "eggs"
                    else f"{batch} {sex}"
                )  # fmt: skip
                groups.append((kind, batch, sex, age, there, factor, place))
                if age == 0:
                    cost(kind, batch, "bedding", there * WORK["bedding_kg_per_chick"], PRICES["bedding"], day)
                if age == SORT_D:
                    cost(kind, batch, "labour", there * WORK["sort_h"], PRICES["labour"], day)
                if age == HOUSE_D and sex == "pullet":
                    gets("pullets", batch, "pullet_out", there, PRICES["pullet"], day)
                    cost("eggs", batch, "pullet_in", there, PRICES["pullet"], day)
                    made["pullets"] += there
        if day == OLD_OUT:
            age = (day - OLD_HATCHED).days
            gone = OLD_HENS * HEN_YEAR ** ((age - (FIRST - OLD_HATCHED).days) / 365)
            gets("eggs", "old", "old_hen", gone, PRICES["old_hen"], day)
        for kind, batch, sex, age, heads, factor, place in groups:
            feed = feed_of(sex, age)
            kg = heads * eats(sex, age, factor)
            cost(kind, batch, f"feed.{feed}", kg, FEED_PRICES[feed], day)
            cost(kind, batch, "water", kg * WATER_L, PRICES["water"], day)
            if feed in BIN_KG:
                cost(kind, batch, "delivery", kg / BIN_KG[feed], PRICES["delivery"], day)
            part = heads / sum(g[4] for g in groups if g[6] == place)
            what = "house" if place == "house" else "brooder" if place.startswith("brooder") else "shelter"
            cost(kind, batch, "labour", part * WORK[f"{what}_h_per_d"], PRICES["labour"], day)
            if what == "brooder" and LAMPS_W[batch]:
                kwh = LAMPS_W[batch] / 1000 * WORK["lamp_h_per_d"] * part
                cost(kind, batch, "electricity", kwh, PRICES["electricity"], day)
            if what == "house":
                cost(kind, batch, "bedding", heads * WORK["bedding_kg_per_hen_d"], PRICES["bedding"], day)
                eggs = heads * lays(age)[0]
                gets("eggs", batch, "egg", eggs, PRICES["egg"], day)
                cost("eggs", batch, "labour", eggs * WORK["egg_h"], PRICES["labour"], day)
                made["eggs"] += eggs

    # Hens left when the books close, at their age on the day after.
    last, after = FIRST + timedelta(days=DAYS - 1), FIRST + timedelta(days=DAYS)
    for batch, (hatched, heads) in came.items():
        age = (after - hatched).days
        there = heads["pullet"] * alive(batch, "pullet", age)
        spent = (age - HOUSE_D) / WORK["hen_life_d"]
        gets("eggs", batch, "left.pullet", there * (1 - spent), PRICES["pullet"], last)
        gets("eggs", batch, "left.old_hen", there * spent, PRICES["old_hen"], last)
    return books, made


if __name__ == "__main__":
    found, units = budget()
    for key, value in sorted(found.money.items()):
        print(*key, f"{value:.2f}")
    print(f"{sum(found.money.values()):.2f}", units)
