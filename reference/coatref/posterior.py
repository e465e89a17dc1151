"""The posterior of one zone's five values by importance sampling, with no interpolation and no chain.

The model is typed from docs/learning.md; what the coat shows is computed by `expected.py` for every draw.
Proposals are multivariate Student t, fitted in rounds to the weighted draws of the last (population Monte
Carlo: Cappe, Guillin, Marin & Robert 2004, J Comput Graph Stat 13:907-929), and a share of each round is
drawn from the prior, widened, so that weights stay bounded.
"""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from scipy.special import gammaln
from scipy.stats import norm, t as student

from . import cases, expected

NAMES = ("lag", "grow", "set", "hold", "growth")
PRIOR_SD = np.hypot([0.20, 0.20, 0.30, 0.40, 0.15], [0.10, 0.10, 0.15, 0.20, 0.075])
COMB_MM = np.array([5.0, 12.0, 20.0, 32.0])
WRONG, WRONG_MM = 0.03, 100.0
EASE_CUTS, EASE_SD = np.array([0.9, 0.3, -0.2, -0.8]), 0.4
FEEL_CUTS, FEEL_SD = np.array([0.35, 0.75]), 0.15
COVER_SD, YOUNG_D, LAYERS, NONE_SEEN = 0.08, 12, 3, 0.02


def zones_at(coat: str, zone: str, x: np.ndarray) -> dict[str, np.ndarray]:
    """The zone with its values multiplied by exp(x), one column for each row of x."""
    z, f = cases.zone_values(coat, zone), np.exp(x).T
    wait = lambda key, by: np.array([z[key][0] * by, z[key][1] * by])
    one = np.ones(len(x))
    return {"lag": wait("lag", f[0]), "grow": wait("grow", f[1]), "set": wait("set", f[2]),
            "hold": z["hold"] * f[3], "growth_mm_d": z["growth_mm_d"] * f[4], "start_hard": z["start_hard"] * one}


class Sights(expected.Batch):
    """What a batch of coats shows to a hand on a day, before its work."""

    def top99(self) -> np.ndarray:
        at = self.row - np.arange(self.X)
        by_len = self.pg * (self.cq[at] - self.fade * self.gone_len + self.ss[at]) + self.m[at] * self.s_grow
        cum = np.cumsum(by_len, axis=0)
        want = 0.99 * cum[-1]
        i = np.argmax(cum >= want, axis=0)
        z = np.arange(by_len.shape[1])
        inside = (cum[i, z] - want) / np.where(by_len[i, z] > 0, by_len[i, z], 1.0)
        return (i + 0.5 - inside) * self.g

    def young(self) -> np.ndarray:
        k = np.arange(YOUNG_D)
        return (self.m[self.row - k] * self.s_grow[k]).sum(axis=0)

    def layer(self, age: int) -> tuple[np.ndarray, np.ndarray]:
        """Share through, and its mean length, of what was emptied `age` days ago."""
        grown = np.vstack([np.zeros(self.s_grow.shape[1]), np.cumsum(self.s_grow, axis=0)])  # E min(j, grow)
        k = np.arange(min(age, len(self.pl) - 1) + 1)
        through = self.pl[k].sum(axis=0)
        mm = (self.pl[k] * grown[np.minimum(age - k, len(grown) - 1)]).sum(axis=0) * self.g
        return through, np.where(through > 1e-12, mm / np.maximum(through, 1e-12), 0.0)


def t4_cdf(x):
    return student.cdf(x, 4)


def ordered(z, cuts, sd, k):
    """P(answer k), k from 1; the larger z, the lower the answer, and `cuts` fall."""
    below = [np.zeros_like(z), *[norm.cdf((z - c) / sd) for c in cuts], np.ones_like(z)]
    return below[k] - below[k - 1]


def length(reading, parts):
    """Likelihood of a length or a comb depth, `parts` = [(weight, mean, sd)], what is left of the weight any."""
    left = np.maximum(1.0 - sum(w for w, _, _ in parts), 0.0)
    if "mm" in reading:
        y = reading["mm"]
        assert y > 0.0
        good = sum(w * student.pdf((y - m) / s, 4) / s for w, m, s in parts) + left / WRONG_MM
        return (1 - WRONG) * good + WRONG / WRONG_MM
    ends = np.concatenate([[-np.inf], COMB_MM, [np.inf]])
    a, b = ends[reading["depth"] - 1], ends[reading["depth"]]
    any_in = (min(b, WRONG_MM) - max(a, 0.0)) / WRONG_MM
    good = sum(w * (t4_cdf((b - m) / s) - t4_cdf((a - m) / s)) for w, m, s in parts) + left * any_in
    return (1 - WRONG) * good + WRONG * any_in


def ln_likelihood(reading: dict, coat: Sights, worked: list[int]) -> np.ndarray:
    """Of one reading, over the batch; the coat stands on its day before the work."""
    kind = reading["kind"]
    if kind == "longest":
        m = coat.top99()
        p = length(reading, [(1.0, m, np.hypot(1.0, 0.05 * m))])
    elif kind == "new_layer":
        parts, left = [], 1.0
        for day in sorted(worked, reverse=True)[:LAYERS]:
            seen, m = coat.layer(coat.day - day)
            parts.append((left * seen, m, np.hypot(1.0, 0.08 * m)))
            left = left * (1.0 - seen)
        # a new layer is read where one is seen
        parts = [(w / (1.0 - left + NONE_SEEN), m, s) for w, m, s in parts]
        p = length(reading, parts)
    elif kind in ("ease", "came"):
        share = coat.ripe / coat.cover()
        z = np.log((share + 0.02) / (reading["pulled"] + 0.02))
        answers = [reading["answer"]] if kind == "ease" else [1, 2, 3]
        p = (1 - WRONG) * sum(ordered(z, EASE_CUTS, EASE_SD, k) for k in answers) + WRONG * len(answers) / 5
    elif kind == "new_hair":
        yes = norm.cdf((np.log(coat.young() + 0.002) - np.log(0.04)) / 0.5)
        p = (1 - WRONG) * (yes if reading["answer"] else 1 - yes) + WRONG / 2
    elif kind == "cover":
        v, y = coat.cover(), reading["answer"]
        assert 0.0 < y < 1.0
        p = (1 - WRONG) * student.pdf((y - v) / COVER_SD, 4) / COVER_SD + WRONG
    elif kind == "feel":
        t = coat.row
        lo = t + 1 - coat.K
        hard = -np.einsum("kz,kz->z", coat.bh[lo : t + 1], -coat.unripe[coat.K - 1 :: -1])
        hard += np.einsum("kz,kz->z", coat.bh[: t + 1], coat.G[t::-1]) - coat.fade * coat.gone_hard
        hard = hard / coat.cover()
        below = [0.0, *[norm.cdf((c - hard) / FEEL_SD) for c in FEEL_CUTS], 1.0]
        p = (1 - WRONG) * (below[reading["answer"] + 1] - below[reading["answer"]]) + WRONG / 3
    else:
        raise ValueError(f"unknown reading `{kind}`")
    return np.log(np.maximum(p, 1e-300))


def ln_post(coat: str, zone: str, visits: list[dict], x: np.ndarray) -> np.ndarray:
    """Prior and likelihood of every row of x. A visit is {"day", "pulled", "readings"}; day 0 is left alone.

    What is recorded as pulled must not exceed the ripe hair: how a record beyond it is read is the engine's
    own affair. Draws for which it does are far out, and asserted to be few by the caller's data.
    """
    batch = Sights(zones_at(coat, zone, x), visits[-1]["day"])
    out = -0.5 * ((x / PRIOR_SD) ** 2).sum(axis=1)
    worked: list[int] = []
    for v in visits:
        while batch.day < v["day"]:
            batch.step()
        for r in v["readings"]:
            out += ln_likelihood(r, batch, worked)
        if v is not visits[-1]:
            batch.visit(np.full(len(x), v["pulled"]), np.zeros(len(x), bool))
        worked.append(v["day"])
    return out


def sample(coat: str, zone: str, visits: list[dict], rounds=(600, 600, 800, 8000), seed: int = 1, chunk: int = 250):
    """Weighted draws of the five logarithms, and their effective number. Chunks are worked in parallel: each draw's
    density is its own, so the answer does not depend on how many processors there are."""
    with ProcessPoolExecutor(min(4, os.cpu_count() or 1)) as pool:
        return _sample(partial(ln_post, coat, zone, visits), rounds, seed, chunk, pool.map)


def _sample(ln_density, rounds, seed, chunk, each):
    rng = np.random.default_rng(seed)
    d, nu = len(NAMES), 6
    mean, cov = np.zeros(d), np.diag(PRIOR_SD**2)
    wide = 1.2 * PRIOR_SD
    for n in rounds:
        far = rng.random(n) < 0.15
        root = np.linalg.cholesky(cov)
        scale = np.sqrt(nu / rng.chisquare(nu, n))[:, None]
        x = mean + scale * (rng.standard_normal((n, d)) @ root.T)
        x[far] = wide * rng.standard_normal((far.sum(), d))
        u = np.linalg.solve(root, (x - mean).T)
        ln_t = -0.5 * (nu + d) * np.log1p((u**2).sum(axis=0) / nu) - np.log(np.diag(root)).sum()
        ln_t += gammaln((nu + d) / 2) - gammaln(nu / 2) - 0.5 * d * np.log(nu * np.pi)
        ln_far = norm.logpdf(x / wide).sum(axis=1) - np.log(wide).sum()
        ln_q = np.logaddexp(np.log(0.85) + ln_t, np.log(0.15) + ln_far)
        ln = np.concatenate(list(each(ln_density, [x[i : i + chunk] for i in range(0, n, chunk)])))
        w = np.exp(ln - ln_q - (ln - ln_q).max())
        w /= w.sum()
        mean = w @ x
        cov = 1.1 * (x - mean).T @ ((x - mean) * w[:, None]) + 1e-6 * np.diag(PRIOR_SD**2)
    return x, w, 1.0 / (w**2).sum()


def summary(x: np.ndarray, w: np.ndarray) -> list[dict]:
    """Mean, sd and 80 % interval of each value's logarithm."""
    out = []
    for k in range(x.shape[1]):
        i = np.argsort(x[:, k])
        c = np.cumsum(w[i]) - 0.5 * w[i]
        m = float(w @ x[:, k])
        low, high = np.interp([0.1, 0.9], c, x[i, k])
        out.append({"mean": m, "sd": float(np.sqrt(w @ (x[:, k] - m) ** 2)), "low": float(low), "high": float(high)})
    return out
