"""Look up the cited figures by table, entry or part of a name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from leyfold.farm.tables import TABLES, all_figures, table
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.figure import Figure
from leyfold.words import say

__all__ = ["Cited", "find"]


@dataclass(frozen=True, slots=True)
class Cited:
    """A figure where it stands: `name` is its path within `table`; `least` and `most` bound what a farm may
    put instead; `limit` holds the entry as it stands in the table of limits, None elsewhere."""

    table: str
    entry: str
    name: str
    figure: Figure
    about: str
    least: float | None
    most: float | None
    limit: Mapping[str, Any] | None


def find(name: str | None = None) -> list[Cited]:
    """The figures of the table or the path `name`, else with it in their path; all of them for None.

    BadInput, with the nearest names, where there is none.
    """
    cited = list(_cited())
    if name is None:
        return cited
    wanted = name.strip().lower().replace(" ", "_")
    if not wanted:
        raise _unknown(name, cited)
    paths = [f"{one.table}.{one.name}" for one in cited]
    within = [one for one, path in zip(cited, paths, strict=True) if f"{path}.".startswith(f"{wanted}.")]
    within = within or [one for one, path in zip(cited, paths, strict=True) if wanted in path.lower()]
    if not within:
        raise _unknown(name, cited)
    return within


def _cited() -> Iterator[Cited]:
    for path, fig in all_figures().items():
        where, _, name = path.partition(".")
        entry_id = name.partition(".")[0]
        entry = table(where)[entry_id]
        limit = entry if where == "limits" else None
        yield Cited(where, entry_id, name, fig, entry["about"], entry.get("least"), entry.get("most"), limit)


def _unknown(name: str, cited: list[Cited]) -> BadInput:
    import difflib

    # An entry's name, its path, and the words it is made of: a slip in one word should still find it.
    entries = dict.fromkeys(one.entry for one in cited)
    homes: dict[str, str] = {word: entry for entry in entries for word in entry.split("_") if len(word) > 3}
    homes |= {f"{one.table}.{one.entry}": f"{one.table}.{one.entry}" for one in cited}
    homes |= {word: word for word in (*entries, *TABLES)}
    close = difflib.get_close_matches(name.lower().replace(" ", "_"), homes, n=5, cutoff=0.6)
    near = list(dict.fromkeys(homes[word] for word in close))
    mend = (
        say("figures.unknown_near", names=", ".join(near))
        if near
        else say("figures.unknown_tables", names=", ".join(TABLES))
    )
    return BadInput(Fault("leyfold figures", name, say("figures.unknown"), mend))
