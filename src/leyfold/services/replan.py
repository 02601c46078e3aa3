"""What became of a farm's plan when something happened, and what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from leyfold.farm.plan_file import PLAN_FILE
from leyfold.farm.plan_write import write_plan
from leyfold.farm.texts import Texts
from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.replanned import Mend, Replanned
from leyfold.plan.replan.replan import replan
from leyfold.plan.replan.suppose import suppose
from leyfold.services.opened import Opened, open_farm
from leyfold.words import say

__all__ = ["ReplanAnswer", "replan_farm", "write_mend"]


@dataclass(frozen=True, slots=True)
class ReplanAnswer:
    opened: Opened
    replanned: Replanned
    inputs_sha256: str


def replan_farm(where: Path, at: datetime, what: Sequence[str] = ()) -> ReplanAnswer:
    """The farm in `where` as of `at`, by its records and by what is supposed besides, each thing said as
    `leyfold.plan.replan.suppose` has it.

    BadInput, with every fault, where something said is not understood or cannot have happened.
    """
    opened = open_farm(where, at)
    today = civil(at, opened.farm.holding.zone)
    supposed, faults = [], list[Fault]()
    for text in what:
        try:
            supposed.append(suppose(opened.described, opened.plan, text, today))
        except BadInput as wrong:
            faults += wrong.faults
    if faults:
        raise BadInput(*faults)
    found = replan(opened.described, opened.plan, opened.records, at, supposed)
    return ReplanAnswer(opened, found, opened.sha256)


def write_mend(answer: ReplanAnswer, mend: Mend, out: Path) -> None:
    """The plan of a mend as a plan file of its own, its wording that of the farm's plan.toml where it can be.

    BadInput, and nothing written, where the file is there already. What the mend adds to the farm (a shelter,
    a corner of the barn) is not in farm.toml yet: the plan cannot be followed before it is.
    """
    if out.exists():
        wrong = say("replan.out_exists", path=out)
        raise BadInput(Fault("leyfold replan", "--out", wrong, say("replan.out_exists_mend")))
    with TemporaryDirectory() as aside:
        beside = Texts(Path(aside))
        there = beside.write(PLAN_FILE, answer.opened.texts.read(PLAN_FILE).text, None)
        try:
            text = write_plan(beside, mend.farm, mend.plan, there.sha).text
        except ValueError as error:
            wrong = say("replan.out_unsaid", reason=error)
            raise BadInput(Fault("leyfold replan", "--out", wrong, say("replan.out_unsaid_mend"))) from None
    Texts(out.parent).write(out.name, text, None)
