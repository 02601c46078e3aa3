"""`leyfold why`: the sum behind a figure, in steps that can be followed by hand, with its sources."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from math import log10
from pathlib import Path
from typing import TYPE_CHECKING, Any

from leyfold.cli.answer import console, print_json
from leyfold.nouns.why import Given, Step, Term
from leyfold.units import outward
from leyfold.words import say
from leyfold.words.forms import day, significant

if TYPE_CHECKING:
    from rich.text import Text
    from rich.tree import Tree

    from leyfold.nouns.farm import Farm
    from leyfold.nouns.limits import Limit
    from leyfold.nouns.why import Reason
    from leyfold.services.why import WhyAnswer

__all__ = ["why"]

FIGURES = 5
"""Significant figures of a number reckoned: a hand sum with them comes out as printed."""
LONG = 100
"""Letters of a step beyond which its numbers stand on a line of their own."""


def why(farm: Path, figure: str, *, at: date | None = None, json: bool = False) -> int:
    """Show the sum behind a figure of the season, each number with its source.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    figure
        WHAT, or WHAT:NAME with names joined by dots, and WHAT/week or WHAT/season for sums: feed,
        weight:march.cockerel, feed/week:grass, kg_n_per_ha:s1. WHAT is heads, weight, kg, dead, killed,
        killed_kg, carcass, feed, water, n, p, k, eggs, egg_kg (of batches, sexes, places); heads_per_m2,
        kg_per_m2, kg_n_per_ha, floor, fullest (of a place); shelters, eggs_set, hatched, bought, pullets,
        alive_at_end; chance (of a wish).
    at
        The day. Without it today, where that lies in the season, else the day it is highest.
    json
        Print one JSON object instead of the sum in words.
    """
    from rich.text import Text

    from leyfold.services.why import why_of

    answer = why_of(farm, figure, at, datetime.now(UTC))
    if json:
        print_json("why", _plain(answer), inputs_sha256=answer.inputs_sha256)
        return 0
    page = _Page(answer.farm)
    out = console()
    reason = answer.reason
    out.print(page.heading(reason), soft_wrap=True)
    for limit in reason.limits:
        out.print(page.limit(limit, reason.step.unit), soft_wrap=True)
    out.print(page.tree(reason.step))
    more = [Text(say("why.open_more", farm=farm, ask=ask)) for ask in page.shut[:1]]
    for lines in (page.notes(), more):
        for i, line in enumerate(lines):
            out.print(*(["\n"] if i == 0 else []), line, sep="", soft_wrap=True)
    return 0


class _Page:
    """The sum as printed: what was numbered, shown and left shut so far is remembered."""

    def __init__(self, farm: Farm) -> None:
        self.lengths = farm.holding.lengths
        self.language = farm.holding.language
        self.numbered: dict[tuple[str, str, str], str] = {}
        self.shown: set[tuple[str, float]] = set()
        self.shut: list[str] = []

    def heading(self, reason: Reason) -> Text:
        """What was asked, when, and the answer."""
        from rich.text import Text

        first, last = day(reason.first, self.language), day(reason.last, self.language)
        when = say("why.on_day", day=first) if first == last else say("why.from_to", first=first, last=last)
        choice = f" ({reason.choice})" if reason.choice else ""
        answer = self.answer(reason.step.value, reason.step.unit)
        return Text.assemble(f"{reason.title}, {when}{choice}: ", (answer, "bold"))

    def limit(self, limit: Limit, unit: str) -> str:
        """What the figure may be at most."""
        key = "limit" if limit.verified else "limit_unverified"
        return say(f"why.{key}", at_most=self.answer(limit.at_most, unit), source=limit.source)

    def answer(self, value: float, unit: str) -> str:
        """An amount in the farm's own units too, a share as a percentage."""
        if unit == "share":
            return f"{self.plain(100 * value)} %"
        own, name = outward(value, unit, self.lengths)
        return self.amount(value, unit) + (f" ({self.amount(own, name)})" if name != unit else "")

    def tree(self, step: Step) -> Tree:
        """The steps, each above what it was made of."""
        from rich.tree import Tree

        root = Tree(self.line(step), guide_style="dim")
        self._grow(root, step)
        return root

    def _grow(self, branch: Tree, step: Step) -> None:
        """Of a sum only the largest part is opened, and of what was shown before nothing."""
        inside = [term for term in step.terms if isinstance(term, Step)]
        largest = max((x for x in inside if x.terms), key=lambda x: x.value, default=None)
        for term in inside:
            seen = (term.words, term.value)
            if seen in self.shown:
                continue
            self.shown.add(seen)
            twig = branch.add(self.line(term))
            if step.formula is not None or term is largest:
                self._grow(twig, term)
            elif term.ask:
                self.shut.append(term.ask)

    def line(self, step: Step) -> Text:
        """name = formula = numbers = value unit, on two lines where it is long."""
        from rich.text import Text

        bold = (self.amount(step.value, step.unit), "bold")
        if step.formula is None:
            return Text.assemble(step.words, " = ", bold)
        by_key = {term.key: term for term in step.terms}
        words = self._put(step.formula, {key: term.words for key, term in by_key.items()})
        note = self._note(say("why.equation"), step.source, step.evidence) if step.source else ""
        figures = self._figures(step)
        numbers = self._put(
            step.formula, {key: self.reference(term, figures) for key, term in by_key.items()}
        )
        name = f"{step.words} = " if words == numbers else f"{step.words} = {words}{note} = "
        aside = ", ".join(
            f"{term.words} {self.amount(term.value, term.unit)}{self.mark(term)}"
            for term in step.terms
            if not re.search(rf"\b{term.key}\b", step.formula)
        )
        if step.formula in by_key:
            # A number under another name: said once, with its mark.
            return Text.assemble(name, bold, self.mark(by_key[step.formula]))
        result = "" if numbers == self.plain(step.value) else f"{numbers} = "
        fold = "\n  = " if len(name) + len(result) > LONG and words != numbers else " = "
        return Text.assemble(name[:-3], fold, result, bold, f" ({aside})" if aside else "")

    def _figures(self, step: Step) -> int:
        """Significant figures of the numbers in a formula: a small difference of two asks for more."""
        plain_difference = re.fullmatch(r"\w+ - \w+", step.formula or "")
        most = max((abs(term.value) for term in step.terms), default=0.0)
        if not plain_difference or not step.value:
            return FIGURES
        return FIGURES + max(round(log10(most / abs(step.value))), 0)

    def reference(self, term: Term, figures: int = FIGURES) -> str:
        """A number in a formula, with the mark of its source where it is no step of its own."""
        shown = significant(term.value, figures, self.language).replace("-", "−")
        return (f"({shown})" if term.value < 0.0 else shown) + self.mark(term)

    def mark(self, term: Term) -> str:
        """[7], or [7!] for a guess."""
        if isinstance(term, Step):
            return ""
        figure, unit = term.figure, self.unit(term.unit)
        counted = say("why.counted", n=figure.n_records) if figure.n_records else ""
        name = f"{term.words} ({unit})" if unit else term.words
        return self._note(name, f"{counted}{figure.source}", figure.evidence)

    def _note(self, name: str, source: str, evidence: str) -> str:
        guess = "!" if evidence == "guess" else ""
        return self.numbered.setdefault((name, source, evidence), f"[{len(self.numbered) + 1}{guess}]")

    def notes(self) -> Iterator[Text]:
        """Every source once, by its mark; a guess said loudly."""
        from rich.text import Text

        if self.numbered:
            yield Text(say("why.sources"), style="bold")
        for (name, source, evidence), mark in self.numbered.items():
            words = say(f"why.evidence_{evidence.replace(' ', '_')}")
            style = "bold yellow" if evidence == "guess" else "dim"
            yield Text.assemble(f"{mark:>6} {name}: ", (words, style), f". {source}")

    def amount(self, value: float, unit: str) -> str:
        """A value with its unit."""
        return f"{self.plain(value)} {self.unit(unit)}".rstrip()

    def unit(self, unit: str) -> str:
        """A unit as a farmer writes it; nothing for a share."""
        return say(f"why.unit_{_NAMED[unit]}") if unit in _NAMED else unit

    def plain(self, value: float) -> str:
        """A number to as many figures as a hand sum needs."""
        return significant(value, FIGURES, self.language).replace("-", "−")

    def _put(self, formula: str, names: dict[str, str]) -> str:
        """The formula in the signs of a schoolbook, its keys replaced."""

        def put(found: re.Match[str]) -> str:
            token, raised = found[0], formula[found.end() :].startswith(" **")
            if token[0].isdigit():
                return self.plain(float(token))
            name = names.get(token, token)
            return _SIGNS.get(token) or (f"({name})" if raised and " " in name else name)

        return re.sub(r"[a-z_][a-z_0-9]*|\d+(?:\.\d+)?(?:e-?\d+)?| \*\* | \* | / | - |-", put, formula)


_SIGNS = {" ** ": "^", " * ": " × ", " / ": " ÷ ", " - ": " − ", "-": "−"}
_NAMED = {
    "head": "head",
    "eggs": "eggs",
    "shelter": "shelter",
    "share": "share",
    "1": "share",
    "d": "d",
    "h": "h",
    "week": "week",
    "C": "c",
    "m2": "m2",
    "kg/m2": "kg_m2",
    "head/m2": "head_m2",
    "1/d": "a_day",
    "1/K": "a_degree",
    "1/week": "a_week",
    "F": "f",
}
"""Units that have a word of their own: what follows `why.unit_`."""


def _plain(answer: WhyAnswer) -> dict[str, Any]:
    reason = answer.reason
    return {
        "asked": reason.asked,
        "title": reason.title,
        "first": reason.first.isoformat(),
        "last": reason.last.isoformat(),
        "choice": reason.choice or None,
        "limits": [
            {"id": x.id, "at_most": x.at_most, "source": x.source, "verified": x.verified}
            for x in reason.limits
        ],
        "step": _term(reason.step),
    }


def _term(term: Term) -> dict[str, Any]:
    named = {"key": term.key, "words": term.words, "value": term.value, "unit": term.unit}
    if isinstance(term, Given):
        figure = term.figure
        return {**named, "source": figure.source, "evidence": figure.evidence, "n_records": figure.n_records}
    return {
        **named,
        "formula": term.formula,
        "source": term.source or None,
        "evidence": term.evidence or None,
        "ask": term.ask,
        "terms": [_term(each) for each in term.terms],
    }
