"""Inviting, and showing to the door."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Path, Request

from leyfold.services.people import ABSOLUTE_S, IDLE_S, INVITED_S, people_of
from leyfold.web import shapes
from leyfold.web.house import House
from leyfold.web.invitation import link_of, qr_svg
from leyfold.web.refusals import Refusal
from leyfold.web.shown import person_shown
from leyfold.web.signed import Asking, Here, Signed

router = APIRouter(prefix="/api")

Id = Annotated[str, Path(min_length=1, max_length=64)]


@router.post("/invitations", operation_id="invite")
def invite(given: shapes.Invite, request: Request, house: Here, asking: Signed) -> shapes.Invitation:
    """A link, and its QR code, that lets one phone in once, within a day, as one of the people."""
    return make_invitation(given.person, request, house, asking)


def make_invitation(person: str, request: Request, house: House, asking: Asking) -> shapes.Invitation:
    """An invitation as it goes out. Refusal 404 where nobody is called so."""
    found = people_of(house.live.farm()).get(person)
    if found is None:
        raise Refusal(404, "no_person")
    now_s = house.clock.machine_s()
    link = link_of(request, house, house.doors.invite(found.id, now_s))
    house.note("invited", request, person=found.id, by=asking.person.id)
    until = datetime.fromtimestamp(now_s + INVITED_S, UTC)
    return shapes.Invitation(person=person_shown(found), link=link, until=until, svg=qr_svg(link))


@router.get("/sessions", operation_id="sessions")
def sessions(house: Here, asking: Signed) -> list[shapes.SessionShown]:
    """Every browser that is signed in, the one used last first."""
    return sessions_shown(house, asking)


def sessions_shown(house: House, asking: Asking) -> list[shapes.SessionShown]:
    """Every open session as it goes out."""
    people = people_of(house.live.farm())
    here = asking.session.id if asking.session else ""
    return [
        shapes.SessionShown(
            id=one.id,
            person=one.person,
            name=people[one.person].name if one.person in people else one.person,
            device=one.name,
            seen=datetime.fromtimestamp(one.seen_s, UTC),
            until=datetime.fromtimestamp(min(one.made_s + ABSOLUTE_S, one.seen_s + IDLE_S), UTC),
            here=one.id == here,
        )
        for one in house.doors.sessions(house.clock.machine_s())
    ]


@router.post("/sessions/{id}/end", operation_id="end_session")
def end_session(id: Id, request: Request, house: Here, asking: Signed) -> shapes.Ok:
    """Sign one browser out: a phone that is lost."""
    if not house.doors.end(id):
        raise Refusal(404, "nothing_here")
    house.note("signed out", request, session=id, by=asking.person.id)
    return shapes.Ok()


@router.post("/people/{person}/end", operation_id="end_person")
def end_person(
    person: Annotated[str, Path(max_length=64)], request: Request, house: Here, asking: Signed
) -> shapes.Ok:
    """Sign a person out everywhere; invitations not used yet are void."""
    house.doors.end_all(person)
    house.note("signed out everywhere", request, person=person, by=asking.person.id)
    return shapes.Ok()
