"""What a batch of coats shows to a hand, by the day steps of `expected.py`."""

from __future__ import annotations

import numpy as np

from . import cases, expected

YOUNG_D = 12


def zones_at(coat: str, zone: str, x: np.ndarray) -> dict[str, np.ndarray]:
    """The zone with its values multiplied by exp(x), one column for each row of x."""
    z, f = cases.zone_values(coat, zone), np.exp(x).T
    wait = lambda key, by: np.array([z[key][0] * by, z[key][1] * by])
    one = np.ones(len(x))
    return {"lag": wait("lag", f[0]), "grow": wait("grow", f[1]), "set": wait("set", f[2]),
            "hold": z["hold"] * f[3], "growth_mm_d": z["growth_mm_d"] * f[4], "start_hard": z["start_hard"] * one}


class Sights(expected.Batch):
    """What a batch of coats shows on a day, before its work."""

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

    def hard(self) -> np.ndarray:
        t = self.row
        lo = t + 1 - self.K
        hard = -np.einsum("kz,kz->z", self.bh[lo : t + 1], -self.unripe[self.K - 1 :: -1])
        hard += np.einsum("kz,kz->z", self.bh[: t + 1], self.G[t::-1]) - self.fade * self.gone_hard
        return hard / self.cover()

    def layer(self, age: int) -> tuple[np.ndarray, np.ndarray]:
        """Share through, and its mean length, of what was emptied `age` days ago."""
        grown = np.vstack([np.zeros(self.s_grow.shape[1]), np.cumsum(self.s_grow, axis=0)])  # E min(j, grow)
        k = np.arange(min(age, len(self.pl) - 1) + 1)
        through = self.pl[k].sum(axis=0)
        mm = (self.pl[k] * grown[np.minimum(age - k, len(grown) - 1)]).sum(axis=0) * self.g
        return through, np.where(through > 1e-12, mm / np.maximum(through, 1e-12), 0.0)
