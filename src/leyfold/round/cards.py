"""Something happened: for each mishap what to do at once, what to write down, and what to do before dark."""

from __future__ import annotations

from collections.abc import Mapping

from leyfold.nature.cautions import ELECTRICITY, FIRE, LIFTING, STOP_ORDER, WIND
from leyfold.nouns.farm import Farm
from leyfold.nouns.round import Card, CardRecord, Fact
from leyfold.words import say

__all__ = ["CARDS", "cards"]

CARDS = ("fox", "blown_over", "mains_off", "sick", "wrong_feed", "birds_loose")

_STOP = {"sick": STOP_ORDER}
_REPEATS: Mapping[str, tuple[str, ...]] = {"blown_over": (WIND, LIFTING), "mains_off": (ELECTRICITY, FIRE)}
"""Cautions that stand elsewhere and hold here too."""
HEADS_MOST = 999
ROOM_MOST_C = 40
LOSSES = ("found dead", "missing")


def cards(farm: Farm) -> tuple[Card, ...]:
    """All cards of the farm, in the order of the button: the worst first."""
    return tuple(_card(farm, name) for name in CARDS)


def _card(farm: Farm, name: str) -> Card:
    facts, records = _fed(farm) if name == "wrong_feed" else _ASKED[name]()
    repeats = (say(key) for key in _REPEATS.get(name, ()))
    return Card(
        id=name, said=say(f"cards.{name}"), stop=say(_STOP[name]) if name in _STOP else None,
        now=_lines(say(f"cards.{name}_now")), facts=facts, records=records,
        before_dark=_lines(say(f"cards.{name}_dark")),
        cautions=(*_lines(say(f"cards.{name}_care")), *repeats), telephone=_lines(say(f"cards.{name}_ring")),
    )  # fmt: skip


def _lines(said: str) -> tuple[str, ...]:
    return tuple(said.splitlines())


Asked = tuple[tuple[Fact, ...], tuple[CardRecord, ...]]


def _place(*kinds: str) -> Fact:
    return Fact("place", "place", say("cards.ask_place"), tuple(f"{kind}.place" for kind in kinds))


def _heads(name: str, *into: str) -> Fact:
    return Fact(name, "number", say(f"cards.ask_{name}"), into, most=HEADS_MOST)


def _choice(name: str, values: tuple[str, ...], *into: str) -> Fact:
    said = tuple((say(f"cards.{name}_{value}"), say(f"cards.{name}_{value}")) for value in values)
    return Fact(name, "choice", say(f"cards.ask_{name}"), into, said)


def _lost() -> tuple[CardRecord, ...]:
    return (CardRecord("found dead", {}, "dead"), CardRecord("missing", {}, "missing"))


def _fox() -> Asked:
    who = tuple(
        (w, say(f"cards.who_{w.replace(' ', '_')}")) for w in ("fox", "mink", "bird of prey", "other")
    )
    return (
        _place("trouble", *LOSSES),
        Fact("who", "choice", say("cards.ask_who"), ("trouble.what",), who),
        _heads("dead", "found dead.heads"),
        _heads("missing", "missing.heads"),
        _choice("kill", ("bitten", "headless", "piled", "carried"), "found dead.reason"),
        _choice("entry", ("dug", "gap", "door", "net", "unknown"), "trouble.text"),
    ), (CardRecord("trouble", {"what": "fox"}), *_lost())  # fmt: skip


def _blown_over() -> Asked:
    return (
        _place("trouble", *LOSSES), _heads("loose", "trouble.heads"), _heads("dead", "found dead.heads"),
        _heads("missing", "missing.heads"),
    ), (CardRecord("trouble", {"what": "blown over"}), *_lost())  # fmt: skip


def _mains_off() -> Asked:
    room = Fact("room_C", "number", say("cards.ask_room"), ("mains off.room_C",), most=ROOM_MOST_C)
    return (room, _heads("dead", "found dead.heads"), _place("found dead")), (
        CardRecord("mains off", {}), CardRecord("found dead", {"reason": say("cards.mains_off")}, "dead"),
    )  # fmt: skip


def _sick() -> Asked:
    signs = ("sudden", "swollen", "twisted", "gasping", "blood", "eggs")
    return (
        _place("trouble", "found dead", "stop order"), _heads("ill", "trouble.heads"),
        _heads("dead", "found dead.heads"),
        _choice("looks", ("huddled", "thirsty", "scour", "lame"), "trouble.text"),
        _choice("signs", signs, "note.text"),
    ), (
        CardRecord("stop order", {"why": "notifiable signs"}, "signs"),
        CardRecord("trouble", {"what": "sick"}),
        CardRecord("found dead", {}, "dead"), CardRecord("note", {}, "signs"),
    )  # fmt: skip


def _fed(farm: Farm) -> Asked:
    feeds = tuple((feed, feed) for feed in farm.feeds)
    return (
        _place("trouble", "stop order"),
        Fact("feed", "choice", say("cards.ask_feed"), ("trouble.text",), feeds),
        _heads("ate", "trouble.heads"),
    ), (
        CardRecord("stop order", {"why": "wrong feed"}), CardRecord("trouble", {"what": "wrong feed"}),
    )  # fmt: skip


def _birds_loose() -> Asked:
    return (
        _place("trouble", *LOSSES), _heads("loose", "trouble.heads"), _heads("dead", "found dead.heads"),
        _heads("missing", "missing.heads"),
    ), (CardRecord("trouble", {"what": "birds loose"}), *_lost())  # fmt: skip


_ASKED = {
    "fox": _fox, "blown_over": _blown_over, "mains_off": _mains_off, "sick": _sick,
    "birds_loose": _birds_loose,
}  # fmt: skip
