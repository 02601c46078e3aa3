"""What has to be done before dark, what to take care of, and what to learn for next year."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, time

from leyfold.nature import cautions as harm
from leyfold.nature.sun import rise_and_set
from leyfold.nouns.clock import instant
from leyfold.nouns.replanned import Alive, Mend
from leyfold.plan.replan.case import Case
from leyfold.plan.replan.course import draft_moved
from leyfold.plan.replan.suppose import Kind
from leyfold.plan.replan.told import Told
from leyfold.words import say

__all__ = ["before_dark", "cautions", "dark_at", "lessons", "unsure"]

BEFORE_DARK: Mapping[Kind, tuple[str, ...]] = {
    "signs": ("signs_ring", "signs_nothing"),
    "power_off": ("power_chicks", "power_shut", "power_neighbour", "power_candle"),
    "no_water": ("water_now", "water_all"),
    "loose": ("loose_dusk", "loose_joined", "count"),
    "lost": ("lost_carry", "count"),
    "wrong_feed": ("wrong_take_away", "wrong_keep_label", "wrong_vet"),
    "dead": ("dead_look", "fox_hole", "fox_photograph", "fox_two", "fox_feed", "count"),
    "missing": ("count", "fox_hole", "carcass_cattle"),
    "sick": ("sick_apart", "sick_order", "sick_numbers", "sick_vet"),
    "no_feed": ("feed_count", "feed_whom"),
    "housing": ("housing_in", "housing_stop", "housing_label", "housing_wild"),
    "no_grass": ("late_litter", "late_lamps", "late_sets"),
    "no_killing": ("killing_ring", "killing_feed"),
    "cancelled": ("killing_ring",),
    "withdrawal": ("withdrawal_mark",),
    "hatch": ("hatch_break_out", "hatch_machine", "hatch_tell"),
    "fertile": ("hatch_machine", "hatch_cocks"),
    "cockerels": ("sex_second_look", "sex_swap"),
    "drought": ("drought_ground", "drought_water", "drought_cattle"),
    "away": ("away_sheet", "away_ring"),
    "phone_lost": ("phone_paper", "phone_count", "phone_device"),
}
"""Sentences `replan.dark_...` by what happened: what kills within the hour first, and of each the most urgent
first."""

CARE: Mapping[Kind, tuple[str, ...]] = {
    "dead": (harm.STOP_ORDER,),
    "loose": (harm.LIFTING,),
    "housing": (harm.STOP_ORDER,),
    "sick": (harm.STOP_ORDER,),
    "signs": (harm.STOP_ORDER,),
    "power_off": (harm.ELECTRICITY, harm.FIRE),
    "no_grass": (harm.ELECTRICITY, harm.FIRE),
}
MEDICINES = ("withdrawal", "wrong_feed", "sick")
FROST_C, HEAT_C = 3.0, 12.0
"""Means of a month in which drinkers freeze, and in which a dry one kills in an afternoon. Guesses."""
NO_NIGHT_S = 86000.0
KILLING = ("kill", "split", "all_sooner")

LESSONS: Mapping[Kind, tuple[str, ...]] = {
    "dead": ("fox_where", "fox_two"),
    "missing": ("fox_where",),
    "hatch": ("hatch_cause", "hatch_figures"),
    "fertile": ("hatch_cause", "hatch_test"),
    "cockerels": ("sex_spread",),
    "lost": ("lost_speed",),
    "loose": ("loose_rings",),
    "housing": ("housing_floor",),
    "no_killing": ("killing_second",),
    "cancelled": ("killing_deposit",),
    "no_grass": ("late_date",),
    "drought": ("drought_spare",),
    "no_feed": ("feed_spare",),
    "wrong_feed": ("wrong_bins",),
    "no_water": ("water_two",),
    "withdrawal": ("withdrawal_dates",),
    "sick": ("sick_curve",),
    "signs": ("signs_list",),
    "power_off": ("power_trial",),
    "away": ("away_sheet",),
    "phone_lost": ("phone_evening",),
}


def _kinds(case: Case) -> list[Kind]:
    return list(dict.fromkeys(s.kind for s in case.supposed))


def _of(kinds: Iterable[Kind], table: Mapping[Kind, tuple[str, ...]]) -> Iterator[str]:
    yield from dict.fromkeys(key for kind in kinds for key in table.get(kind, ()))


def before_dark(case: Case, alive: Sequence[Alive], best: Mend | None) -> tuple[str, ...]:
    """Most urgent first: what happened, then what the best mend asks of today."""
    happened = [kind for kind in BEFORE_DARK if case.of(kind)]
    found = [say(f"replan.dark_{key}") for key in _of(happened, BEFORE_DARK)]
    found += _waterless(case)
    found += _killed_later(case)
    found += _carried(case, alive)
    found += best.today if best is not None else ()
    return tuple(dict.fromkeys(found))


def _waterless(case: Case) -> Iterator[str]:
    """What a place without water asks for by the time of year and by what is wrong."""
    words = {word for it in case.of("no_water") for word in it.text.lower().split()}
    if not words:
        return
    if "tainted" in words:
        yield say("replan.dark_water_tainted")
    mean_C = case.farm.temperature_C[case.day.month - 1].value
    if mean_C < FROST_C or "frozen" in words:
        yield say("replan.dark_water_frost")
    elif mean_C > HEAT_C:
        yield say("replan.dark_water_heat")


def _killed_later(case: Case) -> Iterator[str]:
    """Killings of birds that may not be killed on their day, and to which day these go."""
    tell = Told(case.farm.holding.language)
    for batch in case.plan.batches:
        for draft in batch.drafts:
            stop = case.stopped(batch.id, draft.on)
            if not case.cockerels(batch.id):
                continue
            if stop is not None and stop.kind != "signs" and draft.share > 0.0 and draft.on >= case.day:
                on = draft_moved(case, batch.id, draft)
                yield say("replan.dark_killed_later", batch=batch.id, was=tell.day(draft.on), on=tell.day(on))


def _carried(case: Case, alive: Sequence[Alive]) -> Iterator[str]:
    """Where the birds of a place lost today sleep tonight."""
    lost = [s for s in case.of("lost") if s.first <= case.day and s.kit is not None]
    if not lost:
        return
    farm = case.farm
    if any(it.kit in farm.shelters for it in lost):
        yield say("replan.dark_lost_stake")
    if any(it.kit in {**farm.brooders, **farm.incubators} for it in lost):
        yield say("replan.dark_lost_mains")
    for it in lost:
        to = case.went.get(it.kit or "")
        if to is not None:
            heads = sum(a.heads for a in alive if a.place == to)
            yield say("replan.dark_went", kit=it.kit, to=to, heads=heads)
            if it.kit in farm.brooders and to not in farm.brooders:
                yield say("replan.dark_no_heat", to=to)
    there = {place: sum(a.heads for a in alive if a.place == place) for place in {a.place for a in alive}}
    yield say(
        "replan.dark_heads",
        places=", ".join(f"{place} {heads}" for place, heads in sorted(there.items())),
    )


def cautions(case: Case, mends: Sequence[Mend]) -> tuple[str, ...]:
    """The usual cautions of what has to be done."""
    kinds = _kinds(case)
    found = [say(key) for key in _of(kinds, CARE)]
    lost = {s.kit for s in case.of("lost")}
    if lost & case.farm.shelters.keys():
        found += [say(harm.WIND), say(harm.LIFTING)]
    if lost & {**case.farm.brooders, **case.farm.incubators}.keys():
        found += [say(harm.ELECTRICITY), say(harm.FIRE)]
    found = list(dict.fromkeys(found))
    if any(kind in MEDICINES for kind in kinds):
        found.append(say("replan.caution_medicine"))
    if any(part in KILLING for m in mends for part in m.kind.split("+")):
        found.append(say(harm.KILLING))
    if any("net" in m.kind.split("+") for m in mends):
        found.append(say("replan.caution_net"))
    return tuple(found)


def lessons(case: Case) -> tuple[str, ...]:
    """What is to be learned from such trouble for next year."""
    return tuple(say(f"replan.learn_{key}") for key in _of(_kinds(case), LESSONS))


def dark_at(case: Case) -> datetime | None:
    """When the sun sets on the day of the case; None on days on which it does not."""
    holding = case.farm.holding
    noon = instant(case.day, time(12), holding.zone).timestamp()
    sun = rise_and_set(holding.latitude_deg, holding.longitude_deg, noon)
    lit_s = float(sun.set_s - sun.rise_s)
    return datetime.fromtimestamp(float(sun.set_s), tz=UTC) if 0.0 < lit_s < NO_NIGHT_S else None


def unsure(case: Case, told: Told, unpriced: tuple[str, ...] = ()) -> tuple[str, ...]:
    """What this reckoning rests on that nobody has written down (prices by their keys: `unpriced`), and what
    it does not see."""
    found = []
    if unpriced:
        found.append(say("replan.unsure_prices", keys=", ".join(unpriced)))
    if any(s.kind == "lost" and s.first <= case.day for s in case.supposed):
        found.append(say("replan.unsure_where"))
    for places in case.mixed:
        heads = sum(g.heads for g in case.state.groups if g.place in places)
        found.append(say("replan.unsure_mixed", places=" + ".join(places), heads=told.n(heads)))
    found += [say("replan.unsure_parted", batch=batch) for batch in case.parted]
    for it in case.of("sick", "signs"):
        if it.until is None:
            found.append(say("replan.unsure_sick"))
    if case.of("power_off"):
        found.append(say("replan.unsure_power"))
    gone = {s.kit for s in case.of("lost")}
    if case.farm.incubators and case.farm.incubators.keys() <= gone:
        found.append(say("replan.unsure_machine"))
    if case.of("drought"):
        found.append(say("replan.unsure_hay"))
        found.append(say("replan.unsure_lake"))
    if case.of("housing"):
        found.append(say("replan.unsure_housing"))
        if any(s.until is None for s in case.of("housing")):
            found.append(say("replan.unsure_housing_end"))
    if case.state.questions:
        found.append(say("replan.unsure_questions", n=len(case.state.questions)))
    if case.of("phone_lost"):
        found.append(say("replan.unsure_phone"))
    return tuple(dict.fromkeys(found))
