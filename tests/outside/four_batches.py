"""A farm of four even batches walked by hand, day by day, in plain Python: what a patient person would do
with a pencil. It imports nothing of Leyfold and takes no number from its tables.

The conventions: day 0 is the day of hatch; heads and weight are those at the day's start; gain is
W(t+1) - W(t); stays are half-open, so birds leaving on a day are not fed that day; losses run at a constant
daily rate within a stage; heads stay fractional; weeks run Monday to Sunday. The rules by which birds find
their places are those of the docstring of `leyfold.season.filling.fill`.
"""

import math
from datetime import date, timedelta

FIRST, LAST = date(2027, 3, 1), date(2028, 8, 13)  # a Monday and a Sunday; a leap day lies between

LATITUDE_DEG = 54.3
MONTHS_C = [-1.5, -0.8, 2.2, 6.7, 11.9, 15.1, 24.5, 21.2, 13.3, 8.4, 3.1, 0.2]  # July warm enough to drink

EGGS, STORED_D, EVERY_D, FIRST_SET = 230, 9, 21, date(2027, 3, 4)
INCUBATION_D = 21
FERTILITY, HATCH_OF_FERTILE, SHARE_PULLETS = 0.91, 0.83, 0.48
STORAGE = {"free_d": 3, "loss_per_d": 0.006, "late_from_d": 7, "late_loss_per_d": 0.013}

TURNOUT_D, SORT_D, KILL_D, HOUSE_D, POINT_OF_LAY_D = 26, 58, 99, 122, 137
DRAFTS = [(96, 0.4), (110, 1.0)]  # age, share of the cockerels then alive; the last batch has one draft
SURVIVAL = {"first_week": 0.981, "brooder": 0.987, "shelter": 0.968, "hen_year": 0.91}

SEX = {
    "pullet": {
        "mature_kg": 2.31, "rate_per_d": 0.0231, "inflection_d": 59.5, "weight_cv": 0.10,
        "survival_grower": 0.973, "maintenance": 0.0413, "per_gain": 1.49, "waste": 0.062, "cold": 0.9,
        "water": 1.87, "water_slope": 0.065, "water_base_C": 18.5,
        "nitrogen": 0.0285, "phosphorus": 0.0049, "potassium": 0.0024,
    },
    "cockerel": {
        "mature_kg": 3.52, "rate_per_d": 0.0227, "inflection_d": 64.8, "weight_cv": 0.125,
        "survival_grower": 0.961, "maintenance": 0.0437, "per_gain": 1.58, "waste": 0.048, "cold": 0.8,
        "water": 1.93, "water_slope": 0.071, "water_base_C": 19.5,
        "nitrogen": 0.0294, "phosphorus": 0.0053, "potassium": 0.0027,
    },
}  # fmt: skip

HEN = {
    "lay_a": 0.93, "lay_b_per_wk": 0.0056, "lay_c_per_wk": 0.87, "lay_d_wk": 23.6,
    "light_needed_h": 12.4, "light_dark_h": 8.3, "light_full_h": 14.2, "lay_share_at_dark": 0.46,
    "egg_p_g": 64.1, "egg_q_g": 29.2, "egg_r_per_wk": 0.052,
    "nitrogen": 0.0191, "phosphorus": 0.0021, "potassium": 0.0013,
}  # fmt: skip

FEEDS = {  # crude protein, kcal ME a kg, phosphorus, potassium
    "starter": (0.212, 2890.0, 0.0072, 0.0081),
    "grower": (0.174, 2830.0, 0.0066, 0.0076),
    "layers": (0.163, 2710.0, 0.0061, 0.0069),
}
FEEDING = [("starter", 0, None), ("grower", 37, None), ("layers", 129, "pullet")]

BROODERS_M2 = {"barn": 12.5, "shed": 9.0}
CHICKS_PER_M2 = [(12, 27.0), (25, 19.0), (40, 12.0)]  # below that age; the last holds on
SHELTERS_M = {  # along, across; moves a day
    **{f"pen{i}": (3.4, 2.9, 1) for i in range(1, 5)},
    **{f"ark{i}": (3.0, 2.0, 2) for i in range(1, 6)},
}
KG_PER_M2, KG_N_PER_HA = 17.0, 118.0  # limits in a shelter
HOUSES = {"coach": (31.0, 11.6), "wagon": (48.0, 12.2)}  # m2, hours of light with its lamps
HENS_PER_M2 = 6.5

OLD_HENS, OLD_HATCHED, OLD_HERE = 84, date(2026, 4, 20), FIRST
OLD_OUT = [(date(2027, 8, 11), 0.35), (date(2027, 9, 23), 1.0)]


# One bird -----------------------------------------------------------------------------------------------


def weight(sex, age):
    s = SEX[sex]
    return s["mature_kg"] * math.exp(-math.exp(-s["rate_per_d"] * (age - s["inflection_d"])))


def cold_kj(kg, age, warmth):
    """What a bird burns more a day below its critical temperature (docs/models.md, Feed)."""
    critical = 35 - 0.286 * age if age <= 21 else 63.3 * min(age, 70) ** -0.254
    slope = 20.0 if age < 35 else 12.5 if age < 49 else 4.5
    return slope * kg**0.75 * max(0.0, critical - warmth)


def daylight(day):
    """Forsythe et al. 1995, from the sun's edge on the horizon (docs/models.md, Day length)."""
    j = day.timetuple().tm_yday
    theta = 0.2163108 + 2 * math.atan(0.9671396 * math.tan(0.00860 * (j - 186)))
    phi = math.asin(0.39795 * math.cos(theta))
    north = math.radians(LATITUDE_DEG)
    up = math.sin(math.radians(0.8333)) + math.sin(north) * math.sin(phi)
    return 24 - 24 / math.pi * math.acos(up / (math.cos(north) * math.cos(phi)))


def light(day, house):
    return max(daylight(day), HOUSES[house][1])


def eggs_laid(hatched, day, house):
    """Eggs a hen, kg an egg. Her curve begins as late as she began for want of light."""
    ripe = hatched + timedelta(days=POINT_OF_LAY_D)
    if day < ripe:
        return 0.0, 0.0
    begins = ripe
    while light(begins, house) < HEN["light_needed_h"]:
        begins += timedelta(days=1)
    if day < begins:
        return 0.0, 0.0
    age = (day - hatched).days
    weeks = (age - (begins - ripe).days) / 7
    yang = (
        HEN["lay_a"]
        * math.exp(-HEN["lay_b_per_wk"] * weeks)
        / (1 + math.exp(-HEN["lay_c_per_wk"] * (weeks - HEN["lay_d_wk"])))
    )
    dark, full, least = HEN["light_dark_h"], HEN["light_full_h"], HEN["lay_share_at_dark"]
    lit = min(1.0, max(least, least + (1 - least) * (light(day, house) - dark) / (full - dark)))
    grams = HEN["egg_p_g"] - HEN["egg_q_g"] * math.exp(-HEN["egg_r_per_wk"] * age / 7)
    return yang * lit, grams / 1000


def feed_of(sex, age):
    return [feed for feed, since, only in FEEDING if since <= age and only in (None, sex)][-1]


def bird_day(sex, hatched, day, factor, turned_out, house):
    """One bird of `factor` times the mean weight: kg of feed and its kind, litres, kg N, P, K, eggs."""
    s, age, warmth = SEX[sex], (day - hatched).days, MONTHS_C[day.month - 1]
    kg, gain = factor * weight(sex, age), factor * (weight(sex, age + 1) - weight(sex, age))
    kind = feed_of(sex, age)
    protein, kcal, phosphorus, potassium = FEEDS[kind]
    laid = egg_kg = 0.0
    if sex == "pullet" and age >= POINT_OF_LAY_D:
        laid, each = eggs_laid(hatched, day, house)
        egg_kg = laid * each
        # NRC 1994, Table 2-4: what a hen past point of lay eats.
        energy = kg**0.75 * (173 - 1.95 * warmth) + 5.5 * gain * 1000 + 2.07 * egg_kg * 1000
        eaten = energy / kcal
    else:
        eaten = s["maintenance"] * kg**0.75 + s["per_gain"] * gain
        if day >= turned_out:
            eaten += s["cold"] * cold_kj(kg, age, warmth) / (4.184 * kcal)
    given = eaten / (1 - s["waste"])
    drunk = given * s["water"] * (1 + s["water_slope"] * max(0.0, warmth - s["water_base_C"]))
    return {
        "kind": kind,
        "feed": given,
        "water": drunk,
        "n": given * protein / 6.25 - gain * s["nitrogen"] - egg_kg * HEN["nitrogen"],
        "p": given * phosphorus - gain * s["phosphorus"] - egg_kg * HEN["phosphorus"],
        "k": given * potassium - gain * s["potassium"] - egg_kg * HEN["potassium"],
        "eggs": laid,
    }


# A normal flock, the heaviest first ---------------------------------------------------------------------


def below(x):
    return 0.5 * math.erfc(-x / math.sqrt(2))


def cut_off(share_below):
    """The point of the standard normal with so much below it, by halving."""
    low, high = -9.0, 9.0
    while high - low > 1e-15 * 8:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if below(middle) < share_below else (low, middle)
    return (low + high) / 2


def bell(x):
    return math.exp(-x * x / 2) / math.sqrt(2 * math.pi)


def mean_between(low, high, cv):
    """Weight over the mean of the birds whose rank, from the lightest, lies between two shares."""
    bottom = bell(cut_off(low)) if low > 0 else 0.0
    top = bell(cut_off(high)) if high < 1 else 0.0
    return 1 + cv * (bottom - top) / (high - low)


# All birds of a batch and sex ---------------------------------------------------------------------------


def storage():
    """Eggs of 0, 1, .. STORED_D days, as many of each."""
    kept = 0.0
    for age in range(STORED_D + 1):
        lost = STORAGE["loss_per_d"] * max(0, min(age, STORAGE["late_from_d"]) - STORAGE["free_d"])
        lost += STORAGE["late_loss_per_d"] * max(0, age - STORAGE["late_from_d"])
        kept += 1 - lost
    return kept / (STORED_D + 1)


def batches():
    chicks = EGGS * FERTILITY * HATCH_OF_FERTILE * storage()
    made = []
    for i in range(4):
        set_on = FIRST_SET + timedelta(days=i * EVERY_D)
        hatched = set_on + timedelta(days=INCUBATION_D)
        batch = {"id": f"b{i + 1}", "set": set_on, "eggs": EGGS, "hatched": hatched, "here": hatched}
        batch |= {"pullet": chicks * SHARE_PULLETS, "cockerel": chicks * (1 - SHARE_PULLETS)}
        ages = DRAFTS if i < 3 else [(KILL_D, 1.0)]
        drafts = [(hatched + timedelta(days=age), share) for age, share in ages]
        made.append(batch | {"leaving": {"pullet": [], "cockerel": drafts}})
    old = {"id": "old", "set": None, "eggs": 0, "hatched": OLD_HATCHED, "here": OLD_HERE}
    old |= {"pullet": float(OLD_HENS), "cockerel": 0.0, "leaving": {"pullet": OLD_OUT, "cockerel": []}}
    return [*made, old]


def on_age(batch, age):
    return batch["hatched"] + timedelta(days=age)


def survives(batch, sex, age):
    """The share of the birds of an age that live to the next day."""
    reared_d = HOUSE_D if sex == "pullet" else (batch["leaving"][sex][-1][0] - batch["hatched"]).days
    for until, since, share in (
        (7, 0, SURVIVAL["first_week"]),
        (TURNOUT_D, 7, SURVIVAL["brooder"]),
        (SORT_D, TURNOUT_D, SURVIVAL["shelter"]),
        (reared_d, SORT_D, SEX[sex]["survival_grower"]),
    ):
        if age < until:
            return share ** (1 / (until - since))
    return SURVIVAL["hen_year"] ** (1 / 365)


def days():
    return [FIRST + timedelta(days=i) for i in range((LAST - FIRST).days + 1)]


def flock(batch, sex):
    """{day: what the whole flock of one batch and sex is and does}, from its first day to its last."""
    book, alive, left, factor = {}, batch[sex], 1.0, 1.0
    for day in days():
        if day < batch["here"] or alive == 0:
            continue
        age = (day - batch["hatched"]).days
        killed = killed_kg = 0.0
        for on, share in batch["leaving"][sex]:
            if on != day:
                continue
            gone, cv = left * share, SEX[sex]["weight_cv"] if sex == "cockerel" else 0.0
            killed = alive * share
            killed_kg = killed * weight(sex, age) * mean_between(left - gone, left, cv)
            left -= gone
            alive -= killed
            factor = mean_between(0.0, left, cv) if left > 0 else 1.0
        one = bird_day(sex, batch["hatched"], day, factor, on_age(batch, TURNOUT_D), batch["house"])
        entry = {name: value * alive for name, value in one.items() if name != "kind"}
        dies = alive * (1 - survives(batch, sex, age))
        entry |= {"kind": one["kind"], "heads": alive, "kg": alive * factor * weight(sex, age)}
        entry |= {"dead": dies, "killed": killed, "killed_kg": killed_kg}
        book[day] = entry
        alive -= dies
    return book


# Places -------------------------------------------------------------------------------------------------


def chick_m2(heads, age):
    for until, per_m2 in CHICKS_PER_M2[:-1]:
        if age < until:
            return heads / per_m2
    return heads / CHICKS_PER_M2[-1][1]


def least_passed(rooms, used, need):
    """The first room that takes `need` {day: size} beside what it holds, else the one passed least."""
    best, best_full = None, None
    for room, size in rooms.items():
        full = max(1.0, max((used[room].get(d, 0.0) + n) / size for d, n in need.items()))
        if best_full is None or full < best_full:
            best, best_full = room, full
    for d, n in need.items():
        used[best][d] = used[best].get(d, 0.0) + n
    return best


def grass_parties(batch, books):
    """The three parties of a batch at grass: together until sorting, then by sex."""
    out, sort, house = (on_age(batch, age) for age in (TURNOUT_D, SORT_D, HOUSE_D))
    drafts = [on for on, _ in batch["leaving"]["cockerel"]]
    both = [books[batch["id"], sex] for sex in ("pullet", "cockerel")]
    whole = {"first": out, "until": sort, "books": both, "steps": [sort], "before": None}
    parts = [
        {"first": sort, "until": house, "books": both[:1], "steps": [house], "before": whole},
        {"first": sort, "until": drafts[-1], "books": both[1:], "steps": drafts, "before": whole},
    ]
    whole["other"], parts[0]["other"], parts[1]["other"] = None, parts[1], parts[0]
    made = [whole, *parts]
    for party in made:
        party |= {"at": [], "former": [batch["brooder"]], "waits": False}
    return made


def total(party, name, day):
    return sum(book[day][name] for book in party["books"])


def floor(shelter):
    return SHELTERS_M[shelter][0] * SHELTERS_M[shelter][1]


def passes(party, shelters, day):
    m2 = sum(floor(s) for s in shelters)
    if total(party, "kg", day) / m2 > KG_PER_M2 * (1 + 1e-9):
        return True
    n_per_ha = total(party, "n", day) / m2 * 10000
    return any(n_per_ha / SHELTERS_M[s][2] > KG_N_PER_HA * (1 + 1e-9) for s in shelters)


def keeps(party, shelters, first, until):
    return not any(passes(party, shelters, first + timedelta(days=i)) for i in range((until - first).days))


def leg_ends(party, day):
    return min(step for step in party["steps"] if step > day)


def a_week_well(party, shelters, day):
    return bool(shelters) and keeps(party, shelters, day, min(day + timedelta(days=7), leg_ends(party, day)))


def spread(party, day, taken):
    free = [s for s in party["former"] if s in SHELTERS_M] + list(SHELTERS_M)
    free = [s for s in dict.fromkeys(free) if s not in taken]
    other = party["other"]
    if not party["at"] and other is not None and not other["at"] and len(free) > 1:
        free = free[:-1]  # the half that parts first leaves one for the other
    while free and not a_week_well(party, party["at"], day):
        party["at"] = [*party["at"], free.pop(0)]
    party["waits"] = not a_week_well(party, party["at"], day)
    taken.update(party["at"])


def walk_grass(made, books):
    """{(place, day): [(flock, share)]} for every day at grass, by rules 2 to 5 of `season.filling.fill`."""
    parties = [party for batch in made if batch["id"] != "old" for party in grass_parties(batch, books)]
    there, taken = {}, set()
    for day in days():
        for party in parties:
            if party["until"] == day:
                taken -= set(party["at"])
        for party in parties:
            if party["first"] < day < party["until"] and day in party["steps"]:
                until = leg_ends(party, day)
                for n in range(1, len(party["at"])):
                    if keeps(party, party["at"][:n], day, until):
                        taken -= set(party["at"][n:])
                        party["at"] = party["at"][:n]
                        break
        for party in parties:
            if party["first"] == day and party["before"] is not None:
                party["former"] = party["before"]["at"] or party["before"]["former"]
                spread(party, day, taken)
        for party in parties:
            if party["first"] < day < party["until"] and (party["waits"] or passes(party, party["at"], day)):
                spread(party, day, taken)
        for party in parties:
            if party["first"] == day and party["before"] is None:
                spread(party, day, taken)
        for party in parties:
            if party["first"] <= day < party["until"]:
                at = party["at"] or party["former"]
                sizes = {s: floor(s) if s in SHELTERS_M else BROODERS_M2[s] for s in at}
                for book in party["books"]:
                    for place in at:
                        share = sizes[place] / sum(sizes.values())
                        there.setdefault((place, day), []).append((book[day], share))
    return there


def walk():
    """Every weekly figure, one dict a week."""
    made = batches()
    house_of(made)
    books = {(b["id"], sex): flock(b, sex) for b in made for sex in ("pullet", "cockerel")}
    used = {room: {} for room in BROODERS_M2}
    there = {}
    for batch in made[:4]:
        brood = [d for d in days() if batch["here"] <= d < on_age(batch, TURNOUT_D)]
        need = {
            d: sum(chick_m2(books[batch["id"], s][d]["heads"], (d - batch["hatched"]).days) for s in SEX)
            for d in brood
        }
        batch["brooder"] = least_passed(BROODERS_M2, used, need)
        for d in brood:
            for s in SEX:
                there.setdefault((batch["brooder"], d), []).append((books[batch["id"], s][d], 1.0))
    for spot, flocks in walk_grass(made, books).items():
        there.setdefault(spot, []).extend(flocks)
    for batch in made:
        for d, entry in books[batch["id"], "pullet"].items():
            if d >= on_age(batch, HOUSE_D):
                there.setdefault((batch["house"], d), []).append((entry, 1.0))
    for batch in made:
        for s in SEX:
            for d, entry in books[batch["id"], s].items():
                entry["age"] = (d - batch["hatched"]).days
    return [a_week(made, books, there, FIRST + timedelta(days=7 * i)) for i in range(len(days()) // 7)]


def house_of(made):
    """Rule 6, for which heads alone matter: they do not depend on the house."""
    used = {name: {} for name in HOUSES}
    sizes = {name: HENS_PER_M2 * m2 for name, (m2, _) in HOUSES.items()}
    for batch in made:
        batch["house"] = next(iter(HOUSES))
        heads = {d: entry["heads"] for d, entry in flock(batch, "pullet").items()}
        need = {d: n for d, n in heads.items() if d >= on_age(batch, HOUSE_D)}
        batch["house"] = least_passed(sizes, used, need)


def a_week(made, books, there, monday):
    week = [monday + timedelta(days=i) for i in range(7)]

    def at(place, day, name):
        return sum(entry[name] * share for entry, share in there.get((place, day), []))

    def monday_in(places):
        return sum(at(place, monday, "heads") for place in places)

    def summed(name, kind=None):
        entries = [book[d] for book in books.values() for d in week if d in book]
        return sum(entry[name] for entry in entries if kind in (None, entry["kind"]))

    def alive(sex, name="heads"):
        return sum(book[monday][name] for (_, s), book in books.items() if s == sex and monday in book)

    def worst(name, per):
        return max(at(s, d, name) / per(s) for s in SHELTERS_M for d in week)

    return {
        "monday": monday,
        "eggs_set": sum(b["eggs"] for b in made if b["set"] and b["set"] <= monday < b["hatched"]),
        "in_brooder": monday_in(BROODERS_M2),
        "at_grass": monday_in(SHELTERS_M),
        "in_house": monday_in(HOUSES),
        "pullets": alive("pullet"),
        "cockerels": alive("cockerel"),
        "dead": summed("dead"),
        "killed": summed("killed"),
        "killed_kg": summed("killed_kg"),
        "kg": alive("pullet", "kg") + alive("cockerel", "kg"),
        "feed_kg": {kind: summed("feed", kind) for kind in FEEDS},
        "water_l": summed("water"),
        "n_kg": summed("n"),
        "p_kg": summed("p"),
        "k_kg": summed("k"),
        "eggs": summed("eggs"),
        "shelters": max(sum(at(s, d, "heads") >= 0.5 for s in SHELTERS_M) for d in week),
        "heaviest_heads": worst("heads", lambda _: 1.0),
        "heaviest_kg_per_m2": worst("kg", floor),
        "heaviest_kg_n_per_ha": worst("n", lambda s: floor(s) * SHELTERS_M[s][2] / 10000),
        "floor_share": max(
            sum(chick_m2(e["heads"] * share, e["age"]) for e, share in there.get((room, d), [])) / m2
            for room, m2 in BROODERS_M2.items()
            for d in week
        ),
    }
