"""Looks teach a pace: bands hold what they say, the few lean on the many, and what contradicts itself is refused."""

from statistics import NormalDist

import numpy as np
import pytest

from ortet.evidence import levels, pace
from ortet.evidence.pace import Look, Prior, learn_pace

USUAL = Prior(spread=0.35, doubt=0.35, never=0.2, never_cuttings=10.0)
GROWERS = 1000


def seen(lot, rng, spread, days, never, way):
    """Return a lot's looks in one of three ways: the same cuttings each time, others each time, a score."""

    def need(n):
        return np.where(rng.random(n) < never, np.inf, np.exp(days + spread * rng.normal(size=n)))

    cuttings = need(int(rng.integers(5, 60)))
    for x in np.sort(rng.uniform(0.2, 2.5, rng.integers(1, 5))):
        if way == "score":
            z = (np.log(x) - days) / spread + pace.SCORE_SPREAD * rng.normal()
            yield Look(
                lot, lot[0], x, score=sum(z >= NormalDist().inv_cdf(step) for step in pace.SCORE_STEPS)
            )
        else:
            looked = cuttings if way == "same" else need(int(rng.integers(4, 20)))
            yield Look(lot, lot[0], x, int((looked < x).sum()), len(looked))


@pytest.fixture(scope="module")
def hits():
    """A thousand growers drawn from the prior: for each level, whether the 90 % band held the truth."""
    rng = np.random.default_rng(11)
    found = {name: [] for name in ("species", "variety", "lot", "other lot", "unseen", "never")}

    def note(name, band, truth):
        found[name].append(band[0] <= truth <= band[2])

    for _ in range(GROWERS):
        prior = Prior(rng.uniform(0.2, 0.5), rng.uniform(0.15, 0.4), rng.choice([0.15, 0.3, 0.5]), 10.0)
        half = prior.doubt / np.sqrt(2.0)
        a, b = prior.never * 10.0, (1.0 - prior.never) * 10.0
        draws = rng.beta(2 * a, 2 * b, 4000)
        logits = np.log(draws / (1.0 - draws))
        species, logit = rng.normal(0, half), logits[0]
        looks, lots, varieties, shares = [], {}, {}, {}
        for variety in "ABC"[: rng.integers(1, 4)]:
            varieties[variety] = rng.normal(species, half)
            shares[variety] = rng.normal(logit, logits.std())
            for number in range(rng.integers(1, 3)):
                lot = f"{variety}{number}"
                lots[lot] = rng.normal(varieties[variety], levels.LOT_SPREAD)
                never = 1.0 / (1.0 + np.exp(-rng.normal(shares[variety], levels.LOT_NEVER)))
                looks += seen(
                    lot, rng, prior.spread, lots[lot], never, rng.choice(["same", "others", "score"])
                )
        learnt = learn_pace(looks, prior)
        note("species", learnt.species.days, np.exp(species))
        note("unseen", learnt.unseen.days, np.exp(rng.normal(rng.normal(species, half), levels.LOT_SPREAD)))
        for variety, days in varieties.items():
            note("variety", learnt.varieties[variety].days, np.exp(days))
            note("never", learnt.varieties[variety].never, 1.0 / (1.0 + np.exp(-shares[variety])))
            note("other lot", learnt.of("?", variety).days, np.exp(rng.normal(days, levels.LOT_SPREAD)))
        for lot, days in lots.items():
            note("lot", learnt.of(lot, lot[0]).days, np.exp(days))
    return found


@pytest.mark.parametrize("level", ["species", "variety", "lot", "other lot", "unseen", "never"])
def test_a_band_of_ninety_in_a_hundred_holds_87_to_93(hits, level):
    """Of 1,000 growers drawn from the model; a band that holds 90 % strays by less than 1 % (one sd) over 1,000."""
    assert 0.87 <= np.mean(hits[level]) <= 0.93


def test_no_look_leaves_the_usual_value_alone():
    told = learn_pace([], USUAL).of("L", "V")
    assert told.days[1] == pytest.approx(1.0) and told.weight == pytest.approx(0.0, abs=1e-5)
    assert told.days[2] == pytest.approx(np.exp(1.645 * np.hypot(USUAL.doubt, levels.LOT_SPREAD)), rel=0.01)
    assert told.prior_cuttings == np.inf


def test_cuttings_that_are_late_make_the_days_longer_and_early_ones_shorter():
    late, early = (learn_pace([Look("L", "V", 1.0, k, 40)], USUAL).of("L", "V") for k in (4, 36))
    assert late.days[1] > 1.15 and early.days[1] < 0.85


def test_the_more_cuttings_the_less_the_usual_value_weighs():
    weights = [learn_pace([Look("L", "V", 1.0, n // 2, n)], USUAL).of("L", "V").weight for n in (4, 20, 100)]
    assert weights == sorted(weights) and 0.2 < weights[0] < weights[2] < 1.0


def test_what_the_prior_counts_like_and_the_weight_say_the_same():
    told = learn_pace([Look("L", "V", 1.0, 32, 64)], USUAL).of("L", "V")
    assert 64 / (64 + told.prior_cuttings) == pytest.approx(told.weight)


def test_a_variety_leans_on_its_sisters_as_far_as_its_own_cuttings_are_few():
    sisters = [Look(f"{v}1", v, 1.0, 4, 40) for v in "ABC"]
    few, many = (
        learn_pace([*sisters, Look("D1", "D", 1.0, k, n)], USUAL).varieties["D"].days[1]
        for k, n in ((2, 4), (50, 100))
    )
    alone = learn_pace([Look("D1", "D", 1.0, 2, 4)], USUAL).varieties["D"].days[1]
    assert alone < many < few
    assert learn_pace(sisters, USUAL).of("D1", "D").days[1] > 1.05


def test_looking_three_times_in_an_hour_at_the_same_cuttings_teaches_what_one_look_did():
    once, thrice = (learn_pace([Look("L", "V", 1.0, 10, 20)] * n, USUAL).lots["L"] for n in (1, 3))
    np.testing.assert_allclose(thrice.days, once.days)
    other = learn_pace([Look("L", "V", 1.0, 10, 20), Look("L", "V", 1.0, 11, 22)], USUAL).lots["L"]
    assert other.weight > once.weight


def test_many_that_never_do_are_told_from_slow_ones():
    stuck = [Look("L", "V", x, 20, 40) for x in (1.5, 3.0, 5.0)]
    told = learn_pace(stuck, USUAL).of("L", "V")
    assert told.never[0] > 0.3 and told.days[1] < 1.1


def test_a_look_that_cannot_be_moves_little():
    """Full callus on wood that had no warmth at all: a label misread, or a store far warmer than its record."""
    told = learn_pace([Look("L", "V", 0.0, score=4), Look("L", "V", 1.0, 10, 20)], USUAL).of("L", "V")
    clean = learn_pace([Look("L", "V", 1.0, 10, 20)], USUAL).of("L", "V")
    assert told.days[1] == pytest.approx(clean.days[1], rel=0.02)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"progress": -0.1, "score": 1}, "below 0"),
        ({"progress": np.nan, "score": 1}, "below 0"),
        ({"progress": 1.0}, "k of n, or a score"),
        ({"progress": 1.0, "done": 3}, "k of n, or a score"),
        ({"progress": 1.0, "done": 3, "of": 2}, "3 of 2"),
        ({"progress": 1.0, "score": 5}, "not 0 to 4"),
    ],
)
def test_a_look_that_contradicts_itself_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        Look("L", "V", **wrong)


def test_a_prior_without_doubt_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        Prior(0.3, 0.0, 0.2, 10)
