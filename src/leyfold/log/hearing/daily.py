"""The round: eggs, feed, water, moves, fences, thermometers."""

from __future__ import annotations

from collections.abc import Mapping

from leyfold.log.books import Books, Hear
from leyfold.log.faults import Contradicts
from leyfold.log.kinds import daily
from leyfold.nouns.happened import Fence, Glance, Look, Move, Standing, Watering
from leyfold.nouns.record import Count

__all__ = ["HEAR"]


def _eggs(books: Books, it: daily.Eggs) -> None:
    books.place("place", it.place)
    if (it.cracked or 0) + (it.settable or 0) > it.eggs:
        raise Contradicts("cracked", "more_than_gathered", eggs=it.eggs)
    count = Count(books.day, it.eggs, None, it.place, "eggs")
    books.push("eggs", count)
    here = books.book.by_place.get(it.place, ())
    if books.held.any() and any(books.held.held(key, books.day, eggs=True) for key in here):
        books.push("withheld", count)


def _fed(books: Books, it: daily.Fed) -> None:
    books.place("place", it.place)
    if it.feed is not None:
        books.known("feed", it.feed, books.farm.feeds)
        course = books.courses.get(it.feed)
        if course is not None and books.day <= course[0]:
            books.held.laid(it.place, course[1])
    kg = it.kg
    if kg is None:
        assert it.measure is not None
        assert it.measures is not None
        kg = books.amount(it.measure, it.measures, "kg")
    books.push("fed_kg", Count(books.day, kg, None, it.place, "fed"))


def _cleared(books: Books, it: daily.FeedCleared) -> None:
    books.place("place", it.place)
    books.held.cleared(it.place, books.book.by_place.get(it.place, ()), books.day)


def _feed_read(books: Books, it: daily.FeedRead) -> None:
    books.known("bin", it.bin, books.stores)
    books.ledger.put(books.bins, it.bin, (books.day, it.kg))


def _delivered(books: Books, it: daily.Delivered) -> None:
    """What came is added to the last reading: less what is eaten since that day it is what is there."""
    books.known("feed", it.feed, books.farm.feeds)
    if it.bin is not None:
        books.known("bin", it.bin, books.farm.bins)
    store = it.bin or it.feed
    if store in books.bins:
        on, kg = books.bins[store]
        books.ledger.put(books.bins, store, (on, kg + it.kg))
    books.push("delivered_kg", Count(books.day, it.kg, None, store, "delivered"))
    if it.paid is not None:
        books.spend(it.feed, it.paid)


def _watered(books: Books, it: daily.Watered) -> None:
    books.place("place", it.place)
    litres = it.litres
    if litres is None and it.measure is not None and it.measures is not None:
        litres = books.amount(it.measure, it.measures, "l")
    books.ledger.put(books.watered, it.place, Watering(books.at, books.day, it.place, litres, it.runs))
    if litres is not None:
        books.push("water_l", Count(books.day, litres, None, it.place, "watered"))


def _tank(books: Books, it: daily.TankRead) -> None:
    books.known("tank", it.tank, books.farm.tanks)
    books.ledger.put(books.tanks, it.tank, (books.day, it.litres))


def _temperature(books: Books, it: daily.TemperatureRead) -> None:
    indoors = it.place in books.farm.incubators or it.place in books.farm.brooders
    if it.place is not None and it.place not in books.farm.incubators:
        books.place("place", it.place)
    if it.lowest_C is not None:
        # The night at the birds' height is that of the ground; a machine has another.
        row = "temperatures_C" if indoors else "lows_C"
        kind = "lowest" if indoors else "temperature read"
        books.push(row, Count(books.day, it.lowest_C, None, it.place, kind))
    for kind, value in (("highest", it.highest_C), ("now", it.now_C)):
        if value is not None:
            books.push("temperatures_C", Count(books.day, value, None, it.place, kind))


def _grass(books: Books, it: daily.GrassHeight) -> None:
    books.push("grass_cm", Count(books.day, it.height_cm, None, it.where, "grass height"))


def _shelter_moved(books: Books, it: daily.ShelterMoved) -> None:
    books.known("place", it.place, books.movable)
    _moves(books, "moves", it.place, it.to)


def _fence_shifted(books: Books, it: daily.FenceShifted) -> None:
    books.known("net", it.net, books.farm.nets)
    _moves(books, "fence_moves", it.net, it.to, it.corners_deg or ())


def _break(books: Books, it: daily.BreakOpened) -> None:
    books.known("cattle", it.cattle, books.farm.cattle)
    _moves(books, "breaks", it.cattle, it.to)


def _moves(books: Books, row: str, what: str, to: str | None, corners_deg: tuple[float, ...] = ()) -> None:
    nth = books.doubles.times
    books.push(row, Move(books.day, books.at, what, to, nth, books.record.who, corners_deg))


def _shut_in(books: Books, it: daily.ShutIn) -> None:
    books.place("place", it.place)
    nth = books.doubles.times
    books.push(
        "looks",
        Look(
            books.day, books.at, it.place, books.record.who, nth, it.heads, it.doors, it.lamps, it.water,
            it.stakes, it.kV,
        ),
    )  # fmt: skip
    if it.heads is not None:
        book = books.book.there(it.place)
        books.ledger.put(books.glances, it.place, Glance(books.at, books.day, it.place, it.heads, book))


def _stands(books: Books, it: daily.StandsAt) -> None:
    books.known("place", it.place, books.movable)
    books.ledger.put(
        books.stands,
        it.place,
        Standing(
            books.day, books.at, it.place, it.field, it.stand, it.x_m, it.y_m, it.angle_deg,
            it.longitude_deg, it.latitude_deg,
        ),
    )  # fmt: skip


def _voltage(books: Books, it: daily.FenceVoltage) -> None:
    books.known("net", it.net, books.farm.nets)
    books.push("fences", Fence(books.day, books.at, it.net, it.kV))


HEAR: Mapping[str, Hear] = {
    "eggs": _eggs,
    "fed": _fed,
    "feed cleared": _cleared,
    "feed read": _feed_read,
    "delivered": _delivered,
    "watered": _watered,
    "tank read": _tank,
    "temperature read": _temperature,
    "grass height": _grass,
    "shelter moved": _shelter_moved,
    "shut in": _shut_in,
    "stands at": _stands,
    "fence shifted": _fence_shifted,
    "fence voltage": _voltage,
    "break opened": _break,
}
