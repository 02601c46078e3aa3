"""`leyfold record`: write down one fact."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from leyfold.cli.answer import print_json
from leyfold.log.kinds import KINDS
from leyfold.nouns.errors import BadInput, Fault
from leyfold.words import say

__all__ = ["record"]


def record(
    farm: Path,
    *words: str,
    at: str | None = None,
    who: str | None = None,
    anyway: bool = False,
    json: bool = False,
) -> int:
    """Write down one fact, like: leyfold record FARM found dead place=s3 heads=2 --at 06:10

    Parameters
    ----------
    farm
        The farm's folder, or its farm.toml.
    words
        The kind, then what it holds as NAME=VALUE; lists by commas, yes or no. The kind alone says what it
        holds. Kinds: {kinds}.
    at
        When it happened on the farm's clock: 06:10 (today) or 2027-03-01T06:10. Now, unless given.
    who
        Who saw it. The user of this machine, unless given.
    anyway
        Keep it though it contradicts the book or may be there already: it is asked about then.
    json
        Print one JSON object: the record.
    """
    from leyfold.services.records import kind_of, write_down

    kind = " ".join(word for word in words if "=" not in word)
    pairs = [word.partition("=") for word in words if "=" in word]
    if not pairs or not kind:
        raise BadInput(Fault("record", "", *_holds(kind_of(kind) if kind else None)))
    said = {key: value for key, _, value in pairs}
    now = datetime.now(UTC)
    kept = write_down(farm, kind, said, who=who or _user(), at=at, now=now, anyway=anyway)
    if json:
        from json import loads

        from leyfold.log.lines import write

        print_json("record", loads(write([kept.record])))
        return 0
    values = " ".join(f"{key}={value}" for key, value in said.items())
    print(say("store.written_down", kind=kept.record.kind, values=values, id=kept.record.id))
    for question in kept.questions:
        print(say("store.asked", question=question.said))
    return 0


def _holds(kind: str | None) -> tuple[str, str]:
    """What is wrong, and the mend: the kinds there are, or what the one named holds."""
    if kind is None:
        return say("store.which_kind"), say("store.which_kind_mend", kinds=", ".join(KINDS))
    fields = KINDS[kind].model_fields
    names = [(info.alias or name) + ("" if info.is_required() else "?") for name, info in fields.items()]
    return say("store.holds", kind=kind), say("store.holds_mend", fields=", ".join(names))


def _user() -> str:
    from getpass import getuser

    try:
        return getuser()[:64]
    except (OSError, KeyError):  # a user without a name, as in a container
        return "farmer"


record.__doc__ = str(record.__doc__).replace("{kinds}", ", ".join(KINDS))
