"""Who is asking: the cookie's session, and the one check that every operation goes through."""

import hashlib
import hmac
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request, Response

from leyfold.nouns.farm import Person
from leyfold.services.people import ABSOLUTE_S, people_of
from leyfold.store.people import Session
from leyfold.web import rights
from leyfold.web.guard import SAFE
from leyfold.web.house import House
from leyfold.web.limits import Limit
from leyfold.web.refusals import Refusal

__all__ = ["Asking", "Here", "Signed", "allow", "cookie_name", "csrf_of", "house_of", "let_in", "let_out"]

TRIES = Limit(30, 0.2)
"""Requests with a session that is none, by address."""
OFTEN = Limit(600, 30.0)
"""Requests of one session."""


@dataclass(frozen=True, slots=True)
class Asking:
    """The person who asks, and the session they do it with (None: a command on this machine)."""

    person: Person
    session: Session | None
    csrf: str


def house_of(request: Request) -> House:
    """What the server serves."""
    house = request.app.state.house
    assert isinstance(house, House)
    return house


def allow(request: Request) -> None:
    """Every operation depends on this: refused unless the table of rights lets this person ask for it."""
    operation = request.scope["route"].operation_id or request.scope["route"].name
    needed = rights.OPERATIONS.get(operation)
    if needed == rights.OPEN:
        return
    house = house_of(request)
    asking = _with_token(request, house, operation) or _with_cookie(request, house)
    if not rights.may(asking.person.role, operation):
        house.note("refused", request, person=asking.person.id, operation=operation)
        raise Refusal(403, "right")
    request.state.asking = asking


def _with_token(request: Request, house: House, operation: str) -> Asking | None:
    given = request.headers.get("authorization")
    if given is None:
        return None
    if operation in rights.BY_TOKEN and house.is_token(given):
        return Asking(house.farmer(), None, "")
    _slow_down(request)
    raise Refusal(401, "sign_in")


def _with_cookie(request: Request, house: House) -> Asking:
    token = request.cookies.get(cookie_name(request), "")
    session = house.doors.session(token, house.clock.machine_s()) if token else None
    person = None if session is None else people_of(house.live.farm()).get(session.person)
    if session is None or person is None:
        if token:
            _slow_down(request)
        raise Refusal(401, "sign_in")
    if wait := OFTEN.take((id(house), session.id)):
        raise Refusal(429, "not_now", Retry_After=str(wait))
    csrf = csrf_of(token)
    shown = request.headers.get("x-leyfold", "")
    is_form = request.scope["route"].name == "people_page_act"  # carries the word in the form itself
    if request.method not in SAFE and not is_form and not hmac.compare_digest(shown.encode(), csrf.encode()):
        raise Refusal(403, "csrf")
    return Asking(person, session, csrf)


def _slow_down(request: Request) -> None:
    address = request.client.host if request.client else ""
    if wait := TRIES.take((id(house_of(request)), address)):
        raise Refusal(429, "not_now", Retry_After=str(wait))


def csrf_of(token: str) -> str:
    """The word that a page of ours knows and a page elsewhere does not: from the session's token, which no
    script can read, one way."""
    return hashlib.sha256(b"csrf" + token.encode()).hexdigest()


def cookie_name(request: Request) -> str:
    """Cookies know no ports: two farms on one machine must not take each other's."""
    port = (request.scope.get("server") or ("", 0))[1]
    return f"{'__Host-' if request.url.scheme == 'https' else ''}leyfold-{port}"


def let_in(request: Request, response: Response, token: str) -> None:
    """Put the session into the browser, where only this server gets it back."""
    response.set_cookie(
        cookie_name(request), token, max_age=ABSOLUTE_S, path="/", httponly=True, samesite="strict",
        secure=request.url.scheme == "https",
    )  # fmt: skip


def let_out(request: Request, response: Response) -> None:
    """Take the session out of the browser."""
    secure = request.url.scheme == "https"
    response.delete_cookie(cookie_name(request), path="/", httponly=True, samesite="strict", secure=secure)


# Awaited, though there is nothing to wait for: what is not would be handed to a thread and back.
async def _asking(request: Request) -> Asking:
    asking = request.state.asking
    assert isinstance(asking, Asking)
    return asking


async def _here(request: Request) -> House:
    return house_of(request)


Here = Annotated[House, Depends(_here)]
Signed = Annotated[Asking, Depends(_asking)]
