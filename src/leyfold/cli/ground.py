"""`leyfold ground`: where every shelter and net stands, how long the ground lasts, what falls on it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, print_json, table
from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

if TYPE_CHECKING:
    from rich.table import Table

    from leyfold.services.ground import GroundAnswer

__all__ = ["ground"]

MOST_BEHIND_D = 40
"""A month so cold that larvae take longer is not worth following in. Guess."""


def ground(
    farm: Path,
    *,
    json: bool = False,
    on: date | None = None,
    rest: int = 365,
    net_rest: int = 28,
    paddock: float | None = None,
    heights: Path | None = None,
    steepest: float = 0.2,
    map: Path | None = None,
    geojson: Path | None = None,
    before: Path | None = None,
    stands: str | None = None,
) -> int:
    """Show where every shelter stands on every day of the season, from the farm's files and its fields.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml; the fields are in its land.geojson.
    json
        Print one JSON object: fields, every shelter on every day, paddocks and stays, nutrients.
    on
        Also tell the moves of this day, in pegs and paces; marked on the map too.
    rest
        Days a stand rests before it is used again.
    net_rest
        Days a paddock rests before hens come again.
    paddock
        Square metres of a paddock inside netting; else ten a hen.
    heights
        A grid of heights, GeoTIFF or ASCII, with the extra `gis`: steep ground is kept off, the contour
        counts as a direction, and gaps under the skirt are told for the day of --on.
    steepest
        Rise over run from which ground is kept off, where there are heights.
    map
        Also draw the ground true to scale into this file, as SVG or PNG by its ending.
    geojson
        Also write every stand and paddock, with its days, into this file.
    before
        Ground used in years before: a file written by --geojson.
    stands
        Where shelters really are on the morning of --on, moves missed: s1=long-ley/120.14,s2=long-ley/114.40
        (field, strip and peg). From that day on the ground is laid again from there.
    """
    from leyfold.services.ground import ground_of

    if map is not None:
        from leyfold.paper.picture_file import check_picture

        check_picture(map, "--map")
    answer = ground_of(
        farm,
        datetime.now(UTC),
        rest_days=rest,
        net_rest_days=net_rest,
        paddock_m2=paddock,
        before=before,
        heights=heights,
        steepest=steepest,
        on=on,
        standing=_standing(stands, on),
    )
    if map is not None:
        from leyfold.paper.map import ground_map
        from leyfold.paper.picture_file import write_picture

        language = answer.farm.holding.language
        laid, paddocks = answer.ground.laid, answer.ground.paddocks
        drawn = ground_map(answer.land, laid, paddocks=paddocks, language=language, today=on)
        write_picture(drawn, map, "--map")
    if geojson is not None:
        from leyfold.ground.laid import write_ground
        from leyfold.paper.picture_file import write_whole

        written = write_ground(answer.land, answer.ground.laid, answer.ground.paddocks)
        write_whole(written.encode(), geojson, "--geojson")
    if json:
        from leyfold.services.ground_records import records

        print_json("ground", records(answer), inputs_sha256=answer.inputs_sha256)
        return 0
    page = console()
    page.print(by_field(answer))
    page.print(by_shelter(answer))
    for sentence in (*said(answer), *(told_on(answer, on) if on else ())):
        page.print(sentence, soft_wrap=True, markup=False)
    return 0


def _standing(stands: str | None, on: date | None) -> dict[str, str]:
    """{shelter: stand} of "s1=long-ley/120.14,..."."""
    if stands is None:
        return {}
    pairs = [part.strip().partition("=") for part in stands.split(",")]
    if on is None or not all(name and peg for name, _, peg in pairs):
        wrong = say("stands.stands_wrong") if on is not None else say("stands.stands_no_day")
        raise BadInput(Fault("leyfold ground", "--stands", wrong, say("stands.stands_mend")))
    return {name.strip(): peg.strip() for name, _, peg in pairs}


def by_field(answer: GroundAnswer) -> Table:
    """What each size of shelter reaches in each field, against what nothing could pass."""
    from leyfold.words.forms import number

    language = answer.farm.holding.language
    names = {field.id: field.name for field in answer.land.fields}
    page = table(
        say("stands.title", farm=answer.farm.holding.name),
        [
            (say("stands.field"), False),
            (say("stands.shelters"), False),
            (say("stands.inset"), True),
            (say("stands.stands"), True),
            (say("stands.share"), True),
            (say("stands.most"), True),
            (say("stands.strips"), True),
        ],
    )
    for layout, _ in answer.ground.laid:
        for area in layout.areas:
            page.add_row(
                names[area.field],
                layout.footprint.id.replace("+", ", "),
                number(area.inset_m2 / 1e4, 2, language),
                number(area.stands, 0, language),
                number(100 * area.share, 1, language),
                number(area.bound, 0, language),
                number(area.turns + 1 if area.stands else 0, 0, language),
            )
    return page


def by_shelter(answer: GroundAnswer) -> Table:
    """The strips of each shelter: from when until when, and where it begins."""
    from leyfold.words.forms import day_and_month, number

    language = answer.farm.holding.language
    page = table(
        say("stands.days_title"),
        [
            (say("stands.shelter"), False),
            (say("stands.field"), False),
            (say("stands.strip_head"), True),
            (say("stands.from"), True),
            (say("stands.to"), True),
            (say("stands.pegs"), True),
        ],
    )
    for shelter, strip in worked(answer):
        days = [a.on for a in strip]
        pegs = [a.stand.index + 1 for a in strip if a.stand]
        first = strip[0].stand
        assert first is not None
        ends = say("stands.ends", first=number(pegs[0], 0, language), last=number(pegs[-1], 0, language))
        page.add_row(
            shelter,
            first.field,
            first.strip.rpartition("/")[2],
            day_and_month(days[0], language),
            day_and_month(days[-1], language),
            ends,
        )
    return page


def worked(answer: GroundAnswer) -> list[tuple[str, list[Any]]]:
    """Each shelter's days, strip after strip."""
    from itertools import groupby

    got = []
    for _, ground in answer.ground.laid:
        for shelter in sorted({a.shelter for a in ground.days}):
            own = [a for a in ground.days if a.shelter == shelter and a.stand is not None]
            strips = groupby(own, key=lambda a: a.stand.strip if a.stand else "")
            got += [(shelter, list(days)) for _, days in strips]
    return got


def said(answer: GroundAnswer) -> list[str]:
    """How long the ground lasts, transfers, shared strips, hens and nutrients."""
    from leyfold.words.forms import day, number

    language, said = answer.farm.holding.language, []
    for layout, ground in answer.ground.laid:
        shelters = layout.footprint.id.replace("+", ", ")
        if ground.runs_out:
            said.append(say("stands.runs_out", shelters=shelters, on=day(ground.runs_out, language)))
        elif ground.days:
            said.append(say("stands.lasts", shelters=shelters, days=number(ground.left_days, 0, language)))
        said += [
            say("stands.transfer", shelter=a.shelter, on=day(a.on, language), field=a.stand.field)
            for a in ground.transfers
            if a.stand
        ]
        if ground.shared:
            said.append(say("stands.doubled", strips=", ".join(ground.shared)))
    for hens in answer.ground.hens:
        until = day(hens.stays[-1].span.until, language)
        said.append(
            say(
                "stands.hens",
                net=hens.net,
                first=day(hens.stays[0].span.first, language),
                until=until,
                paddocks=number(len({s.paddock.id for s in hens.stays}), 0, language),
                now=number(hens.now_m2, 1, language),
                life=number(hens.life_m2, 1, language),
            )
        )
        if hens.short:
            said.append(say("stands.hens_short", net=hens.net, until=until))
    if answer.ground.passes:
        worst = max(answer.ground.passes, key=lambda p: p.n_kg_per_ha)
        said.append(
            say(
                "stands.worst_pass",
                where=worst.where,
                on=day(worst.first, language),
                n=number(worst.n_kg_per_ha, 0, language),
                p=number(worst.p_kg_per_ha, 0, language),
            )
        )
    if answer.farm.cattle and answer.ground.hens:
        said.append(behind_cattle(answer))
    for load in sorted(answer.ground.years, key=lambda y: (y.first, y.where)):
        said.append(
            say(
                "stands.year",
                field=load.where,
                year=str(load.first.year),
                n=number(load.n_kg_per_ha, 1, language),
                p=number(load.p_kg_per_ha, 1, language),
                k=number(load.k_kg_per_ha, 1, language),
            )
        )
    return [*said, *over_limits(answer)]


def over_limits(answer: GroundAnswer) -> list[str]:
    """The fields that in some year get more than the published limits for nitrogen and phosphorus."""
    from leyfold.farm.tables import table
    from leyfold.ground.ledger import passed
    from leyfold.words.forms import number

    said = []
    for key, nutrient in (("nitrates_year", "n"), ("sweden_p", "p")):
        entry = table("limits")[key]
        most, source = float(entry["at_most"]), entry["source"]
        said += [
            say(
                "stands.over",
                field=load.where,
                year=str(load.first.year),
                nutrient=nutrient.upper(),
                limit=number(most, 0, answer.farm.holding.language),
                source=source,
            )
            for load in passed(answer.ground.years, nutrient, most)
        ]
    return said


def behind_cattle(answer: GroundAnswer) -> str:
    """How many days hens keep behind cattle in each month warm enough, by the farm's mean temperatures."""
    from leyfold.farm.tables import figure
    from leyfold.nature.grazing import days_behind_cattle
    from leyfold.words.forms import month, number

    language, year = answer.farm.holding.language, answer.season.first.year
    first, last = (figure(f"tonight.behind_cattle.{end}").value for end in ("first_K_d", "last_K_d"))
    months = []
    for k, mean in enumerate(answer.farm.temperature_C):
        days = days_behind_cattle(mean.value, first_K_d=first, last_K_d=last)
        if days.first_d <= MOST_BEHIND_D:
            a, b = (number(float(end), 0, language) for end in days)
            name = month(date(year, k + 1, 1), language)
            months.append(say("stands.behind_month", month=name, first=a, last=b))
    return say("stands.behind", months=", ".join(months)) if months else say("stands.behind_never")


def told_on(answer: GroundAnswer, on: date) -> list[str]:
    """The moves of one day, shelter by shelter."""
    from leyfold.ground.told import gap_told, told
    from leyfold.services.ground import gaps_on

    gaps = gaps_on(answer, on)
    said = []
    for _, ground in answer.ground.laid:
        before: dict[str, Any] = {}
        for a in ground.days:
            if a.on == on:
                said.append(told(a, before.get(a.shelter)))
                said += gap_told(a.shelter, gaps[a.shelter], a.stand) if a.shelter in gaps else []
            if a.on <= on and a.stand is not None:
                before[a.shelter] = a.stand
    return said or [say("stands.nobody")]
