"""From egg to chick."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from leyfold.log.kinds.base import Id, Kg, Number, Payload, Some

__all__ = ["Candled", "Hatched", "Set", "Tended", "TrayWeighed"]


class Set(Payload):
    """Eggs put into an incubator together. `stored_d`: the days they were gathered over."""

    batch: Id
    line: Id
    eggs: Some
    incubator: Id | None = None
    stored_d: Annotated[int, Field(strict=True, ge=0, le=60)] | None = None


class Candled(Payload):
    """Of the batch's eggs, those with a germ, living or dead; `dead` of them have died. A later candling
    replaces an earlier one."""

    batch: Id
    fertile: Number
    dead: Number | None = None


class TrayWeighed(Payload):
    """A tray with its eggs on the scales: the loss since it was set tells whether the air is too dry."""

    batch: Id
    kg: Kg
    tray: Id | None = None
    eggs: Some | None = None


class Tended(Payload):
    """What an incubator was given by hand: its eggs turned, water for the damp."""

    incubator: Id
    what: Literal["turned", "damp"]


class Hatched(Payload):
    """Chicks taken off, and the place they went to. What the eggs left over held when they were opened:
    `clear`, `early_dead`, `late_dead` (dead in the shell), `pipped`."""

    batch: Id
    chicks: Number
    place: Id
    clear: Number | None = None
    early_dead: Number | None = None
    late_dead: Number | None = None
    pipped: Number | None = None
