"""A full sampler of the model of strike rates: what the quick sums are held against, in tests and in benchmarks/strike.py."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ortet.evidence.strike import Batch, Spreads, StrikePrior
from ortet.evidence.strike.asked import WIDE, Table


@dataclass(frozen=True)
class Asked:
    """One question to the sampler, as `strike_rates` is asked it."""

    batches: Sequence[Batch]
    priors: Mapping[str, StrikePrior]
    spreads: Spreads


def sampled(asked: Mapping[str, Asked], *, warm: int, draws: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Return draws by NumPyro's NUTS on one chain: "NAME/rate" (draws, varieties), "NAME/effect" (draws, effects) and so on.

    The questions have nothing to do with one another; asked together they are compiled once. The batches' own lucks are drawn
    too, nothing is summed out, and no parabola is laid.
    """
    import jax
    import numpyro
    from numpyro.infer import MCMC, NUTS

    tables = {name: Table(one.batches, one.priors, one.spreads) for name, one in asked.items()}

    def model() -> None:
        for name, table in tables.items():
            with numpyro.handlers.scope(prefix=name):
                _grown(table)

    run = MCMC(NUTS(model, target_accept_prob=0.9), num_warmup=warm, num_samples=draws, progress_bar=False)
    run.run(jax.random.PRNGKey(seed))
    return {name: np.asarray(value, dtype=float) for name, value in run.get_samples().items()}


def _grown(t: Table) -> None:
    """Draw one collection from the model, and hold it to what was counted."""
    import jax
    import jax.numpy as jnp
    import numpyro
    import numpyro.distributions as dist

    def sd(name: str) -> float | jax.Array:
        pair = getattr(t.spreads, name)
        if pair is None or (name == "handling" and not t.is_level.any()):
            return 0.0
        wide = jnp.exp(numpyro.sample(f"ln {name}", dist.Normal(jnp.log(pair[0]), pair[1])))
        numpyro.factor(f"{name} falls off", -0.5 * (wide / WIDE) ** 2)
        return wide

    def scattered(name: str, size: int, scale: float | jax.Array) -> jax.Array:
        if not size or isinstance(scale, float):
            return jnp.zeros(size)
        return scale * numpyro.sample(name, dist.Normal(0.0, 1.0).expand([size]).to_event(1))

    level = numpyro.sample("level", dist.Normal(jnp.array(t.level), jnp.sqrt(jnp.array(t.doubt))).to_event(1))
    rate = numpyro.deterministic("rate", level[t.kind_of] + scattered("v", len(t.varieties), sd("variety")))
    logit = (rate[t.variety_of_mother] + scattered("m", len(t.mothers), sd("mother")))[t.mother_of_batch]
    if t.columns:
        wide = jnp.where(jnp.array(t.is_level), sd("handling"), t.spreads.effect)
        logit += jnp.array(t.x) @ numpyro.deterministic("effect", scattered("each", len(t.columns), wide))
    logit = logit + scattered("e", len(t.struck), sd("batch"))
    struck, rooted = jnp.array(t.struck.astype(int)), jnp.array(t.rooted.astype(int))
    numpyro.sample("rooted", dist.Binomial(struck, logits=logit), obs=rooted)
