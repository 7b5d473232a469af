"""What learning the time to root and foretelling a batch cost, beside the same likelihood in SciPy and lifelines' fit.

python benchmarks/rooting.py
"""

from __future__ import annotations

import time
from datetime import date, timedelta

import numpy as np

from ortet.evidence.rooting import Batch, Count, learn_rooting, usual_rooting
from ortet.evidence.rooting.learn import _learnt
from ortet.science.species import species

STRUCK = date(2027, 2, 1)
AT = (0.6, 0.9, 1.2, 1.6)


def best(work, times: int) -> tuple[float, object]:
    """Return the least processor time of a few runs, and what the last one gave. [s]"""
    spent = []
    for _ in range(times):
        began = time.process_time()
        out = work()
        spent.append(time.process_time() - began)
    return min(spent), out


def batches(number: int) -> list[Batch]:
    """Return batches of sixty, four counts each, ten to a variety."""
    rng, out = np.random.default_rng(5), []
    for at in range(number):
        roots = np.exp(rng.normal(rng.normal(0, 0.2), 0.25, 60))
        roots[rng.random(60) < 0.2] = np.inf
        counts = (Count(STRUCK + timedelta(5 * n), x, int((roots <= x).sum()), 60) for n, x in enumerate(AT))
        out.append(Batch(f"B{at}", f"V{at // 10}", 60, STRUCK, tuple(counts)))
    return out


def by_scipy(batch: Batch) -> np.ndarray:
    """Return one batch's likeliest pace, spread and share, no levels and no doubt: Nelder-Mead over SciPy's normal."""
    from scipy import optimize, stats

    came = np.diff([0, *(count.rooted for count in batch.events)])

    def against(x):
        done = np.diff([0, *stats.norm.cdf((np.log(AT) - x[0]) / np.exp(x[1]))]) / (1 + np.exp(x[2]))
        share = np.append(done, 1 - done.sum())
        return -np.append(came, 60 - came.sum()) @ np.log(np.maximum(share, 1e-12))

    return optimize.minimize(against, [0.0, -1.4, -1.4], method="Nelder-Mead").x


def by_lifelines(batch: Batch) -> tuple[float, float]:
    """Return one batch's log-normal as lifelines fits it to intervals, all taken to root in the end."""
    from lifelines import LogNormalFitter

    came = np.diff([0, *(count.rooted for count in batch.events), 60])
    some = came > 0
    low, high = np.array([1e-8, *AT]), np.array([*AT, np.inf])
    fit = LogNormalFitter().fit_interval_censoring(low[some], high[some], weights=came[some])
    return fit.mu_, fit.sigma_


def main() -> None:
    """Print processor times and ratios."""
    prior, ahead = usual_rooting(species("grape")), AT[-1] + np.arange(90) / 15.0
    for number in (1, 20, 200, 1000):
        some = batches(number)

        def learn(some=some):
            _learnt.cache_clear()
            return learn_rooting(some, prior)

        spent, learnt = best(learn, 3 if number < 1000 else 1)
        print(f"learn {number} batches: {spent:.3f} s, {1000 * spent / number:.1f} ms each")
    some = batches(20)
    tell, _ = best(lambda: [learnt.ahead(one, STRUCK + timedelta(15), ahead) for one in some], 3)
    print(f"foretell 90 days of one of 1,000 batches learnt from: {1000 * tell / 20:.1f} ms")
    weathers = np.stack([AT[-1] + np.arange(90) * rate / 15.0 for rate in np.linspace(0.7, 1.3, 20)])
    tell, _ = best(lambda: learnt.ahead(some[0], STRUCK + timedelta(15), weathers), 3)
    print(f"the same over 20 courses of the weather: {1000 * tell:.0f} ms")
    for name, fit in (("SciPy", by_scipy), ("lifelines", by_lifelines)):
        fit(some[0])  # imports
        spent, _ = best(lambda fit=fit: [fit(one) for one in some], 2)
        print(f"one batch's likeliest curve alone by {name}: {1000 * spent / 20:.0f} ms")


if __name__ == "__main__":
    main()
