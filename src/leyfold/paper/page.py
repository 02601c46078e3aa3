"""The season as one page: the numbers that matter first, the picture, its tables. Without scripts."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from datetime import date
from hashlib import sha256

from leyfold.nouns.draws import Draws, WishChance
from leyfold.nouns.errors import Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.season import Season
from leyfold.nouns.week import Week
from leyfold.paper import picture, style
from leyfold.paper.page_tables import chance_table, places_table, weeks_table
from leyfold.paper.svg import el, escape
from leyfold.paper.wall_sheet import in_all, limits_passed
from leyfold.round.shown import Shown
from leyfold.season.sums import Sums
from leyfold.words import LANGUAGE, say

__all__ = ["faults_page", "season_page"]


def season_page(
    farm: Farm,
    season: Season,
    weeks: Sequence[Week],
    totals: Sums,
    draws: Draws | None = None,
    wishes: Sequence[WishChance] = (),
    *,
    today: date | None = None,
) -> str:
    """A whole HTML document in the farm's own forms of numbers and dates; every name is escaped. `draws` adds
    the chance bands to the picture and a table of them, `wishes` how likely each wish is met."""
    shown, name = Shown(farm), farm.holding.name
    last = season.day(season.days - 1)
    span = say("page.span", first=shown.day(season.first), last=shown.day(last))
    drawn = picture.season_picture(farm, season, draws, today=today)
    passed = limits_passed(season, shown)
    parts = [
        _section("short", say("page.in_short"), _big(season, totals, shown)),
        _section(
            "limits",
            say("page.limits"),
            _list(passed, "passed warm") if passed else el("p", escape(say("season.no_breach"))),
        ),
        _section("wishes", say("page.wishes"), _wished(farm, wishes, shown)) if wishes else "",
        _section(
            "picture",
            say("page.picture"),
            el("p", escape(say("page.picture_read")), class_="soft"),
            _scroll(say("page.picture"), drawn),
            class_="picture",
        ),
        _section("weeks", say("page.weeks"), _scroll(say("page.weeks"), weeks_table(season, weeks, shown))),
        _section("chances", say("page.chances"), _scroll(say("page.chances"), chance_table(draws, shown)))
        if draws is not None
        else "",
        _section("places", say("page.places"), _scroll(say("page.places"), places_table(season, shown))),
        _section("in-all", say("page.in_all"), _list(in_all(totals, shown), "")),
    ]
    return _document(
        say("page.title", farm=name),
        el("a", escape(say("page.skip")), href="#weeks", class_="skip")
        + el("header", el("h1", escape(name)), el("p", escape(span), class_="soft"))
        + el("main", *parts)
        + el("footer", el("p", escape(say("page.foot")), class_="soft")),
        style.STYLE,
        picture.STYLE,
    )


def faults_page(faults: Iterable[Fault]) -> str:
    """What is wrong with the farm's files, as a page."""
    rows = [
        el("li", el("strong", escape(_place(f))), " ", escape(f.wrong), " ", el("em", escape(f.mend)))
        for f in faults
    ]
    body = el(
        "main",
        el("h1", escape(say("page.faults"))),
        el("p", escape(say("page.faults_hint")), class_="soft"),
        el("ul", *rows),
    )
    return _document(say("page.faults"), body, style.STYLE)


def _place(f: Fault) -> str:
    line = f.file if f.line is None else say("page.fault_line", file=f.file, line=f.line)
    return ", ".join(part for part in (line, f.feature, f.field) if part) + ":"


def _document(title: str, body: str, *styles: str) -> str:
    """The page around `body`, which may use `styles` and nothing else."""
    hashes = " ".join(f"'sha256-{b64encode(sha256(s.encode()).digest()).decode()}'" for s in styles)
    policy = f"default-src 'none'; style-src {hashes}; base-uri 'none'; form-action 'none'"
    head = (
        '<meta charset="utf-8"/>'
        + el("meta", http_equiv="Content-Security-Policy", content=policy)
        + el("meta", name="viewport", content="width=device-width, initial-scale=1")
        + el("meta", name="color-scheme", content="light dark")
        + el("title", escape(title))
        + f"<style>{styles[0]}</style>"
    )
    return (
        f'<!doctype html>\n<html lang="{LANGUAGE}">\n<head>{head}</head>\n<body>\n{body}\n</body>\n</html>\n'
    )


def _section(name: str, heading: str, *inside: str, class_: str = "") -> str:
    title = el("h2", escape(heading), id=f"{name}-heading")
    return "\n" + el("section", title, *inside, id=name, aria_labelledby=f"{name}-heading", class_=class_)


def _scroll(name: str, inside: str) -> str:
    """A frame that can be scrolled sideways, by keyboard too."""
    return el(
        "div", inside, class_="scroll", role="region", tabindex="0", aria_label=say("page.scroll", what=name)
    )


def _list(lines: Sequence[str], classes: str) -> str:
    return el("ul", *(el("li", escape(line)) for line in lines), class_=classes)


def _big(season: Season, t: Sums, shown: Shown) -> str:
    """The five numbers a year is judged by."""
    first = min(season.breaches, key=lambda b: b.first, default=None)
    breach = (
        (say("page.big_no_breach"), say("page.big_no_breach_told"), "")
        if first is None
        else (
            shown.short(first.first),
            say("page.big_breach", where=first.where, what=say(f"page.of_{first.limit.quantity}")),
            "warm",
        )
    )
    told = [
        (shown.n(t.pullets_to_house), say(f"page.big_pullets{'' if shown.farm.houses else '_no_house'}"), ""),
        (shown.of(t.carcass_kg, "kg"), say("page.big_carcass"), ""),
        (shown.n(t.eggs), say("page.big_eggs"), ""),
        (shown.of(sum(t.feed_kg.values()), "kg"), say("page.big_feed"), ""),
        breach,
    ]
    return el(
        "dl",
        *(
            el("div", el("dt", escape(words)), el("dd", escape(big), class_=tone))
            for big, words, tone in told
        ),
        class_="big",
    )


def _wished(farm: Farm, wishes: Sequence[WishChance], shown: Shown) -> str:
    """Each wish with the chance that it comes true; one that is likelier to fail than wished stands out."""
    wished = {wish.id: wish for wish in farm.wishes}

    def told(w: WishChance) -> str:
        wish = wished[w.wish]
        what = say(
            "page.wish_aged" if wish.aged_d else f"page.wish_{wish.what.replace(' ', '_')}",
            number=shown.n(wish.number),
            on=shown.day(w.on),
            days=wish.aged_d,
        )
        return say(
            "page.wish_short" if w.short else "page.wish_met",
            wish=what,
            chance=_years(w.chance, shown),
            wished=shown.n(100 * wish.chance),
            low=shown.n(w.low),
            high=shown.n(w.high),
        )

    return el("ul", *(el("li", escape(told(w)), class_="warm" if w.short else "") for w in wishes))


def _years(chance: float, shown: Shown) -> str:
    """Of a hundred. Neither never nor always is promised."""
    if chance < 0.01:
        return say("page.years_hardly")
    if chance > 0.99:
        return say("page.years_nearly")
    return say("page.years", number=shown.n(100 * chance))
