"""The plain way a figure is asked for: WHAT, a span behind /, and names behind : joined by dots."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import NoReturn, get_args

from leyfold.nouns.errors import BadInput, Fault
from leyfold.season.reasons.likely import bird_wishes
from leyfold.season.reasons.places import KINDS, PLACES
from leyfold.season.reasons.scope import Ask, Pick, Scope, Span
from leyfold.season.reasons.sums import FLOWS, UNITS
from leyfold.season.reasons.totals import TOTALS
from leyfold.words import say

__all__ = ["ALIASES", "EVENTS", "WHATS", "asked", "refuse"]

WHATS = tuple(dict.fromkeys((*UNITS, "weight", *PLACES, "shelters", *TOTALS, "chance")))
OF_ALL = ("hatched", "bought", "pullets", "alive_at_end", "chance")
"""What is of the whole season alone."""

ALIASES: Mapping[str, str] = {
    "birds": "heads",
    "head": "heads",
    "in_brooder": "heads:brooder",
    "at_grass": "heads:shelter",
    "in_house": "heads:house",
    "cockerels": "heads:cockerel",
    "hens": "heads:pullet",
    "weight_kg": "weight",
    "live_kg": "kg",
    "alive_kg": "kg",
    "losses": "dead",
    "carcass_kg": "carcass",
    "carcasses": "carcass",
    "feed_kg": "feed",
    "water_l": "water",
    "n_kg": "n",
    "p_kg": "p",
    "k_kg": "k",
    "nitrogen": "n",
    "phosphorus": "p",
    "potassium": "k",
    "dung": "n",
    "kg_n_per_ha_pass": "kg_n_per_ha",
    "heaviest_kg_n_per_ha": "kg_n_per_ha",
    "heaviest_kg_per_m2": "kg_per_m2",
    "heaviest_heads": "fullest",
    "floor_share": "floor",
    "chicks": "hatched",
    "pullets_to_house": "pullets",
    "alive": "alive_at_end",
}
"""Other names, those of the tables among them; some bring a name along."""

EVENTS = ("dead", "killed", "killed_kg", "carcass")
"""What happens on some days only: asked without a date, it is of the whole season."""

_WORDS: Mapping[str, tuple[Pick, str]] = {
    **dict.fromkeys(("pullet", "pullets", "hen", "hens"), ("sex", "pullet")),
    **dict.fromkeys(("cockerel", "cockerels"), ("sex", "cockerel")),
    **dict.fromkeys(("brooder", "brooders"), ("kind", "brooder")),
    **dict.fromkeys(("shelter", "shelters", "grass"), ("kind", "shelter")),
    **dict.fromkeys(("house", "houses"), ("kind", "house")),
}


def asked(scope: Scope, text: str, *, dated: bool) -> Ask:
    """What `text` asks for. `dated` says whether a date comes with it. BadInput, with the nearest names, for
    what there is not."""
    head, _, names = text.strip().partition(":")
    what, _, span = head.strip().lower().replace("-", "_").partition("/")
    if what in ALIASES:
        what, _, own = ALIASES[what].partition(":")
        names = ".".join(filter(None, (own, names)))
    if what not in WHATS:
        refuse(text, "figure", what, [*WHATS, *ALIASES], WHATS)
    if span and span not in get_args(Span):
        refuse(text, "span", span, get_args(Span), get_args(Span))
    chosen = _span(what, span, dated)
    if not _has(what, chosen):
        raise BadInput(
            Fault("leyfold why", text, say(f"why.no_{chosen}", what=what), say("why.no_span_mend"))
        )
    usable = _names(scope, what)
    picks: dict[Pick, str] = {}
    for name in filter(None, (part.strip() for part in names.split("."))):
        if name not in usable:
            if name not in _known(scope):
                refuse(text, "name", name, usable, usable)
            mend = say("why.unfit_mend", names=", ".join(usable)) if usable else say("why.unfit_none")
            raise BadInput(Fault("leyfold why", text, say("why.unfit", name=name), mend))
        pick, value = usable[name]
        if picks.setdefault(pick, value) != value:
            twice = say("why.twice", first=picks[pick], second=name)
            raise BadInput(Fault("leyfold why", text, twice, say("why.twice_mend")))
    return Ask(what, chosen, picks)


def _span(what: str, said: str, dated: bool) -> Span:
    if said:
        return said  # type: ignore[return-value]
    if what in OF_ALL or (what in EVENTS and not dated):
        return "season"
    return "day"


def _has(what: str, span: Span) -> bool:
    """Whether a figure has a value of such a span: birds there are on a day, not over a season."""
    if what in OF_ALL:
        return span == "season"
    return span != "season" or what in FLOWS or what == "eggs_set"


_BIRDS = ("brooder", "shelter", "house")


def _names(scope: Scope, what: str) -> dict[str, tuple[Pick, str]]:
    """The names that narrow a figure, and what each picks; the farm's own stand before the words for sexes
    and kinds of place."""
    season = scope.season
    kinds = ("incubator",) if what == "eggs_set" else KINDS.get(what, _BIRDS)
    batches = _own("batch", [b.id for b in season.plan.batches])
    places = _own("place", [name for name, place in season.places.items() if place.kind in kinds])
    words = {word: pick for word, pick in _WORDS.items() if pick[0] == "sex" or pick[1] in kinds}
    if what == "shelters":
        return {}
    if what == "chance":
        return _own("wish", bird_wishes(scope))
    if what in ("hatched", "bought", "pullets"):
        return batches
    if what == "eggs_set":
        return _first(batches, places)
    if what in PLACES:
        return _first(places, {word: pick for word, pick in words.items() if pick[0] == "kind"})
    return _first(batches, places, words, _own("feed", season.feeds if what == "feed" else ()))


def _own(pick: Pick, names: Iterable[str]) -> dict[str, tuple[Pick, str]]:
    return {name: (pick, name) for name in names}


def _first(*homes: Mapping[str, tuple[Pick, str]]) -> dict[str, tuple[Pick, str]]:
    """All of them; what a name picks in an earlier home stands before a later one."""
    whole: dict[str, tuple[Pick, str]] = {}
    for home in homes:
        for name, pick in home.items():
            whole.setdefault(name, pick)
    return whole


def _known(scope: Scope) -> set[str]:
    """Every name that picks something in one figure or another."""
    return {name for what in WHATS for name in _names(scope, what)}


def refuse(text: str, kind: str, name: str, near: Iterable[str], known: Iterable[str]) -> NoReturn:
    """BadInput for a name there is not, with the nearest, or else all there are."""
    close = difflib.get_close_matches(name.lower(), list(near), n=4, cutoff=0.55)
    mend = say("why.near", names=", ".join(close)) if close else say("why.known", names=", ".join(known))
    raise BadInput(Fault("leyfold why", text, say(f"why.unknown_{kind}", name=name), mend))
