"""Individual follicles by Monte Carlo: continuous Gamma times, one draw per follicle.

Every follicle carries the day it was emptied, the moment its hair comes through,
the moment it stops growing, the moment it turns ripe and the day it will be shed.
Nothing here knows a distribution over days: there is no convolution and no
expected share, only drawn lives and the counting of them.

Convention of the daily grid. A follicle is emptied at noon of a day; what a day
holds is read at its midnight, half a day on, so a time T that begins on day d is
over on day d + k when T <= k + 1/2. Lengths are read at noon. Ripe hair is first
at risk of shedding on the day after it ripened, with probability 1/hold a day.
Order within a day: shed, ripen, visit, measure.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class Zone:
    """What one zone's follicles are like. Times in days as (mean, sd), growth in mm a day."""

    lag: tuple[float, float]
    grow: tuple[float, float]
    set: tuple[float, float]
    hold: float
    growth_mm_d: float
    start_hard: float
    rhythm_days: int = 21


@dataclass
class Follicles:
    """`n` follicles of one zone, from a coat that nobody ever worked, at day `day`."""

    zone: Zone
    n: int
    rng: np.random.Generator
    day: int = 0
    burn_in_days: int = 4000
    worked: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        n, z = self.n, self.zone
        cycle = sum(m for m, _ in (z.lag, z.grow, z.set)) + z.hold
        begin = self.day - self.burn_in_days
        self.emptied = begin - np.floor(self.rng.random(n) * cycle).astype(np.int64)
        self.emerge = np.empty(n)
        self.grown = np.empty(n)
        self.ripe_at = np.empty(n)
        self.shed_day = np.empty(n, dtype=np.int64)
        self.lost_mm = np.zeros(n)
        self.is_cut = np.zeros(n, dtype=bool)
        self.is_hard = np.zeros(n, dtype=bool)
        self._new_life(np.arange(n), self.emptied, pulled=False)
        self._shed_until(self.day)

    # -- lives -----------------------------------------------------------------

    def _gamma(self, law: tuple[float, float], n: int) -> np.ndarray:
        mean, sd = law
        return self.rng.gamma((mean / sd) ** 2, sd * sd / mean, n)

    def _new_life(self, who: np.ndarray, emptied, pulled: bool) -> None:
        n, z = len(who), self.zone
        self.emptied[who] = emptied
        self.emerge[who] = emptied + self._gamma(z.lag, n)
        self.grown[who] = self.emerge[who] + self._gamma(z.grow, n)
        self.ripe_at[who] = self.grown[who] + self._gamma(z.set, n)
        ripe_day = np.ceil(self.ripe_at[who] - 0.5).astype(np.int64)
        self.shed_day[who] = ripe_day + self.rng.geometric(1.0 / z.hold, n)
        self.lost_mm[who] = 0.0
        self.is_cut[who] = False
        self.is_hard[who] = True if pulled else self.rng.random(n) < z.start_hard

    def _shed_until(self, day: int) -> None:
        who = np.flatnonzero(self.shed_day <= day)
        while len(who):
            self._new_life(who, self.shed_day[who], pulled=False)
            who = who[self.shed_day[who] <= day]

    # -- reading ---------------------------------------------------------------

    def visible(self) -> np.ndarray:
        """Which follicles show a hair at the end of the day."""
        return self.emerge <= self.day + 0.5

    def ripe(self) -> np.ndarray:
        """Which follicles hold ripe hair at the end of the day."""
        return self.ripe_at <= self.day + 0.5

    def length_mm(self) -> np.ndarray:
        """Hair length per follicle, 0 where none shows."""
        grown_for = np.clip(np.minimum(self.day, self.grown) - self.emerge, 0.0, None)
        return grown_for * self.zone.growth_mm_d - self.lost_mm

    # -- the groomer -----------------------------------------------------------

    def advance(self, day: int) -> None:
        """Lets the coat live until `day`; whatever is due that day is shed and ripened."""
        assert day >= self.day
        self.day = day
        self._shed_until(day)

    def _pull(self, who: np.ndarray) -> None:
        self._new_life(who, self.day, pulled=True)

    def _pull_ripe(self, count: int) -> int:
        """Takes up to `count` ripe hairs, earliest emptied first, ties at random."""
        who = np.flatnonzero(self.ripe())
        if count < len(who):
            order = np.lexsort((self.rng.random(len(who)), self.emptied[who]))
            who = who[order[:count]]
        self._pull(who)
        return len(who)

    def act(self, event: dict) -> None:
        """Applies one event of today: see the README for the kinds."""
        kind = event["kind"]
        if kind == "left_alone":
            return
        if kind == "clip":
            length, limit = self.length_mm(), event["length_mm"]
            long = self.visible() & (length > limit)
            self.lost_mm[long] += length[long] - limit
            self.is_cut |= long
            return
        if kind == "flat":
            self._pull(np.flatnonzero(self.visible()))
        elif kind == "take_all_ripe":
            self._pull_ripe(self.n)
        elif kind == "take_share_of_visible":
            self._pull_ripe(round(event["share"] * int(self.visible().sum())))
        else:
            raise ValueError(f"unknown event kind `{kind}`")
        self.worked.append(self.day)

    # -- measures --------------------------------------------------------------

    def evenness(self, ideal_cycle: np.ndarray) -> tuple[float, int]:
        """Evenness and layers against ideal shares counted from drawn times lag+grow+set."""
        days, r = [v for v in self.worked if v <= self.day], self.zone.rhythm_days
        if not days:
            days = [self.day]
        days = sorted(set(days), reverse=True)
        oldest = float(np.max(ideal_cycle))
        while days[0] - days[-1] <= oldest + r:
            days.append(days[-1] - r)
        v = np.array(days)
        alive = np.array([np.mean(ideal_cycle > age + 0.5) for age in v[0] - v[:-1]])
        s = (v[:-1] - v[1:]) * alive
        s = s / s.sum()
        # class j holds v[j+1] < emptied <= v[j]; class 0 reaches to today
        edges = np.concatenate([[-(10**9)], v[1:][::-1], [self.day]])
        c = np.histogram(self.emptied, bins=edges + 0.5)[0][::-1] / self.n
        s = np.append(s, 0.0)
        return 1.0 - np.abs(c - s).sum() / 2.0, int(np.sum((s >= 0.05) & (c >= s / 2)))

    def measure(self, ideal_cycle: np.ndarray) -> dict[str, float]:
        """All measures of the day; those undefined are nan."""
        seen, length = self.visible(), self.length_mm()
        cover = seen.mean()
        hard = (self.is_hard & ~self.is_cut)[seen].mean() if cover > 0 else np.nan
        top = np.quantile(length[seen], 0.9) if cover >= 0.02 else np.nan
        even, layers = self.evenness(ideal_cycle)
        return {
            "cover": cover,
            "ripe": self.ripe().mean(),
            "top_mm": top,
            "hard": hard,
            "evenness": even,
            "layers": layers,
        }


def run(zone: Zone, events: list[dict], days: list[int], n: int, groups: int, seed: int) -> list[dict]:
    """Runs `groups` independent coats of `n` follicles through the events.

    Rows carry the mean over the groups and its standard error; `days` are read
    after that day's work, and a day with an event is read before it too.
    """
    by_day: dict[int, list[dict]] = {}
    for e in events:
        by_day.setdefault(e["day"], []).append(e)
    rng = np.random.default_rng(seed)
    draws = np.zeros(1_000_000)
    for mean, sd in (zone.lag, zone.grow, zone.set):
        draws += rng.gamma((mean / sd) ** 2, sd * sd / mean, len(draws))
    first = min(list(by_day) + list(days))
    tables: dict[tuple[int, str], list[dict]] = {}
    for child in rng.spawn(groups):
        coat = Follicles(zone, n, child, day=first)
        for day in sorted(set(by_day) | set(days)):
            coat.advance(day)
            if day not in by_day:
                tables.setdefault((day, "day"), []).append(coat.measure(draws))
                continue
            tables.setdefault((day, "before"), []).append(coat.measure(draws))
            for e in by_day[day]:
                coat.act(e)
            tables.setdefault((day, "after"), []).append(coat.measure(draws))
    rows = []
    for (day, at), found in tables.items():
        row: dict = {"day": day, "at": at}
        for key in found[0]:
            x = np.array([f[key] for f in found], dtype=float)
            row[key] = [float(x.mean()), float(x.std(ddof=1) / np.sqrt(groups))]
        rows.append(row)
    return rows
