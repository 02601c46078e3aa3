"""Why a figure is what it is: the sum that makes it, as a tree that can be followed by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from leyfold.nouns.figure import Figure
from leyfold.nouns.limits import Limit

__all__ = ["Given", "Reason", "Step", "Term"]


@dataclass(frozen=True, slots=True)
class Given:
    """A number that the sum takes as it is: from the farm's files, its records, or a cited table. `key` is
    its name in the formula above it, `words` what it is called."""

    key: str
    words: str
    figure: Figure

    @property
    def value(self) -> float:
        return self.figure.value

    @property
    def unit(self) -> str:
        return self.figure.unit


@dataclass(frozen=True, slots=True)
class Step:
    """A number reckoned. `formula` is arithmetic (+ - * / ** and exp) in the keys of `terms`; where it is
    None the value is the sum of the terms. `source` and `evidence` are those of the equation, where it
    is more than arithmetic. A step without terms whose `ask` is given is opened by asking for that."""

    key: str
    words: str
    value: float
    unit: str
    formula: str | None = None
    terms: tuple[Term, ...] = ()
    source: str = ""
    evidence: str = ""
    ask: str | None = None

    def walk(self) -> Iterator[Term]:
        """This step and everything below it."""
        yield self
        for term in self.terms:
            if isinstance(term, Step):
                yield from term.walk()
            else:
                yield term


Term = Given | Step


@dataclass(frozen=True, slots=True)
class Reason:
    """The answer. `first` to `last` are the days it is of; `choice` says how they were found where none was
    asked for. `limits` are those that bind what was asked, in the place of `step`."""

    asked: str
    title: str
    first: date
    last: date
    choice: str
    step: Step
    limits: tuple[Limit, ...] = ()
