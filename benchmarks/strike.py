"""What strike rates cost, beside a full sampler of the same model, and how often their intervals hold.

    python benchmarks/strike.py              1,000 varieties of 20 batches, and a nursery of 40 of 6
    python benchmarks/strike.py calibrate    the second question alone: 1,500 growers drawn from the model

The sampler is NumPyro's NUTS. For the collection it is given 200 steps to warm up and 200 draws, on one chain, which is too few to
trust and all that patience allows; for the nursery, 500 and 1,000.
"""

from __future__ import annotations

import sys
import time
import warnings
from pathlib import Path

import numpy as np

from ortet.evidence.strike import Batch, Spreads, StrikePrior, strike_rates

PRIORS = {f"kind {at}": StrikePrior(0.6, 6.0) for at in range(5)}


def collection(varieties: int, each: int, seed: int) -> list[Batch]:
    """Return batches of 20 of an invented collection: five species, three mother plants a variety, weeks in store, three ways."""
    rng = np.random.default_rng(seed)
    out = []
    for number in range(varieties):
        kind = number % 5
        rate = 0.3 * kind - 0.3 + 0.5 * rng.normal()
        mothers = 0.2 * rng.normal(size=3)
        for at in range(each):
            weeks, way = rng.uniform(0.0, 12.0), int(rng.integers(3))
            logit = (
                rate
                + mothers[at % 3]
                - 0.3 * (weeks - 6.0) / 4.0
                + (0.2, 0.0, -0.2)[way]
                + 0.5 * rng.normal()
            )
            rooted = int(rng.binomial(20, 1.0 / (1.0 + np.exp(-logit))))
            out.append(
                Batch(
                    20,
                    rooted,
                    f"kind {kind}",
                    f"variety {number}",
                    f"{number}/{at % 3}",
                    ("warm bench", "cold frame", "open bed")[way],
                    measures={"weeks": weeks},
                )
            )
    return out


def logit(share: float) -> float:
    """Return the logit of a share."""
    return float(np.log(share / (1.0 - share)))


def beside(varieties: int, each: int, warm: int, draws: int) -> None:
    """Print how long both take and how far their medians lie apart."""
    batches = collection(varieties, each, 1)
    spent = []
    for _ in range(3):
        began, used = time.perf_counter(), time.process_time()
        rates = strike_rates(batches, priors=PRIORS)
        spent.append((time.perf_counter() - began, time.process_time() - used))
    ours, processor = min(one for one, _ in spent), min(one for _, one in spent)
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from tests.full_sampler import Asked, sampled  # the sampler that the tests ask

    began, used = time.perf_counter(), time.process_time()
    drawn = sampled({"all": Asked(batches, PRIORS, Spreads())}, warm=warm, draws=draws)["all/rate"]
    theirs, their_processor = time.perf_counter() - began, time.process_time() - used
    apart = [
        abs(logit(rate.median) - float(np.median(drawn[:, at]))) / float(drawn[:, at].std())
        for at, rate in enumerate(rates.varieties[name] for name in sorted(rates.varieties, key=_order))
    ]
    print(
        f"{varieties:,} varieties, {each} batches each: {ours:.2f} s (processor {processor:.2f} s); the sampler, {warm} + {draws} "
        f"steps, {theirs:.0f} s (processor {their_processor:.0f} s), {theirs / ours:,.0f} times as long; medians lie "
        f"{np.median(apart):.3f} of its sd apart, at most {max(apart):.2f}"
    )


def _order(name: str) -> tuple[int, str]:
    number = int(name.split()[1])
    return number % 5, name


def calibrate(growers: int, seed: int = 5) -> None:
    """Print how often intervals of nine in ten hold, over growers drawn from the model itself."""
    rng = np.random.default_rng(seed)
    held: dict[str, list[bool]] = {}
    spreads = Spreads()
    for _ in range(growers):
        batches, truth = grower(rng, spreads)
        rates = strike_rates(batches, priors=PRIORS, spreads=spreads)
        for name, share in truth["varieties"].items():
            rate = rates.varieties[name]
            held.setdefault("variety", []).append(rate.low <= share <= rate.high)
        for name, share in truth["next"].items():
            rate = rates.varieties[name]
            held.setdefault("next batch", []).append(rate.next_low <= share <= rate.next_high)
        for effect in rates.effects:
            if effect.name == "weeks":
                held.setdefault("effect", []).append(effect.low <= truth["weeks"]["weeks"] <= effect.high)
        for name, sd in truth["spreads"].items():
            held.setdefault(f"spread of {name}", []).append(
                rates.spreads[name].low <= sd <= rates.spreads[name].high
            )
    for name, one in held.items():
        print(f"{name}: {np.mean(one):.1%} of {len(one):,} held (sd of that {np.sqrt(0.09 / len(one)):.1%})")


def grower(rng: np.random.Generator, spreads: Spreads) -> tuple[list[Batch], dict[str, dict[str, float]]]:
    """Return a grower's batches and the truth behind them, drawn from the model: few and many counts, one to three species."""
    from ortet.evidence.strike.asked import WIDE, logit_of_beta

    def drawn(pair: tuple[float, float] | None) -> float:
        assert pair is not None
        while True:  # log-normal, thrown back as a normal falls off
            one = float(np.exp(rng.normal(np.log(pair[0]), pair[1])))
            if rng.random() < np.exp(-0.5 * (one / WIDE) ** 2):
                return one

    sd = {name: drawn(getattr(spreads, name)) for name in ("variety", "mother", "batch")}
    weeks = spreads.effect * rng.normal()
    batches: list[Batch] = []
    truth: dict[str, dict[str, float]] = {
        "varieties": {},
        "next": {},
        "weeks": {"weeks": weeks},
        "spreads": sd,
    }
    rates, all_weeks = {}, []
    for kind in range(rng.integers(1, 4)):
        mean, variance = logit_of_beta(PRIORS[f"kind {kind}"].a, PRIORS[f"kind {kind}"].b)
        level = rng.normal(mean, np.sqrt(variance))
        for number in range(rng.integers(1, 7)):
            name = f"{kind}.{number}"
            rates[name] = rng.normal(level, sd["variety"])
            mothers = sd["mother"] * rng.normal(size=2)
            for at in range(rng.integers(1, 6)):
                n, time_in_store = int(rng.choice([3, 5, 10, 25, 60])), rng.uniform(0.0, 12.0)
                eta = (
                    rates[name]
                    + mothers[at % 2]
                    + weeks * (time_in_store - 6.0) / 4.0
                    + sd["batch"] * rng.normal()
                )
                rooted = int(rng.binomial(n, 1.0 / (1.0 + np.exp(-eta))))
                all_weeks.append(time_in_store)
                batches.append(
                    Batch(
                        n, rooted, f"kind {kind}", name, f"{name}/{at % 2}", measures={"weeks": time_in_store}
                    )
                )
    moved = (
        weeks * (float(np.mean(all_weeks)) - 6.0) / 4.0 if len(batches) >= 3 else 0.0
    )  # rates are told at the average
    for name, rate in rates.items():
        truth["varieties"][name] = 1.0 / (1.0 + np.exp(-(rate + moved)))
        fresh = rate + moved + sd["mother"] * rng.normal() + sd["batch"] * rng.normal()
        truth["next"][name] = 1.0 / (1.0 + np.exp(-fresh))
    return batches, truth


def main() -> None:
    """Print one line a comparison."""
    warnings.filterwarnings("ignore")
    if sys.argv[1:] == ["calibrate"]:
        calibrate(1500)
        return
    strike_rates(collection(3, 2, 0), priors=PRIORS)  # compile or load
    beside(40, 6, 500, 1000)
    beside(1000, 20, 200, 200)


if __name__ == "__main__":
    main()
