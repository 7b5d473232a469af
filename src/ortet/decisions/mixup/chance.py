"""How likely it is to find what was found, if so many of the cuttings that lay open at a moment were wrong.

Wrong ones lie anywhere among the open cuttings; these lie anywhere among the plants of the groups that they reached; and
which plants were looked at is chance too. So both steps are hypergeometric, and both are summed exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Seen", "chances"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of one group that a pool reached."""

    count: int  # plants in the group
    reach: int  # of them from the pool
    right: int
    wrong: int


@cache
def _table(size: int) -> Array:
    """Return ln 0!, ln 1!, … up to a size."""
    return np.concatenate([[0.0], np.cumsum(np.log(np.arange(1.0, size + 1.0)))])


def _ln_choose(of: ArrayLike, some: ArrayLike) -> Array:
    """Return ln of the ways to choose some of so many, whole numbers; minus infinity where there is none."""
    n, k = np.broadcast_arrays(np.asarray(of, dtype=np.int64), np.asarray(some, dtype=np.int64))
    fits = (k >= 0) & (k <= n)
    n, k = np.where(fits, n, 0), np.where(fits, k, 0)
    ln = _table(1 << int(n.max(initial=1)).bit_length())
    return np.asarray(np.where(fits, ln[n] - ln[k] - ln[n - k], -np.inf))


@lru_cache(maxsize=10_000)
def _from_pool(seen: Seen) -> Array:
    """Return for each number of plants looked at that come from the pool its chance, shape (looked + 1,).

    Times the chance that just those found wrong are among these, so that what comes of it is the chance of one order of
    finding them.
    """
    looked = seen.right + seen.wrong
    e = np.arange(looked + 1)
    drawn = _ln_choose(seen.reach, e) + _ln_choose(seen.count - seen.reach, looked - e)
    drawn = drawn - _ln_choose(seen.count, looked)
    among = _ln_choose(seen.right, e - seen.wrong) - _ln_choose(looked, e)
    return np.asarray(np.exp(drawn + among))


@lru_cache(maxsize=10_000)  # three shapes of one moment ask the same
def chances(seen: tuple[Seen, ...], pool: int) -> Array:
    """Return the chance of what was found for each number of wrong ones in a pool.

    Parameters
    ----------
    seen : tuple of Seen
        The groups that cuttings of the pool are in; those of which nothing was looked at may be left out.
    pool : int
        Cuttings that lay open.

    Returns
    -------
    ndarray, shape (pool + 1,)
        For 0, 1, … wrong ones: the chance of finding them in just this order (which plants are looked at first does not
        matter where the chances are compared). [0-1]

    Notes
    -----
    With e of the plants looked at from the pool and k of these wrong, ``C(c - e, s - k) / C(c, s)`` of the ways to lay s
    wrong ones among c agree; e is the sum over groups, each hypergeometric, convolved.
    """
    total, wrong = np.ones(1), 0
    for one in seen:
        total = np.convolve(total, _from_pool(one))
        wrong += one.wrong
    s, e = np.arange(pool + 1), np.flatnonzero(total > 0)
    if not e.size:
        return np.zeros(pool + 1)
    ways = _ln_choose(pool - e[:, None], s[None, :] - wrong) - _ln_choose(pool, s)[None, :]
    out = np.asarray(total[e] @ np.exp(ways))
    out.flags.writeable = False
    return out
