"""Birds that come, move, are parted, are lost, counted, and go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta

from leyfold.log.book import Key, spoken
from leyfold.log.books import Books, Hear
from leyfold.log.faults import Contradicts
from leyfold.log.kinds import birds
from leyfold.nouns.happened import Glance, Sale
from leyfold.nouns.plan import Origin
from leyfold.nouns.record import BatchFacts, Count, HeadCount, Weighing
from leyfold.nouns.stock import Sex

__all__ = ["HEAR"]


# birds come


def _bought(books: Books, it: birds.Bought) -> None:
    _comes(books, "bought", it, books.day - timedelta(days=it.age_d))


def _present(books: Books, it: birds.Present) -> None:
    hatched = it.hatched_on or books.day - timedelta(days=it.age_d or 0)
    if hatched > books.day:
        raise Contradicts("hatched_on", "not_hatched_yet", hatched_on=hatched)
    _comes(books, "present", it, hatched)


def _comes(books: Books, origin: Origin, it: birds.Bought | birds.Present, hatched: date) -> None:
    """A batch may come in several records (sexes, places) if they agree on everything else."""
    books.known("line", it.line, books.farm.lines)
    books.place("place", it.place)
    new = BatchFacts(it.batch, it.line, origin, hatched_on=hatched, arrived_on=books.day, chicks=0)
    old = books.batches.get(it.batch, new)
    for name in ("origin", "line", "hatched_on", "arrived_on"):
        if getattr(old, name) != getattr(new, name):
            before, now = getattr(old, name), getattr(new, name)
            raise Contradicts("batch", "two_stories", batch=it.batch, before=before, now=now)
    key: Key = (it.batch, it.sex, it.place)
    if key in books.book.heads:
        raise Contradicts("batch", "came_twice", group=spoken(key))
    books.now(old, chicks=(old.chicks or 0) + it.heads)
    _join(books, key, it.heads)


# birds move and are parted


def _moved(books: Books, it: birds.Moved) -> None:
    books.place("to", it.to)
    if it.from_ is not None:
        books.place("from", it.from_)
    if it.batch is not None:
        books.batch(it.batch)
    book = books.book
    if it.heads is None:
        going = [k for k in book.fitting(it.batch, it.sex, it.from_) if k[2] != it.to]
        if not going:
            _one(books, it.batch, it.sex, it.from_)
            raise Contradicts("to", "there_already", place=it.to)
        moves = [(key, book.heads[key]) for key in going]
    else:
        key = _one(books, it.batch, it.sex, it.from_)
        if key[2] == it.to:
            raise Contradicts("to", "there_already", place=it.to)
        moves = [(key, _at_most(books, key, it.heads))]
    for key, heads in moves:
        to: Key = (key[0], key[1], it.to)
        _heir(books, key, (to,))
        _put(books, key, to, heads)


def _sorted(books: Books, it: birds.Sorted) -> None:
    batch = books.hatched(it.batch)
    for name, place in (("pullets_to", it.pullets_to), ("cockerels_to", it.cockerels_to)):
        if place is not None:
            books.place(name, place)
    unsorted = [k for k in books.book.fitting(it.batch, None, it.place) if k[1] is None]
    if not unsorted:
        raise Contradicts("batch", "sorted_out", batch=it.batch)
    if len(unsorted) > 1:
        groups = "; ".join(spoken(key) for key in unsorted)
        raise Contradicts("heads", "which_birds", fits=tuple(unsorted), groups=groups)
    key = unsorted[0]
    if it.pullets + it.cockerels > books.book.heads[key]:
        _over(books, key, it.pullets + it.cockerels)
    pullets: Key = (it.batch, "pullet", it.pullets_to or key[2])
    cockerels: Key = (it.batch, "cockerel", it.cockerels_to or key[2])
    _heir(books, key, (pullets, cockerels))
    for to, heads in ((pullets, it.pullets), (cockerels, it.cockerels)):
        _put(books, key, to, heads)
    books.now(
        batch,
        sorted_on=batch.sorted_on or books.day,
        pullets_at_sorting=(batch.pullets_at_sorting or 0) + it.pullets,
        cockerels_at_sorting=(batch.cockerels_at_sorting or 0) + it.cockerels,
    )


def _put(books: Books, key: Key, to: Key, heads: int) -> None:
    """Heads of one group come to stand as another."""
    if heads:
        books.held.moved(key, to, books.book.by_place.get(to[2], ()), books.day)
        _leave(books, key, heads)
        books.book.add(to, heads)


def _join(books: Books, key: Key, heads: int) -> None:
    books.held.joined(key, books.book.by_place.get(key[2], ()))
    books.book.add(key, heads)


def _leave(books: Books, key: Key, heads: int, *, lost: bool = False) -> None:
    books.book.take(key, heads, lost=lost)
    if key not in books.book.heads:
        books.held.emptied(key)


def _heir(books: Books, key: Key, to: Iterable[Key]) -> None:
    """Keep in mind where birds went: somebody out of signal may go on speaking of where they were."""
    on, before = books.heirs.get(key[2], (books.day, ()))
    heirs = (*before, *to) if on == books.day else tuple(to)
    books.ledger.put(books.heirs, key[2], (books.day, tuple(dict.fromkeys(heirs))))


def _one(books: Books, batch: str | None, sex: Sex | None, place: str | None) -> Key:
    """The one group that fits; where none stands there any more, those that went away on the day are asked
    about."""
    try:
        return books.book.one(batch, sex, place)
    except Contradicts as error:
        on, heirs = books.heirs.get(place or "", (date.min, ()))
        if error.name != "no_birds" or on != books.day:
            raise
        fits = tuple(key for key in heirs if key in books.book.heads and batch in (None, key[0]))
        group, there = error.values["group"], error.values["there"]
        raise Contradicts("heads", "no_birds", fits=fits, group=group, there=there) from None


def _at_most(books: Books, key: Key, heads: int) -> int:
    """As many as were said. More than there are only as somebody has answered."""
    there = books.book.heads.get(key, 0)
    if heads > there and books.meant("all there") and there:
        return there
    if heads > there:
        _over(books, key, heads)
    return heads


def _over(books: Books, key: Key, heads: int) -> None:
    """More birds than the book had of a group: they were there, so somebody says, and are put in."""
    there = books.book.heads.get(key, 0)
    if not books.meant("as it stands"):
        can = ("as it stands", "all there") if books.record.kind != "sorted" else ("as it stands",)
        raise Contradicts("heads", "negative", can=can, wanted=heads, there=there, group=spoken(key))
    _back(books, key, heads - there, "over")


def _back(books: Books, key: Key, heads: int, kind: str) -> None:
    """Birds that the book had lost, or never had, come back into it."""
    batch = books.hatched(key[0])
    books.of_batch("gone", key[0], Count(books.day, -heads, sex=key[1], place=key[2], kind=kind))
    books.ledger.put(books.left, batch.batch, books.left.get(batch.batch, 0) - heads)
    _join(books, key, heads)


# birds go


def _loss(books: Books, it: birds.Loss) -> None:
    books.place("place", it.place)
    key, heads = _goes(books, it.batch, it.sex, it.place, it.heads, lost=True)
    if books.record.kind == "missing":
        books.ledger.put(books.missing, key, books.missing.get(key, 0) + heads)
        _explain(books, key, heads)


def _killed(books: Books, it: birds.Sent) -> None:
    if it.place is not None:
        books.place("place", it.place)
    _goes(books, it.batch, it.sex, it.place, it.heads, lost=False)


def _sold(books: Books, it: birds.Sold) -> None:
    _killed(books, it)
    if it.paid is not None or it.customer is not None:
        sale = Sale(books.day, "birds", it.heads, None, it.paid, it.customer, None, it.batch)
        books.push("sales", sale)


def _goes(
    books: Books, batch: str | None, sex: Sex | None, place: str | None, heads: int, *, lost: bool
) -> tuple[Key, int]:
    if batch is not None:
        books.hatched(batch)
    key = _one(books, batch, sex, place)
    heads = _at_most(books, key, heads)
    kind = books.record.kind
    count = Count(books.day, heads, sex or key[1], key[2], kind)
    if not lost and books.held.held(key, books.day, eggs=False):
        books.push("withheld", count)
    _leave(books, key, heads, lost=lost)
    field = {"found dead": "dead", "killed": "killed"}.get(kind, "gone")
    books.of_batch(field, key[0], count)
    books.ledger.put(books.left, key[0], books.left.get(key[0], 0) + heads)
    return key, heads


def _found_alive(books: Books, it: birds.FoundAlive) -> None:
    """Birds that a count left open were in the book all along; those written down as missing come back."""
    books.place("place", it.place)
    if it.batch is not None:
        books.hatched(it.batch)
    left = it.heads - _explained(books, it)
    lost = [
        key
        for key, heads in sorted(books.missing.items(), key=str)
        if heads and it.batch in (None, key[0]) and it.sex in (None, key[1]) and key[2] == it.place
    ] or [
        key
        for key, heads in sorted(books.missing.items(), key=str)
        if heads and it.batch in (None, key[0]) and it.sex in (None, key[1])
    ]
    for key in lost:
        back = min(left, books.missing[key])
        if back:
            books.ledger.put(books.missing, key, books.missing[key] - back)
            _back(books, (key[0], key[1], it.place), back, "found alive")
            left -= back
    if left:
        if not books.meant("as it stands"):
            raise Contradicts(
                "heads", "not_missing", can=("as it stands",), wanted=it.heads, there=it.heads - left
            )
        _back(books, _one(books, it.batch, it.sex, it.place), left, "over")


def _explained(books: Books, it: birds.FoundAlive) -> int:
    """Of the birds found, those that a handled count of the place had left open; the book keeps them."""
    most = 0
    for said, count in list(books.counts.items()):
        batch, sex, place = said
        same = place == it.place and (batch is None or it.batch in (None, batch))
        if same and (sex is None or it.sex in (None, sex)) and count.unaccounted > 0:
            found = min(it.heads, count.unaccounted)
            now = replace(count, unaccounted=count.unaccounted - found)
            books.ledger.put(books.counts, said, now)
            most = max(most, found)
    return most


# counted and weighed


def _glance(books: Books, it: birds.Glance) -> None:
    books.place("place", it.place)
    book = books.book.there(it.place)
    books.ledger.put(books.glances, it.place, Glance(books.at, books.day, it.place, it.heads, book))


def _counted(books: Books, it: birds.Counted) -> None:
    books.place("place", it.place)
    if it.batch is not None:
        books.batch(it.batch)
    book = sum(books.book.heads[key] for key in books.book.fitting(it.batch, it.sex, it.place))
    count = HeadCount(books.day, it.place, it.batch, it.sex, it.heads, book, book - it.heads)
    books.ledger.put(books.counts, (it.batch, it.sex, it.place), count)


def _explain(books: Books, missing: Key, heads: int) -> None:
    """Birds written down as missing close what a count of the same birds left open."""
    for key, count in list(books.counts.items()):
        same = all(said in (None, known) for said, known in zip(key, missing, strict=True))
        if same and count.unaccounted > 0:
            left = max(0, count.unaccounted - heads)
            books.ledger.put(books.counts, key, replace(count, unaccounted=left))


def _weighed(books: Books, it: birds.Weighed) -> None:
    books.hatched(it.batch)
    books.of_batch("weighings", it.batch, Weighing(books.day, it.sex, it.weights_kg))


def _carcasses(books: Books, it: birds.CarcassWeights) -> None:
    books.hatched(it.batch)
    books.of_batch("carcasses", it.batch, Weighing(books.day, it.sex, it.weights_kg))


HEAR: Mapping[str, Hear] = {
    "bought": _bought,
    "present": _present,
    "moved": _moved,
    "sorted": _sorted,
    "found dead": _loss,
    "culled": _loss,
    "missing": _loss,
    "found alive": _found_alive,
    "killed": _killed,
    "sold": _sold,
    "glance": _glance,
    "counted": _counted,
    "weighed": _weighed,
    "carcass weights": _carcasses,
}
