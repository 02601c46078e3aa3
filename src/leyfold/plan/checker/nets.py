"""Hens on their ground: in their net and under their house, by the limits that the farmer set for it."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

import numpy as np
from numpy.typing import NDArray

from leyfold.nature.grazing import grass_season
from leyfold.nouns.farm import Net
from leyfold.nouns.planned import Finding
from leyfold.plan.checker.book import Book
from leyfold.plan.checker.days import Floats, runs
from leyfold.plan.checker.limits import binding

__all__ = ["nets", "nets_m2"]

M2_A_HA = 10_000.0
EASY = 0.8
"""Of the square that netting could enclose, what it goes round with ease."""
SHIFT_D, REST_D = 3, 28
"""Days in one paddock where nobody says, and days it rests."""
DENSE, DUNG = "heads_per_m2", "kg_n_per_ha_pass"


def nets(book: Book) -> Iterator[Finding]:
    """Too many hens inside a net; too much of their dung in one stay, or under their house."""
    moving = _moving(book)
    for house, kit in book.farm.houses.items():
        heads, inside, outside = book.heads(house), _dung(book, house, True), _dung(book, house, False)
        for limit in binding(book.farm, "house", house):
            if limit.quantity == DUNG:
                under = np.where(moving, inside / kit.floor_m2 * M2_A_HA, 0.0)
                yield from runs(book.days, DUNG, house, under, limit.at_most, limit=limit.id)
        for net in (n for n in book.farm.nets.values() if n.house == house):
            m2, up = _paddock_m2(net), _up(book, net)
            values = {
                DENSE: np.where(up, heads / m2, 0.0),
                DUNG: np.where(up & moving, outside * (net.shift_d or SHIFT_D) / m2 * M2_A_HA, 0.0),
            }
            for limit in binding(book.farm, "net", net.id):
                if limit.quantity in values:
                    yield from runs(
                        book.days, limit.quantity, net.id, values[limit.quantity], limit.at_most,
                        limit=limit.id,
                    )  # fmt: skip


def nets_m2(book: Book) -> Floats:
    """[day] ground that paddocks have taken so far: as many as were gone round before the first had rested,
    each as large as the limit asks for the most hens that were in one."""
    total, moving = np.zeros(book.days.count), _moving(book)
    for net in book.farm.nets.values():
        dense = [x.at_most for x in binding(book.farm, "net", net.id) if x.quantity == DENSE]
        if net.house is None or not dense:
            continue
        hens = np.where(_up(book, net), book.heads(net.house), 0.0)
        stay = net.shift_d or SHIFT_D
        most = ceil(REST_D / stay) + 1
        moved = np.cumsum((hens > 0) & moving)
        many = np.clip(np.ceil(moved / stay), (hens > 0).astype(np.float64), most)
        total += np.maximum.accumulate(many * np.maximum.accumulate(hens)) / min(dense)
    return total


def _moving(book: Book) -> NDArray[np.bool_]:
    """[day] grass grows: nets are shifted, and the house is moved each day."""
    means = [figure.value for figure in book.farm.temperature_C]
    year = grass_season(means, southern=book.farm.holding.latitude_deg < 0.0)
    days = [min(book.days.day(i).timetuple().tm_yday, len(year)) - 1 for i in range(book.days.count)]
    return np.asarray(year[days], dtype=bool)


def _dung(book: Book, house: str, inside: bool) -> Floats:
    """[day] kg of nitrogen that the hens of a house drop in it, or outside."""

    def share(line: str) -> float:
        night = book.farm.lines[line].hen.night_share_of_dung.value
        return night if inside else 1.0 - night

    return book.sum(house, lambda s: s.heads * s.flock.n_kg * share(s.flock.batch.line))


def _paddock_m2(net: Net) -> float:
    return EASY * (net.rolls * net.roll_m / 4.0) ** 2


def _up(book: Book, net: Net) -> NDArray[np.bool_]:
    return np.array([net.owned(book.days.day(i)) for i in range(book.days.count)], dtype=bool)
