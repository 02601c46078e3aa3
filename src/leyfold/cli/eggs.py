"""`leyfold eggs`: how many eggs to set for a number of birds at a chance."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from leyfold.cli.answer import console, print_json, table
from leyfold.words import say
from leyfold.words.forms import day
from leyfold.words.forms import number as spoken

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.services.eggs import Answer, EggsAnswer, Setting

__all__ = ["eggs"]


def eggs(
    farm: Path,
    *,
    pullets: float | None = None,
    table_birds: float | None = None,
    by: date | None = None,
    chance: float | None = None,
    json: bool = False,
) -> int:
    """Reckon how many eggs to set in each set of the plan, and how sure that is.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    pullets
        Pullets wanted alive. Without a number, every wish of the farm is answered.
    table_birds
        Cockerels wanted killed.
    by
        The day they are wanted on; else the day of the farm's wish.
    chance
        How sure it must be, between 0 and 1; else as the farm wishes.
    json
        Print one JSON object instead of tables.
    """
    from leyfold.services.eggs import eggs_for

    answer = eggs_for(farm, datetime.now(UTC), pullets=pullets, table_birds=table_birds, by=by, chance=chance)
    if json:
        _print_json(answer)
        return 0
    page = console()
    for one in answer.answers:
        page.print(_table(answer, one))
        for sentence in _sentences(answer, one):
            page.print(sentence, soft_wrap=True)
        page.print()
    for sentence in _tests(answer):
        page.print(sentence, soft_wrap=True)
    return 0


def _print_json(answer: EggsAnswer) -> None:
    from dataclasses import asdict

    data = {
        "answers": [
            {**asdict(one), "question": {**asdict(one.question), "on": one.question.on.isoformat()}}
            for one in answer.answers
        ],
        "test_sets": [asdict(test) for test in answer.tests],
    }
    print_json("eggs", data, inputs_sha256=answer.inputs_sha256)


def _table(answer: EggsAnswer, one: Answer) -> Table:
    language, q = answer.farm.holding.language, one.question
    title = "eggs.title_pullets" if q.what == "pullets" else "eggs.title_table_birds"
    heads = [
        (say("eggs.column_when"), False),
        (say("eggs.column_eggs"), True),
        (say("eggs.column_in_all"), True),
        (say("eggs.column_sure"), True),
        (say("eggs.column_mean"), True),
        (say("eggs.column_band"), True),
        (say("eggs.column_safe"), True),
    ]
    page = table(
        say(
            title,
            farm=answer.farm.holding.name,
            number=spoken(q.number, 0, language),
            by=day(q.on, language),
            chance=f"{100 * q.chance:g}",
        ),
        heads,
    )
    names = (say("eggs.row_chance"), say("eggs.row_batches"), say("eggs.row_shared"))
    rows = [
        *zip(names, one.needed, strict=True),
        (say("eggs.row_usual"), one.usual),
        (say("eggs.row_planned", sets=len(one.sets)), one.as_planned),
    ]
    for name, setting in rows:
        page.add_row(name, *_cells(setting, len(one.sets), language))
    return page


def _cells(setting: Setting | None, sets: int, language: str) -> list[str]:
    if setting is None:
        return [say("eggs.none")]
    return [
        spoken(setting.eggs, 0, language),
        spoken(setting.eggs * sets, 0, language),
        f"{100 * setting.chance:.1f} %",
        spoken(setting.mean, 0, language),
        f"{spoken(setting.low, 0, language)}-{spoken(setting.high, 0, language)}",
        spoken(setting.safe, 0, language),
    ]


def _sentences(answer: EggsAnswer, one: Answer) -> list[str]:
    language = answer.farm.holding.language

    def n(value: float) -> str:
        return spoken(value, 0, language)

    lines = [say("eggs.sets", sets=len(one.sets), names=", ".join(one.sets), places=n(one.places))]
    _, vary, shared = one.needed
    usual = {"usual": n(one.usual.eggs), "sure": f"{100 * one.usual.chance:.0f}"}
    if vary is None:
        lines.append(say("eggs.advice_none", chance=f"{100 * one.question.chance:g}", **usual))
    else:
        lines.append(say("eggs.advice", eggs=n(vary.eggs), **usual))
    if shared is None:
        lines.append(say("eggs.advice_shared_none"))
    else:
        lines.append(say("eggs.advice_shared", eggs=n(shared.eggs)))
    if vary is not None:
        lines.append(say("eggs.promise", safe=n(vary.safe), mean=n(vary.mean)))
        if one.gathering_d is not None:
            long = one.gathering_d > one.fresh_d
            key = "eggs.gathering_long" if long else "eggs.gathering"
            lines.append(say(key, eggs=n(vary.eggs), days=spoken(one.gathering_d, 1, language)))
    return lines


def _tests(answer: EggsAnswer) -> list[str]:
    lines = [say("eggs.tests")]
    for test in answer.tests:
        lines.append(
            say(
                "eggs.test",
                fertile=test.fertile,
                eggs=test.eggs,
                low=f"{100 * test.low:.0f}",
                high=f"{100 * test.high:.0f}",
                missed=f"{100 * test.missed:.1g}",
            )
        )
    last, usual = answer.tests[-1], answer.answers[0].usual
    # The usual sum goes as one over the fertility: what it would be at both ends of the interval.
    middle = (last.fertile + 1) / (last.eggs + 2)
    lines.append(
        say(
            "eggs.tests_moral",
            fertile=last.fertile,
            eggs=last.eggs,
            least=round(usual.eggs * middle / last.high),
            most=round(usual.eggs * middle / last.low),
        )
    )
    return lines
