//! The law of one follicle cycle and its day-by-day kernels.

use crate::moments::OfAge;
use crate::quantity::{QuantityError, Wait};
use crate::taps::{BLOCK, Taps};
use statrs::distribution::{ContinuousCDF, Gamma};
use std::sync::OnceLock;

/// Tails of a waiting time below this probability are dropped and the rest renormalised.
const TAIL: f64 = 1e-13;

/// The chance with which a hair outgrows the length from which a top length is looked for, from above.
const FEW_OUTGROW: f64 = 0.03;

/// The chance with which a hair outgrows a length below which a top length is seldom looked for.
const MOST_OUTGROW: f64 = 0.85;

/// The numbers of a follicle cycle in one zone of one dog.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycle {
    /// Empty follicle until the new hair comes through.
    pub lag: Wait,
    /// Growing.
    pub grow: Wait,
    /// Full length, root still firm.
    pub set: Wait,
    /// Mean time that a ripe hair lingers before it sheds, days, 1 to 3000.
    pub hold_d: f64,
    /// Growth of a growing hair, mm a day, 0.01 to 3.
    pub growth_mm_d: f64,
}

impl Cycle {
    /// Mean of lag + grow + set, days: from a pull until ripe again.
    pub fn pull_to_ripe_d(&self) -> f64 {
        self.lag.mean_d() + self.grow.mean_d() + self.set.mean_d()
    }

    /// Checks the ranges that the kernels need.
    ///
    /// # Errors
    /// [`QuantityError`] when `hold` or `growth` is out of range.
    pub fn check(&self) -> Result<(), QuantityError> {
        let rows = [("hold", self.hold_d, "d", 1.0, 3000.0), ("growth", self.growth_mm_d, "mm/d", 0.01, 3.0)];
        for (name, value, unit, low, high) in rows {
            if !(low..=high).contains(&value) {
                return Err(QuantityError { name, value, unit, low, high });
            }
        }
        Ok(())
    }
}

/// Day probabilities of a waiting time: day k carries P(k - 1/2 < T <= k + 1/2).
fn day_probabilities(wait: Wait) -> Vec<f64> {
    let (mean, sd) = (wait.mean_d(), wait.sd_d());
    if mean <= 0.0 || sd <= 1e-9 {
        let k = mean.max(0.0).round() as usize;
        let mut p = vec![0.0; k + 1];
        p[k] = 1.0;
        return p;
    }
    let Some(gamma) = gamma(mean, sd) else { return vec![1.0] };
    let mut p = Vec::new();
    let mut below = 0.0;
    for k in 0..40_000 {
        let cdf = gamma.cdf(k as f64 + 0.5);
        p.push((cdf - below).max(0.0));
        below = cdf;
        if 1.0 - cdf < TAIL {
            break;
        }
    }
    let mut early = 0.0;
    for x in &mut p {
        early += *x;
        if early > TAIL {
            break;
        }
        *x = 0.0;
    }
    let sum: f64 = p.iter().sum();
    for x in &mut p {
        *x /= sum;
        if *x < 1e-17 {
            *x = 0.0;
        }
    }
    p
}

fn gamma(mean: f64, sd: f64) -> Option<Gamma> {
    let shape = (mean / sd).powi(2);
    Gamma::new(shape, shape / mean).ok()
}

fn convolve(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; a.len() + b.len() - 1];
    for (i, &x) in a.iter().enumerate().filter(|(_, x)| **x > 0.0) {
        for (o, &y) in out[i..].iter_mut().zip(b) {
            *o += x * y;
        }
    }
    let mut tail = 0.0;
    while out.len() > 1 {
        tail += out[out.len() - 1];
        if tail > TAIL {
            break;
        }
        out.pop();
    }
    out
}

/// P(T > k) for k = 0, 1, ...
fn survival(p: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; p.len()];
    let mut above = 0.0;
    for k in (0..p.len()).rev() {
        out[k] = above;
        above += p[k];
    }
    out
}

/// What is ripe k days on when ripening days have law `p` and a share `delta` stays each day.
fn lingering(p: &[f64], delta: f64) -> Vec<f64> {
    let mut pool = 0.0;
    p.iter()
        .map(|x| {
            pool = delta * pool + x;
            pool
        })
        .collect()
}

/// The day-by-day kernels of a [`Cycle`], computed once and shared.
#[derive(Clone, Debug)]
pub struct Law {
    cycle: Cycle,
    /// 1 - h: the share of ripe hair that stays each day.
    pub(crate) delta: f64,
    pub(crate) p_lag: Vec<f64>,
    pub(crate) p_grow: Vec<f64>,
    pub(crate) s_grow: Vec<f64>,
    pub(crate) p_set: Vec<f64>,
    pub(crate) s_set: Vec<f64>,
    pub(crate) s_gs: Vec<f64>,
    /// Ripe k days after coming through, sheds included.
    pub(crate) h_gs: Vec<f64>,
    /// P(lag > k).
    pub(crate) s_lag: Vec<f64>,
    /// P(lag + grow + set > k), that is 1 - F.
    pub(crate) s_all: Vec<f64>,
    pub(crate) p_all: Vec<f64>,
    /// Ripe k days after the follicle was emptied.
    pub(crate) h_all: Vec<f64>,
    /// Ripe k days after growth ended, sheds included.
    pub(crate) h_set: Vec<f64>,
    /// Growing days of ripe hair whose follicles were emptied long ago: slow growers ripened
    /// later, so more of them is still there.
    pub(crate) p_old: Vec<f64>,
    /// Chance that such hair grew at least so many days.
    pub(crate) old_above: Vec<f64>,
    /// A length, in days of growth and a multiple of a block, that few hairs outgrow.
    pub(crate) long_d: usize,
    /// A length, likewise, that most hairs outgrow.
    pub(crate) short_d: usize,
    /// Kernels read backwards, for inner products with days in their order.
    pub(crate) r_p_grow: Vec<f64>,
    pub(crate) r_s_grow: Vec<f64>,
    pub(crate) r_h_gs: Vec<f64>,
    pub(crate) r_h_all: Vec<f64>,
    /// Not yet shed k days after the follicle was emptied: empty, growing, firm or ripe.
    pub(crate) r_live: Vec<f64>,
    /// Visible k days after coming through.
    pub(crate) r_seen: Vec<f64>,
    /// The phases' day laws, for stepping.
    pub(crate) lag: Taps,
    pub(crate) grow: Taps,
    pub(crate) set: Taps,
    sixths: OnceLock<Vec<f64>>,
    stationary: OnceLock<Stationary>,
    of_age: OnceLock<OfAge>,
}

/// A coat that nobody worked, per unit of follicles emptied a day from index 0 on.
#[derive(Clone, Debug)]
pub(crate) struct Stationary {
    pub(crate) e: Vec<f64>,
    /// Of hair that takes no time to grow: ripening on each day.
    pub(crate) ripens: Vec<f64>,
}

impl Law {
    /// Computes the kernels of a cycle.
    ///
    /// # Errors
    /// [`QuantityError`] when `hold` or `growth` is out of range.
    ///
    /// # Example
    /// ```
    /// let cycle = coat::Cycle {
    ///     lag: coat::Wait::from_days(28.0, 4.0)?, grow: coat::Wait::from_days(72.0, 14.0)?,
    ///     set: coat::Wait::from_days(14.0, 4.0)?, hold_d: 250.0, growth_mm_d: 0.33 };
    /// let law = coat::Law::new(cycle)?;
    /// assert!(law.ripened_by(114) > 0.45 && law.ripened_by(114) < 0.55);
    /// # Ok::<(), coat::QuantityError>(())
    /// ```
    pub fn new(cycle: Cycle) -> Result<Self, QuantityError> {
        cycle.check()?;
        let delta = 1.0 - 1.0 / cycle.hold_d;
        let (p_lag, p_grow, p_set) =
            (day_probabilities(cycle.lag), day_probabilities(cycle.grow), day_probabilities(cycle.set));
        let p_gs = convolve(&p_grow, &p_set);
        let p_all = convolve(&p_lag, &p_gs);
        let (s_gs, h_gs, s_grow) = (survival(&p_gs), lingering(&p_gs, delta), survival(&p_grow));
        let mut p_old: Vec<f64> = p_grow.iter().enumerate().map(|(g, p)| p * delta.powi(-(g as i32))).collect();
        let sum: f64 = p_old.iter().sum();
        for p in &mut p_old {
            *p /= sum;
        }
        let (s_all, h_all) = (survival(&p_all), lingering(&p_all, delta));
        let old_above = survival(&p_old).iter().zip(&p_old).map(|(above, p)| above + p).collect();
        let outgrown_by = |chance: f64| s_grow.iter().position(|s| *s <= chance).unwrap_or(s_grow.len());
        let back = |a: &[f64]| a.iter().rev().copied().collect::<Vec<f64>>();
        let backwards = |a: &[f64], b: &[f64]| a.iter().zip(b).rev().map(|(x, y)| x + y).collect::<Vec<f64>>();
        Ok(Law {
            cycle,
            p_old,
            old_above,
            long_d: outgrown_by(FEW_OUTGROW).next_multiple_of(BLOCK).min(p_grow.len() / BLOCK * BLOCK),
            short_d: outgrown_by(MOST_OUTGROW) / BLOCK * BLOCK,
            h_set: lingering(&p_set, delta),
            r_p_grow: back(&p_grow),
            r_s_grow: back(&s_grow),
            r_h_gs: back(&h_gs),
            r_h_all: back(&h_all),
            r_live: backwards(&s_all, &h_all),
            r_seen: backwards(&s_gs, &h_gs),
            lag: Taps::new(&p_lag),
            grow: Taps::new(&p_grow),
            set: Taps::new(&p_set),
            sixths: OnceLock::new(),
            stationary: OnceLock::new(),
            of_age: OnceLock::new(),
            delta,
            s_grow,
            s_set: survival(&p_set),
            s_gs,
            h_gs,
            s_lag: survival(&p_lag),
            s_all,
            h_all,
            p_lag,
            p_grow,
            p_set,
            p_all,
        })
    }

    /// P(lag > x) at sixths of a day, for a clock that runs slow.
    pub(crate) fn s_lag_sixths(&self) -> &[f64] {
        self.sixths.get_or_init(|| {
            let lag = self.cycle.lag;
            let mut out = Vec::new();
            if let Some(g) = gamma(lag.mean_d().max(1e-9), lag.sd_d().max(1e-3)) {
                for k in 0.. {
                    let s = 1.0 - g.cdf(f64::from(k) / 6.0);
                    out.push(s);
                    if s < TAIL || k > 40_000 {
                        break;
                    }
                }
            }
            out
        })
    }

    /// The coat that nobody worked, for the days of one cycle.
    pub(crate) fn stationary(&self) -> &Stationary {
        self.stationary.get_or_init(|| {
            let n = self.p_all.len() + 2;
            let mut e = Vec::with_capacity(n);
            let mut through = 0.0;
            for k in 0..n {
                through += self.p_lag.get(k).copied().unwrap_or(0.0);
                e.push(through);
            }
            let ripens = self.set.convolve(&e, 0, n);
            Stationary { e, ripens }
        })
    }

    /// What hair of each age that met no clip is and how long it has grown.
    pub(crate) fn of_age(&self) -> &OfAge {
        self.of_age.get_or_init(|| OfAge::new(self))
    }

    /// The share of ripe hair that is still there so many days on.
    pub(crate) fn stay(&self, days: i32) -> f64 {
        self.delta.powi(days)
    }

    /// The cycle that the kernels belong to.
    pub fn cycle(&self) -> &Cycle {
        &self.cycle
    }

    /// F(k): the chance that a follicle is ripe again `k` days after it was emptied.
    pub fn ripened_by(&self, k: i32) -> f64 {
        if k < 0 { 0.0 } else { 1.0 - at(&self.s_all, k) }
    }

    /// V(k): the chance that the new hair is through `k` days after the follicle was emptied.
    pub fn through_by(&self, k: i32) -> f64 {
        if k < 0 { 0.0 } else { 1.0 - at(&self.s_lag, k) }
    }

    /// Of follicles emptied `k` days ago: the share whose hair is through, and the mean length of that
    /// hair in mm, sheds left aside; 0 mm where none is through.
    pub fn layer_after(&self, k: i32) -> (f64, f64) {
        let mut grown = Vec::with_capacity(k.max(0) as usize + 1);
        let mut sum = 0.0;
        for j in 0..=k.max(-1) {
            // E min(j, grow): a hair through for j days has grown so many.
            grown.push(sum);
            sum += at(&self.s_grow, j);
        }
        let (mut through, mut length) = (0.0, 0.0);
        for (u, p) in self.p_lag.iter().enumerate().take(grown.len()) {
            through += p;
            length += p * grown[grown.len() - 1 - u];
        }
        if through > 1e-12 { (through, length / through * self.cycle.growth_mm_d) } else { (through, 0.0) }
    }

    /// The day, in days and parts of a day from emptying, by which half of the follicles are ripe again.
    pub fn half_ripe_d(&self) -> f64 {
        let k = self.s_all.iter().position(|s| *s <= 0.5).unwrap_or(self.s_all.len());
        let (now, before) = (at(&self.s_all, k as i32), if k == 0 { 1.0 } else { self.s_all[k - 1] });
        // P(T > k + 1/2) stands at day k.
        k as f64 + 0.5 - if before > now { (0.5 - now) / (before - now) } else { 0.0 }
    }

    /// Days after which a follicle emptied today is surely ripe.
    pub fn span_d(&self) -> i32 {
        self.p_all.len() as i32
    }

    /// Mean of the cycle on the day grid (with the hold), days.
    pub(crate) fn cycle_d(&self) -> f64 {
        self.s_all.iter().sum::<f64>() + self.cycle.hold_d
    }

    /// The mean length of ripe hair, mm.
    pub fn ripe_mm(&self) -> f64 {
        self.cycle.grow.mean_d() * self.cycle.growth_mm_d
    }

    /// Ripe hair `k` days after emptying (geometric beyond the span).
    pub(crate) fn ripe_at(&self, k: i32) -> f64 {
        linger_at(&self.h_all, self.delta, k)
    }
}

/// `v[k]`, 0 outside.
#[inline]
pub(crate) fn at(v: &[f64], k: i32) -> f64 {
    usize::try_from(k).ok().and_then(|k| v.get(k)).copied().unwrap_or(0.0)
}

/// A lingering kernel at `k`, continued geometrically past its end.
#[inline]
pub(crate) fn linger_at(v: &[f64], delta: f64, k: i32) -> f64 {
    let n = v.len() as i32;
    if k < 0 {
        0.0
    } else if k < n {
        v[k as usize]
    } else {
        v[(n - 1) as usize] * delta.powi(k - n + 1)
    }
}
