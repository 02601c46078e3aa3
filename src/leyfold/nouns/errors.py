"""What is wrong with something a user gave, and how to mend it."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

__all__ = ["BadInput", "Fault"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one place. `wrong` and `mend` are sentences from `words`."""

    file: str
    field: str
    wrong: str
    mend: str
    line: int | None = None
    feature: str | None = None

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        parts = [place, *(p for p in (self.feature, self.field) if p)]
        return plain(f"{': '.join(parts)}: {self.wrong} {self.mend}".rstrip())


def plain(text: str) -> str:
    """`text` with what cannot be seen (controls, marks that turn the direction) written out: a file must not
    be able to command the terminal that shows what is wrong with it."""
    hidden = (c for c in set(text) if unicodedata.category(c)[0] == "C")
    return text.translate({ord(c): c.encode("unicode_escape").decode() for c in hidden})


class BadInput(Exception):
    """Input refused as a whole: every fault found, nothing half-done. Exit code 2 at the shell."""

    def __init__(self, *faults: Fault) -> None:
        if not faults:
            raise ValueError("BadInput needs at least one fault")
        self.faults = faults
        super().__init__("\n".join(map(str, faults)))
