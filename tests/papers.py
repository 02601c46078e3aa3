"""What tests of the printed sheets share: a farm at the ends of what names and numbers can be."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from farms import farm
from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Draft, Plan
from leyfold.nouns.record import State
from leyfold.nouns.season import Season
from leyfold.paper.sheets.ready import Ready
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.season.weeks import weeks
from leyfold.season.work import work
from seasons import hatch

LONG = "Schneckenhuegelstreuobstwiesenunterstandnummerdreiundzwanzig"
NAMES = (
    LONG,
    "#set page(width: 1pt) *bold* _it_ $x$ @ref <lab>",
    "\\u{41} `raw` // note /* more */ ]])",
    "مأوى الدجاج الكبير بجانب البحيرة",
    "לול התרנגולות הגדול ליד האגם",
    "Κοτέτσι δίπλα στη λίμνη",
    "Большой птичник у озера номер семь",
    "<b>&amp; ½ × 40\u00a0kg \u202e esrever",
    "one two three four five six seven eight nine ten eleven tw",
    "=1+1|'; DROP",
)
"""Sixty letters, markup, other scripts, right to left."""


def extreme() -> tuple[Farm, Season]:
    """Twenty shelters with such names, and batches enough to fill them."""
    base = farm()
    one = next(iter(base.shelters.values()))
    names = [name if i < len(NAMES) else f"{name[:50]} {i}" for i, name in enumerate(NAMES * 2)]
    shelters = {name: replace(one, id=name) for name in names}
    holding = replace(base.holding, name=f"{LONG} & Söhne *")
    made = replace(
        base, holding=holding, shelters=shelters, measures={"Kübel #1": "7 kg"},
        incubators={k: replace(i, eggs=2000) for k, i in base.incubators.items()},
    )  # fmt: skip
    start = date(2027, 1, 12)
    batches = tuple(
        hatch(
            f"{NAMES[i % len(NAMES)]}-{i}"[:60],
            start + timedelta(days=7 * i),
            300,
            drafts=(Draft(start + timedelta(days=7 * i + 130), 1.0),),
        )
        for i in range(8)
    )
    return made, expect(made, complete(made, Plan(batches)))


def ready(
    made: Farm, season: Season, on: date, batch: int | None = None, state: State | None = None
) -> Ready:
    chosen = None if batch is None else season.plan.batches[batch]
    return Ready(made, season, weeks(season), work(made, season), state or State(), on, chosen)
