"""What a round warns of: stop-orders above all, then at most three warnings, the most birds at risk first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from leyfold.nouns.ahead import Caution, StopOrder
from leyfold.nouns.farm import Farm
from leyfold.nouns.land import NetAhead
from leyfold.nouns.record import State
from leyfold.nouns.round import Laid, Party, Warning
from leyfold.nouns.season import Season
from leyfold.round.cautions import ranked, stop_orders
from leyfold.round.fences import no_ground
from leyfold.round.shown import Shown
from leyfold.words import say

__all__ = ["MOST", "kept_back", "of_ground", "stops", "too_heavy", "warnings"]

MOST = 3
GROUND_D = 7
"""Ground that ends within so many days is said."""
_SAID_AS = {"heads": "heavy_heads", "heads_per_m2": "heavy_heads", "kg_n_per_ha_pass": "heavy_n"}


def warnings(found: Sequence[Caution]) -> tuple[tuple[Warning, ...], int]:
    """The three worst of what was found, and how many more there are."""
    worst = ranked(found)
    shown = tuple(
        Warning(
            c.kind, c.grade, round(c.heads), c.where,
            say(f"round.short_{c.kind}", where=", ".join(c.where)), c.said, c.act,
        )
        for c in worst[:MOST]
    )  # fmt: skip
    return shown, len(worst) - len(shown)


def too_heavy(
    farm: Farm, season: Season, day: date, there: Mapping[str, Sequence[Party]]
) -> Iterator[Caution]:
    """Places over a limit on `day`, one warning for each quantity; floor in the brooder counts too."""
    shown = Shown(farm)
    by_kind: dict[str, list[tuple[str, str]]] = {}
    for breach in season.breaches:
        if breach.first <= day <= breach.last and there.get(breach.where):
            worst = shown.limited(breach.limit.quantity, breach.worst)
            most = shown.limited(breach.limit.quantity, breach.limit.at_most)
            said = say(
                "round.heavy", place=breach.where, worst=worst, most=most, last=shown.short(breach.last)
            )
            by_kind.setdefault(_SAID_AS.get(breach.limit.quantity, "heavy"), []).append((breach.where, said))
    for kind, of in by_kind.items():
        where = tuple(dict.fromkeys(place for place, _ in of))
        heads = sum(p.heads for place in where for p in there[place])
        said = " ".join(dict.fromkeys(said for _, said in of))
        yield Caution(kind, 2, float(heads), where, said, say(f"round.{kind}_act"))


def of_ground(
    farm: Farm, ground: Mapping[tuple[str, date], Laid], nets: Mapping[str, NetAhead], day: date,
    tomorrow: date, there: Mapping[str, Sequence[Party]],
) -> Iterator[Caution]:  # fmt: skip
    """Shelters and nets for which no rested ground is left, on `day` or within the week; skirts with gaps on
    their stand of `tomorrow`."""
    short, gaps = [], []
    for place, parties in there.items():
        today, next_ = ground.get((place, day)), ground.get((place, tomorrow))
        heads = sum(p.heads for p in parties)
        if today is not None and today.left_d is not None and today.left_d < GROUND_D:
            key = "round.ground_short" if today.left_d else "round.ground_none"
            short.append((place, heads, say(key, place=place, days=today.left_d), today.left_d))
        ends = no_ground(farm, nets[place], day) if place in nets else None
        if ends is not None:
            short.append((place, heads, ends, max(((nets[place].none_on or day) - day).days, 0)))
        gaps += [(place, heads, said) for one in (next_,) if one is not None for said in one.move.boards]
    if short:
        where, heads_, said_, left = zip(*short, strict=True)
        yield Caution(
            "ground", 2 + (0 in left), float(sum(heads_)), where, " ".join(said_), say("round.ground_act")
        )
    if gaps:
        where, heads_, said_ = zip(*gaps, strict=True)
        heads = sum(dict(zip(where, heads_, strict=True)).values())
        yield Caution(
            "gap", 2, float(heads), tuple(dict.fromkeys(where)), " ".join(said_), say("round.gap_act")
        )


def stops(farm: Farm, state: State, day: date) -> tuple[StopOrder, ...]:
    """Stop-orders that hold on `day`: those written down, and the withdrawal of every treated group."""
    written = stop_orders(state, day)
    shown = Shown(farm)
    held = []
    for w in state.withdrawals:
        if not (w.holds_eggs(day) or w.holds_meat(day)):
            continue
        where = f"{w.batch}, {w.place}"
        ends = [
            say(f"round.held_{what}", until=shown.short(until))
            for what, until, holds in (
                ("eggs", w.eggs_until, w.holds_eggs(day)), ("meat", w.meat_until, w.holds_meat(day)),
            )
            if holds and until is not None
        ]  # fmt: skip
        said = say("round.held", where=where, medicine=", ".join(w.medicines), ends=", ".join(ends))
        if w.eggs_open or w.meat_open:
            said += " " + say("round.held_open")
        held.append(StopOrder("withdrawal", where, said, say("ahead.stop_withdrawal_act")))
    return (*written, *dict.fromkeys(held))


def kept_back(state: State, place: str, parties: Sequence[Party], day: date) -> date | None:
    """The last day of any withdrawal that holds for birds of this place; None where none does or no end can
    be named."""
    batches = {p.batch for p in parties}
    ends = [
        end
        for w in state.withdrawals
        if w.place == place and w.batch in batches and (w.holds_eggs(day) or w.holds_meat(day))
        for end in (w.eggs_until, w.meat_until)
    ]
    ends += [
        s.until
        for s in state.stops
        if s.why == "withdrawal"
        and s.holds(day)
        and (s.place in (None, place) and s.batch in (None, *batches))
    ]
    return max((end for end in ends if end is not None), default=None)
