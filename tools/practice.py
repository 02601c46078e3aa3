"""A fresh farm to practise on: the demo farm, its books opened on a morning with much to do.

python tools/practice.py FOLDER INSTANT
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from leyfold.cli.answer import when
from leyfold.log.lines import write
from leyfold.services.round import opening

DEMO = Path(__file__).resolve().parent.parent / "examples" / "demo"


def make(folder: Path, at: str) -> None:
    """Replaces `folder`: what was practised before is gone."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(DEMO, folder)
    records = opening(folder, when(at, folder))
    (folder / "records.jsonl").write_text(write(records), encoding="utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]), sys.argv[2])
