"""Waiting times on a grid of days, for `exact.py` (`expected.py` builds its own)."""

from __future__ import annotations

import numpy as np
from scipy.stats import gamma


def day_law(mean: float, sd: float, tail: float = 1e-13) -> np.ndarray:
    """Day probabilities of a Gamma time: day k carries P(k - 1/2 < T <= k + 1/2)."""
    if mean <= 0.0:
        return np.ones(1)
    shape, scale = (mean / sd) ** 2, sd * sd / mean
    last = int(np.ceil(gamma.isf(tail, shape, scale=scale))) + 1
    p = np.diff(gamma.cdf(np.arange(last + 1) + 0.5, shape, scale=scale), prepend=0.0)
    return p / p.sum()


def survival(p: np.ndarray) -> np.ndarray:
    """P(T > k) for k = 0, 1, ..."""
    return np.clip(1.0 - np.cumsum(p), 0.0, 1.0)
