"""Expected coats of many zones at once, vectorised over zones and dogs.

For coats that nobody worked until the first visit, then visits on days common to
the batch, each taking a share of the visible hair from ripe hair, earliest emptied
first. Same grid as `exact.py`, arranged so that no day touches a cohort-by-length
table: because lag + set and grow are independent, hair by length is always
p_grow(x) times a convolution read at t - x, and what visits removed is carried as
one vector over x that fades with the ripe hair. Exact, not an approximation.

Layout: axis 0 is days (or lengths), axis 1 is zones; row `W + d` is day d.
"""

from __future__ import annotations

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft
from scipy.special import gammainc

TAIL = 1e-13
UNDERCOAT = {"lag": (14.0, 2.8), "grow": (75.0, 15.0), "set": (7.0, 1.4), "hold": 60.0}
WOOL_LIMIT = 0.15


def day_laws(mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """Gamma day laws, one column per zone, cut where every tail is below `TAIL`."""
    shape, scale = (mean / sd) ** 2, sd * sd / mean
    last = int(np.max(mean + 9.0 * sd + 4.0 * scale)) + 4
    cdf = gammainc(shape, (np.arange(last)[:, None] + 0.5) / scale)
    stop = min(int(np.argmax(cdf.min(axis=1) > 1.0 - TAIL)) or last - 1, last - 1)
    p = np.diff(cdf[: stop + 1], axis=0, prepend=0.0)
    return p / p.sum(axis=0)


def convolve(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Column-wise convolution of two short laws."""
    out = np.zeros((len(a) + len(b) - 1, a.shape[1]))
    if len(b) > len(a):
        a, b = b, a
    for k in range(len(b)):
        out[k : k + len(a)] += a * b[k]
    return out


def survival(p: np.ndarray) -> np.ndarray:
    return np.clip(1.0 - np.cumsum(p, axis=0), 0.0, 1.0)


def look_back(x: np.ndarray, law_rev: np.ndarray, row: int) -> np.ndarray:
    """sum_k law(k) x(row - k), for a law stored last day first."""
    return np.einsum("kz,kz->z", x[row + 1 - len(law_rev) : row + 1], law_rev)


class Wool:
    """The undercoat: ripe share by day, wholly combed out when carded."""

    def __init__(self, n_zones: int, horizon: int):
        u = UNDERCOAT
        laws = [day_laws(np.array([u[k][0]]), np.array([u[k][1]])) for k in ("lag", "grow", "set")]
        f = convolve(convolve(laws[0], laws[2]), laws[1])
        self.h = 1.0 / u["hold"]
        rate = 1.0 / (sum(float(np.arange(len(p)) @ p[:, 0]) for p in laws) + u["hold"])
        self.f_rev = np.ascontiguousarray(f[::-1, 0])
        self.row = len(f)
        self.b = np.full((self.row + horizon + 1, n_zones), rate)
        self.b[self.row + 1 :] = 0.0
        self.ripe = np.full(n_zones, rate / self.h)

    def step(self) -> None:
        self.row += 1
        shed = self.h * self.ripe
        self.b[self.row] = shed
        self.ripe += self.f_rev @ self.b[self.row + 1 - len(self.f_rev) : self.row + 1] - shed

    def card(self, where: np.ndarray) -> None:
        out = np.where(where, self.ripe, 0.0)
        self.b[self.row] += out
        self.ripe -= out


class Batch:
    """Zones given by columns: `lag`, `grow`, `set` (each mean, sd), `hold`, `growth_mm_d`, `start_hard`."""

    def __init__(self, zones: dict[str, np.ndarray], horizon: int, rhythm_days: int = 21):
        self.pl, self.pg, self.ps = (day_laws(*zones[k]) for k in ("lag", "grow", "set"))
        self.h, self.g, self.start = 1.0 / zones["hold"], zones["growth_mm_d"], zones["start_hard"]
        self.rhythm, n_zones = rhythm_days, len(self.h)
        assert self.pl[0].max() < 1e-9, "a lag this short needs exact.py"
        ls = convolve(self.pl, self.ps)
        f = convolve(ls, self.pg)
        self.K, self.X = len(f), len(self.pg)
        self.W = W = self.K
        n = W + horizon + 1
        self.s_lag, self.s_grow, self.s_all = survival(self.pl), survival(self.pg), survival(f)
        mean = sum(np.arange(len(p)) @ p for p in (self.pl, self.pg, self.ps))
        self.beta = 1.0 / (mean + 1.0 / self.h)
        keep = 1.0 - self.h
        # ripe hair left of a cohort a days after it was emptied; the same for lag + set alone
        self.G, self.Q = np.zeros((n, n_zones)), np.zeros((n, n_zones))
        r, q = np.zeros(n_zones), np.zeros(n_zones)
        for a in range(n):
            r = keep * r + (f[a] if a < len(f) else 0.0)
            q = keep * q + (ls[a] if a < len(ls) else 0.0)
            self.G[a], self.Q[a] = r, q
        self.live = self.G + np.vstack([self.s_all, np.zeros((n - self.K, n_zones))])  # not pulled yet, per mass
        self.unripe = np.vstack([self.s_all, np.zeros((n - self.K, n_zones))])
        self.unripe[: len(self.s_lag)] -= self.s_lag  # visible, not ripe
        self.rev = {k: np.ascontiguousarray(v[::-1]) for k, v in
                    {"pl": self.pl, "ls": ls, "pg": self.pg, "ss": survival(self.ps), "sl": self.s_lag}.items()}
        # rows before day 0 are the stationary past; row 0 of b stands for all older days
        self.b = np.zeros((n, n_zones))
        self.b[: W + 1] = self.beta
        self.b[0] = self.beta / self.h
        self.bh = self.b * self.start
        self.m, self.fs, self.ss, self.cq = (np.zeros((n, n_zones)) for _ in range(4))
        self.m[: W + 1] = self.beta
        self.fs[: W + 1] = self.beta
        self.ss[: W + 1] = self.beta * (np.arange(len(self.ps)) @ self.ps)
        self.cq[: W + 1] = self.beta / self.h
        self.ripe = self.beta / self.h
        self.row = W
        self.gone_mass = np.zeros((n, n_zones))  # per unit of b: ripe hair that visits removed, faded
        self.gone_len = np.zeros((self.X, n_zones))  # the same over lengths, without p_grow
        self.gone_hard = np.zeros(n_zones)
        self.fade = np.ones(n_zones)
        self.visits: list[int] = []
        self.shares: list[np.ndarray] = []  # share of a cohort's ripe hair that each visit took, faded
        self.q_hat = None
        self.wool = Wool(n_zones, horizon)

    @property
    def day(self) -> int:
        return self.row - self.W

    def step(self) -> None:
        """One day on: shed, then ripen."""
        self.row += 1
        t, rev = self.row, self.rev
        shed = self.h * self.ripe
        self.b[t] = shed
        self.bh[t] = shed * self.start
        self.m[t] = look_back(self.b, rev["pl"], t)
        self.fs[t] = look_back(self.b, rev["ls"], t)
        self.ss[t] = look_back(self.m, rev["ss"], t)
        self.cq[t] = (1.0 - self.h) * self.cq[t - 1] + self.fs[t]
        self.ripe = self.ripe - shed + look_back(self.fs, rev["pg"], t)
        self.fade *= 1.0 - self.h
        self.wool.step()

    def cover(self) -> np.ndarray:
        return 1.0 - look_back(self.b, self.rev["sl"], self.row)

    def visit(self, share: np.ndarray, carded: np.ndarray) -> None:
        """Takes `share` of the visible hair from ripe hair, earliest emptied first; cards where due."""
        t = self.row
        want = np.minimum(share * self.cover(), self.ripe)
        b = self.b[: t + 1]
        self.gone_mass *= self.fade
        self.gone_len *= self.fade
        self.gone_hard = self.gone_hard * self.fade
        for w in self.shares:
            w *= self.fade
        self.fade = np.ones_like(self.fade)
        per_mass = np.maximum(self.G[t::-1] - self.gone_mass[: t + 1], 0.0)
        pool = b * per_mass
        before = np.cumsum(pool, axis=0) - pool
        y = np.clip((want - before) / np.where(pool > 1e-18, pool, 1.0), 0.0, 1.0)
        y[pool <= 1e-18] = 0.0
        taken = (y * pool).sum(axis=0)
        yb = y * b
        # hair removed by length: every earlier removal is undone by the share taken again now
        source = yb.copy()
        for day, w in zip(self.visits, self.shares):
            back = self.day - day
            source[back:] -= yb[: t + 1 - back] * w[: t + 1 - back]
        size = next_fast_len(len(self.Q) * 2, real=True)
        if self.q_hat is None:
            self.q_hat = rfft(self.Q, size, axis=0)
        full = irfft(rfft(source, size, axis=0) * self.q_hat, size, axis=0)
        self.gone_len += full[t - np.arange(self.X)]
        self.gone_mass[: t + 1] += y * per_mass
        self.gone_hard += (self.bh[: t + 1] * y * per_mass).sum(axis=0)
        for w in self.shares:
            w[: t + 1] *= 1.0 - y
        new = np.zeros_like(self.b)
        new[: t + 1] = y
        self.shares.append(new)
        self.visits.append(self.day)
        self.ripe = self.ripe - taken
        self.b[t] += taken
        self.bh[t] += taken
        self.wool.card(carded & (self.wool.ripe > WOOL_LIMIT))

    def measure(self) -> dict[str, np.ndarray]:
        """All measures, one value per zone; nan where not defined."""
        t, day = self.row, self.day
        b, bh = self.b[: t + 1], self.bh[: t + 1]
        cover = self.cover()
        lo = t + 1 - self.K
        hard = -np.einsum("kz,kz->z", bh[lo:], -self.unripe[self.K - 1 :: -1])
        hard += np.einsum("kz,kz->z", bh, self.G[t::-1]) - self.fade * self.gone_hard
        ok = cover > 1e-12
        # 90th percentile over days of growth
        at = t - np.arange(self.X)
        by_len = self.pg * (self.cq[at] - self.fade * self.gone_len + self.ss[at]) + self.m[at] * self.s_grow
        cum = np.cumsum(by_len, axis=0)
        want = 0.9 * cum[-1]
        i = np.argmax(cum >= want, axis=0)
        z = np.arange(len(cover))
        inside = (cum[i, z] - want) / np.where(by_len[i, z] > 0, by_len[i, z], 1.0)
        top = np.where(cover >= 0.02, (i + 0.5 - inside) * self.g, np.nan)
        # classes
        v = sorted(self.visits, reverse=True) or [day]
        while v[0] - v[-1] < self.K + self.rhythm:
            v.append(v[-1] - self.rhythm)
        v = np.array(v)
        age = v[0] - v[:-1]
        alive = np.where((age < self.K)[:, None], self.s_all[np.minimum(age, self.K - 1)], 0.0)
        s = (v[:-1] - v[1:])[:, None] * alive
        s /= s.sum(axis=0)
        mass = b * (self.live[t::-1] - self.fade * self.gone_mass[: t + 1])
        edges = np.maximum(v[1:][::-1] + self.W + 1, 0)
        edges = np.concatenate([[0], edges[edges > 0]])
        c = np.add.reduceat(mass, edges, axis=0)[::-1]
        s_full = np.zeros_like(c)
        k = min(len(c), len(s))
        s_full[:k] = s[:k]
        return {
            "cover": cover,
            "ripe": self.ripe.copy(),
            "top_mm": np.maximum(top, 0.0),
            "hard": np.where(ok, hard / np.where(ok, cover, 1.0), np.nan),
            "evenness": 1.0 - np.abs(c - s_full).sum(axis=0) / 2.0,
            "layers": ((s_full >= 0.05) & (c >= s_full / 2)).sum(axis=0),
            "wool": self.wool.ripe.copy(),
        }


def forecast(zones, visits: list[int], share, carded, days: list[int], rhythm_days: int = 21):
    """Rows (day, at, measures): on `days`, and before and after each of `visits`."""
    last = max([*visits, *days])
    coat = Batch(zones, last, rhythm_days)
    rows = []
    for day in range(last + 1):
        if day:
            coat.step()
        if day in visits:
            rows.append((day, "before", coat.measure()))
            coat.visit(share, carded)
            rows.append((day, "after", coat.measure()))
        elif day in days:
            rows.append((day, "day", coat.measure()))
    return rows


def forecast_grouped(zones, visits, share, carded, days, rhythm_days: int = 21, groups: int = 8, chunk: int = 256):
    """`forecast` with zones of like cycle length together, so that short laws are not padded to long ones."""
    order = np.argsort(sum(zones[k][0] for k in ("lag", "grow", "set")), kind="stable")
    pieces = [p for g in np.array_split(order, groups) for p in np.array_split(g, max(1, len(g) // chunk)) if len(p)]
    out = None
    for who in pieces:
        part = {k: np.asarray(v)[..., who] for k, v in zones.items()}
        rows = forecast(part, visits, share[who], carded[who], days, rhythm_days)
        if out is None:
            out = [(d, at, {k: np.empty(len(order), dtype=np.asarray(x).dtype) for k, x in m.items()}) for d, at, m in rows]
        for (_, _, whole), (_, _, m) in zip(out, rows):
            for k, x in m.items():
                whole[k][who] = x
    return out
