"""A clash between batches with shelters of their own each, and what it is once sorted birds may share."""

from __future__ import annotations

from dataclasses import replace

from leyfold.nouns.planned import Clash, Reason
from leyfold.words import say

__all__ = ["APART", "even_shared", "sharing_helps", "unless_shared"]

APART = "apart"
"""Stands for each batch's having shelters of its own, where nobody knows whether it need be so."""
EASED = frozenset({"shelters", "ground", "hours"})
"""Groups that birds in fewer shelters leave more room in."""


def sharing_helps(told: Clash) -> bool:
    """Whether a clash may not be one where sorted birds of two batches share shelters."""
    return not told.reasons or any(one.group in EASED for one in told.reasons)


def even_shared(told: Clash) -> Clash:
    """A clash of a problem in which birds may share, in words that say so."""
    also = say("plan.group_shelters_shared")
    reasons = (replace(one, said=also) if one.group == "shelters" else one for one in told.reasons)
    return replace(told, reasons=tuple(reasons))


def unless_shared(told: Clash) -> Clash:
    """A clash that is certain only as long as no two batches share a shelter."""
    if not told.reasons:
        return told
    return replace(told, reasons=(*told.reasons, Reason(APART, say("plan.group_apart"))), irreducible=False)
