"""Distributions of whole birds: thinning, drafts, convolution. Exact; numpy alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "EVEN",
    "Number",
    "before_draft",
    "beta_binomial",
    "beta_nodes",
    "binomial",
    "convolved",
    "partly",
    "raided",
    "thinning",
]

Floats = NDArray[np.float64]

EVEN = float("inf")
"""Concentration of batches that do not differ at all: chance alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Number:
    """The distribution of a whole number: `pmf[k]` is the probability of k."""

    pmf: Floats

    @property
    def mean(self) -> float:
        return float(self.pmf @ np.arange(self.pmf.size))

    @property
    def sd(self) -> float:
        return float(np.sqrt(self.pmf @ (np.arange(self.pmf.size) - self.mean) ** 2))

    def at_least(self, k: int) -> float:
        """The chance of k or more."""
        return float(min(self.pmf[k:].sum(), 1.0)) if k > 0 else 1.0

    def quantile(self, share: float) -> int:
        """The smallest number that is not passed in at least `share` of years, 0 < share < 1."""
        return int(np.searchsorted(np.cumsum(self.pmf), share - 1e-12))

    def safe(self, chance: float = 0.95) -> int:
        """The largest number that is reached with at least this chance."""
        return int(np.flatnonzero(np.cumsum(self.pmf[::-1])[::-1] >= chance - 1e-12)[-1])


def beta_binomial(n: int, chance: float, steady: float) -> Floats:
    """[k] for k of `n` when each has the same chance, itself beta with mean `chance` and a + b = `steady`."""
    row: Floats = thinning(n, chance, steady)[n]
    return row


def binomial(n: int, chance: Floats) -> Floats:
    """[..., k] for k of `n` at each `chance`."""
    k = np.arange(n + 1)
    ways = np.exp(_log_factorial(n)[n] - _log_factorial(n)[k] - _log_factorial(n)[n - k])
    p = np.asarray(chance, dtype=np.float64)[..., None]
    value: Floats = ways * p**k * (1.0 - p) ** (n - k)
    return np.where(value > np.exp(-60.0), value, 0.0)


def thinning(n: int, chance: float, steady: float) -> Floats:
    """[m, k] chance that k are left of m <= `n`, each staying with one chance, itself beta with mean
    `chance` and a + b = `steady`."""
    m, k = np.arange(n + 1)[:, None], np.arange(n + 1)[None, :]
    gone = np.maximum(m - k, 0)
    if chance in (0.0, 1.0):
        matrix = np.where(k == m * round(chance), 1.0, 0.0)
    else:
        log = _log_factorial(n)
        ways = log[m] - log[k] - log[gone]
        if steady == EVEN:
            ways = ways + k * np.log(chance) + gone * np.log1p(-chance)
        else:
            a, b = steady * chance, steady * (1.0 - chance)
            ways = ways + _log_rising(a, n)[k] + _log_rising(b, n)[gone] - _log_rising(steady, n)[m]
        # Chances under e^-60 are nothing, and would only slow the products down to denormal numbers.
        likely = (k <= m) & (ways > -60.0)
        matrix = np.exp(ways, out=np.zeros_like(ways), where=likely)
    return matrix


def partly(n: int, survival: float, steady: float, part: float) -> Floats:
    """[m, k] left of m when a stage of `survival` has done `part`, 0..1, of its killing."""
    if part >= 1.0:
        return thinning(n, survival, steady)
    if steady == EVEN:
        return thinning(n, 1.0 - (1.0 - survival) * part, EVEN)
    dead = thinning(n, 1.0 - survival, steady) @ thinning(n, part, EVEN)
    m, k = np.arange(n + 1)[:, None], np.arange(n + 1)[None, :]
    return np.where(k <= m, np.take_along_axis(dead, np.maximum(m - k, 0), axis=1), 0.0)


def raided(n: int, shelters: tuple[float, ...], visits: Floats, share: float) -> Floats:
    """[m, k] left of m birds spread over shelters by these shares (what is missing to 1 is safe), each
    shelter with its own number of visits, `visits[count]` likely, each of which kills a bird with chance
    `share`."""
    one = np.zeros((n + 1, n + 1))
    for count, chance in enumerate(visits):
        one += chance * thinning(n, (1.0 - share) ** count, EVEN)
    wave = np.fft.rfft(one, axis=1)
    safe = np.fft.rfft(np.eye(n + 1), axis=1)
    cuts = np.floor(np.cumsum([0.0, *shelters]) * np.arange(n + 1)[:, None] + 0.5).astype(np.int64)
    birds = np.diff(cuts, axis=1)
    total = safe[np.arange(n + 1) - birds.sum(axis=1)]
    for j in range(len(shelters)):
        total = total * wave[birds[:, j]]
    return np.maximum(np.fft.irfft(total, n=n + 1, axis=1), 0.0)


def before_draft(after: Floats, share: float, *, count: bool) -> Floats:
    """[left, k] before a draft from [left, k] after it: of those left `share` is taken, rounded up or down by
    chance, on average exactly the share. k counts the birds taken too where `count`."""
    n = after.shape[0] - 1
    result = np.zeros_like(after)
    for left in range(n + 1):
        exact = left if share >= 1.0 else left * share
        least = int(exact)
        for taken, weight in ((least, 1.0 - (exact - least)), (least + 1, exact - least)):
            if weight > 0.0:
                shift = taken if count else 0
                result[left, shift:] += weight * after[left - taken, : n + 1 - shift]
    return result


def beta_nodes(chance: float, steady: float, count: int) -> tuple[Floats, Floats]:
    """Points and weights by which a polynomial of degree below 2 x `count` is averaged exactly over a beta
    with mean `chance` and a + b = `steady`: Gauss-Jacobi, by the eigenvalues of the recurrence (Golub &
    Welsch 1969, Mathematics of Computation 23:221-230)."""
    if chance in (0.0, 1.0) or steady == EVEN:
        return np.array([chance]), np.ones(1)
    a, b = steady * chance - 1.0, steady * (1.0 - chance) - 1.0
    i = np.arange(1.0, count)
    total = 2.0 * i + a + b
    middle = np.concatenate(([(a - b) / (a + b + 2.0)], (a**2 - b**2) / (total * (total + 2.0))))
    inner = np.arange(2.0, count)
    s = 2.0 * inner + a + b
    first = 4.0 * (1 + a) * (1 + b) / ((2 + a + b) ** 2 * (3 + a + b))
    rest = 4.0 * inner * (inner + a) * (inner + b) * (inner + a + b) / (s**2 * (s + 1.0) * (s - 1.0))
    off = np.sqrt(np.concatenate(([first], rest))[: count - 1])
    points, vectors = np.linalg.eigh(np.diag(middle) + np.diag(off, 1) + np.diag(off, -1))
    return np.clip((1.0 + points) / 2.0, 0.0, 1.0), vectors[0] ** 2


def convolved(parts: Iterable[Floats]) -> Floats:
    """The distribution of the sum of independent numbers; [..., k], leading axes alike."""

    def two(a: Floats, b: Floats) -> Floats:
        short, long = sorted((a, b), key=lambda x: x.shape[-1])
        total = np.zeros((*np.broadcast_shapes(a.shape[:-1], b.shape[:-1]), a.shape[-1] + b.shape[-1] - 1))
        for k in range(short.shape[-1]):
            total[..., k : k + long.shape[-1]] += short[..., k, None] * long
        return total

    return reduce(two, parts, np.ones(1))


@lru_cache(maxsize=32)
def _log_factorial(n: int) -> Floats:
    return np.concatenate(([0.0], np.cumsum(np.log(np.arange(1.0, n + 1.0)))))


def _log_rising(a: float, n: int) -> Floats:
    """log of a (a + 1) .. (a + k - 1) for k in 0..n."""
    return np.concatenate(([0.0], np.cumsum(np.log(a + np.arange(float(n))))))
