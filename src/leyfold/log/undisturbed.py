"""The collector of cycles paused while many objects are made at once."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["undisturbed"]

MANY = 2_000


@contextmanager
def undisturbed(number: int) -> Iterator[None]:
    """Records make no cycles, and a collector that looks for them again and again takes half of the time
    while many are folded. It goes on where it was running."""
    if number < MANY or not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
