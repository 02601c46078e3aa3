"""Passphrases: which may be chosen, and how they are kept.

As NIST SP 800-63B (rev. 4, 2025, section 3.1.1.2) has it: a least length, no rules of composition, common
ones refused, taken exactly as given. Kept as Argon2id with the second choice of RFC 9106 (section 4): 3
passes, 64 MiB, 4 lanes.
"""

from __future__ import annotations

from functools import cache
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

if TYPE_CHECKING:
    from argon2 import PasswordHasher

__all__ = ["LONGEST", "SHORTEST", "check", "fits", "kept"]

SHORTEST, LONGEST = 8, 128
"""In characters, both counted."""

_AT_ONCE = BoundedSemaphore(2)
"""Each takes 64 MiB: many who try at once wait for each other."""


def check(passphrase: str, names: tuple[str, ...] = ()) -> None:
    """BadInput where it is too short, too long, or among the first that anybody would try: one of the 30,000
    most common, or one of `names` (of the person, the farm)."""
    if len(passphrase) < SHORTEST:
        raise _no("short", least=SHORTEST)
    if len(passphrase) > LONGEST:
        raise _no("long", most=LONGEST)
    plain = passphrase.casefold().strip()
    if plain in _common() or plain in {name.casefold() for name in names} or len(set(plain)) < 3:
        raise _no("common")


def kept(passphrase: str) -> str:
    """What may be kept of a passphrase."""
    with _AT_ONCE:
        return _hasher().hash(passphrase)


def fits(passphrase: str, hash: str | None) -> bool:
    """Whether the passphrase is the one kept. Without one it takes as long to say no."""
    from argon2.exceptions import InvalidHashError, VerificationError

    with _AT_ONCE:
        try:
            _hasher().verify(hash or _nobodys(), passphrase[: LONGEST + 1])
        except (VerificationError, InvalidHashError):
            return False
    return hash is not None


def _no(name: str, **values: object) -> BadInput:
    wrong, mend = say(f"web.passphrase_{name}", **values), say(f"web.passphrase_{name}_mend", **values)
    return BadInput(Fault("passphrase", "passphrase", wrong, mend))


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher, profiles

    return PasswordHasher.from_parameters(profiles.RFC_9106_LOW_MEMORY)


@cache
def _nobodys() -> str:
    return _hasher().hash("nobody's passphrase")


@cache
def _common() -> frozenset[str]:
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    return frozenset(FREQUENCY_LISTS["passwords"])
