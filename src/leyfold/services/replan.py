"""What became of a farm's plan when something happened, and what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

from leyfold.farm.plan_write import plan_text
from leyfold.farm.texts import Texts
from leyfold.nouns.clock import civil
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.replanned import Mend, Replanned
from leyfold.plan.replan.replan import replan
from leyfold.plan.replan.suppose import suppose
from leyfold.season.complete import complete
from leyfold.services.grass import grass_for, own_grass
from leyfold.services.opened import Opened, open_farm
from leyfold.words import say

__all__ = ["ReplanAnswer", "replan_farm", "write_mend"]


FOR_GOOD = timedelta(days=3 * 365)
"""How long birds stay where the plan names no last day: longer than any season."""


@dataclass(frozen=True, slots=True)
class ReplanAnswer:
    opened: Opened
    replanned: Replanned
    inputs_sha256: str


def replan_farm(where: Path | Opened, at: datetime, what: Sequence[str] = ()) -> ReplanAnswer:
    """The farm in `where`, or one already opened, as of `at`, by its records and by what is supposed besides,
    each thing said as `leyfold.plan.replan.suppose` has it.

    BadInput, with every fault, where something said is not understood or cannot have happened.
    """
    opened = open_farm(where, at) if isinstance(where, Path) else where
    today = civil(at, opened.farm.holding.zone)
    supposed, faults = [], list[Fault]()
    for text in what:
        try:
            supposed.append(suppose(opened.described, opened.plan, text, today))
        except BadInput as wrong:
            faults += wrong.faults
    if faults:
        raise BadInput(*faults)
    found = replan(_on_grass(opened), opened.plan, opened.records, at, supposed)
    return ReplanAnswer(opened, found, opened.sha256)


def _on_grass(opened: Opened) -> Farm:
    """The farm as described, with the grass that there is for its plan; as it is where plan or land cannot be
    followed, which is told elsewhere."""
    try:
        farm, _ = grass_for(opened, own_grass(opened), complete(opened.farm, opened.ahead))
    except BadInput:
        return opened.described
    return replace(opened.described, planning=farm.planning)


def write_mend(mend: Mend, day: date, out: Path) -> None:
    """The plan of a mend, from `day` on, as a plan file of its own.

    BadInput, and nothing written, where the file is there already or the plan cannot be said in one. What the
    mend adds to the farm (a shelter, a corner of the barn) is not in farm.toml yet: the plan cannot be
    followed before it is.
    """
    if out.exists():
        wrong = say("replan.out_exists", path=out)
        raise BadInput(Fault("leyfold replan", "--out", wrong, say("replan.out_exists_mend")))
    # Names in a plan file have no dots, and nothing in it lasts for ever.
    end = (mend.plan.last or day + FOR_GOOD) + timedelta(days=1)
    stays = tuple(
        replace(s, id=f"stay{i}", until=min(s.until, end)) for i, s in enumerate(mend.plan.stays, start=1)
    )
    # The machine of a hatched batch is of the past.
    batches = tuple(b if b.origin == "set" else replace(b, incubator=None) for b in mend.plan.batches)
    head = say("replan.out_head", farm=mend.farm.holding.name, mend=mend.said)
    try:
        text = plan_text(mend.farm, replace(mend.plan, batches=batches, stays=stays), head)
    except ValueError as error:
        wrong = say("replan.out_unsaid", reason=error)
        raise BadInput(Fault("leyfold replan", "--out", wrong, say("replan.out_unsaid_mend"))) from None
    Texts(out.parent).write(out.name, text, None)
