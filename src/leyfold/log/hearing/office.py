"""Health, mishaps, money, work, words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from leyfold.log.books import Books, Hear
from leyfold.log.faults import Contradicts
from leyfold.log.kinds import office
from leyfold.log.withholding import Dose
from leyfold.nouns.happened import KitLost, MainsOff, Promise, Sale, Treatment, Trouble, Worked, Written
from leyfold.nouns.record import Stop

__all__ = ["HEAR"]


def _treated(books: Books, it: office.Treated) -> None:
    _whom(books, it.batch, it.place)
    if it.feed is not None:
        books.known("feed", it.feed, books.farm.feeds)
    last_on = it.last_on or books.day
    if last_on < books.day:
        raise Contradicts("last_on", "last_before_first", last_on=last_on, day=books.day)
    dose = Dose(it.medicine, it.eggs_d, it.meat_d)
    treated = books.book.fitting(it.batch, it.sex, it.place)
    if not treated:
        said = ", ".join(one for one in (it.batch, it.sex, it.place) if one)
        raise Contradicts("place", "no_birds", group=said, there=books.book.said())
    books.held.dosed(treated, dose, last_on)
    if it.by == "feed":
        for place in sorted({key[2] for key in treated}):
            books.held.laid(place, dose)
        if it.feed is not None:
            books.ledger.put(books.courses, it.feed, (last_on, dose))
    books.push(
        "treatments",
        Treatment(
            books.record.id, books.day, last_on, it.medicine, it.by, it.place, it.batch, it.sex, it.eggs_d,
            it.meat_d, it.ordered_by,
        ),
    )  # fmt: skip


def _stop(books: Books, it: office.StopOrder) -> None:
    _whom(books, it.batch, it.place)
    books.push("stops", Stop(it.first or books.day, it.why, it.batch, it.place, it.until))


def _trouble(books: Books, it: office.Trouble) -> None:
    _whom(books, it.batch, it.place)
    books.ledger.put(books.troubles, books.record.id, len(books.rows["troubles"]))
    books.push(
        "troubles",
        Trouble(
            books.record.id, books.at, books.day, it.what, books.record.who, it.place, it.batch, it.heads,
            it.text,
        ),
    )  # fmt: skip


def _settled(books: Books, it: office.Settled) -> None:
    row = books.troubles.get(it.of)
    if row is None:
        raise Contradicts("of", "no_trouble", of=it.of)
    trouble = books.rows["troubles"][row]
    books.change("troubles", row, replace(trouble, settled_on=trouble.settled_on or books.day))


def _whom(books: Books, batch: str | None, place: str | None) -> None:
    if batch is not None:
        books.batch(batch)
    if place is not None:
        books.place("place", place)


def _mains_off(books: Books, it: office.MainsOff) -> None:
    where = _where(books, it.place)
    row = books.mains.get(where)
    if row is not None:
        # Said again while it lasts: one cut, and the room as it is now.
        old = books.rows["mains_off"][row]
        books.change("mains_off", row, replace(old, room_C=old.room_C if it.room_C is None else it.room_C))
        return
    books.ledger.put(books.mains, where, len(books.rows["mains_off"]))
    books.push("mains_off", MainsOff(books.at, it.place, it.room_C))


def _mains_back(books: Books, it: office.MainsBack) -> None:
    where = _where(books, it.place)
    back = [one for one in books.mains if where in ("", one)]
    if not back:
        raise Contradicts("place", "mains_were_on")
    for one in back:
        row = books.mains[one]
        books.change("mains_off", row, replace(books.rows["mains_off"][row], back_at=books.at))
        books.ledger.drop(books.mains, one)


def _where(books: Books, place: str | None) -> str:
    if place is not None and place not in books.farm.incubators:
        books.place("place", place)
    return place or ""


def _kit_lost(books: Books, it: office.KitLost) -> None:
    farm = books.farm
    kit = {
        **farm.incubators, **farm.brooders, **farm.shelters, **farm.houses, **farm.pens, **farm.nets,
        **farm.bins, **farm.hoppers, **farm.tanks, **farm.generators, **farm.buckets, **farm.cattle,
    }  # fmt: skip
    books.known("kit", it.kit, kit)
    books.push("kit_lost", KitLost(books.day, it.kit, it.number, it.reason))


def _ordered(books: Books, it: office.Ordered) -> None:
    if it.order in books.orders or it.order in {one.id for one in books.farm.orders}:
        raise Contradicts("order", "order_twice", order=it.order)
    if it.weight_class is not None:
        books.known("weight_class", it.weight_class, {one.id: one for one in books.farm.weight_classes})
    promise = Promise(it.order, it.customer, it.number, it.on, it.what, it.weight_class, None, books.day)
    books.ledger.put(books.orders, it.order, promise)


def _deposit(books: Books, it: office.Deposit) -> None:
    order = books.orders.get(it.order)
    if order is None:
        written = {one.id: one for one in books.farm.orders}
        if (old := written.get(it.order)) is not None:
            order = Promise(
                old.id, old.customer, old.number, old.on, "carcasses", old.weight_class, old.deposit
            )
    if order is None:
        raise Contradicts("order", "no_order", order=it.order, known=", ".join(sorted(books.orders)) or "-")
    books.ledger.put(books.orders, it.order, replace(order, deposit=(order.deposit or 0.0) + it.paid))


def _sale(books: Books, it: office.Sale) -> None:
    if it.batch is not None:
        books.batch(it.batch)
    sale = Sale(books.day, it.what, it.number, it.kg, it.paid, it.customer, it.order, it.batch)
    books.push("sales", sale)


def _expense(books: Books, it: office.Expense) -> None:
    if it.batch is not None:
        books.batch(it.batch)
    books.spend(it.what, it.paid, it.batch)


def _hours(books: Books, it: office.Hours) -> None:
    person = it.person or books.record.who
    books.push("worked", Worked(books.day, it.hours, person, it.work, it.batch))


def _note(books: Books, it: office.Note) -> None:
    made = Written(books.record.id, books.day, books.record.who, it.text, it.batch, it.place)
    books.push("notes", made)


def _photograph(books: Books, it: office.Photograph) -> None:
    made = Written(
        books.record.id, books.day, books.record.who, it.text, it.batch, it.place, it.sha256, it.of
    )
    books.push("notes", made)


HEAR: Mapping[str, Hear] = {
    "treated": _treated,
    "stop order": _stop,
    "trouble": _trouble,
    "settled": _settled,
    "mains off": _mains_off,
    "mains back": _mains_back,
    "kit lost": _kit_lost,
    "ordered": _ordered,
    "deposit": _deposit,
    "sale": _sale,
    "expense": _expense,
    "hours": _hours,
    "note": _note,
    "photograph": _photograph,
}
