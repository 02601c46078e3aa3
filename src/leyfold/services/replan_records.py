"""A re-plan as plain values, for programs and the page."""

from __future__ import annotations

from typing import Any

from leyfold.nouns.replanned import Mend, Replanned
from leyfold.services.ahead_records import plain

__all__ = ["records"]


def records(found: Replanned) -> dict[str, Any]:
    """The answer of a re-plan: ISO dates, units in the keys, None for unknown."""
    return {
        "at": found.at.isoformat(),
        "day": found.day.isoformat(),
        "facts": list(found.facts),
        "stop": found.stop,
        "alive": plain(found.alive),
        "mixed": plain(found.mixed),
        "first": plain(found.first),
        "broken": plain(found.broken),
        "odds": plain(found.odds),
        "currency": found.farm.holding.currency,
        "money_before": found.money_before,
        "money_now": found.money_now,
        "lost": found.lost,
        "mends": [_mend(m) for m in found.mends],
        "tried": found.tried,
        "before_dark": list(found.today),
        "cautions": list(found.cautions),
        "learn": list(found.learn),
        "unsure": list(found.unsure),
        "numbers": plain(found.numbers),
        "dark_at": None if found.dark_at is None else found.dark_at.isoformat(),
    }


def _mend(mend: Mend) -> dict[str, Any]:
    return {
        "kind": mend.kind,
        "said": mend.said,
        "cost": mend.cost,
        "terms": plain(mend.terms),
        "odds": plain(mend.odds),
        "mends": list(mend.mends),
        "leaves": list(mend.leaves),
        "new": list(mend.new),
        "found": list(mend.found),
        "verified": mend.verified,
        "moved": mend.moved,
        "before_dark": list(mend.today),
    }
