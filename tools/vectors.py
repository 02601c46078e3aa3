"""Make again what the phone is built on: tests/vectors/rounds.json and the cards of tests/vectors/cards.json.

The examples beside the cards and tests/vectors/overlay.json are written by hand; tests hold them to the book.
"""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from leyfold.farm.read import read_farm
from leyfold.farm.texts import Texts
from leyfold.services.round import cards, records, rounds_of

ROOT = Path(__file__).parents[1]
DEMO, VECTORS = ROOT / "examples" / "demo", ROOT / "tests" / "vectors"
PRACTICE = datetime(2027, 5, 8, 6, 10, tzinfo=ZoneInfo("Europe/Stockholm"))
"""A Saturday with chicks under heat, shelters at grass, hens and cattle, and a turnout into a cold night."""


def main() -> None:
    held = json.loads((VECTORS / "cards.json").read_text(encoding="utf-8"))
    write("cards.json", held | cards(read_farm(Texts(DEMO))))
    write("rounds.json", records(rounds_of(DEMO, PRACTICE, days=8)))


def write(name: str, value: dict[str, Any]) -> None:
    text = json.dumps(value, ensure_ascii=False, indent=1)
    (VECTORS / name).write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
