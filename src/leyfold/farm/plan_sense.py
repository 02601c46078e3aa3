"""What fits the shape of plan.toml and still cannot be: each refused with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from leyfold.farm.faults import Page
from leyfold.farm.locate import Path
from leyfold.nouns.farm import Farm, Kit
from leyfold.nouns.plan import Batch, Plan, Stay
from leyfold.nouns.stock import SEXES

__all__ = ["look_through"]

ROUNDING = 1e-9
LONGEST = timedelta(days=5 * 366)


def look_through(page: Page, farm: Farm, plan: Plan) -> None:
    """Note everything in `plan` that contradicts itself or the farm."""
    if plan.first is not None and plan.last is not None and plan.last < plan.first:
        page.fault(("last",), "dates_order", first=plan.first, then=plan.last)
    batches = {batch.id: batch for batch in plan.batches}
    begins = plan.first or min((b.set_on or b.arrives_on for b in plan.batches), default=None)
    if begins is not None and plan.last is not None and plan.last - begins > LONGEST:
        page.fault(("last",), "far_off", day=plan.last, first=begins)
    for path, given in _tables(page, ("set", "bought", "present")):
        batch = batches.get(given["id"])
        if batch is not None:
            _arrival(page, path, batch)
            _far(page, path, batch, begins)
            _order(page, path, given, farm, batch)
            _drafts(page, path, batch)
            _kit(page, path, farm, batch)
            if "place" in given:
                _place(page, (*path, "place"), farm, given["place"], batch.arrives_on)
    stays = {s.id: s for s in plan.stays}
    page.no_doubles("stay", [given.get("id") for given in page.data.get("stay", [])])
    for path, given in _tables(page, ("stay",)):
        stay = stays.get(given.get("id", f"stay{int(path[1]) + 1}"))
        if stay is not None:
            _stay(page, path, farm, batches[stay.batch], stay)
    _crowds(page, batches, plan.stays)
    outs = [path for path, given in _tables(page, ("out",)) if given["batch"] in batches]
    for path, out in zip(outs, plan.outs, strict=True):
        if out.on < batches[out.batch].arrives_on:
            page.fault((*path, "on"), "out_early", on=out.on, arrives=batches[out.batch].arrives_on)
        if begins is not None and out.on - begins > LONGEST:
            page.fault((*path, "on"), "far_off", day=out.on, first=begins)


def _tables(page: Page, names: Sequence[str]) -> Iterator[tuple[Path, Mapping[str, Any]]]:
    for name in names:
        yield from (((name, i), given) for i, given in enumerate(page.data.get(name, [])))


def _arrival(page: Page, path: Path, batch: Batch) -> None:
    if batch.origin == "present" and batch.hatched_on > batch.arrives_on:
        page.fault((*path, "hatched"), "present_unhatched", hatched=batch.hatched_on, on=batch.arrives_on)


def _far(page: Page, path: Path, batch: Batch, begins: date | None) -> None:
    """A season is reckoned day by day: a slip in a year would make it centuries."""
    days = {
        "on": batch.set_on or batch.arrives_on,
        "turnout": batch.turnout_on,
        "sort": batch.sort_on,
        "to_house": batch.house_on,
        "kill": max((draft.on for draft in batch.drafts), default=None),
    }
    far = next((x for x in days.items() if begins and x[1] is not None and x[1] - begins > LONGEST), None)
    if far is not None:
        page.fault((*path, far[0]), "far_off", day=far[1], first=begins)
    came = days["on"]
    if begins and batch.origin != "present" and came is not None and begins - came > LONGEST:
        page.fault((*path, "on"), "far_before", day=came, first=begins)


def _order(page: Page, path: Path, given: Mapping[str, Any], farm: Farm, batch: Batch) -> None:
    """Hatch, turnout, sorting, then killing and housing: a date given may not cross the one before it,
    be that given or reckoned from the line's age."""
    line = farm.lines[batch.line]

    def aged(age_d: float) -> date:
        return batch.hatched_on + timedelta(days=round(age_d))

    turnout = batch.turnout_on or aged(line.turnout_d.value)
    sorting = batch.sort_on or max(aged(line.sort_d.value), turnout)
    steps = (
        ("turnout", turnout, "hatch", batch.hatched_on),
        ("sort", sorting, "turnout", turnout),
        ("to_house", batch.house_on or sorting, "sort", sorting),
    )
    for key, day, before_key, before in steps:
        if day < before:
            at = (*path, key) if key in given else (*path, before_key)
            page.fault(at, "step_order", key=key, day=day, before=before_key, before_day=before)
    first = min((d.on for d in batch.drafts), default=None)
    if first is not None and first < sorting:
        at = (*path, "kill", 0, "on")
        page.fault(at, "step_order", key="kill", day=first, before="sort", before_day=sorting)


def _drafts(page: Page, path: Path, batch: Batch) -> None:
    for i, draft in enumerate(batch.drafts[1:], start=1):
        before = batch.drafts[i - 1]
        if draft.on <= before.on:
            page.fault((*path, "kill", i, "on"), "dates_order", first=before.on, then=draft.on)
        if before.share == 1.0:
            page.fault((*path, "kill", i), "draft_after_all", on=before.on)


def _kit(page: Page, path: Path, farm: Farm, batch: Batch) -> None:
    needed: Sequence[tuple[str, str | None, Mapping[str, Kit], date | None]] = (
        ("incubator", batch.incubator, farm.incubators, batch.set_on),
        ("brooder", batch.brooder, farm.brooders, batch.arrives_on),
        ("house", batch.house, farm.houses, batch.house_on),
    )
    for key, name, known, day in needed:
        if name is None:
            continue
        page.refers((*path, key), name, known, key)
        if name in known and day is not None and not known[name].owned(day):
            page.fault((*path, key), "not_owned", name=name, on=day)


def _place(page: Page, path: Path, farm: Farm, name: str, *days: date) -> None:
    places: Mapping[str, Kit] = {**farm.brooders, **farm.shelters, **farm.houses}
    page.refers(path, name, places, "place")
    gone = [day for day in days if name in places and not places[name].owned(day)]
    if gone:
        page.fault(path, "not_owned", name=name, on=gone[0])


def _stay(page: Page, path: Path, farm: Farm, batch: Batch, stay: Stay) -> None:
    if stay.until <= stay.first:
        page.fault((*path, "until"), "stay_order", first=stay.first, until=stay.until)
        return
    if stay.first < batch.arrives_on:
        page.fault((*path, "from"), "stay_early", first=stay.first, batch=batch.id, arrives=batch.arrives_on)
    _place(page, (*path, "place"), farm, stay.place, stay.first, stay.until - timedelta(days=1))


def _crowds(page: Page, batches: Mapping[str, Batch], stays: Sequence[Stay]) -> None:
    """Two stays of the same birds in one place on one day, or more birds than there are."""
    path_of = {given.get("id", f"stay{int(path[1]) + 1}"): path for path, given in _tables(page, ("stay",))}
    for i, stay in enumerate(stays):
        path = path_of.get(stay.id)
        if path is None or stay.until <= stay.first:
            continue
        same = [s for s in stays[:i] if s.batch == stay.batch and _meet(s, stay)]
        twice = next((s for s in same if s.place == stay.place), None)
        if twice is not None:
            page.fault(
                path, "stay_twice", batch=stay.batch, place=stay.place, first=max(twice.first, stay.first)
            )
            continue
        batch = batches[stay.batch]
        sexes = SEXES if stay.sex is None else (stay.sex,)
        most = batch.eggs if batch.eggs is not None else sum(batch.heads.get(sex, 0.0) for sex in sexes)
        placed = sum(s.heads or 0.0 for s in (*same, stay) if s.first <= stay.first)
        if stay.heads is not None and placed > most * (1 + ROUNDING):
            page.fault(
                (*path, "heads"),
                "stay_heads",
                batch=stay.batch,
                placed=f"{placed:g}",
                most=f"{most:g}",
                on=stay.first,
            )


def _meet(one: Stay, other: Stay) -> bool:
    """Whether some of the same birds could be meant, on the same day."""
    sexes = one.sex is None or other.sex is None or one.sex == other.sex
    return sexes and one.first < other.until and other.first < one.until
