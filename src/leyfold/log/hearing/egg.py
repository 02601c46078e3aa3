"""From egg to chick."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from leyfold.log.books import Books, Hear
from leyfold.log.faults import Contradicts
from leyfold.log.kinds import egg
from leyfold.nouns.happened import EggsOpened, TrayWeight
from leyfold.nouns.record import BatchFacts

__all__ = ["HEAR"]

HATCH_WINDOW_D = 5
"""Days about the line's own incubation within which a hatch is believed; outside, a date is wrong."""


def _set(books: Books, it: egg.Set) -> None:
    if it.batch in books.batches:
        raise Contradicts("batch", "set_twice", batch=it.batch)
    books.known("line", it.line, books.farm.lines)
    if it.incubator is not None:
        books.known("incubator", it.incubator, books.farm.incubators)
    new = BatchFacts(
        batch=it.batch,
        line=it.line,
        origin="set",
        set_on=books.day,
        eggs=it.eggs,
        incubator=it.incubator,
        stored_d=it.stored_d,
    )
    books.ledger.put(books.batches, it.batch, new)


def _candled(books: Books, it: egg.Candled) -> None:
    batch = _in_the_egg(books, it.batch)
    assert batch.eggs is not None
    if it.fertile > batch.eggs:
        raise Contradicts("fertile", "too_fertile", fertile=it.fertile, eggs=batch.eggs)
    if it.dead is not None and it.dead > it.fertile:
        raise Contradicts("dead", "too_dead", dead=it.dead, fertile=it.fertile)
    books.now(batch, fertile=it.fertile, candled_on=books.day, dead_in_egg=it.dead)


def _tray(books: Books, it: egg.TrayWeighed) -> None:
    _in_the_egg(books, it.batch)
    books.of_batch("trays", it.batch, TrayWeight(books.day, it.kg, it.tray, it.eggs))


def _tended(books: Books, it: egg.Tended) -> None:
    """Kept, so that nobody asks who turned them; nothing is reckoned from it."""
    books.known("incubator", it.incubator, books.farm.incubators)


def _hatched(books: Books, it: egg.Hatched) -> None:
    batch = _in_the_egg(books, it.batch)
    assert batch.eggs is not None
    assert batch.set_on is not None
    if it.chicks > batch.eggs:
        raise Contradicts("chicks", "more_than_eggs", chicks=it.chicks, eggs=batch.eggs)
    if batch.fertile is not None and it.chicks > batch.fertile:
        raise Contradicts("chicks", "more_than_fertile", chicks=it.chicks, fertile=batch.fertile)
    due = batch.set_on + timedelta(days=round(books.farm.lines[batch.line].incubation_d.value))
    if abs((books.day - due).days) > HATCH_WINDOW_D and not books.meant("as it stands"):
        raise Contradicts(
            "at", "hatch_far_off", can=("as it stands",), set_on=batch.set_on, due=due, given=books.day
        )
    opened = EggsOpened(it.clear, it.early_dead, it.late_dead, it.pipped)
    whole = it.chicks + sum(n or 0 for n in (it.clear, it.early_dead, it.late_dead, it.pipped))
    if whole > batch.eggs:
        raise Contradicts("clear", "more_opened", whole=whole, eggs=batch.eggs)
    books.place("place", it.place)
    books.now(
        batch,
        hatched_on=books.day,
        arrived_on=books.day,
        chicks=it.chicks,
        opened=None if opened == EggsOpened() else opened,
    )
    books.book.add((it.batch, None, it.place), it.chicks)


def _in_the_egg(books: Books, name: str) -> BatchFacts:
    batch = books.batch(name)
    if batch.hatched_on is not None:
        raise Contradicts("batch", "hatched_already", batch=name, hatched_on=batch.hatched_on)
    return batch


HEAR: Mapping[str, Hear] = {
    "set": _set,
    "candled": _candled,
    "tray weighed": _tray,
    "tended": _tended,
    "hatched": _hatched,
}
