"""`leyfold reckon`: what a season costs and brings, and what its choices are worth."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, plain, print_json

if TYPE_CHECKING:
    from leyfold.nouns.reckoning import Reckoning
    from leyfold.services.reckon import ReckonAnswer

__all__ = ["reckon"]


def reckon(
    farm: Path,
    *,
    json: bool = False,
    without_own_hours: bool = False,
    draws: int = 1000,
    seed: int = 0,
    slip: int | None = None,
    against: Path | None = None,
) -> int:
    """Reckon what a season costs and brings: by class, batch and month, for a kg, a pullet and an egg.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object instead of tables.
    without_own_hours
        Leave the farm's own work out of all costs.
    draws
        Seasons tried by whole birds, for the bands and the safe promises; 0 for none.
    seed
        Another number, other luck.
    slip
        Killing comes so many days late: who to ring first.
    against
        Another farm's folder, or another plan of the same: this one held against it.
    """
    from leyfold.services.reckon import reckon_farm

    answer = reckon_farm(
        farm,
        datetime.now(UTC),
        own_hours=not without_own_hours,
        n=draws,
        seed=seed,
        slip_d=slip,
        against=against,
    )
    if json:
        data = _data(answer)
        print_json("reckon", data, inputs_sha256=answer.inputs_sha256, seed=seed if draws else None)
        return 0
    from leyfold.cli.reckon_page import page_of

    page = console()
    for part in page_of(answer):
        page.print(part, soft_wrap=isinstance(part, str), markup=False)
    return 0


def _data(answer: ReckonAnswer) -> dict[str, Any]:
    from leyfold.reckoning.sums import by, by_month, by_rate

    money = answer.reckoning
    return {
        "first": money.first.isoformat(),
        "last": money.last.isoformat(),
        "currency": money.currency,
        "own_hours": money.own_hours,
        "margin": money.total(),
        "margin_without_own_hours" if money.own_hours else "margin_with_own_hours": answer.other.total(),
        "bands": plain(money.bands),
        "carcass_kg": money.carcass_kg,
        "carcasses": money.carcasses,
        "pullets": money.pullets,
        "eggs": money.eggs,
        "units": plain(answer.units),
        "by_class": plain(by(money, lambda e: e.kind)),
        "by_batch": plain(by(money, lambda e: e.batch)),
        "by_month": by_month(money),
        "by_rate": by_rate(money),
        "rates": _rates(money),
        "unpriced": dict(money.unpriced),
        "guesses": plain(answer.guesses),
        "cash_by_week": [{"monday": day.isoformat(), "cash": cash} for day, cash in answer.cash],
        "matters": plain(answer.matters),
        "keeping_cockerels": plain(answer.keepings),
        "keeping_hens": plain(answer.hens),
        "hatches": plain(answer.hatches),
        "pinches": plain(answer.pinches),
        "promises": plain(answer.promises),
        "orders": plain(answer.orders),
        "ring_first": plain(answer.ring),
        "against": plain(answer.against),
    }


def _rates(money: Reckoning) -> list[dict[str, Any]]:
    """Every rate, with how much of it there was."""
    amount: dict[str, float] = {}
    for entry in money.entries:
        amount[entry.rate.id] = amount.get(entry.rate.id, 0.0) + float(entry.quantity.sum())
    rates = {entry.rate.id: entry.rate for entry in money.entries}
    return [{**plain(rate), "quantity": amount[name]} for name, rate in rates.items()]
