"""The ordered log of what was written down, and the state of the farm that follows from it. No files, no
SQL: texts and records in, nouns out."""

from leyfold.log.fold import Folding, fold
from leyfold.log.lines import merge, read, write

__all__ = ["Folding", "fold", "merge", "read", "write"]
