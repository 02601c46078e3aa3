"""The one shape in which the server says no."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["STORE_FULL_S", "Refusal", "page", "refuse_in_shape", "response"]

STORE_FULL_S = 30
"""After so long a phone tries again where the book could not be written."""
_STATUS = {
    400: "not_understood", 401: "sign_in", 403: "right", 404: "nothing_here", 405: "method", 408: "slow",
    413: "too_big", 415: "not_json", 421: "host", 422: "invalid", 429: "not_now",
}  # fmt: skip
_MOST_FAULTS = 50


class Refusal(Exception):
    """To be raised by whatever serves a request: answered with `status` and the sentence `web.no_<code>`."""

    def __init__(self, status: int, code: str, faults: Sequence[Fault] = (), **headers: str) -> None:
        super().__init__(code)
        self.status, self.code, self.faults = status, code, tuple(faults)
        self.headers = {name.replace("_", "-"): value for name, value in headers.items()}


def page(code: str, faults: Iterable[Fault] = ()) -> dict[str, Any]:
    """The body of a refusal."""
    listed = [
        {"where": _place(fault), "field": fault.field, "wrong": fault.wrong, "mend": fault.mend}
        for fault in islice(faults, _MOST_FAULTS)
    ]
    return {"error": {"code": code, "message": say(f"web.no_{code}"), "faults": listed}}


def response(
    status: int, code: str, faults: Iterable[Fault] = (), headers: Mapping[str, str] | None = None
) -> Response:
    """A refusal as an answer. Escaped to ASCII: what came in may be no text at all."""
    body = json.dumps(page(code, faults)).encode()
    return Response(body, status, {**(headers or {}), "Cache-Control": "no-store"}, "application/json")


def refuse_in_shape(app: FastAPI) -> None:
    """Answer every way in which a request can fail in that one shape."""

    async def refusal(_: Request, no: Exception) -> Response:
        assert isinstance(no, Refusal)
        return response(no.status, no.code, no.faults, no.headers)

    async def bad_input(_: Request, no: Exception) -> Response:
        assert isinstance(no, BadInput)
        if no.faults[0].file == "records.db":
            return response(429, "store", no.faults, {"Retry-After": str(STORE_FULL_S)})
        return response(422, "invalid", no.faults)

    async def invalid(_: Request, no: Exception) -> Response:
        assert isinstance(no, RequestValidationError)
        return response(422, "invalid", map(_fault, no.errors()))

    async def http(_: Request, no: Exception) -> Response:
        assert isinstance(no, HTTPException)
        status = no.status_code if no.status_code in _STATUS else 400
        return response(status, _STATUS[status], headers=no.headers)

    app.add_exception_handler(Refusal, refusal)
    app.add_exception_handler(BadInput, bad_input)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(HTTPException, http)


def _place(fault: Fault) -> str:
    return fault.file if fault.line is None else f"{fault.file}:{fault.line}"


def _fault(error: Mapping[str, Any]) -> Fault:
    where, *field = map(str, error.get("loc", ("body",)))
    name = _WRONG.get(str(error.get("type")), "odd")
    ctx = error.get("ctx", {})
    bound = next((ctx[k] for k in ("min_length", "max_length", "ge", "le", "expected") if k in ctx), "")
    return Fault(where, ".".join(field), say(f"web.field_{name}", bound=bound), say(f"web.field_{name}_mend"))


_WRONG = {
    "missing": "missing",
    "extra_forbidden": "unknown",
    "string_too_long": "long",
    "string_too_short": "short",
    "string_type": "text",
    "json_invalid": "json",
    "int_parsing": "number",
    "int_type": "number",
    "greater_than_equal": "small",
    "less_than_equal": "large",
    "date_from_datetime_parsing": "day",
    "date_parsing": "day",
    "datetime_from_date_parsing": "time",
    "datetime_parsing": "time",
    "timezone_aware": "time",
}
