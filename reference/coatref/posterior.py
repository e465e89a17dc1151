"""The posterior of one zone's five values by a sampler of NumPyro, with no interpolation.

The model is typed from docs/learning.md; what the coat shows is computed by `impulse.py` for every draw. NumPyro's
affine-invariant ensemble sampler (AIES; Goodman & Weare 2010, Comm App Math Comp Sci 5:65-80, with the moves of
ter Braak 2006, Stat Comput 16:239-249) asks for densities through `jax.pure_callback` and needs no gradient.
"""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
from numpyro.diagnostics import effective_sample_size, gelman_rubin
from numpyro.infer import AIES, MCMC
from scipy.special import ndtr
from scipy.stats import t as student

from . import cases, impulse

numpyro.enable_x64()

NAMES = ("lag", "grow", "set", "hold", "growth")
PRIOR_SD = np.hypot([0.20, 0.20, 0.30, 0.40, 0.15], [0.10, 0.10, 0.15, 0.20, 0.075])
COMB_MM = np.array([5.0, 12.0, 20.0, 32.0])
WRONG, WRONG_MM = 0.03, 100.0
EASE_CUTS, EASE_SD = np.array([0.9, 0.3, -0.2, -0.8]), 0.4
FEEL_CUTS, FEEL_SD = np.array([0.35, 0.75]), 0.15
COVER_SD, LAYERS, NONE_SEEN = 0.08, 3, 0.02
REACH = 3.0 * PRIOR_SD[:3]


def t4(x):
    """Density of Student's t, 4 degrees of freedom."""
    return 0.375 * (1.0 + x * x / 4.0) ** -2.5


def t4_cdf(x):
    return student.cdf(x, 4)


def ordered(z, cuts, sd, k):
    """P(answer k), k from 1; the larger z, the lower the answer, and `cuts` fall."""
    below = [np.zeros_like(z), *[ndtr((z - c) / sd) for c in cuts], np.ones_like(z)]
    return below[k] - below[k - 1]


def length(reading, parts):
    """Likelihood of a length or a comb depth, `parts` = [(weight, mean, sd)], what is left of the weight any."""
    left = np.maximum(1.0 - sum(w for w, _, _ in parts), 0.0)
    if "mm" in reading:
        y = reading["mm"]
        assert y > 0.0
        good = sum(w * t4((y - m) / s) / s for w, m, s in parts) + left / WRONG_MM
        return (1 - WRONG) * good + WRONG / WRONG_MM
    ends = np.concatenate([[-np.inf], COMB_MM, [np.inf]])
    a, b = ends[reading["depth"] - 1], ends[reading["depth"]]
    any_in = (min(b, WRONG_MM) - max(a, 0.0)) / WRONG_MM
    good = sum(w * (t4_cdf((b - m) / s) - t4_cdf((a - m) / s)) for w, m, s in parts) + left * any_in
    return (1 - WRONG) * good + WRONG * any_in


def ln_likelihood(reading: dict, coat: impulse.Seen) -> np.ndarray:
    """Of one reading, over the batch; the coat stands on its day before the work."""
    kind = reading["kind"]
    if kind == "longest":
        m = coat.longest
        p = length(reading, [(1.0, m, np.hypot(1.0, 0.05 * m))])
    elif kind == "new_layer":
        parts, left = [], 1.0
        for seen, m in coat.layers[:LAYERS]:
            parts.append((left * seen, m, np.hypot(1.0, 0.08 * m)))
            left = left * (1.0 - seen)
        # a new layer is read where one is seen
        parts = [(w / (1.0 - left + NONE_SEEN), m, s) for w, m, s in parts]
        p = length(reading, parts)
    elif kind in ("ease", "came"):
        share = coat.ripe / coat.cover
        z = np.log((share + 0.02) / (reading["pulled"] + 0.02))
        answers = [reading["answer"]] if kind == "ease" else [1, 2, 3]
        p = (1 - WRONG) * sum(ordered(z, EASE_CUTS, EASE_SD, k) for k in answers) + WRONG * len(answers) / 5
    elif kind == "new_hair":
        yes = ndtr((np.log(coat.young + 0.002) - np.log(0.04)) / 0.5)
        p = (1 - WRONG) * (yes if reading["answer"] else 1 - yes) + WRONG / 2
    elif kind == "cover":
        v, y = coat.cover, reading["answer"]
        assert 0.0 < y < 1.0
        p = (1 - WRONG) * t4((y - v) / COVER_SD) / COVER_SD + WRONG
    elif kind == "feel":
        below = [0.0, *[ndtr((c - coat.hard) / FEEL_SD) for c in FEEL_CUTS], 1.0]
        p = (1 - WRONG) * (below[reading["answer"] + 1] - below[reading["answer"]]) + WRONG / 3
    else:
        raise ValueError(f"unknown reading `{kind}`")
    return np.log(np.maximum(p, 1e-300))


class Record:
    """The visits of one zone. A visit is {"day", "pulled", "readings"}; day 0 is left alone, the last is not worked.

    What is recorded as pulled must not exceed the ripe hair: how a record beyond it is read is the engine's
    own affair. Draws for which it does are far out, and few by the caller's data.
    """

    def __init__(self, coat: str, zone: str, visits: list[dict]):
        self.zone, self.visits = cases.zone_values(coat, zone), visits
        self.works = [(v["day"], v["pulled"]) for v in visits[:-1]]
        self.size = impulse.size(self.zone, REACH)

    def sights(self, x: np.ndarray) -> list[impulse.Seen]:
        return impulse.sights(self.zone, self.size, self.works, self.visits[-1]["day"], x)

    def ln_likelihood(self, x: np.ndarray) -> np.ndarray:
        """Of every row of x."""
        return sum(ln_likelihood(r, seen) for v, seen in zip(self.visits, self.sights(x)) for r in v["readings"])

    def ln_density(self, x: np.ndarray) -> np.ndarray:
        return self.ln_likelihood(x) - 0.5 * ((x / PRIOR_SD) ** 2).sum(axis=1)


def ensemble(walkers: int, warmup: int, draws: int, job: tuple[Record, int]) -> np.ndarray:
    """One ensemble's draws, by walker. Walkers start at draws of the prior, chosen by their likelihood, so that one
    does not spend the run in a far corner that the readings all but exclude."""
    record, seed = job
    rng = np.random.default_rng(seed)
    prior = PRIOR_SD * rng.standard_normal((1024, len(NAMES)))
    ln = np.concatenate([record.ln_likelihood(x) for x in np.split(prior, 16)])
    w = np.exp(ln - ln.max())
    start = prior[rng.choice(len(prior), walkers, p=w / w.sum())]
    start = start + 0.05 * PRIOR_SD * rng.standard_normal(start.shape)
    known: dict[bytes, float] = {}  # AIES asks again for the density where a walker stands

    def minus_ln_density(x):
        rows = np.asarray(x).reshape(-1, len(NAMES))
        keys = [row.tobytes() for row in rows]
        new = [i for i, k in enumerate(keys) if k not in known]
        if new:
            known.update((keys[i], -v) for i, v in zip(new, record.ln_density(rows[new])))
        return np.array([known[k] for k in keys]).reshape(x.shape[:-1])

    one = jax.ShapeDtypeStruct((), np.float64)
    kernel = AIES(potential_fn=lambda x: jax.pure_callback(minus_ln_density, one, x, vmap_method="expand_dims"))
    # the split stays as it is: were walkers shuffled, they would be no chains, and the diagnostics blind
    mcmc = MCMC(kernel, num_warmup=warmup, num_samples=draws, num_chains=walkers, chain_method="vectorized",
                progress_bar=False)
    mcmc.run(jax.random.key(seed), init_params=jnp.asarray(start))
    return np.asarray(mcmc.get_samples(group_by_chain=True))


def sample(records: list[Record], ensembles: int = 4, walkers: int = 32, warmup: int = 40, draws: int = 560) -> list[np.ndarray]:
    """For each record its draws by ensemble, walker and step. Ensembles run in parallel, each from a seed of its own,
    so the answer does not depend on how many processors there are."""
    # as much memory as is freed is asked for again at once: with these the workers keep it, in half the time
    os.environ.update(MALLOC_MMAP_THRESHOLD_="1000000000", MALLOC_TRIM_THRESHOLD_="1000000000")
    jobs = [(r, 1 + e) for r in records for e in range(ensembles)]
    with ProcessPoolExecutor(min(4, os.cpu_count() or 1), get_context("spawn")) as pool:
        x = np.stack(list(pool.map(partial(ensemble, walkers, warmup, draws), jobs)))
    return list(x.reshape(len(records), ensembles, walkers, draws, len(NAMES)))


def diagnose(x: np.ndarray) -> list[dict]:
    """Of each value, split R-hat between the ensembles, which know nothing of each other (walkers of one do): their
    first and second halves as chains; and the effective sample size over all walkers."""
    e, walkers, draws, d = x.shape
    half = x[:, :, : draws // 2 * 2].reshape(e, walkers, 2, draws // 2, d).transpose(0, 2, 1, 3, 4).reshape(2 * e, -1, d)
    chains = x.reshape(-1, draws, d)
    return [{"r_hat": float(gelman_rubin(half[..., k])), "ess": float(effective_sample_size(chains[..., k]))} for k in range(d)]


def summary(x: np.ndarray, w: np.ndarray | None = None) -> list[dict]:
    """Mean, sd and 80 % interval of each value's logarithm, of weighted draws."""
    w = np.ones(len(x)) / len(x) if w is None else w / w.sum()
    out = []
    for k in range(x.shape[1]):
        i = np.argsort(x[:, k])
        c = np.cumsum(w[i]) - 0.5 * w[i]
        m = float(w @ x[:, k])
        low, high = np.interp([0.1, 0.9], c, x[i, k])
        out.append({"mean": m, "sd": float(np.sqrt(w @ (x[:, k] - m) ** 2)), "low": float(low), "high": float(high)})
    return out
