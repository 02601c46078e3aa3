"""A completed plan walked day by day by a second arithmetic, and everything in it that cannot or must not be.

Nothing here is shared with the planner's model or with the season: only the nouns, the farm's figures and the
published equations of `nature`. Heads are those of an average year; a finding names a run of days.
"""

from __future__ import annotations

from leyfold.nouns.farm import Farm
from leyfold.nouns.plan import Plan
from leyfold.nouns.planned import Finding
from leyfold.nouns.record import State
from leyfold.plan.checker.book import open_book
from leyfold.plan.checker.dates import dates
from leyfold.plan.checker.eggs import eggs
from leyfold.plan.checker.grass import grass
from leyfold.plan.checker.hands import hands
from leyfold.plan.checker.killing import killing
from leyfold.plan.checker.limits import limits
from leyfold.plan.checker.nets import nets
from leyfold.plan.checker.placed import forgotten, placed
from leyfold.plan.checker.together import together
from leyfold.plan.checker.warmth import cold_nights, warmth
from leyfold.plan.checker.who import told
from leyfold.plan.checker.wished import wished

__all__ = ["check", "nights"]


def check(farm: Farm, plan: Plan, state: State | None = None) -> tuple[Finding, ...]:
    """Every breach of a completed plan, by its first day. With a `state`, birds that live by the records and
    are not in the plan are named too. ValueError where the plan is not completed."""
    if not plan.completed:
        raise ValueError("only a completed plan can be walked")
    book = open_book(farm, plan)
    rules = (dates, eggs, placed, together, limits, nets, grass, warmth, killing, hands, wished)
    found = [told(book, finding) for rule in rules for finding in rule(book)]
    if state is not None:
        found += forgotten(book, state)
    return tuple(sorted(found, key=lambda f: (f.day_first, f.where, f.what)))


def nights(farm: Farm, plan: Plan) -> tuple[Finding, ...]:
    """Young birds of a completed plan at grass on nights that are, as a rule, colder than they bear. No
    breach, but a graded guess, for whoever dates turnouts by hand. ValueError as `check`."""
    if not plan.completed:
        raise ValueError("only a completed plan can be walked")
    return tuple(sorted(cold_nights(open_book(farm, plan)), key=lambda f: (f.day_first, f.where)))
