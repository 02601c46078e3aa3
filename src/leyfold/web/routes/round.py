"""The round, the state behind it, and what to do when it goes wrong."""

from datetime import date, datetime, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import AwareDatetime
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from leyfold.nouns.clock import civil
from leyfold.services.round import cards
from leyfold.services.state_records import ROUND, state_records
from leyfold.web import shapes
from leyfold.web.house import House
from leyfold.web.made import Made, answer, dumped
from leyfold.web.refusals import Refusal
from leyfold.web.rights import RIGHTS
from leyfold.web.signed import Asking, Here, Signed
from leyfold.web.week import DAYS

router = APIRouter(prefix="/api")

STATE_KEPT = timedelta(minutes=10)


@router.get("/rounds", operation_id="rounds", response_model=shapes.Rounds)
async def rounds(
    request: Request,
    house: Here,
    asking: Signed,
    first: Annotated[date | None, Query()] = None,
    days: Annotated[int, Query(ge=1, le=DAYS)] = DAYS,
) -> Response:
    """Morning and evening of up to eight days from today on, with every record that was accepted before this
    was asked. Who may not see the week gets today and tomorrow."""
    today = house.today()
    first = first or today
    if not _may_week(asking):
        last = min(first + timedelta(days=days), today + timedelta(days=2))
        days = max(0, (last - first).days)
    week = await house.week((first - today).days + days)
    return answer(request, week.days(first, days))


@router.get("/state", operation_id="state")
async def state(
    request: Request,
    house: Here,
    asking: Signed,
    at: Annotated[AwareDatetime | None, Query()] = None,
    days: Annotated[int, Query(ge=1, le=400)] = 14,
) -> Response:
    """The state of the farm by its records, now or at another instant; what happened is listed for the last
    `days` days."""
    if at is not None and not _may_week(asking):
        raise Refusal(403, "right")
    only = None if _may_week(asking) else ROUND
    now = house.clock.now()
    # Without records in between, only the clock changes what is open: looked at again every few minutes.
    slot = int(now.timestamp() // STATE_KEPT.total_seconds())
    key = ("state", house.live.mark(), house.today(), at or slot, days, only)
    return answer(request, await house.pages.get(key, lambda: _state(house, at or now, now, days, only)))


def _state(house: House, at: datetime, now: datetime, days: int, only: frozenset[str] | None) -> Made:
    found = house.live.state(at, now)
    since = civil(at, house.live.farm().holding.zone) - timedelta(days=days)
    return Made.of(dumped(state_records(found, since, only)))


@router.get("/cards", operation_id="cards")
def cards_page(house: Here) -> dict[str, Any]:
    """What to do when something has happened: for a phone to keep."""
    return cards(house.live.farm())


@router.post("/replan", operation_id="replan")
async def replan(given: shapes.Replan, house: Here) -> dict[str, Any]:
    """What becomes of the plan, by the records and by what is supposed besides, and what to do."""
    return await run_in_threadpool(_replan, house, given.what)


def _replan(house: House, what: list[str]) -> dict[str, Any]:
    from leyfold.services.replan import replan_farm
    from leyfold.services.replan_records import records

    now = house.clock.now()
    answer = replan_farm(house.live.opened(now), now, what)
    return {"inputs_sha256": answer.inputs_sha256, **records(answer.replanned)}


@router.get("/sound", operation_id="sound")
async def sound(house: Here) -> shapes.Sound:
    """Is everything in order with the farm's book and its copies?"""
    from leyfold.services.sound import look_over

    found = await run_in_threadpool(look_over, house.folder, house.clock.now())
    listed = [shapes.Found(what=f.what, grade=f.grade, said=f.said, mend=f.mend) for f in found]
    return shapes.Sound(findings=listed)


def _may_week(asking: Asking) -> bool:
    return "week" in RIGHTS[asking.person.role]
