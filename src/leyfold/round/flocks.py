"""Who stands where on a day: batch by batch and place by place."""

from __future__ import annotations

from datetime import date

from leyfold.nouns.ahead import Flock
from leyfold.nouns.record import State
from leyfold.nouns.season import Season

__all__ = ["flocks"]


def flocks(season: Season, state: State, day: date) -> tuple[Flock, ...]:
    """Flocks on `day` by the season, whole heads by the book where the records are of that day; in the order
    of places, the youngest first within each. () outside the season."""
    i = season.index(day)
    if not 0 <= i < season.days:
        return ()
    lines = {batch.id: batch.line for batch in season.plan.batches}
    book: dict[tuple[str, str], int] = {}
    if state.day == day:
        for group in state.groups:
            key = (group.place, group.batch)
            book[key] = book.get(key, 0) + group.heads
    found: dict[tuple[str, str], list[int]] = {}
    for row, lot in enumerate(season.lots):
        if season.heads[row, i] > 0 and lot.place in season.places:
            found.setdefault((lot.place, lot.batch), []).append(row)
    made = []
    for (place, batch), rows in found.items():
        heads = float(season.heads[rows, i].sum())
        kg = float((season.heads[rows, i] * season.weight_kg[rows, i]).sum())
        sexes: dict[str, float] = {}
        for row in rows:
            sex = season.lots[row].sex
            sexes[sex] = sexes.get(sex, 0.0) + float(season.heads[row, i])
        kind = season.places[place].kind
        made.append(Flock(
            place, kind, batch, lines[batch], sexes, float(book.get((place, batch), heads)),
            int(season.age_d[rows[0], i]), kg / heads,
        ))  # fmt: skip
    order = {name: n for n, name in enumerate(season.places)}
    return tuple(sorted(made, key=lambda f: (order[f.place], f.age_d, f.batch)))
