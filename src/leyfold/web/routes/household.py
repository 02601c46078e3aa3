"""The people's page: invite, see who is signed in where, sign a lost phone out. Plain, without scripts."""

import hmac
from urllib.parse import parse_qs

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from leyfold.paper.svg import el, escape
from leyfold.services.people import people_of
from leyfold.web.house import House
from leyfold.web.plain import plain_page
from leyfold.web.refusals import Refusal
from leyfold.web.routes.people import make_invitation, sessions_shown
from leyfold.web.signed import Asking, Here, Signed
from leyfold.words import say
from leyfold.words.forms import day

router = APIRouter(include_in_schema=False)

ROLES = {
    "farmer": "web.role_farmer",
    "helper": "web.role_helper",
    "child": "web.role_child",
    "looker-on": "web.role_looker_on",
}
_MOST_BYTES = 2000


@router.get("/people", operation_id="people_page", name="people_page")
def people_page(house: Here, asking: Signed) -> Response:
    """Everybody of the farm, with what may be done."""
    people = people_of(house.live.farm()).values()
    invite = (
        el(
            "li",
            escape(say("web.person", name=one.name, role=say(ROLES[one.role]))),
            " ",
            _button(asking, say("web.invite", name=one.name), invite=one.id),
        )
        for one in people
    )
    rows = []
    for one in sessions_shown(house, asking):
        seen = day(one.seen.date(), house.live.farm().holding.language)
        words = say("web.session_here" if one.here else "web.session", device=one.device, seen=seen)
        end = _button(asking, say("web.end", name=one.name, device=one.device), end=one.id)
        rows.append(el("li", escape(f"{one.name}: {words}"), " ", end))
    return plain_page(
        say("web.people_title"),
        el("p", escape(say("web.people_invite"))),
        el("ul", *invite),
        el("h2", escape(say("web.people_sessions"))),
        el("ul", *rows),
        el("p", el("a", escape(say("web.to_round")), href="/")),
    )


@router.post("/people", operation_id="people_page_act", name="people_page_act")
async def people_page_act(request: Request, house: Here, asking: Signed) -> Response:
    """What a button of the page asks for."""
    body = await request.body()
    if len(body) > _MOST_BYTES:
        raise Refusal(413, "too_big")
    try:
        given = {name: values[0] for name, values in parse_qs(body.decode("ascii"), max_num_fields=4).items()}
    except ValueError:
        raise Refusal(400, "not_understood") from None
    if not hmac.compare_digest(given.get("word", "").encode(), asking.csrf.encode()):
        raise Refusal(403, "csrf")
    return await run_in_threadpool(_act, request, house, asking, given)


def _act(request: Request, house: House, asking: Asking, given: dict[str, str]) -> Response:
    if "end" in given:
        house.doors.end(given["end"])
        house.note("signed out", request, session=given["end"], by=asking.person.id)
        return RedirectResponse("/people", 303)
    made = make_invitation(given.get("invite", ""), request, house, asking)
    return plain_page(
        say("web.invitation_title", name=made.person.name),
        el("p", escape(say("web.invitation_how"))),
        made.svg,
        el("p", el("a", escape(made.link), href=made.link)),
        el("p", el("a", escape(say("web.to_people")), href="/people")),
    )


def _button(asking: Asking, words: str, **fields: str) -> str:
    hidden = (
        el("input", type="hidden", name=name, value=value)
        for name, value in {"word": asking.csrf, **fields}.items()
    )
    button = el("button", escape(words), type="submit")
    return el("form", *hidden, button, method="post", action="/people")
