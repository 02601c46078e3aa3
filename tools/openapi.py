"""Writes docs/openapi.json anew from the server's routes."""

from __future__ import annotations

import json
from pathlib import Path

from leyfold.web.app import openapi

if __name__ == "__main__":
    page = json.dumps(openapi(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"
    (Path(__file__).parents[1] / "docs" / "openapi.json").write_text(page, encoding="utf-8")
