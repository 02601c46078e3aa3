"""A model in whole numbers that any solver can read: variables, rows by group, one sum to make large."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

__all__ = ["Linear", "Row", "Solved"]


class Row(NamedTuple):
    """least <= sum of coefficients times variables <= most. `group` is the limit or wish it stands for, ""
    for what merely holds the model together."""

    terms: Mapping[int, int]
    least: int | None
    most: int | None
    group: str

    def holds(self, values: Sequence[int]) -> bool:
        """Whether the sum lies between its least and its most."""
        total = sum(c * values[v] for v, c in self.terms.items())
        return (self.least is None or total >= self.least) and (self.most is None or total <= self.most)

    def spare(self, v: int, have: int, most: int) -> int:
        """How many fewer of a variable, at `most`, a row that holds with the sum `have` lets there be."""
        each = self.terms[v]
        if each > 0 and self.least is not None:
            return min(most, (have - self.least) // each)
        if each < 0 and self.most is not None:
            return min(most, (self.most - have) // -each)
        return most


@dataclass(slots=True, eq=False)
class Linear:
    """Variables are whole numbers between `low` and `high`. `gain` is what one unit of a variable earns."""

    low: list[int] = field(default_factory=list)
    high: list[int] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    gain: dict[int, int] = field(default_factory=dict)

    def number(self, high: int, low: int = 0) -> int:
        """A new variable."""
        self.low.append(low)
        self.high.append(max(high, low))
        return len(self.low) - 1

    def row(
        self, terms: Mapping[int, int], *, least: int | None = None, most: int | None = None, group: str = ""
    ) -> None:
        """A new row, unless it says nothing that the least and most of its variables do not say."""
        kept = {v: c for v, c in terms.items() if c}
        if (least is None or self._end(kept, -1) >= least) and (most is None or self._end(kept, 1) <= most):
            return
        self.rows.append(Row(kept, least, most, group))

    def _end(self, terms: Mapping[int, int], way: int) -> int:
        """The most (`way` 1) or the least (-1) that a sum can come to."""
        return sum(c * (self.high[v] if c * way > 0 else self.low[v]) for v, c in terms.items())

    def earns(self, variable: int, gain: int) -> None:
        """`gain` more for each unit of a variable."""
        if gain:
            self.gain[variable] = self.gain.get(variable, 0) + gain

    def ceiling(self) -> int:
        """What no answer can gain more than, whatever the rows say."""
        return self._end(self.gain, 1)

    def spans(self) -> list[tuple[int, int]]:
        """Least and most of each variable."""
        return list(zip(self.low, self.high, strict=True))

    def groups(self) -> tuple[str, ...]:
        """The named groups, in the order in which they came."""
        return tuple(dict.fromkeys(row.group for row in self.rows if row.group))

    def only(self, groups: Collection[str]) -> list[Row]:
        """The rows without a group and those of `groups`."""
        return [row for row in self.rows if not row.group or row.group in groups]

    def worth(self, values: Sequence[int]) -> int:
        """What an answer gains."""
        return sum(gain * values[v] for v, gain in self.gain.items())

    def holds(self, values: Sequence[int]) -> bool:
        """Whether an answer breaks no row and no variable's least and most."""
        return all(
            low <= x <= high for low, x, high in zip(self.low, values, self.high, strict=True)
        ) and all(row.holds(values) for row in self.rows)

    def spared(self, values: Sequence[int]) -> tuple[int, ...]:
        """An answer with nothing in it that costs and that no row asks for: a search that was stopped may
        have left a place in use that nobody is in."""
        found = list(values)
        have = [sum(c * values[v] for v, c in row.terms.items()) for row in self.rows]
        within = dict[int, list[int]]()
        for at, row in enumerate(self.rows):
            for v in row.terms.keys() & self.gain.keys():
                within.setdefault(v, []).append(at)
        for v, gain in sorted(self.gain.items()):
            if gain < 0 and (fewer := found[v] - self.low[v]):
                for at in within.get(v, []):
                    fewer = min(fewer, self.rows[at].spare(v, have[at], fewer))
                found[v] -= fewer
                for at in within.get(v, []):
                    have[at] -= fewer * self.rows[at].terms[v]
        return tuple(found)

    def met(self, values: tuple[int, ...]) -> tuple[str, ...]:
        """Groups of which some row has no room for one more unit of anything in it."""
        found = dict[str, None]()
        for row in self.rows:
            if not row.group or row.group in found:
                continue
            have = sum(c * values[v] for v, c in row.terms.items())
            if not any(values[v] for v in row.terms):
                continue
            up = min((c for c in row.terms.values() if c > 0), default=0)
            if (row.most is not None and up and have + up > row.most) or (
                row.least is not None and up and have - up < row.least
            ):
                found[row.group] = None
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Solved:
    """`values` by variable, None where there is no answer; `bound` no answer can pass; `proven`: there is
    nothing better, or nothing at all; `stopped` by the clock rather than by the count of work."""

    values: tuple[int, ...] | None
    gain: int
    bound: float
    proven: bool
    stopped: bool
    seconds: float

    def under(self, bound: float) -> Solved:
        """The same answer under another bound."""
        bound = max(bound, float(self.gain))
        return replace(self, bound=bound, proven=self.gain >= bound - 0.5)
