"""Tables and lists that can be taken back to any earlier mark."""

from __future__ import annotations

from typing import Any, TypeVar

__all__ = ["Ledger"]

K = TypeVar("K")
V = TypeVar("V")

_ABSENT = object()


class Ledger:
    """Every change of the books goes through here. So a record that turns up late is folded from its own
    time on, and one that contradicts the others leaves nothing behind."""

    __slots__ = ("swapped", "undo")

    def __init__(self) -> None:
        self.swapped: set[int] = set()
        """Identities of what had items put in the place of others, since somebody last cleared it."""
        # Container, key and what was there, one after the other: a tuple each would keep the collector busy.
        self.undo: list[Any] = []

    def mark(self) -> int:
        return len(self.undo)

    def put(self, table: dict[K, V], key: K, value: V) -> None:
        self.undo += (table, key, table.get(key, _ABSENT))
        table[key] = value

    def drop(self, table: dict[K, V], key: K) -> None:
        self.undo += (table, key, table.pop(key))

    def push(self, row: list[V], item: V) -> None:
        self.undo += (row, -1, _ABSENT)
        row.append(item)

    def insert(self, row: list[V], index: int, item: V) -> None:
        self.undo += (row, index, _ABSENT)
        row.insert(index, item)

    def swap(self, row: list[V], index: int, item: V) -> None:
        self.undo += (row, index, row[index])
        self.swapped.add(id(row))
        row[index] = item

    def rewind(self, mark: int) -> None:
        """Take back all changes since `mark`, the last first."""
        undo = self.undo
        for i in range(len(undo) - 3, mark - 1, -3):
            container, key, before = undo[i : i + 3]
            if before is _ABSENT:
                del container[key]
            else:
                container[key] = before
                self.swapped.add(id(container))
        del undo[mark:]
