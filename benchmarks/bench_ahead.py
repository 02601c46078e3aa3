"""The look-ahead of twenty shelters: seven days of buckets by the quarter of an hour, 200 draws of nights.

    python benchmarks/bench_ahead.py

Held: the buckets of twenty shelters over seven days (672 steps) under half a second, 200 draws of twelve
nights for twenty groups under two seconds, and the buckets together at least five times faster than one by
one. Each time is the best of several, in seconds of processor time.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from farms import farm
from leyfold.farm.tables import figure, table
from leyfold.nouns.farm import HeaderBucket, Shelter
from leyfold.nouns.plan import Batch, Plan, Stay
from leyfold.nouns.record import State
from leyfold.nouns.weather import Source
from leyfold.round.ahead import NIGHTS, look_ahead
from leyfold.round.flocks import flocks
from leyfold.round.nights import bird_air, cold_nights, deepest, nights
from leyfold.round.tried import tried
from leyfold.round.water import buckets
from leyfold.season.complete import complete
from leyfold.season.expect import expect
from leyfold.weather.read import Files, read_weather
from leyfold.weather.typical import normals

SHELTERS = 20
AT = datetime(2027, 6, 12, 16, tzinfo=UTC)
BUCKETS_S, DRAWS_S, TOGETHER = 0.5, 2.0, 5.0


def best(times: int, work: Callable[[], object]) -> float:
    took = []
    for _ in range(times):
        start = time.process_time()
        work()
        took.append(time.process_time() - start)
    return min(took)


def main() -> int:
    places = [f"s{i}" for i in range(SHELTERS)]
    made = replace(
        farm(),
        weather=Source(climate={name: figure(f"climate.{name}") for name in table("climate")}),
        buckets={"b": HeaderBucket("b", 20.0, "grey")},
        shelters={p: Shelter(p, 3.35, 3.05, 0.6, 90.0, header_bucket="b") for p in places},
    )
    hatched = date(2027, 5, 3)
    batches, stays = [], []
    for i, place in enumerate(places):
        own = hatched - timedelta(days=i)
        batches.append(Batch(
            f"b{i}", "tawny", "bought", own, own, heads={"pullet": 30, "cockerel": 30},
            turnout_on=hatched + timedelta(days=21), sort_on=hatched + timedelta(days=80),
        ))  # fmt: skip
        out, until = hatched + timedelta(days=21), hatched + timedelta(days=80)
        stays.append(Stay(f"in{i}", f"b{i}", None, "east", own, out))
        stays.append(Stay(f"out{i}", f"b{i}", None, place, out, until))
    plan = complete(made, Plan(tuple(batches), tuple(stays), first=date(2027, 3, 29), last=date(2027, 10, 3)))
    season = expect(made, plan)
    files = Files((), normals(made))
    weather = read_weather(made, files, date(2027, 1, 1), AT.date() + timedelta(days=NIGHTS + 3), AT)

    kit, sunrise = made.buckets["b"], nights(made, AT, 1)[0][1]
    together = best(5, lambda: buckets(made, weather, [kit] * SHELTERS, [12.0] * SHELTERS, sunrise))
    single = best(3, lambda: [buckets(made, weather, [kit], [12.0], sunrise) for _ in range(SHELTERS)])

    here = flocks(season, State(), AT.date())
    spans = nights(made, AT, NIGHTS)
    first = weather.index(spans[0][0]) - 3
    hours = weather.index(spans[-1][1]) + 3 - first

    def draws() -> None:
        run = tried(made, weather, files.normals, weather.first_hour + first, hours, AT, n=200, seed=0)
        air = bird_air(made, run, deepest(made, weather, State()))
        for span in spans:
            cold_nights(made, here, run, air, span)

    drawn = best(3, draws)
    whole = best(3, lambda: look_ahead(made, State(), season, weather, files.normals, AT))
    print(f"{SHELTERS} buckets, seven days by the quarter of an hour: {together:.3f} s (at most {BUCKETS_S})")
    print(f"  one by one: {single:.3f} s, {single / together:.1f} times as long (at least {TOGETHER})")
    print(f"200 draws, {NIGHTS} nights, {len(here)} groups: {drawn:.3f} s (at most {DRAWS_S})")
    print(f"the whole look-ahead: {whole:.3f} s")
    return int(together > BUCKETS_S or drawn > DRAWS_S or single < TOGETHER * together)


if __name__ == "__main__":
    sys.exit(main())
