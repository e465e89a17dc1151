"""What one zone's coat shows a hand, for many values at once and without stepping through days.

Same grid of days as `exact.py` and `expected.py`, by another way than either. The coat at rest is known in
closed form; each visit's emptying is an impulse, whose answer by the renewal equation is solved once for all
days, and visits add up. Only which hair a visit takes (earliest emptied first) needs the cohorts, and it needs
them on the days of visits alone. Laws are integrated by Gauss-Legendre points in each day. For coats that
nobody worked until the first visit; a test holds it against `expected.py`.

Layout: axis 0 is sets of values, axis 1 is days, lengths or cohorts.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft
from scipy.special import gammaln
from scipy.stats import gamma

YOUNG_D = 12
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(6)


class Size(NamedTuple):
    """How far the sums go, whatever the values: days of each law, and from emptying to ripe."""

    lag: int
    grow: int
    set: int
    cycle: int


def size(z: dict, reach: np.ndarray, tail: float = 1e-8) -> Size:
    """Fits waits multiplied by up to exp(reach), and their sum at the same distance from the default, to `tail`."""
    def end(mean, sd):
        return int(np.ceil(gamma.isf(tail, (mean / sd) ** 2, scale=sd * sd / mean))) + 1

    near = np.array([z[k] for k in ("lag", "grow", "set")])
    far = np.exp(reach)[:, None] * near
    mean = near[:, 0].sum() + np.hypot.reduce(far[:, 0] - near[:, 0])
    return Size(*(end(*w) for w in far), end(mean, np.hypot.reduce(far[:, 1])))


class Seen(NamedTuple):
    """The coat before a visit's work. `layers` are what earlier works emptied, newest first: (share through, mm)."""

    longest: np.ndarray
    young: np.ndarray
    cover: np.ndarray
    ripe: np.ndarray
    hard: np.ndarray
    layers: list[tuple[np.ndarray, np.ndarray]]


def day_law(wait, by: np.ndarray, days: int) -> np.ndarray:
    """Day k carries what a Gamma time has between k - 1/2 and k + 1/2; its sd scales with its mean."""
    shape, scale = (wait[0] / wait[1]) ** 2, by[:, None, None] * wait[1] ** 2 / wait[0]
    low = np.maximum(np.arange(days) - 0.5, 0.0)[:, None]
    half = (np.arange(days)[:, None] + 0.5 - low) / 2.0
    t = low + half * (1.0 + POINTS)
    ln = (shape - 1.0) * (np.log(t) - np.log(scale)) - t / scale - gammaln(shape)
    p = (half * WEIGHTS * np.exp(ln)).sum(axis=2) / scale[:, 0]
    return p / p.sum(axis=1, keepdims=True)


def mean(p: np.ndarray) -> np.ndarray:
    return p @ np.arange(p.shape[1])


def pad(a: np.ndarray, n: int) -> np.ndarray:
    """Its first n columns, zero where it has none."""
    return later(a, 0, n)


def conv(a: np.ndarray, b: np.ndarray, n: int) -> np.ndarray:
    """The first n terms of a convolution."""
    a, b = a[:, :n], b[:, :n]
    many = next_fast_len(a.shape[1] + b.shape[1] - 1, real=True)
    return pad(irfft(rfft(a, many) * rfft(b, many), many), n)


def left(p: np.ndarray, n: int) -> np.ndarray:
    """P(time > k) for k below n."""
    return pad(np.maximum(1.0 - np.cumsum(p, axis=1), 0.0), n)


def later(a: np.ndarray, by: int, n: int) -> np.ndarray:
    """`a` begun `by` columns later: n of them, zero where it has none."""
    out = np.zeros((len(a), n))
    some = a[:, : n - by]
    out[:, by : by + some.shape[1]] = some
    return out


def one_over(a: np.ndarray, n: int) -> np.ndarray:
    """The first n terms of the power series 1 / a, a[0] = 1, by Newton's doubling."""
    g = np.ones((len(a), 1))
    while g.shape[1] < n:
        m = min(2 * g.shape[1], n)
        g = 2.0 * pad(g, m) - conv(conv(a, g, m), g, m)
    return g


def sights(z: dict, s: Size, works: list[tuple[int, float]], last: int, x: np.ndarray) -> list[Seen]:
    """What the coat shows on each of the days of `works` (day, share of the visible hair that is then taken) and on
    day `last`; lag, grow, set, hold and growth are those of the zone multiplied by exp(x)."""
    by = np.exp(x).T
    pl, pg, ps = (day_law(z[k], f, n) for k, f, n in zip(("lag", "grow", "set"), by, s))
    h, growth = 1.0 / (z["hold"] * by[3])[:, None], z["growth_mm_d"] * by[4]
    X, K, H = s.grow, s.cycle, last + 1
    n = K + H  # cohorts by day of emptying; column K is day 0, column 0 stands for all older ones
    one = np.ones((len(x), 1))
    rate = 1.0 / ((mean(pl) + mean(pg) + mean(ps))[:, None] + 1.0 / h)
    stood = conv(pl, ps, n)
    f = conv(stood, pg, n)
    # ripe hair of a cohort by its age, when nothing is pulled: sum_k f(k) (1 - h)^(a - k); the same had it not to grow
    fade = np.exp(np.arange(n) * np.log1p(-h))
    ripe_at, stood_at = (fade * np.cumsum(p / fade, axis=1) for p in (f, stood))
    seen_at = ripe_at + left(f, n) - left(pl, n)
    growing = left(pg, X)
    grown = np.hstack([0.0 * one, np.cumsum(left(pg, H), axis=1)])
    layer_through = np.cumsum(pad(pl, H), axis=1)
    layer_sum = conv(pl, grown, H) * growth[:, None]

    # a unit of ripe hair is pulled on day 0: what is emptied after it is what the ripe lack or gain shed,
    # u(t) = h r(t - 1),  r(t) = sum_k ripe_at(k) u(t - k) - (1 - h)^t
    series = one_over(np.hstack([one, -h * ripe_at[:, : H - 1]]), H)
    u = conv(series, np.hstack([one, -h * fade[:, : H - 1]]), H)
    u_through = conv(pl, u, H)
    u_cover, u_ripe = -conv(left(pl, H), u, H), conv(ripe_at, u, H) - fade[:, :H]
    u_set, u_stood = conv(left(ps, H), u_through, H), conv(stood_at, u, H)
    many = next_fast_len(2 * n, real=True)
    stood_hat = rfft(stood_at, many)

    out: list[Seen] = []
    pulled: list[tuple[int, np.ndarray]] = []
    # of ripe hair that works took and that would stand still, faded: by cohort (of its mass), by length, the hard of it,
    # and the share of each cohort's that each work took
    gone, gone_len, gone_hard, before = np.zeros((len(x), n)), np.zeros((len(x), X)), np.zeros(len(x)), 0
    shares: list[tuple[int, np.ndarray]] = []
    for day, share in [*works, (last, None)]:
        now = K + day + 1  # columns of cohorts until today

        def on_day(at_rest, v):
            return at_rest[:, 0] + sum((took * v[:, day - d] for d, took in pulled), 0.0)

        def by_length(at_rest, v):
            """Of the day on which hair of each length began."""
            past = sum((took[:, None] * later(v, d, day + 1) for d, took in pulled), np.zeros((len(x), day + 1)))
            return at_rest + pad(past[:, ::-1], X)

        cover = on_day(1.0 - rate * mean(pl)[:, None], u_cover)
        ripe = on_day(rate / h, u_ripe)
        own = sum((took[:, None] * later(u, d, day + 1) for d, took in pulled), np.zeros((len(x), day + 1)))
        b = np.hstack([rate / h, np.repeat(rate, K - 1, axis=1), rate + own])
        hard_b = z["start_hard"] * b
        for d, took in pulled:
            hard_b[:, K + d] += (1.0 - z["start_hard"]) * took
        faded = fade[:, day - before : day - before + 1]
        gone, gone_len, gone_hard, before = gone * faded, gone_len * faded, gone_hard * faded[:, 0], day
        shares = [(d, w * faded) for d, w in shares]
        hard = ((hard_b * seen_at[:, now - 1 :: -1]).sum(axis=1) - gone_hard) / cover

        come = by_length(rate, u_through)
        by_len = pg * (by_length(rate / h, u_stood) - gone_len + by_length(rate * mean(ps)[:, None], u_set)) + come * growing
        cum = np.cumsum(by_len, axis=1)
        want = 0.99 * cum[:, -1]
        i, row = np.argmax(cum >= want[:, None], axis=1), np.arange(len(x))
        inside = (cum[row, i] - want) / np.where(by_len[row, i] > 0.0, by_len[row, i], 1.0)
        ages = [day - d for d, _ in reversed(pulled)]
        layers = [(layer_through[:, a], np.where(layer_through[:, a] > 1e-12,
                   layer_sum[:, a] / np.maximum(layer_through[:, a], 1e-12), 0.0)) for a in ages]
        young = (come * growing)[:, :YOUNG_D].sum(axis=1)
        out.append(Seen((i + 0.5 - inside) * growth, young, cover, ripe, hard, layers))
        if share is None:
            break

        # earliest emptied first
        want = np.minimum(share * cover, ripe)[:, None]
        each = np.maximum(ripe_at[:, now - 1 :: -1] - gone[:, :now], 0.0)
        pool = b * each
        some = pool > 1e-18
        y = np.where(some, np.clip((want - (np.cumsum(pool, axis=1) - pool)) / np.where(some, pool, 1.0), 0.0, 1.0), 0.0)
        # by length: as much of the cohort's all, less as much of what earlier works had taken and is not there to take
        yb = y * b
        source = yb - sum((later(yb * w[:, :now], day - d, now) for d, w in shares), 0.0)
        taken = irfft(rfft(source, many) * stood_hat, many)
        gone_len += pad(taken[:, now - 1 :: -1], X)
        gone[:, :now] += y * each
        gone_hard += (hard_b * y * each).sum(axis=1)
        shares = [(d, w * (1.0 - pad(y, n))) for d, w in shares] + [(day, pad(y, n))]
        pulled.append((day, (y * pool).sum(axis=1)))
    return out
