"""From [lines.NAME] to the noun: what is given stands, what is absent is the cited figure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from leyfold.farm.faults import Page
from leyfold.farm.locate import Path
from leyfold.farm.schema_line import HEN_KEYS, LINE_KEYS, SEX_KEYS, GrowthTable, LineTable
from leyfold.farm.tables import figure, table
from leyfold.nature.growth import gompertz_through
from leyfold.nouns.figure import EVIDENCE, Figure
from leyfold.nouns.stock import SEXES, FeedPhase, Growth, Hen, Line, Sex, SexTraits
from leyfold.words import say

__all__ = ["read_line"]


def read_line(page: Page, name: str, given: LineTable) -> Line | None:
    """The line as a noun; faults of sense go to `page`, and None where its growth makes none."""
    path: Path = ("lines", name)
    growth = {sex: _growth(page, path, given, sex) for sex in SEXES}
    if growth["pullet"] is None or growth["cockerel"] is None:
        return None
    figures = {f: _figure(page, path, given, key, f, sex=_only_sex(f)) for key, f in LINE_KEYS.items()}
    traits = {sex: _traits(page, path, given, sex, cast(Growth, growth[sex])) for sex in SEXES}
    hen = Hen(
        **{f: _figure(page, (*path, "hen"), given.hen, key, f, sex="hen") for key, f in HEN_KEYS.items()}
    )
    feeding = _feeding(given, round(figures["point_of_lay_d"].value))
    return Line(
        id=name,
        name=given.name or name,
        **figures,
        pullet=traits["pullet"],
        cockerel=traits["cockerel"],
        hen=hen,
        feeding=feeding,
    )


def _figure(page: Page, path: Path, given: Any, key: str, name: str, *, sex: str | None = None) -> Figure:
    """The figure `name`: the value under `key` of the table at `path`, or the cited one."""
    value = getattr(given, key, None)
    if value is None:
        return figure(f"stock.{name}", sex=cast(Any, sex))
    unit = table("stock")[name]["unit"]
    return Figure(value, unit, page.source(*path, key), "farm file")


def _only_sex(name: str) -> str | None:
    """The sex under which the table keeps a figure of the whole line: killing is for cockerels."""
    entry = table("stock")[name]
    return None if "value" in entry else next(sex for sex in SEXES if sex in entry)


def _traits(page: Page, path: Path, line: LineTable, sex: Sex, growth: Growth) -> SexTraits:
    own = getattr(line, sex)
    figures = {
        name: _figure(page, path, line, key, name, sex=sex)
        if getattr(own, key, None) is None
        else _figure(page, (*path, sex), own, key, name)
        for key, name in SEX_KEYS.items()
    }
    return SexTraits(growth=growth, **figures)


def _growth(page: Page, path: Path, line: LineTable, sex: Sex) -> Growth | None:
    own = getattr(line, sex)
    if own is not None and own.growth is not None:
        return _curve(page, (*path, sex, "growth"), own.growth, sex)
    return _curve(page, (*path, "growth"), line.growth or GrowthTable(), sex)


def _curve(page: Page, path: Path, given: GrowthTable, sex: Sex) -> Growth | None:
    by_rate = [k for k in ("rate", "inflection", "shape") if getattr(given, k) is not None]
    through = [k for k in ("hatch", "at", "weighs") if getattr(given, k) is not None]
    if by_rate and through:
        page.fault((*path, through[0]), "growth_both", through=through[0], rate=by_rate[0])
        return None
    if by_rate or given.model != "gompertz":
        return _by_rate(page, path, given, sex)
    if (given.at is None) != (given.weighs is None):
        page.fault(path, "growth_half", has="at" if given.at is not None else "weighs")
        return None
    return _through(page, path, given, sex)


def _by_rate(page: Page, path: Path, given: GrowthTable, sex: Sex) -> Growth | None:
    wanted = ("rate", "inflection", "shape") if given.model == "richards" else ("rate", "inflection")
    lacking = [k for k in wanted if getattr(given, k) is None]
    if lacking:
        page.fault(path, "growth_lacks", model=given.model, keys=", ".join(lacking))
        return None
    if given.model != "richards" and given.shape is not None:
        page.fault((*path, "shape"), "growth_shape", model=given.model)
        return None
    numbers: Mapping[str, tuple[str, Any]] = {
        "rate": ("1/d", given.rate),
        "inflection": ("d", given.inflection),
        "shape": ("share", given.shape),
    }
    own = {
        k: Figure(v, unit, page.source(*path, k), "farm file")
        for k, (unit, v) in numbers.items()
        if v is not None
    }
    return Growth(
        given.model,
        _figure(page, path, given, "mature", "mature_kg", sex=sex),
        own["rate"],
        own["inflection"],
        own.get("shape"),
    )


def _through(page: Page, path: Path, given: GrowthTable, sex: Sex) -> Growth | None:
    """The Gompertz curve through the hatch weight and one known weight."""
    mature = _figure(page, path, given, "mature", "mature_kg", sex=sex)
    hatch = _figure(page, path, given, "hatch", "hatch_kg", sex=sex)
    weight = _figure(page, path, given, "weighs", "known_weight_kg", sex=sex)
    age = _figure(page, path, given, "at", "known_age_d", sex=sex)
    if weight.value >= mature.value:
        key = "weighs" if given.weighs is not None else "mature"
        page.fault(
            (*path, key), "growth_over", sex=sex, weighs=f"{weight.value:g}", mature=f"{mature.value:g}"
        )
        return None
    if hatch.value >= weight.value:
        key = "weighs" if given.weighs is not None else "hatch"
        page.fault(
            (*path, key), "growth_under", sex=sex, weighs=f"{weight.value:g}", hatch=f"{hatch.value:g}"
        )
        return None
    if age.value <= 0:
        page.fault((*path, "at"), "growth_at_hatch")
        return None
    rate, inflection = gompertz_through(
        mature_kg=mature.value, hatch_kg=hatch.value, age_d=age.value, weight_kg=weight.value
    )
    source = say("farm.through_source", hatch=hatch.source, weight=weight.source)
    # A curve rests on its weakest leg; a weighing of the farm's own makes it the farm's.
    own = weight.evidence == "farm file"
    evidence = weight.evidence if own else max((mature, hatch, weight), key=_weakness).evidence
    return Growth(
        "gompertz",
        mature,
        Figure(float(rate), "1/d", source, evidence),
        Figure(float(inflection), "d", source, evidence),
    )


def _weakness(figure: Figure) -> int:
    return -1 if figure.evidence == "farm file" else EVIDENCE.index(figure.evidence)


def _feeding(given: LineTable, lay_d: int) -> tuple[FeedPhase, ...]:
    """The phases given, or starter, then grower, then layers' feed for the pullets at point of lay."""
    if given.feeding is not None:
        return tuple(FeedPhase(p.feed, round(p.from_d), p.sex, p.weighs) for p in given.feeding)
    change = getattr(given, "grower_from", None)
    change_d = figure("stock.grower_from_d").value if change is None else change
    return (
        FeedPhase("starter", 0),
        FeedPhase("grower", round(change_d)),
        FeedPhase("layers", lay_d, "pullet"),
    )
