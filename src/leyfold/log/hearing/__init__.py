"""What each kind of record does to the books."""

from __future__ import annotations

from collections.abc import Mapping

from leyfold.log.books import Hear
from leyfold.log.hearing import birds, daily, egg, office

__all__ = ["HEAR"]

HEAR: Mapping[str, Hear] = {**egg.HEAR, **birds.HEAR, **daily.HEAR, **office.HEAR}
"""By kind. Corrections and answers are heard before anything else, by the log itself."""
