"""One zone's expected coat, day by day, with nothing summed away.

Ripe hair is kept per cohort (the day its follicle was emptied) and per length, so
a flat strip, a clip and any sequence of visits are exact on the daily grid. Slow
and plain on purpose; `expected.py` is the fast form of the same coat.

A hair of a cohort emptied on day d comes through on day e = d + lag, stops on day
n = e + grow and is ripe on day n + set. On day t a growing hair is (t - e) * growth
long, a finished one grow * growth. A clip on day c to L mm cuts a hair when its
length that day is above L; the hair goes on growing if its growth is not over.
"""

from __future__ import annotations

import numpy as np

from .laws import day_law, survival

NEVER = -(10**6)


def ideal_classes(worked: list[int], day: int, rhythm: int, cycle_survival: np.ndarray):
    """Class bounds v_n, v_{n-1}, ... (newest first) and ideal shares of the classes.

    Before the first recorded visit the bounds go back one rhythm at a time; where no
    visit is recorded at all the newest bound is the day itself.
    """
    v = sorted({w for w in worked if w <= day}, reverse=True) or [day]
    while v[0] - v[-1] < len(cycle_survival) + rhythm:
        v.append(v[-1] - rhythm)
    v = np.array(v)
    age = v[0] - v[:-1]
    alive = np.where(age < len(cycle_survival), cycle_survival[np.minimum(age, len(cycle_survival) - 1)], 0.0)
    s = (v[:-1] - v[1:]) * alive
    return v, s / s.sum()


class ExactZone:
    """The expected follicles of one zone, from a coat nobody ever worked."""

    def __init__(self, zone: dict, day: int, horizon_days: int):
        self.z = zone
        self.pl, self.pg, self.ps = (day_law(*zone[k]) for k in ("lag", "grow", "set"))
        self.h = 1.0 / zone["hold"]
        self.g = zone["growth_mm_d"]
        self.ls = np.convolve(self.pl, self.ps)
        self.f = np.convolve(self.ls, self.pg)
        self.cycle_survival = survival(self.f)
        self.mean = sum(float(np.arange(len(p)) @ p) for p in (self.pl, self.pg, self.ps))
        # T[q, S] = P(lag + set = q, set <= S)
        nq, ns = len(self.ls), len(self.ps)
        self.T = np.zeros((nq + 1, ns))  # last row: out of range
        for s in range(ns):
            self.T[s : s + len(self.pl), s] = self.ps[s] * self.pl
        self.T = np.cumsum(self.T, axis=1)
        self.day, self.flat, self.clip, self.cut_mm = day, NEVER, NEVER, 0.0
        self.worked: list[int] = []
        back = len(self.f) + 2
        self.d0 = day - back
        n = back + horizon_days + 1
        self.b, self.bh, self.came = np.zeros(n), np.zeros(n), np.zeros(n)
        self.U = np.zeros((n, len(self.pg)))
        self.C = np.zeros((n, len(self.pg) + 2))
        self._cut_kernel: dict[int, np.ndarray] = {}
        self._stationary(back)

    def _stationary(self, back: int) -> None:
        beta = 1.0 / (self.mean + 1.0 / self.h)
        pool = np.zeros(back + 1)
        r = 0.0
        for u in range(back + 1):
            r = (1.0 - self.h) * r + (self.ls[u] if u < len(self.ls) else 0.0)
            pool[u] = r
        x = np.arange(len(self.pg))
        for i in range(1, back + 1):
            u = back - i - x
            self.U[i] = beta * self.pg * np.where(u >= 0, pool[np.maximum(u, 0)], 0.0)
        # all earlier cohorts in one: wholly ripe, so their order no longer matters
        self.U[0] = beta * self.pg * pool[back - x] / self.h
        self.b[1 : back + 1] = beta
        self.bh[:] = self.b * self.z["start_hard"]
        self.came[1 : back + 1] = beta * np.cumsum(self.f)[np.minimum(back - np.arange(1, back + 1), len(self.f) - 1)]
        self.old_hard = self.z["start_hard"]

    # -- a day -----------------------------------------------------------------

    def step(self) -> None:
        """One day on: shed, then ripen."""
        self.day += 1
        t = self.day
        shed = self.h * (self.U.sum() + self.C.sum())
        self.U *= 1.0 - self.h
        self.C *= 1.0 - self.h
        self.b[t - self.d0] += shed
        self.bh[t - self.d0] += shed * self.z["start_hard"]
        self._ripen()

    def _ripen(self) -> None:
        t = self.day
        lo = max(1, t - len(self.f) + 1 - self.d0)
        rows = np.arange(lo, t - self.d0 + 1)
        age = t - self.d0 - rows
        x = np.arange(len(self.pg))
        smax = np.full(len(x), len(self.ps) - 1)
        smax = np.minimum(smax, t - x - self.flat - 1)
        if self.clip > NEVER:
            reach = self.cut_mm / self.g
            late = np.floor(t - x - self.clip + reach + 1e-9).astype(int)
            smax = np.where(x * self.g > self.cut_mm + 1e-9, np.minimum(smax, late), smax)
        q = age[:, None] - x[None, :]
        q = np.where((q >= 0) & (q < len(self.ls)), q, len(self.ls))
        new = self.b[rows, None] * self.pg * np.where(smax >= 0, self.T[q, np.maximum(smax, 0)], 0.0)
        self.U[rows] += new
        self.came[rows] += new.sum(axis=1)
        if self.clip > NEVER and t - self.clip < len(self.pg) + len(self.ps):
            for s, p in enumerate(self.ps):
                n = t - s
                k = self._cut(n)
                if k is None:
                    continue
                back = n - self.d0 - rows
                part = np.where((back >= 0) & (back < len(k)), k[np.clip(back, 0, len(k) - 1)], 0.0)
                add = p * self.b[rows] * part
                self.C[rows, max(0, n - self.clip)] += add
                self.came[rows] += add

    def _cut(self, n: int):
        """Law of lag + grow = q for the cut hair that stops growing on day n, or none."""
        if n not in self._cut_kernel:
            x = np.arange(len(self.pg))
            reach = self.cut_mm / self.g
            is_cut = (x > reach + 1e-9) & (x > n - self.clip + reach + 1e-9) & (x < n - self.flat)
            self._cut_kernel[n] = np.convolve(self.pg * is_cut, self.pl) if is_cut.any() else None
        return self._cut_kernel[n]

    # -- the groomer -----------------------------------------------------------

    def act(self, event: dict) -> float:
        """Applies one event; returns the share of the follicles taken."""
        kind, t = event["kind"], self.day
        if kind == "left_alone":
            return 0.0
        if kind == "clip":
            length = event["length_mm"]
            assert self.clip == NEVER or self.flat >= self.clip or length == self.cut_mm, "clips of one length only"
            assert self.clip == NEVER, "one clip: earlier ones to the same length change nothing"
            self.clip, self.cut_mm = t, length
            self._cut_kernel.clear()
            long = np.arange(len(self.pg)) * self.g > length + 1e-9
            self.C[:, 0] += self.U[:, long].sum(axis=1)
            self.U[:, long] = 0.0
            return 0.0
        ripe = self.U.sum(axis=1) + self.C.sum(axis=1)
        if kind == "flat":
            taken = self._parts()[0]
            taken = sum(float(w.sum()) for _, w, _, _ in taken)
            self.U[:] = 0.0
            self.C[:] = 0.0
            self.flat = t
            self._cut_kernel.clear()
            self.came[:] = 0.0
        else:
            if kind == "take_all_ripe":
                want = ripe.sum()
            elif kind == "take_share_of_visible":
                want = min(event["share"] * self.measure()["cover"], ripe.sum())
            else:
                raise ValueError(f"unknown event kind `{kind}`")
            before = np.cumsum(ripe) - ripe
            y = np.clip((want - before) / np.where(ripe > 0, ripe, 1.0), 0.0, 1.0)
            taken = float((y * ripe).sum())
            self.U *= 1.0 - y[:, None]
            self.C *= 1.0 - y[:, None]
        self.b[t - self.d0] += taken
        self.bh[t - self.d0] += taken
        self.worked.append(t)
        return taken

    # -- measures --------------------------------------------------------------

    def _parts(self):
        """Visible hair as (lengths, shares, hard shares, is ripe) groups, and the live mass per cohort."""
        t, i = self.day, self.day - self.d0
        reach = self.cut_mm / self.g
        # emergence per day, for days after the last flat strip
        m = np.convolve(self.b[: i + 1], self.pl)[: i + 1]
        mh = np.convolve(self.bh[: i + 1], self.pl)[: i + 1]
        e = np.arange(i + 1) + self.d0
        m, mh = m * (e > self.flat), mh * (e > self.flat)
        old = len(self.pg) + len(self.ps)
        ok = e > t - old
        e, m, mh = e[ok], m[ok], mh[ok]
        clipped = self.clip > NEVER
        pgs = survival(self.pg)
        alive = np.where(t - e < len(pgs), pgs[np.minimum(t - e, len(pgs) - 1)], 0.0)
        cut = clipped & ((self.clip - e) > reach + 1e-9)
        groups = [(np.where(cut, self.cut_mm + (t - self.clip) * self.g, (t - e) * self.g), m * alive, mh * alive * ~cut, False)]
        pss = survival(self.ps)
        x, s = np.arange(len(self.pg))[:, None], np.arange(len(self.ps))[None, :]
        ee = t - x - s
        j = ee - e[0]
        w = self.pg[:, None] * pss[None, :]
        seen = np.where(j >= 0, m[np.maximum(j, 0)], 0.0) * w
        seen_h = np.where(j >= 0, mh[np.maximum(j, 0)], 0.0) * w
        cut = clipped & (x * self.g > self.cut_mm + 1e-9) & ((self.clip - ee) > reach + 1e-9)
        length = np.where(cut, self.cut_mm + np.maximum(0, t - s - self.clip) * self.g, x * self.g + 0 * s)
        groups.append((length.ravel(), seen.ravel(), (seen_h * ~cut).ravel(), False))
        hf = np.divide(self.bh, self.b, out=np.full(len(self.b), float(self.z["start_hard"])), where=self.b > 0)
        groups.append((np.arange(len(self.pg)) * self.g, self.U.sum(axis=0), hf @ self.U, True))
        c = self.C.sum(axis=0)
        groups.append((self.cut_mm + np.arange(len(c)) * self.g, c, 0 * c, True))
        d = np.arange(i + 1) + self.d0
        pls = survival(self.pl)
        k = self.flat - d
        surv = np.where(k < 0, 1.0, np.where(k < len(pls), pls[np.clip(k, 0, len(pls) - 1)], 0.0))
        live = self.b[: i + 1] * surv - self.came[: i + 1] + self.U[: i + 1].sum(axis=1) + self.C[: i + 1].sum(axis=1)
        return groups, live

    def measure(self) -> dict:
        """All measures of the day; None where a measure is not defined."""
        groups, live = self._parts()
        assert abs(live.sum() - 1.0) < 1e-9, live.sum()
        length = np.concatenate([g[0] for g in groups])
        share = np.concatenate([g[1] for g in groups])
        hard = sum(float(g[2].sum()) for g in groups)
        cover = float(share.sum())
        ripe = sum(float(g[1].sum()) for g in groups if g[3])
        v, s = ideal_classes(self.worked, self.day, self.z.get("rhythm_days", 21), self.cycle_survival)
        edges = np.concatenate([[self.day], v[1:], [self.d0 - 1]])
        cum = np.concatenate([[0.0], np.cumsum(live)])
        at = np.clip(edges - self.d0 + 1, 0, len(live))
        c = cum[at[:-1]] - cum[at[1:]]
        s = np.append(s, 0.0)
        return {
            "cover": cover,
            "ripe": ripe,
            "top_mm": quantile(length, share, 0.9, self.g) if cover >= 0.02 else None,
            "hard": hard / cover if cover > 1e-12 else None,
            "evenness": 1.0 - float(np.abs(c - s).sum()) / 2.0,
            "layers": int(np.sum((s >= 0.05) & (c >= s / 2))),
        }


def quantile(length: np.ndarray, share: np.ndarray, level: float, width: float) -> float:
    """Quantile of hair lengths, each spread evenly over one day's growth around its value."""
    keep = share > 0
    length, share = length[keep], share[keep]
    lo, hi = float(length.min()) - width, float(length.max()) + width
    want = level * share.sum()
    for _ in range(50):
        mid = (lo + hi) / 2.0
        if share @ np.clip((mid - length) / width + 0.5, 0.0, 1.0) < want:
            lo = mid
        else:
            hi = mid
    return max(0.0, (lo + hi) / 2.0)


def run(zone: dict, events: list[dict], days: list[int]) -> list[dict]:
    """Rows like those of `follicles.run`, without standard errors."""
    by_day: dict[int, list[dict]] = {}
    for e in events:
        by_day.setdefault(e["day"], []).append(e)
    wanted = sorted(set(by_day) | set(days))
    coat = ExactZone(zone, wanted[0], wanted[-1] - wanted[0])
    rows = []
    for day in wanted:
        while coat.day < day:
            coat.step()
        if day not in by_day:
            rows.append({"day": day, "at": "day", **coat.measure()})
            continue
        rows.append({"day": day, "at": "before", **coat.measure()})
        for e in by_day[day]:
            coat.act(e)
        rows.append({"day": day, "at": "after", **coat.measure()})
    return rows
