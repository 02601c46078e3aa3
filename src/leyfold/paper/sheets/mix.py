"""The mixing sheet of a ration, for the wall of the feed room."""

from __future__ import annotations

from leyfold.feed.batch import Batch
from leyfold.feed.mix import Need
from leyfold.paper.feed_sheet import amount
from leyfold.paper.ration_sheet import batch_said
from leyfold.paper.sheets.blocks import (
    Cell,
    Column,
    Sheet,
    big,
    cell,
    fitted,
    heading,
    items,
    lines,
    table,
    title,
)
from leyfold.paper.sheets.ready import Ready, foot
from leyfold.words import say

__all__ = ["mix"]

TIMES = 6
"""Batches that can be ticked off on one sheet."""


def mix(ready: Ready, ration: str, batch: Batch, needs: tuple[Need, ...]) -> Sheet:
    """One batch of `ration`, line by line as it goes in, with a column for each time it is mixed."""
    shown = ready.shown
    name = say("paper.mix", ration=ration)
    currency = ready.farm.holding.currency
    rows: list[list[Cell]] = [
        [
            cell(bold=line.ingredient),
            cell(large=shown.of(line.kg, "kg", 1)),
            "" if line.bags is None else say("paper.bags", bags=shown.n(line.bags)),
            shown.of(line.scale_kg, "kg", 1),
            *[cell(tick=1)] * TIMES,
        ]
        for line in batch.lines
    ]
    # What was asked for beside what the batch holds.
    held = [
        [
            say(f"feed.nutrient_{need.nutrient}"),
            f"{say(f'feed.side_{need.side}')} {amount(need.nutrient, need.value, shown.language)}",
            cell(bold=amount(need.nutrient, batch.contents[need.nutrient], shown.language)),
        ]
        for need in needs
    ]
    return Sheet(
        title=name,
        foot=foot(ready, name),
        blocks=(
            title(name, ready.farm.holding.name),
            big(
                (shown.mass(batch.kg), say("paper.big_batch")),
                (shown.n(len(batch.lines)), say("paper.big_lines")),
                (
                    say("paper.money", money=shown.n(batch.price, 2), currency=currency),
                    say("paper.big_price"),
                ),
            ),
            fitted(
                heading(say("paper.put_in")),
                table(
                    [
                        Column(say("paper.head_ingredient"), "l", "1fr"),
                        Column(say("paper.head_weigh")),
                        Column(say("paper.head_bags")),
                        Column(say("paper.head_scale")),
                        *(Column(shown.n(i + 1), "c") for i in range(TIMES)),
                    ],
                    rows,
                    grid=True,
                ),
                items(batch_said(batch, currency, shown.language)),
                heading(say("paper.holds")),
                table(
                    [
                        Column(say("paper.head_nutrient"), "l"),
                        Column(say("paper.head_asked")),
                        Column(say("paper.head_holds")),
                    ],
                    held,
                    tight=True,
                ),
                heading(say("paper.mixed_on")),
                lines(3),
                least_pt=7.0,
            ),
        ),
    )
