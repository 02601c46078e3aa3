"""Coming in and going out."""

from importlib.metadata import version
from typing import Annotated

from fastapi import APIRouter, Path, Request, Response
from starlette.responses import RedirectResponse

from leyfold.services.people import Entered
from leyfold.web import shapes
from leyfold.web.browser import browser_name
from leyfold.web.house import House
from leyfold.web.limits import Limit
from leyfold.web.refusals import Refusal
from leyfold.web.rights import RIGHTS
from leyfold.web.shown import farm_shown, person_shown
from leyfold.web.signed import Here, Signed, cookie_name, let_in, let_out

router = APIRouter(prefix="/api")
pages = APIRouter()

Token = Annotated[str, Path(min_length=1, max_length=128)]

BY_ADDRESS = Limit(10, 1 / 30)
BY_NAME = Limit(10, 1 / 120)
"""Passphrases that did not fit: ten at once, then one in half a minute, in two minutes for one name."""
OPENED_BY_ITS_USER = {
    "sec-fetch-site": ("none", "same-origin"),
    "sec-fetch-mode": ("navigate",),
    "sec-fetch-dest": ("document",),
}


@router.get("/me", operation_id="me")
def me(house: Here, asking: Signed) -> shapes.Me:
    """Who is signed in, what they may do, and the farm."""
    return shapes.Me(
        person=person_shown(asking.person),
        rights=sorted(RIGHTS[asking.person.role]),
        csrf=asking.csrf,
        farm=farm_shown(house.live.farm()),
        now=house.clock.now(),
        practice=house.clock.is_practice,
        version=version("leyfold"),
    )


@router.post("/sign-in", operation_id="sign_in")
def sign_in(given: shapes.SignIn, request: Request, response: Response, house: Here) -> shapes.Ok:
    """Come back with a passphrase."""
    _not_too_often(request, house, given.name)
    entered = house.doors.sign_in(
        given.name, given.passphrase, browser_name(request), house.clock.machine_s(), house.live.farm()
    )
    if entered is None:
        BY_ADDRESS.take((id(house), _address(request)))
        BY_NAME.take((id(house), given.name.casefold()))
        house.note("sign-in refused", request, name=given.name)
        raise Refusal(401, "sign_in_wrong")
    _take_in(house, request, response, entered)
    return shapes.Ok()


@router.post("/invitations/{token}/accept", operation_id="accept_invitation")
def accept(
    token: Token, given: shapes.Accept, request: Request, response: Response, house: Here
) -> shapes.Ok:
    """Come in by an invitation; a passphrase, if one is chosen, lets the person come back."""
    _not_too_often(request, house, "")
    now_s, farm = house.clock.machine_s(), house.live.farm()
    entered = house.doors.accept(token, browser_name(request), now_s, given.passphrase, farm)
    if entered is None:
        BY_ADDRESS.take((id(house), _address(request)))
        house.note("invitation refused", request)
        raise Refusal(401, "invitation")
    _take_in(house, request, response, entered)
    return shapes.Ok()


@router.post("/sign-out", operation_id="sign_out")
def sign_out(request: Request, response: Response, house: Here, asking: Signed) -> shapes.Ok:
    """End this session."""
    assert asking.session is not None
    house.doors.end(asking.session.id)
    house.note("signed out", request, person=asking.person.id)
    let_out(request, response)
    return shapes.Ok()


@router.post("/passphrase", operation_id="change_passphrase")
def change_passphrase(
    given: shapes.NewPassphrase, request: Request, house: Here, asking: Signed
) -> shapes.Ok:
    """Choose another passphrase. All other sessions of the person end."""
    assert asking.session is not None
    _not_too_often(request, house, asking.person.id)
    now_s, farm = house.clock.machine_s(), house.live.farm()
    if not house.doors.change(asking.session, given.now, given.new, now_s, farm):
        BY_NAME.take((id(house), asking.person.id))
        raise Refusal(403, "passphrase")
    house.note("passphrase changed", request, person=asking.person.id)
    return shapes.Ok()


@pages.get("/in/{token}", operation_id="enter", include_in_schema=False)
def enter(token: Token, request: Request, house: Here) -> Response:
    """The link that `leyfold serve` opens on its own machine: in, and on to the round. No page elsewhere can
    have it followed."""
    for name, meant in OPENED_BY_ITS_USER.items():
        if request.headers.get(name) not in (None, *meant):
            raise Refusal(403, "origin")
    _not_too_often(request, house, "")
    now_s, farm = house.clock.machine_s(), house.live.farm()
    onward = RedirectResponse("/", 303)
    entered = house.doors.accept(token, browser_name(request), now_s, None, farm)
    if entered is not None:
        _take_in(house, request, onward, entered)
    else:
        BY_ADDRESS.take((id(house), _address(request)))
    return onward


def _take_in(house: House, request: Request, response: Response, entered: Entered) -> None:
    """A new session takes the place of the one this browser had."""
    before = house.doors.session(request.cookies.get(cookie_name(request), ""), house.clock.machine_s())
    if before is not None:
        house.doors.end(before.id)
    house.note("signed in", request, person=entered.session.person, session=entered.session.id)
    let_in(request, response, entered.token)


def _not_too_often(request: Request, house: House, name: str) -> None:
    wait = BY_ADDRESS.wait((id(house), _address(request)))
    if name:
        wait = max(wait, BY_NAME.wait((id(house), name.casefold())))
    if wait:
        raise Refusal(429, "not_now", Retry_After=str(wait))


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
