"""`leyfold check`: what is wrong with a farm's files, where, and how to mend it; what its plan runs into."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import plain, print_json, typed
from leyfold.services.check import check_farm
from leyfold.words import say

__all__ = ["check"]


def check(farm: Path, *, json: bool = False) -> int:
    """Look through a farm's files and name every fault with its line and mend. Where there is none, the plan
    is walked day by day, and what it passes is named too.

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    json
        Print one JSON object: the files looked at, the faults, the findings of the plan, the records that
        wait for an answer, and young birds at grass on nights usually too cold for them.
    """
    found = check_farm(farm, datetime.now(UTC))
    if json:
        print_json(
            "check",
            {
                "files": found.files,
                "faults": [asdict(fault) for fault in found.faults],
                "findings": [plain(finding) for finding in found.findings],
                "questions": [plain(question) for question in found.questions],
                "nights": [plain(night) for night in found.nights],
            },
        )
    else:
        for fault in found.faults:
            print(fault)
        files = ", ".join(found.files)
        print(
            say("farm.faults", count=len(found.faults)) if found.faults else say("farm.no_fault", files=files)
        )
        if found.findings:
            many = "one" if len(found.findings) == 1 else "many"
            print(say(f"checker.head_{many}", count=len(found.findings)))
        for finding in found.findings:
            print(f"  {finding.said}")
        if found.nights:
            print(say("checker.nights"))
        for night in found.nights:
            print(f"  {night.said}")
        for question in found.questions:
            print(say("store.asked", question=f"{question.said} {question.mend}"))
        if not found.faults:
            print(say("cli.next_check", farm=typed(farm)))
    return 2 if found.faults else 0
