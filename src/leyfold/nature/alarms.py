"""More dead than chance allows: two sums that say call for help, none that says all is well.

Signs of a notifiable disease are a stop-order above any of these: ring the vet and move nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from leyfold.nature._check import Array, number

__all__ = ["first_week_chance", "least_alarming", "sick_batch_chance"]


def first_week_chance(dead: ArrayLike, chicks: ArrayLike, *, usual_share: ArrayLike) -> Array:
    """Chance that ordinary luck kills `dead` or more of `chicks`, each lost with `usual_share` 0..1.

    Binomial upper tail, whole numbers with 0 <= dead <= chicks. Under 5 %: something is wrong; act.
    """
    from scipy.special import bdtrc

    gone, n = _whole("dead", dead), _whole("chicks", chicks)
    if np.any(gone > n):
        raise ValueError("dead is above chicks")
    share = number("usual_share", usual_share, least=0, most=1)
    tail = bdtrc(np.maximum(gone - 1.0, 0.0), n.astype(np.int64), share)
    return np.where(gone == 0, 1.0, tail)[()]


def sick_batch_chance(dead: ArrayLike, expected: ArrayLike) -> Array:
    """Chance that ordinary luck kills `dead` or more where `expected` > 0 deaths were due.

    Poisson upper tail; `expected`: heads times the usual daily rate times days. Under 5 %: call the vet.
    """
    from scipy.special import pdtrc

    gone = _whole("dead", dead)
    tail = pdtrc(np.maximum(gone - 1.0, 0.0), number("expected", expected, above=0))
    return np.where(gone == 0, 1.0, tail)[()]


def least_alarming(expected: ArrayLike, *, under: float = 0.05) -> Array:
    """The fewest deaths whose `sick_batch_chance` is below `under`: the number to write on the wall."""
    from scipy.special import pdtrc

    mean = number("expected", expected, above=0, most=1e4)
    limit = float(number("under", under, above=0, below=1))
    few = np.zeros(np.shape(mean))
    while np.any(calm := pdtrc(few, mean) >= limit):  # P(more than `few`)
        few = few + calm
    return (few + 1.0)[()]


def _whole(name: str, value: ArrayLike) -> Array:
    count = number(name, value, least=0)
    if np.any(count != np.floor(count)):
        raise ValueError(f"{name} must be whole")
    return count
