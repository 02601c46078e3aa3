"""Every sentence a user reads, by key.

One TOML file a room and language: `words/en/season.toml` holds the keys `season.*`. A sentence is a
`str.format` pattern; numbers and dates are formatted by `leyfold.words.forms`.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

__all__ = ["say", "sentences"]

LANGUAGE = "en"


@cache
def sentences(room: str, language: str = LANGUAGE) -> dict[str, str]:
    """All sentences of one room. KeyError for a room without words."""
    page = files("leyfold.words") / language / f"{room}.toml"
    if not page.is_file():
        raise KeyError(f"no words for room {room!r} in language {language!r}")
    return tomllib.loads(page.read_text(encoding="utf-8"))


def say(key: str, /, **values: object) -> str:
    """The sentence `room.name`, filled in. KeyError for an unknown key or a value left out."""
    room, _, name = key.partition(".")
    try:
        pattern = sentences(room)[name]
    except KeyError:
        raise KeyError(f"no sentence {key!r}") from None
    return pattern.format(**values)
