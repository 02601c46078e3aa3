"""Rounds of the days to come: each morning's places in walking order, each evening's shut-in and page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from leyfold.feed.demand import Demand, demand, joined
from leyfold.nouns.ahead import BrooderHeat, Caution, Cold, FeedLeft, Flock, Gust, Heat, Night, Water
from leyfold.nouns.alarm import Alarm
from leyfold.nouns.clock import civil
from leyfold.nouns.farm import Farm
from leyfold.nouns.kept import Kept
from leyfold.nouns.land import Ground, Layout, NetAhead, SkirtGap
from leyfold.nouns.record import State
from leyfold.nouns.round import Laid, Part, Party, Round
from leyfold.nouns.season import Season
from leyfold.nouns.stock import Sex
from leyfold.nouns.weather import Weather
from leyfold.round.ahead import DRAWS, tank
from leyfold.round.calls import Facts, calls
from leyfold.round.cautions import cautions
from leyfold.round.dues import dues
from leyfold.round.evening import evening
from leyfold.round.flocks import flocks
from leyfold.round.heat import heats
from leyfold.round.indoors import brooders
from leyfold.round.moves import laid
from leyfold.round.outlook import Outlook, outlook, sun_of, unsettled
from leyfold.round.shown import Shown
from leyfold.round.spoken import Spoken
from leyfold.round.standing import Bird, birds, standing
from leyfold.round.today import leaving_today, tasks_of
from leyfold.round.warnings import of_ground, stops, too_heavy, warnings
from leyfold.round.water import Followed, followed, warmer, water
from leyfold.round.week import feed_left
from leyfold.season.alarms import alarms
from leyfold.season.work import Task
from leyfold.weather.typical import Normals
from leyfold.words import say

Stands = Sequence[tuple[Layout, Ground]]

__all__ = ["MOST_DAYS", "NIGHTS_MORE", "SHUT_IN_AFTER", "make_round", "make_rounds"]

MOST_DAYS = 8
"""A week on the phone, and today."""
NIGHTS_MORE = 2
"""Nights of weather wanted beyond the last day of rounds."""
SHUT_IN_AFTER = timedelta(minutes=30)
"""From sunset until all are in and shut: common practice."""


_OUTLOOKS: Kept[Outlook] = Kept(4)
_LAID_OUT: Kept[Mapping[tuple[str, date], Laid]] = Kept(4)


def make_round(
    farm: Farm, planned: Season, state: State, season: Season, ground: Stands, weather: Weather,
    what: Normals, at: datetime, day: date, part: Part, *, n: int = DRAWS, seed: int = 0,
) -> Round:  # fmt: skip
    """One of `make_rounds`. ValueError for a day outside the season."""
    made = make_rounds(farm, planned, state, season, ground, weather, what, at, day, 1, n=n, seed=seed)
    try:
        return next(r for r in made if r.part == part)
    except StopIteration:
        raise ValueError("the day lies outside the season") from None


def make_rounds(
    farm: Farm, planned: Season, state: State, season: Season, ground: Stands, weather: Weather,
    what: Normals, at: datetime, first: date, days: int, *,
    gaps: Mapping[tuple[str, date], SkirtGap | None] | None = None, nets: Sequence[NetAhead] = (),
    fields: Sequence[tuple[str, str]] = (),
    nights: int | None = None, n: int = DRAWS, seed: int = 0,
) -> tuple[Round, ...]:  # fmt: skip
    """Morning and evening of every day of the season from `first` on, `first` being the day of `at` or later.

    `planned` is the season of the plan as written, `season` the one that follows with the records; `state`
    the book. `weather` reaches from 1 January (or two days before `at`) to `NIGHTS_MORE` days beyond the
    last; `ground` is empty where no land is drawn; `nets` are those round houses, from the first day on,
    `fields` those of the land, by name and as they are called. Days outside the season have no round.
    `nights`: so many are drawn, where the weather reaches further than the days asked for.
    """
    last = first + timedelta(days=days)
    count = nights or (last - civil(at, farm.holding.zone)).days + NIGHTS_MORE
    # Without lines: what the birds of the farm are like is nothing to the weather.
    bare = replace(farm, lines={})
    lows = replace(State(), lows_C=state.lows_C)
    seen = replace(
        _OUTLOOKS.get(
            (bare, lows, weather, what, at, count, n, seed),
            lambda: outlook(bare, lows, weather, what, at, count=count, n=n, seed=seed),
        ),
        farm=farm,
    )
    until, gaps, ground = last + timedelta(days=1), gaps or {}, tuple(ground)
    laid_out = _LAID_OUT.get(
        (bare, ground, first, until, gaps), lambda: laid(bare, ground, first, until, gaps)
    )
    season = leaving_today(season, planned, state)
    tasks = tasks_of(farm, planned, season, state)
    wanted = joined(demand(planned), demand(season))
    wet = [first + timedelta(days=k) for k in range(days + 1)]
    sunrises = {season.index(on): sun_of(farm, on)[0] for on in wet}
    buckets = followed(farm, season, weather, sunrises, days=1)
    made: list[Round] = []
    for k in range(days):
        day = first + timedelta(days=k)
        if 0 <= season.index(day) < season.days:
            one = _Day(
                farm, season, state, seen, laid_out, tuple(nets), tuple(fields), tasks, wanted, buckets, day
            )
            made += [one.round("morning"), one.round("evening")]
    return tuple(made)


@dataclass(frozen=True, eq=False)
class _Day:
    """One day's parts, each reckoned once."""

    farm: Farm
    season: Season
    state: State
    seen: Outlook
    ground: Mapping[tuple[str, date], Laid]
    nets: tuple[NetAhead, ...]
    fields: tuple[tuple[str, str], ...]
    tasks: Sequence[Task]
    wanted: Demand
    """Feed: of the days before the season that begins with the records as it was planned."""
    buckets: Followed
    day: date

    @property
    def i(self) -> int:
        return self.season.index(self.day)

    @property
    def tomorrow(self) -> date:
        return self.day + timedelta(days=1)

    @cached_property
    def sun(self) -> tuple[datetime, datetime]:
        return sun_of(self.farm, self.day)

    @cached_property
    def here(self) -> tuple[Flock, ...]:
        return flocks(self.season, self.state, self.day)

    @cached_property
    def k(self) -> int:
        """The night after this day among those of the outlook."""
        sunsets = [span[0] for span in self.seen.spans]
        return min(range(len(sunsets)), key=lambda k: abs(sunsets[k] - self.sun[1]))

    @cached_property
    def night(self) -> Night:
        return self.seen.night(self.k)

    @cached_property
    def cold(self) -> tuple[Cold, ...]:
        return self.seen.cold(self.k, self.here, unsettled(self.season, self.day))

    @cached_property
    def alarms(self) -> tuple[Alarm, ...]:
        return alarms(self.farm, self.season, self.state, self.day)

    @cached_property
    def heat_sources(self) -> tuple[BrooderHeat, ...]:
        return brooders(self.farm, self.here, self.night.station_C.low)

    @cached_property
    def feed(self) -> tuple[FeedLeft, ...]:
        return feed_left(self.farm, self.wanted, self.state, self.day)

    @cached_property
    def birds(self) -> dict[tuple[str, Sex], Bird]:
        mean = self.seen.mean(self.day)
        return birds(self.season, self.i, warmer(self.farm, self.season, self.i, mean))

    def gusts(self, part: Part) -> tuple[Gust, ...]:
        """Until tomorrow's sunset."""
        begin = max(self.sun[0] if part == "morning" else self.sun[1], self.seen.at)
        return self.seen.gusts(self.here, begin, sun_of(self.farm, self.tomorrow)[1])

    def hot(self, day: date) -> tuple[Heat, ...]:
        return heats(self.farm, self.seen.weather, self.here, self.seen.hours(day), self.seen.highest(day))

    def water(self, day: date) -> tuple[Water, ...]:
        i = self.season.index(day)
        return water(self.farm, self.season, self.seen.weather, self.here, i, self.buckets)

    def round(self, part: Part) -> Round:
        farm, season, state = self.farm, self.season, self.state
        there = standing(farm, season, state, self.i, part, self.birds)
        of_day = self.day if part == "morning" else self.tomorrow
        nets = {net.house: net for net in self.nets}
        drinks, hot, gusts = self.water(of_day), self.hot(of_day), self.gusts(part)
        found = (
            *cautions(
                farm, self.day, night=self.night, cold=self.cold, gusts=gusts, heat=hot,
                water=drinks, brooders=self.heat_sources, feed=self.feed, flocks=self.here,
                rung=self.alarms,
            ),
            *too_heavy(farm, season, self.day, there),
            *of_ground(farm, self.ground, nets, of_day, self.tomorrow, there),
        )  # fmt: skip
        shown, more = warnings(found)
        facts = Facts(
            farm=farm, season=season, state=state, i=self.i, part=part, there=there,
            birds=self.birds,
            water={w.place: w for w in drinks}, heat={h.place: h for h in self.heat_sources},
            ground=self.ground, nets=nets, fields=self.fields, tasks=self.tasks, warnings=shown,
            sick=frozenset(_sick(state, found, there, self.day)),
            windy=frozenset(g.place for g in gusts if max(g.grade, g.grade_bad) >= 1),
        )  # fmt: skip
        sunrise, sunset = self.sun
        s = Spoken(farm)
        shut_in = sunset + SHUT_IN_AFTER
        light = say(f"round.light_{part}", rise=s.clock(sunrise), set=s.clock(sunset), shut=s.clock(shut_in))
        page = None
        if part == "evening":
            page = evening(
                farm, self.tomorrow, night=self.night, cold=self.cold, gusts=gusts,
                highest=self.seen.highest(self.tomorrow), heat=hot, water=drinks, ground=self.ground,
                nets=nets, there=there, feed=self.feed, notes=self.seen.weather.notes,
                tank=tank(farm, season, self.seen.weather, self.tomorrow),
            )  # fmt: skip
        return Round(
            day=self.day, part=part, said=say(f"round.title_{part}", day=Shown(farm).weekday(self.day)),
            sunrise=sunrise, sunset=sunset, shut_in=shut_in, light_said=light,
            heads=sum(p.heads for own in there.values() for p in own), stops=stops(farm, state, self.day),
            warnings=shown, more=more, calls=calls(facts),
            due=dues(farm, self.tasks, self.feed, self.nets, self.day, part), evening=page,
        )  # fmt: skip


def _sick(
    state: State, found: Sequence[Caution], there: Mapping[str, Sequence[Party]], day: date
) -> Iterator[str]:
    """Places with signs of a notifiable disease, sickness not settled, or more dead than luck brings."""
    yield from (place for c in found if c.kind == "sick" for place in c.where)
    ill = [(s.batch, s.place) for s in state.stops if s.why == "notifiable signs" and s.holds(day)]
    ill += [(t.batch, t.place) for t in state.troubles if t.what == "sick" and t.settled_on is None]
    for place, parties in there.items():
        if any(p.batch == b or (b is None and place == at) for b, at in ill for p in parties):
            yield place
