"""The application put together: who guards it, what it answers."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from typing import Any

from fastapi import APIRouter, Depends, FastAPI
from fastapi.responses import JSONResponse
from starlette.types import ASGIApp

from leyfold.web import shapes
from leyfold.web.guard import BODY_S, Guard
from leyfold.web.house import House
from leyfold.web.refusals import refuse_in_shape
from leyfold.web.routes import door, household, pages, people, records, round
from leyfold.web.signed import allow

__all__ = ["make_api", "make_app", "openapi"]

REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"model": shapes.Error, "description": "refused"}
    for status in (400, 401, 403, 404, 405, 408, 413, 415, 421, 422, 429)
}


def make_app(house: House, hosts: Iterable[str] = (), *, body_s: float = BODY_S) -> ASGIApp:
    """The server of one farm, to be run by uvicorn. `hosts` as in `Guard`."""
    return Guard(make_api(house), hosts, body_s=body_s)


def make_api(house: House | None = None) -> FastAPI:
    """Every operation. Without a house nothing can be asked, but all can be described."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        assert house is not None
        async with house.running():
            yield

    app = FastAPI(
        title="Leyfold",
        version="1",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        redirect_slashes=False,
        lifespan=lifespan,
        default_response_class=JSONResponse,
    )
    app.state.house = house
    refuse_in_shape(app)
    guarded = APIRouter(dependencies=[Depends(allow)], responses=REFUSALS)
    for router in (
        door.router,
        records.router,
        round.router,
        people.router,
        door.pages,
        household.router,
        pages.router,
    ):
        guarded.include_router(router)
    app.include_router(guarded)
    app.include_router(pages.last)
    return app


def openapi() -> dict[str, Any]:
    """The description of the API, as it is kept in docs/openapi.json."""
    return make_api().openapi()
