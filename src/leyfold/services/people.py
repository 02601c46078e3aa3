"""Who comes in: by an invitation once, by a passphrase again, and for how long."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass

from leyfold.nouns.farm import Farm, Person
from leyfold.services import passphrases
from leyfold.store.people import People, Session
from leyfold.words import say

__all__ = ["ABSOLUTE_S", "IDLE_S", "INVITED_S", "Doorkeeper", "Entered", "people_of"]

HOUR_S = 3600
DAY_S = 24 * HOUR_S
IDLE_S = 45 * DAY_S
"""A phone may be out of signal for a month and still send what it holds."""
ABSOLUTE_S = 200 * DAY_S
"""About a season."""
INVITED_S = 24 * HOUR_S
_NOTED_S = HOUR_S


@dataclass(frozen=True, slots=True)
class Entered:
    """A session just begun. `token` goes to the browser and is kept nowhere else."""

    token: str
    session: Session


def people_of(farm: Farm) -> Mapping[str, Person]:
    """The people of a farm by id; where its file names nobody, one farmer."""
    return farm.people or {"farmer": Person("farmer", say("web.the_farmer"), "farmer")}


class Doorkeeper:
    """Sessions of one farm. Instants come from the caller, as whole seconds since 1970. Safe for threads."""

    def __init__(self, people: People) -> None:
        self._people = people

    def invite(self, person: str, now_s: int, life_s: int = INVITED_S) -> str:
        """A token that lets one browser in once, as that person."""
        token = secrets.token_urlsafe(32)
        self._people.invite(person, token, now_s + life_s, now_s)
        return token

    def invited(self, token: str, now_s: int) -> str | None:
        """Whom a token would let in."""
        return self._people.invited(token, now_s)

    def accept(self, token: str, name: str, now_s: int, passphrase: str | None, farm: Farm) -> Entered | None:
        """Use an invitation up; None where it is none (any more). A passphrase chosen with it holds from then
        on: BadInput where it may not be, and the invitation stays good."""
        person = people_of(farm).get(self._people.invited(token, now_s) or "")
        if person is None:
            return None
        hash = None
        if passphrase:
            passphrases.check(passphrase, _names(farm, person))
            hash = passphrases.kept(passphrase)
        if self._people.use(token, now_s) != person.id:
            return None
        if hash is not None:
            self._people.set_passphrase(person.id, hash, now_s)
        return self._begin(person.id, name, now_s)

    def sign_in(self, who: str, passphrase: str, name: str, now_s: int, farm: Farm) -> Entered | None:
        """By id or name and passphrase; None where they do not fit, which of the two is not said."""
        person = _called(who, people_of(farm))
        hash = None if person is None else self._people.passphrase(person.id)
        if not passphrases.fits(passphrase, hash) or person is None:
            return None
        return self._begin(person.id, name, now_s)

    def change(self, session: Session, old: str, new: str, now_s: int, farm: Farm) -> bool:
        """Another passphrase for the person of a session, whose other sessions end. False where `old` is not
        the one kept (with none kept, any will do). BadInput where the new one may not be."""
        person = people_of(farm)[session.person]
        passphrases.check(new, _names(farm, person))
        hash = self._people.passphrase(person.id)
        if hash is not None and not passphrases.fits(old, hash):
            return False
        self._people.set_passphrase(person.id, passphrases.kept(new), now_s)
        self._people.end_all(person.id, but=session.id)
        return True

    def session(self, token: str, now_s: int) -> Session | None:
        """The session of a token, None where it is none, was ended or ran out."""
        found = self._people.session(token)
        if found is None:
            return None
        if now_s >= min(found.made_s + ABSOLUTE_S, found.seen_s + IDLE_S):
            self._people.end(found.id)
            return None
        if now_s >= found.seen_s + _NOTED_S:
            self._people.seen(found.id, now_s)
        return found

    def sessions(self, now_s: int) -> tuple[Session, ...]:
        """All that are open, the one used last first."""
        good = (s for s in self._people.sessions() if now_s < min(s.made_s + ABSOLUTE_S, s.seen_s + IDLE_S))
        return tuple(good)

    def end(self, id: str) -> bool:
        """Sign a session out; whether there was one."""
        return self._people.end(id)

    def end_all(self, person: str) -> None:
        """Sign a person out everywhere, open invitations too."""
        self._people.uninvite(person)
        self._people.end_all(person)

    def _begin(self, person: str, name: str, now_s: int) -> Entered:
        token = secrets.token_urlsafe(32)
        session = Session(secrets.token_hex(8), person, name, now_s, now_s)
        self._people.begin(session, token)
        return Entered(token, session)


def _called(who: str, people: Mapping[str, Person]) -> Person | None:
    """The one person of that id, or else of that name."""
    plain = who.strip().casefold()
    found = [p for p in people.values() if p.id == plain] or [
        p for p in people.values() if p.name.casefold() == plain
    ]
    return found[0] if len(found) == 1 else None


def _names(farm: Farm, person: Person) -> tuple[str, ...]:
    return person.id, person.name, farm.holding.name
