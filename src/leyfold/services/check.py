"""Everything wrong with a farm's files, in one go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from leyfold.farm.plan_file import PLAN_FILE, read_plan, read_shape
from leyfold.farm.read import FARM_FILE, read_farm
from leyfold.farm.texts import Texts, folder_of
from leyfold.log import fold
from leyfold.nouns.errors import BadInput, Fault
from leyfold.nouns.farm import Farm
from leyfold.nouns.planned import Finding
from leyfold.nouns.question import Question
from leyfold.plan.checker import check, nights
from leyfold.season.complete import complete
from leyfold.services.grass import grass_for, own_grass
from leyfold.services.opened import BOOK, RECORDS, open_farm, read_all

__all__ = ["Checked", "check_farm"]


@dataclass(frozen=True, slots=True)
class Checked:
    """The files looked at, and all faults found in them, file by file. Where there are none: what the plan,
    by now, comes to that cannot or must not be, the records that do not count until somebody answers, and
    young birds at grass on nights that are usually too cold for them."""

    files: tuple[str, ...]
    faults: tuple[Fault, ...]
    findings: tuple[Finding, ...] = ()
    questions: tuple[Question, ...] = ()
    nights: tuple[Finding, ...] = ()


def check_farm(where: Path, at: datetime) -> Checked:
    """Look through farm.toml, plan.toml and, where there are any, the records, up to the instant `at`.

    Where the farm itself is faulty, the others are looked at for their form alone.
    """
    texts = Texts(folder_of(where))
    names = [FARM_FILE, PLAN_FILE]
    faults: list[Fault] = []
    farm: Farm | None = None
    for name in names:
        try:
            if name == FARM_FILE:
                farm = read_farm(texts)
            else:
                read_shape(texts) if farm is None else read_plan(texts, farm)
        except BadInput as wrong:
            faults += wrong.faults
    written = [name for name in (RECORDS, BOOK) if texts.has(name)]
    try:
        records, _ = read_all(texts)
        if farm is not None and records:
            fold(farm, records, at, strict=True)
    except BadInput as wrong:
        faults += wrong.faults
    findings: tuple[Finding, ...] = ()
    questions: tuple[Question, ...] = ()
    cold: tuple[Finding, ...] = ()
    if not faults:
        try:
            opened = open_farm(where, at)
            plan = complete(opened.farm, opened.ahead)
            on_grass, _ = grass_for(opened, own_grass(opened), plan)
            findings, cold = check(on_grass, plan, opened.state), nights(opened.farm, plan)
            questions = opened.state.questions
        except BadInput as wrong:
            faults += wrong.faults
    return Checked((*names, *written), tuple(faults), findings, questions, cold)
