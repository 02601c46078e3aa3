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

    __slots__ = ("_undo", "changed")

    def __init__(self) -> None:
        self.changed: set[int] = set()
        """Identities of lists changed since somebody last looked and cleared it."""
        # Container, key and what was there, one after the other: a tuple each would keep the collector busy.
        self._undo: list[Any] = []

    def mark(self) -> int:
        return len(self._undo)

    def put(self, table: dict[K, V], key: K, value: V) -> None:
        self._undo += (table, key, table.get(key, _ABSENT))
        table[key] = value

    def drop(self, table: dict[K, V], key: K) -> None:
        self._undo += (table, key, table.pop(key))

    def push(self, row: list[V], item: V) -> None:
        self._undo += (row, -1, _ABSENT)
        self.changed.add(id(row))
        row.append(item)

    def insert(self, row: list[V], index: int, item: V) -> None:
        self._undo += (row, index, _ABSENT)
        self.changed.add(id(row))
        row.insert(index, item)

    def swap(self, row: list[V], index: int, item: V) -> None:
        self._undo += (row, index, row[index])
        self.changed.add(id(row))
        row[index] = item

    def rewind(self, mark: int) -> None:
        """Take back all changes since `mark`, the last first."""
        undo = self._undo
        for i in range(len(undo) - 3, mark - 1, -3):
            container, key, before = undo[i : i + 3]
            self.changed.add(id(container))
            if before is _ABSENT:
                del container[key]
            else:
                container[key] = before
        del undo[mark:]
