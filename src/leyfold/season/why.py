"""Why a figure of the season is what it is: one number reckoned anew, step by step, with its sources."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

import numpy as np

from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.limits import Limit
from leyfold.nouns.season import Season
from leyfold.nouns.why import Reason, Step
from leyfold.season.party import limits_of
from leyfold.season.reasons.asked import asked
from leyfold.season.reasons.likely import chance_of
from leyfold.season.reasons.places import KINDS, PLACES, QUANTITIES, eggs_in, of_place, shelters_in_use
from leyfold.season.reasons.scope import Ask, Floats, Scope
from leyfold.season.reasons.sums import FLOWS, of_day, of_days, weight_of_day
from leyfold.season.reasons.totals import total
from leyfold.season.weeks import SOMEBODY, looked_at
from leyfold.words import forms, say

__all__ = ["why"]

A_WEEK = timedelta(days=7)
MONDAYS = ("heads", "kg", "weight", "eggs_set")
"""Figures that a week has of its Monday; of places and shelters it has the worst day's, the rest are sums."""


def why(
    farm: Farm,
    season: Season,
    figure: str,
    at: date | None = None,
    *,
    today: date | None = None,
    recorded: Collection[str] = (),
) -> Reason:
    """The sum behind `figure` (docs/how-to/ask-why.md says how to ask) on day `at`, in its week, or over the
    season.

    Without `at` it is of `today` where that lies in the season, else of the day, or week, with most.
    `recorded` are ids of batches whose beginnings come from the records. BadInput for a figure, name or date
    there is not.
    """
    scope = Scope(farm, season, recorded)
    ask = asked(scope, figure, dated=at is not None)
    if at is not None:
        _check_date(scope, ask, figure, at)
    if ask.what == "chance":
        wish, step = chance_of(scope, ask)
        wished = say("why.choice_wish", number=wish.number, chance=f"{100 * wish.chance:g}")
        return _reason(scope, Ask("chance", "season", {"wish": wish.id}), wish.on, wish.on, wished, step)
    if ask.span == "season":
        step = total(scope, ask) if ask.what not in FLOWS else of_days(scope, ask, scope.first, scope.last)
        return _reason(scope, ask, scope.first, scope.last, say("why.choice_season"), step)
    values, places = _series(scope, ask)
    day, choice = _chosen(scope, ask, values.max(axis=0), at, today)
    first, last = scope.days(ask, day)
    if ask.span == "week" and ask.what in FLOWS:
        return _reason(scope, ask, first, last, choice, of_days(scope, ask, first, last))
    if ask.span == "week":
        if ask.what in MONDAYS:
            day = season.day(int(looked_at(season)[season.index(first) // A_WEEK.days]))
            choice = say("why.choice_monday" if day == first else "why.choice_begins")
        else:
            day = _worst_day(scope, values.max(axis=0), first, last)
            choice = say("why.choice_worst")
    place = places[int(values[:, season.index(day)].argmax())] if places else None
    return _reason(scope, ask, day, day, choice, _on(scope, ask, day, place), place)


def _on(scope: Scope, ask: Ask, day: date, place: str | None) -> Step:
    if place is not None:
        return of_place(scope, ask.what, place, day)
    if ask.what == "weight":
        return weight_of_day(scope, ask, day)
    if ask.what == "eggs_set":
        return eggs_in(scope, ask, day)
    if ask.what == "shelters":
        return shelters_in_use(scope, day)
    return of_day(scope, ask, day)


def _series(scope: Scope, ask: Ask) -> tuple[Floats, list[str]]:
    """The figure on every day, [1, day]; of places [place, day], with their names."""
    season = scope.season
    if ask.what in PLACES:
        kind = ask.picks.get("kind", KINDS[ask.what][0])
        named = ask.picks.get("place")
        places = [
            name for name, p in season.places.items() if (p.kind == kind if named is None else name == named)
        ]
        if not places:
            wrong = say("why.no_place", what=ask.what)
            raise BadInput(Fault("leyfold why", str(ask), wrong, say("why.no_place_mend")))
        return np.array([getattr(season.places[name], PLACES[ask.what]) for name in places]), places
    if ask.what == "weight":
        kg, heads = (
            scope.values(Ask(what, "day", ask.picks)).sum(axis=0, keepdims=True) for what in ("kg", "heads")
        )
        return np.divide(kg, heads, out=np.zeros_like(kg), where=heads > 0), []
    if ask.what == "eggs_set":
        rows = [
            i
            for i, b in enumerate(season.plan.batches)
            if ask.picks.get("place", b.incubator) == b.incubator and ask.picks.get("batch", b.id) == b.id
        ]
        return season.hatching_eggs[rows].sum(axis=0, keepdims=True), []
    if ask.what == "shelters":
        used = [p.heads >= SOMEBODY for p in season.places.values() if p.kind == "shelter"]
        return np.array(used, dtype=np.float64).reshape(len(used), -1).sum(axis=0, keepdims=True), []
    return scope.values(ask).sum(axis=0, keepdims=True), []


def _chosen(scope: Scope, ask: Ask, values: Floats, at: date | None, today: date | None) -> tuple[date, str]:
    """The day asked for, and how it was found where none was."""
    if at is not None:
        return at, ""
    if today is not None and scope.first <= today <= scope.last:
        return today, say("why.choice_today")
    if ask.span == "week":
        weeks = values.reshape(-1, A_WEEK.days)
        whole = weeks.sum(axis=1) if ask.what in FLOWS else weeks.max(axis=1)
        if ask.what in MONDAYS:
            whole = values[looked_at(scope.season)]
        return scope.first + A_WEEK * int(whole.argmax()), say("why.choice_peak_week")
    return scope.season.day(int(values.argmax())), say("why.choice_peak")


def _worst_day(scope: Scope, values: Floats, first: date, last: date) -> date:
    start = scope.season.index(first)
    return scope.season.day(start + int(values[start : scope.season.index(last) + 1].argmax()))


def _check_date(scope: Scope, ask: Ask, text: str, at: date) -> None:
    if ask.span == "season":
        raise BadInput(Fault("leyfold why", text, say("why.no_date"), say("why.no_date_mend")))
    if not scope.first <= at <= scope.last:
        language = scope.farm.holding.language
        first, last = (forms.day(day, language) for day in (scope.first, scope.last))
        wrong = say("why.outside", at=forms.day(at, language), first=first, last=last)
        raise BadInput(Fault("leyfold why", f"--at {at}", wrong, say("why.outside_mend")))


def _reason(
    scope: Scope, ask: Ask, first: date, last: date, choice: str, step: Step, place: str | None = None
) -> Reason:
    whose = [place] if place is not None else [_said(pick, name) for pick, name in ask.picks.items()]
    of = ", ".join(whose) or say("why.farm", farm=scope.farm.holding.name)
    title = say("why.title", what=say(f"why.what_{ask.what}"), of=of)
    return Reason(str(ask), title, first, last, choice, step, _limits(scope, ask, place))


def _said(pick: str, name: str) -> str:
    if pick == "sex":
        return say(f"why.sex_{name}")
    return say(f"why.kind_{name}") if pick == "kind" else name


def _limits(scope: Scope, ask: Ask, place: str | None) -> tuple[Limit, ...]:
    """The limits on what was asked, where it is of one place."""
    name = place or (ask.picks.get("place") if set(ask.picks) == {"place"} else None)
    quantity = QUANTITIES.get(ask.what)
    if name is None or quantity is None:
        return ()
    kind = scope.season.places[name].kind
    return tuple(x for x in limits_of(scope.farm, kind, name) if x.quantity == quantity)
