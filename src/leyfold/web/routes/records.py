"""Records in and out."""

import json
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from leyfold.log.lines import write
from leyfold.store.records import MOST_PULLED
from leyfold.store.wire import Batch, read_batch
from leyfold.web import shapes
from leyfold.web.house import House
from leyfold.web.made import Made, answer, dumped
from leyfold.web.refusals import Refusal
from leyfold.web.rights import sees, sort_out, targets
from leyfold.web.shown import refused_shown
from leyfold.web.signed import Asking, Here, Signed

router = APIRouter(prefix="/api")

BODY = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {
                "schema": {
                    "type": "object",
                    "required": ["device", "records"],
                    "additionalProperties": False,
                    "properties": {
                        "device": {"type": "string", "minLength": 1, "maxLength": 64},
                        "records": {
                            "type": "array",
                            "maxItems": 200,
                            "items": {"$ref": "#/components/schemas/Wire"},
                        },
                    },
                }
            }
        },
    }
}


@router.post("/sync", operation_id="sync", openapi_extra=BODY)
async def sync(request: Request, house: Here, asking: Signed) -> shapes.Pushed:
    """Records from a device, at most 200. What is named as accepted or as a duplicate is on the disk."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise Refusal(415, "not_json")
    body = await request.body()
    return await run_in_threadpool(_push, house, asking, body)


def _push(house: House, asking: Asking, body: bytes) -> shapes.Pushed:
    batch: Batch = read_batch(body)
    about = targets(batch.records)
    yes, no = sort_out(asking.person, batch.records, house.live.kinds(about) if about else {})
    pushed = house.store.push(yes, batch.device, house.clock.now())
    if pushed.accepted:
        house.changed()
    return shapes.Pushed(
        accepted=list(pushed.accepted),
        duplicates=list(pushed.duplicates),
        refused=[refused_shown(one) for one in (*batch.refused, *no, *pushed.refused)],
        flagged=[refused_shown(one) for one in pushed.flagged],
        cursor=pushed.cursor,
        book=house.book,
    )


@router.get("/records", operation_id="records", response_model=shapes.Pulled)
def records(
    request: Request,
    house: Here,
    asking: Signed,
    since: Annotated[int, Query(ge=0, le=2**53)] = 0,
    limit: Annotated[int, Query(ge=1, le=MOST_PULLED)] = 500,
) -> Response:
    """The records after the cursor `since`, those that this person may see."""
    page = house.store.pull(since, limit)
    now = house.clock.now()
    lines = write(record for record in page.records if sees(asking.person, record, now)).splitlines()
    body = {"records": [], "cursor": page.cursor, "more": page.more, "book": house.book}
    body["records"] = [json.loads(line) for line in lines]
    return answer(request, Made.of(dumped(body)))
