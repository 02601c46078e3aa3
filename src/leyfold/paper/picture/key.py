"""What the hatchings and signs mean: the batches above the picture, the signs beneath it."""

from __future__ import annotations

from leyfold.nouns.plan import Batch
from leyfold.nouns.season import Season
from leyfold.paper.picture.days import BOLD, Days
from leyfold.paper.picture.ink import hatch
from leyfold.paper.svg import clipped, el, escape, n, text, width
from leyfold.words import say
from leyfold.words.forms import day_and_month, number

__all__ = ["batch_key", "sign_key"]

ROW = 21.0
SWATCH = 26.0


def batch_key(season: Season, days: Days, top: float, right: float) -> tuple[str, float]:
    """Every batch with its hatching and what it begins with, in rows; and where they end."""
    out, x, y = [], 8.0, top
    for i, batch in enumerate(season.plan.batches):
        name = clipped(batch.id, BOLD, 240)
        came = _came(batch, days.language)
        takes = SWATCH + 6 + width(name, BOLD) + 6 + width(came, 11) + 22
        if x > 8 and x + takes > right:
            x, y = 8.0, y + ROW
        half = SWATCH / 2
        for left, dark in ((x, False), (x + half, True)):
            fill = hatch(i, dark=dark)
            out.append(el("rect", x=left, y=y - 10, width=half, height=12, fill=fill, class_="outline"))
        bold, plain = (el("tspan", escape(w), class_=c) for w, c in ((name, "strong"), (came, "small soft")))
        out.append(el("text", bold, " ", plain, x=x + SWATCH + 6, y=y))
        x += takes
    return "".join(out), y + ROW / 2


def _came(batch: Batch, language: str) -> str:
    on = day_and_month(batch.arrives_on, language)
    if batch.origin == "set" and batch.set_on is not None:
        eggs = number(batch.eggs or 0, 0, language)
        return say("picture.key_set", eggs=eggs, set=day_and_month(batch.set_on, language), on=on)
    heads = number(sum(batch.heads.values()), 0, language)
    if batch.origin == "bought":
        return say("picture.key_bought", heads=heads, on=on)
    return say("picture.key_present", heads=heads, on=on)


def sign_key(px: float, top: float, right: float, language: str, *, chance: bool) -> tuple[str, float]:
    """One line of signs with their meaning; and where it ends."""
    scale = next(k for k in (1000, 500, 200, 100, 50, 20, 10) if k * px <= 34 or k == 10)
    high = scale * px
    signs = [
        (el("rect", x=0, y=4 - high, width=6, height=high, class_="outline shade"), 6.0,
         say("picture.key_scale", number=number(scale, 0, language))),
        (el("rect", x=0, y=-9, width=22, height=6, class_="outline wash")
         + el("rect", x=0, y=-3, width=22, height=6, class_="outline paper"), 22.0, say("picture.key_sexes")),
        (el("path", d="M0 -8C9 -8 9 2 18 2", class_="thread", fill="none"), 18.0, say("picture.key_thread")),
        (el("rect", x=0, y=-10, width=4, height=13, class_="ink"), 4.0, say("picture.key_killed")),
        (el("path", d="M0 -3H24", class_="limit"), 24.0, say("picture.key_limit")),
        (el("path", d="M0 -4H24", class_="breach") + el("path", d="M8 2h8l-4 -8Z", class_="warm"), 24.0,
         say("picture.key_breach")),
    ]  # fmt: skip
    if chance:
        signs.append(
            (el("rect", x=0, y=-10, width=24, height=13, class_="chance"), 24.0, say("picture.key_chance"))
        )
    out, x, y = [], 8.0, top
    for sign, wide, words in signs:
        takes = wide + 6 + width(words, 11) + 20
        if x > 8 and x + takes > right:
            x, y = 8.0, y + ROW
        out.append(el("g", sign, text(words, wide + 6, 0, "small"), transform=f"translate({n(x)} {n(y)})"))
        x += takes
    return "".join(out), y + 14
