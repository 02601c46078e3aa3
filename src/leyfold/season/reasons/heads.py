"""How many birds there are: eggs, hatch, losses, drafts, and the part of them that stands in one place."""

from __future__ import annotations

import math
from datetime import date, timedelta

from leyfold.nature import hatch, losses
from leyfold.nouns.figure import Figure
from leyfold.nouns.plan import Stay
from leyfold.nouns.stock import Line
from leyfold.nouns.why import Step, Term
from leyfold.season.course import stages, storage
from leyfold.season.drafts import Take
from leyfold.season.party import all_takes
from leyfold.season.reasons.lot import Bird, floor, given, renamed, step, written
from leyfold.words import say

__all__ = ["chicks", "dead", "drafted", "heads", "killed", "killed_kg", "left_after", "stood", "takes_of"]

HEAD = "head"
SAME = 1e-12


def heads(bird: Bird) -> Step:
    """Birds of the lot at the day's start."""
    came, lived = _came(bird), _alive(bird)
    take = _last_take(bird)
    left = left_after(bird, take)
    share = 1.0 if take is None else take.left
    terms: list[Term] = [came, lived] if lived.terms else [came]
    if left is not None:
        terms.append(left)
    here = bird.stay.share / share if share else 0.0
    if abs(here - 1.0) > SAME:
        terms.append(_here(bird, here))
    value = came.value * lived.value * bird.stay.share
    formula = " * ".join(term.key for term in terms)
    return step("heads", value, HEAD, formula, *terms, sex=_sexes(bird))


def dead(bird: Bird) -> Step:
    """Birds of the lot that die on the day, at the constant daily rate of their stage."""
    there = heads(bird)
    ends, shares = stages(bird.row)
    alive = losses.alive_share([bird.age_d, bird.age_d + 1], ends_d=ends, survivals=shares)
    value = there.value * (1.0 - float(alive[1] / alive[0]))
    touched = _stages(bird, bird.age_d, bird.age_d + 1)
    if not touched:
        return step("dead", value, HEAD, "0", there)
    key, figure, length, _ = touched[0]
    return step("dead", value, HEAD, f"heads * (1 - {key} ** (1 / {length:g}))", there, given(key, figure))


def killed(bird: Bird, take: Take) -> Step:
    """Birds of the lot killed or put out on the day its stay ends."""
    came, lived, taken = _came(bird), _alive(bird), drafted(bird, take)
    ending = [s for s in _stays(bird) if s.until == bird.stay.until]
    part = bird.stay.share / sum(s.share for s in ending)
    terms: list[Term] = [came, lived, taken]
    if abs(part - 1.0) > SAME:
        terms.append(_here(bird, part))
    value = came.value * lived.value * take.taken * part
    return step("killed", value, HEAD, " * ".join(term.key for term in terms), *terms)


def killed_kg(bird: Bird, take: Take, weight: Step) -> Step:
    """Their live weight; `weight` is that of the mean bird of the sex on the day."""
    gone = killed(bird, take)
    if abs(take.taken_factor - 1.0) < SAME:
        return step("killed_kg", gone.value * weight.value, "kg", f"killed * {weight.key}", gone, weight)
    value = gone.value * weight.value * take.taken_factor
    heavy = _heavier(bird, take)
    return step("killed_kg", value, "kg", f"killed * {weight.key} * heavier", gone, weight, heavy)


def chicks(bird: Bird) -> Step:
    """Chicks that should hatch of the bird's batch."""
    batch, line = bird.row.batch, bird.row.line
    kept = storage(batch, line)
    terms: list[Term] = []
    if batch.fertile is not None:
        terms.append(bird.of_plan("fertile", batch.fertile, "eggs"))
        value = batch.fertile * line.hatch_of_fertile.value * kept
    else:
        assert batch.eggs is not None
        terms.append(bird.of_plan("eggs_set", batch.eggs, "eggs"))
        terms.append(given("fertility", line.fertility))
        value = float(
            hatch.chicks(
                batch.eggs,
                fertility=line.fertility.value,
                hatch_of_fertile=line.hatch_of_fertile.value,
                storage=kept,
            )
        )
    terms.append(given("hatch_of_fertile", line.hatch_of_fertile))
    if kept < 1.0:
        terms.append(_stored(bird, kept))
    formula = " * ".join(term.key for term in terms)
    return step("chicks", value, HEAD, formula, *terms, batch=batch.id)


def _stored(bird: Bird, kept: float) -> Step:
    """1 - (loss x days too long + late loss x days late + eggs spoilt) / eggs, one egg of every age."""
    line, stored = bird.row.line, bird.row.batch.stored_d
    free, late = line.storage_free_d, line.storage_late_from_d
    lost = [_egg_loss(line, age) for age in range(stored + 1)]
    good = [age for age, share in enumerate(lost) if share < 1.0]
    long = [min(age - free.value, late.value - free.value) for age in good if age > free.value]
    later = [age - late.value for age in good if age > late.value]
    early, tardy = (" + ".join(f"{d:g}" for d in days) or "0" for days in (long, later))
    early, tardy = (f"({days})" if " " in days else days for days in (early, tardy))
    formula = f"1 - (loss * {early} + late_loss * {tardy} + {len(lost) - len(good)}) / {len(lost)}"
    terms: list[Term] = [
        given("loss", line.storage_loss_per_d, free=f"{free.value:g}"),
        given("late_loss", line.storage_late_loss_per_d, late=f"{late.value:g}"),
    ]
    if not later and len(good) == len(lost):
        formula, terms = f"1 - loss * {early} / {len(lost)}", terms[:1]
    return step("stored", kept, "share", formula, *terms, days=stored)


def _egg_loss(line: Line, age: int) -> float:
    free, late = line.storage_free_d.value, line.storage_late_from_d.value
    early = line.storage_loss_per_d.value * min(max(age - free, 0.0), late - free)
    return early + line.storage_late_loss_per_d.value * max(age - late, 0.0)


def _came(bird: Bird) -> Term:
    batch, sex = bird.row.batch, bird.row.sex
    if batch.origin != "set":
        return bird.of_plan("came", float(batch.heads.get(sex, 0.0)), HEAD, sex=_sexes(bird))
    hatched, share = chicks(bird), given("share_pullets", bird.row.line.share_pullets)
    pullets = hatched.value * share.value
    if sex == "pullet":
        return step("came", pullets, HEAD, "chicks * share_pullets", hatched, share, sex=_sexes(bird))
    formula = "chicks * (1 - share_pullets)"
    return step("came", hatched.value - pullets, HEAD, formula, hatched, share, sex=_sexes(bird))


def _alive(bird: Bird) -> Step:
    """Share of those that came alive on the day: each stage lived through, the last one in part."""
    batch = bird.row.batch
    start = (batch.arrives_on - batch.hatched_on).days
    ends, shares = stages(bird.row)
    alive = losses.alive_share([start, bird.age_d], ends_d=ends, survivals=shares)
    parts, terms = [], []
    for key, figure, length, days in _stages(bird, start, bird.age_d):
        parts.append(key if days == length else f"{key} ** ({days:g} / {length:g})")
        terms.append(given(key, figure))
    formula = " * ".join(parts) or "1"
    return step("alive", float(alive[1] / alive[0]), "share", formula, *terms, days=bird.age_d)


def _stages(bird: Bird, start: float, until: float) -> list[tuple[str, Figure, float, float]]:
    """Stages that the ages start..until touch: name, survival, days long, days of them within."""
    line, traits = bird.row.line, bird.row.traits
    figures = {
        "first_week": line.survival_first_week,
        "brooder": line.survival_brooder,
        "shelter": line.survival_shelter,
        "grower": traits.survival_grower,
    }
    if bird.row.sex == "pullet":
        figures["hen_year"] = line.hen.survival_hen_year
    found, begin = [], 0.0
    for (key, figure), end in zip(figures.items(), stages(bird.row)[0], strict=True):
        if end > begin:
            found.append((key, figure, begin, end))
        begin = end
    touched = []
    for i, (key, figure, begin, end) in enumerate(found):
        # Past the last end the rate of the last stage goes on.
        upper = math.inf if i == len(found) - 1 else end
        days = min(until, upper) - max(start, begin)
        if days > 0:
            touched.append((key, figure, end - begin, days))
    return touched


def takes_of(bird: Bird) -> tuple[Take, ...]:
    """The drafts of the bird's batch and sex, or the outs of its hens."""
    return all_takes((bird.row,), bird.plan.outs)[bird.row.batch.id, bird.row.sex]


def _last_take(bird: Bird) -> Take | None:
    return next((take for take in reversed(takes_of(bird)) if take.on <= bird.stay.first), None)


def _shares(bird: Bird, until: date) -> list[Term]:
    """What each draft up to `until` takes of the birds then alive."""
    batch = bird.row.batch
    if bird.row.sex == "cockerel":
        dated = [(draft.on, draft.share) for draft in batch.drafts]
    else:
        dated = [(out.on, out.share) for out in bird.plan.outs if out.batch == batch.id]
    ordered = sorted((d for d in dated if d[0] <= until and d[1] > 0.0), key=lambda d: d[0])
    source, evidence = say("why.source_plan", batch=batch.id), "farm file"
    return [
        renamed(written("draft", share, "share", source, evidence, on=bird.said(on)), f"draft_{i}")
        for i, (on, share) in enumerate(ordered, 1)
    ]


def left_after(bird: Bird, take: Take | None) -> Step | None:
    """Share of the sex left by the drafts up to `take`; None before any."""
    if take is None:
        return None
    shares = _shares(bird, take.on)
    formula = " * ".join(f"(1 - {share.key})" for share in shares)
    formula = formula if len(shares) > 1 else f"1 - {shares[0].key}"
    return step("left", take.left, "share", formula, *shares)


def drafted(bird: Bird, take: Take) -> Step:
    """Share of the sex that `take` takes: of what the drafts before it left."""
    shares = _shares(bird, take.on)
    *before, last = shares
    formula = " * ".join([*(f"(1 - {share.key})" for share in before), last.key])
    return step("drafted", take.taken, "share", formula, *shares)


def _heavier(bird: Bird, take: Take) -> Step:
    """Weight of the birds taken over the mean of the sex: the mean of a normal between two quantiles."""
    cv = given("weight_cv", bird.row.traits.weight_cv)
    taken = drafted(bird, take)
    before = take.left + take.taken
    edge = (take.taken_factor - 1.0) / cv.value * take.taken
    normal = written(
        "between", edge, "1", say("why.source_normal"), "standard",
        above=f"{100 * (1 - before):.4g}", below=f"{100 * (1 - take.left):.4g}",
    )  # fmt: skip
    formula = "1 + weight_cv * between / drafted"
    return step("heavier", take.taken_factor, "share", formula, cv, normal, taken)


def stood(bird: Bird) -> Step | None:
    """Weight of the birds of the lot over the mean of their sex, once the heaviest are gone; None before."""
    factor = bird.stay.weight_factor
    take = _last_take(bird)
    if abs(factor - 1.0) < SAME or take is None:
        return None
    cv, left = given("weight_cv", bird.row.traits.weight_cv), left_after(bird, take)
    assert left is not None
    normal = written(
        "edge", (1.0 - factor) / cv.value * take.left, "1", say("why.source_normal"), "standard",
        below=f"{100 * (1 - take.left):.4g}",
    )  # fmt: skip
    return step("lighter", factor, "share", "1 - weight_cv * edge / left", cv, normal, left)


def _stays(bird: Bird) -> list[Stay]:
    """The stays of the bird's batch and sex."""
    own = (s for s in bird.plan.stays if s.batch == bird.stay.batch)
    return [s for s in own if s.sex in (None, bird.row.sex)]


def _here(bird: Bird, part: float) -> Term:
    """The part of a party that stands in one of its places: by floor, unless the plan says otherwise."""
    day = min(bird.day, bird.stay.until - timedelta(days=1))
    places = [s.place for s in _stays(bird) if s.first <= day < s.until]
    floors = [renamed(floor(bird.farm, place), f"floor_{i}") for i, place in enumerate(places, 1)]
    mine = floors[places.index(bird.stay.place)]
    whole = sum(f.value for f in floors)
    if len(set(places)) == len(places) and abs(mine.value / whole - part) < SAME:
        formula = f"{mine.key} / ({' + '.join(f.key for f in floors)})"
        return step("here", part, "share", formula, *floors, place=bird.stay.place)
    return bird.of_plan("here", part, "share", place=bird.stay.place)


def _sexes(bird: Bird) -> str:
    return say(f"why.sex_{bird.row.sex}")
