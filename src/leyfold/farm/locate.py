"""In which line of a TOML text a key stands: the standard reader gives values but no lines."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress

__all__ = ["Lines", "Path", "locate"]

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|' r"'''.*?'{3,5}|" r'"(?:[^"\\\n]|\\.)*"|' r"'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}#\r\n]+")


class Lines:
    """The line, counted from 1, of every table, key and list item of one text."""

    def __init__(self, lines: Mapping[Path, int]) -> None:
        self._lines = lines

    def of(self, path: Sequence[str | int]) -> int | None:
        """The line of `path`, or of the nearest thing around it; None where nothing of it is there."""
        for length in range(len(path), 0, -1):
            line = self._lines.get(tuple(path[:length]))
            if line is not None:
                return line
        return None


def locate(text: str) -> Lines:
    """Lines of a text that is known to be good TOML; anything else gives lines up to the fault."""
    scan = _Scan(text)
    with suppress(_Lost, IndexError):
        scan.document()
    return Lines(scan.lines)


class _Lost(Exception):
    """The text is no TOML from here on."""


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self._lists: dict[Path, int] = {}
        self._counted_at, self._line = 0, 1

    def document(self) -> None:
        table: Path = ()
        while self._skip(_BLANK) < len(self.text):
            if self._peek("[["):
                self.at += 2
                table = self._item(self._keys())
                self._take("]]")
            elif self._peek("["):
                self.at += 1
                table = self._inside(self._keys())
                self._take("]")
            else:
                self._pair(table)

    def _pair(self, table: Path) -> None:
        line = self._here()
        keys = self._keys()
        for length in range(1, len(keys) + 1):
            self.lines.setdefault((*table, *keys[:length]), line)
        self._take("=")
        self._value((*table, *keys))

    def _value(self, path: Path) -> None:
        self._skip(_SPACE)
        if self._peek("["):
            self.at += 1
            index = 0
            self._skip(_BLANK)
            while not self._peek("]"):
                self.lines.setdefault((*path, index), self._here())
                self._value((*path, index))
                index += 1
                self._comma()
            self.at += 1
        elif self._peek("{"):
            self.at += 1
            self._skip(_BLANK)
            while not self._peek("}"):
                self._pair(path)
                self._comma()
            self.at += 1
        elif not (self._match(_STRING) or self._match(_SCALAR)):
            raise _Lost

    def _comma(self) -> None:
        self._skip(_BLANK)
        if self._peek(","):
            self.at += 1
            self._skip(_BLANK)

    def _keys(self) -> tuple[str, ...]:
        keys = []
        while True:
            self._skip(_SPACE)
            quoted = self._match(_STRING)
            if quoted:
                keys.append(_unquoted(quoted))
            else:
                bare = self._match(_BARE)
                if not bare:
                    raise _Lost
                keys.append(bare)
            self._skip(_SPACE)
            if not self._peek("."):
                return tuple(keys)
            self.at += 1

    def _inside(self, keys: Sequence[str]) -> Path:
        """The full path of a header: inside the last item of any list of tables on the way."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            self.lines.setdefault(path, self._here())
            if path in self._lists:
                path = (*path, self._lists[path])
        return path

    def _item(self, keys: Sequence[str]) -> Path:
        """The path of the new item that a [[header]] begins."""
        line = self._here()
        path = (*self._inside(keys[:-1]), keys[-1])
        self._lists[path] = self._lists.get(path, -1) + 1
        self.lines.setdefault(path, line)
        item = (*path, self._lists[path])
        self.lines[item] = line
        return item

    def _here(self) -> int:
        self._line += self.text.count("\n", self._counted_at, self.at)
        self._counted_at = self.at
        return self._line

    def _skip(self, pattern: re.Pattern[str]) -> int:
        found = pattern.match(self.text, self.at)
        if found:
            self.at = found.end()
        return self.at

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if not found:
            return ""
        self.at = found.end()
        return found.group()

    def _peek(self, mark: str) -> bool:
        if self.at >= len(self.text):
            raise _Lost
        return self.text.startswith(mark, self.at)

    def _take(self, mark: str) -> None:
        self._skip(_SPACE)
        if not self._peek(mark):
            raise _Lost
        self.at += len(mark)


def _unquoted(key: str) -> str:
    if key[0] == "'":
        return key[1:-1]
    import tomllib

    value = tomllib.loads(f"key = {key}")["key"]
    return str(value)
