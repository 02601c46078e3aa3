"""Pages: the season of the year, and everything that is not `/api/`: the round."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from leyfold.nouns.errors import BadInput
from leyfold.paper.page import faults_page
from leyfold.services.page import page_of
from leyfold.web.house import House
from leyfold.web.made import Made, answer
from leyfold.web.refusals import Refusal
from leyfold.web.signed import Here
from leyfold.web.static_files import Static

router = APIRouter(include_in_schema=False)
last = APIRouter(include_in_schema=False)

HTML = "text/html; charset=utf-8"
YEAR_POLICY = "frame-ancestors 'none'; object-src 'none'"
"""The page's own, stricter, policy stands in its head."""


@router.get("/year", operation_id="year")
async def year(request: Request, house: Here) -> Response:
    """The season as one page; 422, with every fault, where the farm's files cannot be used."""
    key = ("year", house.live.mark(), house.today())
    try:
        status, made = 200, await house.pages.get(key, lambda: _year(house))
    except BadInput as wrong:
        status, made = 422, Made.of(faults_page(wrong.faults).encode(), HTML)
    return answer(request, made, status, Content_Security_Policy=YEAR_POLICY)


def _year(house: House) -> Made:
    return Made.of(page_of(house.folder, house.clock.now()).encode(), HTML)


STATIC = Static()


@last.api_route("/{path:path}", methods=["GET", "HEAD"], operation_id="page")
def page(path: str, request: Request) -> Response:
    """A file of the round, or its first page."""
    if path == "api" or path.startswith("api/"):
        raise Refusal(404, "nothing_here")
    return STATIC.answer(request, path)
