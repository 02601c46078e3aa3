"""Random numbers that belong to something: a batch, a shelter, a year of weather.

Each gets a stream of its own by name, so that one more batch, or the same batches in another order, leaves
every other draw as it was to the last bit.
"""

from __future__ import annotations

from hashlib import sha256

import numpy as np

__all__ = ["stream"]


def stream(seed: int, *name: object) -> np.random.Generator:
    """The generator of `name` (say a batch id and a process) under `seed` >= 0. The same in every process
    and on every machine: the name is hashed by SHA-256."""
    words = np.frombuffer(sha256("\x1f".join(map(str, name)).encode()).digest(), dtype="<u4")
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence([seed, *map(int, words)])))
