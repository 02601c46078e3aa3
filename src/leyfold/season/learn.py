"""The farm's own records take over its figures, in proportion to the birds and eggs counted.

Each figure is the mean of what the start value and the records say together; `priors` in the cited tables
says how much a start value weighs. What follows sees only the farm that comes out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

from leyfold.farm.tables import figure
from leyfold.nouns.farm import Farm
from leyfold.nouns.figure import Figure
from leyfold.nouns.record import State
from leyfold.nouns.stock import SEXES, Line, Sex, SexTraits
from leyfold.season.learning import shrink
from leyfold.season.learning.due import Due, due
from leyfold.season.learning.evidence import STAGES, Seen, Stage, seen
from leyfold.season.learning.weighed import moved_curves, moved_spread
from leyfold.words import say

__all__ = ["Learned", "learn", "learned", "years"]

FEWEST_BATCHES = 3
"""A spread between batches is not asked of fewer."""
HEN_YEAR_D = 365.0
COUNTED = {
    "fertility": "eggs",
    "hatch_of_fertile": "fertile_eggs",
    "hatch_concentration": "batches",
    "share_pullets": "birds",
    **dict.fromkeys((name for name, _ in STAGES), "birds"),
    **dict.fromkeys(("mature_kg", "rate_per_d", "inflection_d", "weight_cv"), "weighed"),
    "lay_a": "eggs_laid",
    **dict.fromkeys(("maintenance_kg_per_kg075", "per_gain_kg_per_kg", "cold_share"), "feed_kg"),
}
"""The figures that are learned, and what of them is counted: the sentence `learn.of_<what>`."""


def learn(farm: Farm, state: State, *, year: int | None = None) -> Farm:
    """`farm` with its figures moved by the records in `state`; with `year`, by those of the batches hatched
    in that year alone. Without records it comes back equal.

    Moved: fertility, hatch of fertile, how alike batches hatch (from three batches on), share of pullets,
    survival by stage, growth, spread of weight, height of lay, what growing birds eat. Kept: luck of growth
    and of losses between batches, what hens eat, water, nutrients.
    """
    batches = [b for b in seen(farm, state) if year in (None, b.year)]
    lines = {
        name: _hatch_and_losses(line, [b for b in batches if b.line == name])
        for name, line in farm.lines.items()
    }
    lines = {
        name: _growth(line, [b for b in batches if b.line == name], farm.lines[name])
        for name, line in lines.items()
    }
    farm = replace(farm, lines=lines)
    # What was due is reckoned with the weights just learned: heavy birds are no proof of waste.
    parts = due(farm, state)
    of = {b.batch: b.line for b in batches}
    return replace(
        farm,
        lines={
            name: _lay_and_feed(line, [part for batch, part in parts.items() if of.get(batch) == name])
            for name, line in lines.items()
        },
    )


def years(farm: Farm, state: State) -> tuple[int, ...]:
    """The years in which batches with records hatched, the last first."""
    return tuple(sorted({b.year for b in seen(farm, state)}, reverse=True))


def _hatch_and_losses(line: Line, batches: Sequence[Seen]) -> Line:
    fertility, n = _fertility(line, batches)
    line = replace(line, fertility=_moved(line.fertility, "fertility", fertility, n))
    value, n = _hatch_of_fertile(line, batches)
    steady, n_batches = _concentration(line, batches)
    pullets = sum(b.pullets or 0 for b in batches)
    birds = pullets + sum(b.cockerels or 0 for b in batches)
    share = shrink.rate(line.share_pullets.value, _strength("share_pullets"), pullets, birds)
    stages = {stage: _survival(line, stage, batches) for stage in STAGES}
    for (name, sex), (survival, birds_through) in stages.items():
        line = _put(line, name, sex, survival, birds_through)
    return replace(
        line,
        hatch_of_fertile=_moved(line.hatch_of_fertile, "hatch_of_fertile", value, n),
        hatch_concentration=_moved(line.hatch_concentration, "hatch_concentration", steady, n_batches),
        share_pullets=_moved(line.share_pullets, "share_pullets", share, birds),
    )


def _fertility(line: Line, batches: Sequence[Seen]) -> tuple[float, int]:
    """Of eggs candled. A batch shares its luck, so its eggs count for fewer."""
    hits = trials = 0.0
    candled = [(b.fertile, b.eggs) for b in batches if b.fertile is not None and b.eggs]
    for fertile, eggs in candled:
        worth = shrink.effective(eggs, line.hatch_concentration.value)
        hits += worth * fertile / eggs
        trials += worth
    value = shrink.rate(line.fertility.value, _strength("fertility"), hits, trials)
    return value, sum(eggs for _, eggs in candled)


def _hatch_of_fertile(line: Line, batches: Sequence[Seen]) -> tuple[float, int]:
    """Of fertile eggs set fresh; of eggs not candled the share that should be fertile."""
    hits = trials = counted = 0.0
    for b in batches:
        if b.chicks is None or b.eggs is None:
            continue
        fertile = b.eggs * line.fertility.value if b.fertile is None else b.fertile
        if fertile * b.fresh > 0.0:
            worth = shrink.effective(fertile, line.hatch_concentration.value)
            hits += worth * b.chicks / fertile
            trials += worth * b.fresh
            counted += fertile
    value = shrink.rate(line.hatch_of_fertile.value, _strength("hatch_of_fertile"), hits, trials)
    return value, round(counted)


def _concentration(line: Line, batches: Sequence[Seen]) -> tuple[float, int]:
    known = [(b.chicks, b.eggs, b.fresh) for b in batches if b.chicks is not None and b.eggs and b.eggs > 1]
    prior = line.hatch_concentration.value
    whole = sum(chicks for chicks, _, _ in known) / max(sum(eggs * fresh for _, eggs, fresh in known), 1.0)
    if len(known) < FEWEST_BATCHES or not 0.0 < whole < 1.0:
        return prior, 0
    chicks, eggs, fresh = zip(*known, strict=True)
    chance = [whole * f for f in fresh]
    value = shrink.concentration(prior, _strength("hatch_concentration"), chicks, eggs, chance)
    return value, len(known)


def _survival(line: Line, stage: Stage, batches: Sequence[Seen]) -> tuple[float, int]:
    """The daily rate of loss is learned on bird-days, and said as survival of the usual length."""
    name, sex = stage
    prior, days = _figure(line, name, sex).value, _length_d(line, stage)
    through = [b.through[stage] for b in batches if stage in b.through]
    if days <= 0.0 or not through:
        return prior, 0
    lost = at_risk = 0.0
    for it in through:
        worth = shrink.effective(it.most, line.loss_concentration.value) / it.most if it.most else 0.0
        lost += worth * it.lost
        at_risk += worth * it.bird_days
    daily = shrink.rate(1.0 - prior ** (1.0 / days), _strength("survival") * days, lost, at_risk)
    return (1.0 - daily) ** days, round(sum(it.most for it in through))


def _length_d(line: Line, stage: Stage) -> float:
    name, sex = stage
    ends = {
        "survival_first_week": (0.0, 7.0),
        "survival_brooder": (7.0, line.turnout_d.value),
        "survival_shelter": (line.turnout_d.value, line.sort_d.value),
        "survival_grower": (line.sort_d.value, (line.house_d if sex == "pullet" else line.kill_d).value),
        "survival_hen_year": (0.0, HEN_YEAR_D),
    }
    first, until = ends[name]
    return until - first


def _growth(line: Line, batches: Sequence[Seen], start: Line) -> Line:
    """`start` is the line before any learning: its spreads say what a weighing is worth."""
    curves = moved_curves(start, [b.weighings for b in batches], _strength("curve"))
    for sex in SEXES:
        taken = [t for b in batches for t in b.weighings if t.sex in (None, sex)]
        own = [t for t in taken if t.sex == sex]
        traits, curve = line.of(sex), curves[sex]
        weighed, alike = (sum(len(t.weights_kg) for t in ts) for ts in (taken, own))
        old = traits.growth
        growth = replace(
            old,
            mature_kg=_moved(old.mature_kg, "mature_kg", curve.mature_kg.value, weighed),
            rate_per_d=_moved(old.rate_per_d, "rate_per_d", curve.rate_per_d.value, weighed),
            inflection_d=_moved(old.inflection_d, "inflection_d", curve.inflection_d.value, weighed),
        )
        cv = moved_spread(traits.weight_cv.value, _strength("weight_cv"), own)
        line = _with(line, sex, growth=growth, weight_cv=_moved(traits.weight_cv, "weight_cv", cv, alike))
    return line


def _lay_and_feed(line: Line, parts: Sequence[Due]) -> Line:
    eggs, eggs_due = sum(p.eggs for p in parts), sum(p.eggs_due for p in parts)
    lay = shrink.gamma_factor(_strength("lay"), eggs, eggs_due)
    lay_a = min(line.hen.lay_a.value * lay, 1.0)
    line = replace(line, hen=replace(line.hen, lay_a=_moved(line.hen.lay_a, "lay_a", lay_a, round(eggs))))
    feed, feed_due = sum(p.feed_kg for p in parts), sum(p.feed_kg_due for p in parts)
    eaten = shrink.gamma_factor(_strength("feed"), feed, feed_due)
    for sex in SEXES:
        traits = line.of(sex)
        moved = {
            name: _moved(old, name, old.value * eaten, round(feed))
            for name in ("maintenance_kg_per_kg075", "per_gain_kg_per_kg", "cold_share")
            if isinstance(old := getattr(traits, name), Figure)
        }
        line = _with(line, sex, **moved)
    return line


def _strength(name: str) -> float:
    return figure(f"priors.{name}").value


def _moved(old: Figure, name: str, value: float, n: int) -> Figure:
    """The figure as the records have it; itself where none bear on it."""
    if n == 0:
        return old
    source = say(
        "learn.source",
        n=n,
        what=say(f"learn.of_{COUNTED[name]}"),
        prior=f"{old.value:.4g}",
        source=old.source,
    )
    return Figure(float(value), old.unit, source, "records", n)


def _figure(line: Line, name: str, sex: Sex | None) -> Figure:
    home = line.hen if name == "survival_hen_year" else line if sex is None else line.of(sex)
    found = getattr(home, name)
    assert isinstance(found, Figure)
    return found


def _put(line: Line, name: str, sex: Sex | None, value: float, n: int) -> Line:
    figure = _moved(_figure(line, name, sex), name, value, n)
    changes: dict[str, Any] = {name: figure}
    if name == "survival_hen_year":
        return replace(line, hen=replace(line.hen, **changes))
    return replace(line, **changes) if sex is None else _with(line, sex, **changes)


def _with(line: Line, sex: Sex, **changes: Any) -> Line:
    traits: SexTraits = replace(line.of(sex), **changes)
    return replace(line, pullet=traits) if sex == "pullet" else replace(line, cockerel=traits)


@dataclass(frozen=True, slots=True)
class Learned:
    """One figure moved: `name` is its path in the line, such as cockerel.growth.mature_kg; `n` of what is
    `counted` stand behind it."""

    line: str
    name: str
    before: Figure
    after: Figure

    @property
    def figure(self) -> str:
        """The last part of the name: what the figure is, of whichever sex."""
        return self.name.rpartition(".")[2]

    @property
    def n(self) -> int:
        return self.after.n_records

    @property
    def counted(self) -> str:
        return COUNTED[self.figure]


def learned(before: Farm, after: Farm) -> tuple[Learned, ...]:
    """The figures in which two readings of one farm differ by records, line by line."""
    return tuple(
        Learned(name, path, old, new)
        for name, line in before.lines.items()
        for (path, old), (_, new) in zip(_figures(line), _figures(after.lines[name]), strict=True)
        if new.evidence == "records" and new != old
    )


def _figures(noun: Any, path: str = "") -> Iterator[tuple[str, Figure]]:
    for field in fields(noun):
        value = getattr(noun, field.name)
        if isinstance(value, Figure):
            yield path + field.name, value
        elif is_dataclass(value):
            yield from _figures(value, f"{path}{field.name}.")
