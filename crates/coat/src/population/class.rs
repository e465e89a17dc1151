//! Age classes, layers and evenness.

use super::State;
use crate::dot::{dot, sum};
use crate::law::at;

/// Age classes of a zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Classes {
    /// Bounding days, newest first, one more than there are classes.
    pub bounds: Vec<i32>,
    /// Share of follicles in each class.
    pub shares: Vec<f64>,
    /// Of it, ripe.
    pub pools: Vec<f64>,
}

/// Bounding days of the classes and the shares that a perfectly rolling coat has in them.
#[derive(Clone)]
pub(super) struct Marks {
    bounds: Vec<i32>,
    ideal: Vec<f64>,
}

impl State {
    /// First days (exclusive) of the classes, newest first: class j holds what was
    /// emptied after `bounds[j + 1]` up to `bounds[j]`.
    pub(crate) fn class_bounds(&self, classes: usize) -> Vec<i32> {
        let mut bounds = Vec::with_capacity(classes + 1);
        bounds.extend(self.visits.iter().rev().take(classes + 1));
        if bounds.is_empty() {
            bounds.push(self.today);
        }
        while bounds.len() < classes + 1 {
            bounds.push(bounds[bounds.len() - 1] - self.rhythm_d);
        }
        bounds
    }

    /// Cohort indices of class j; class 0 reaches to today.
    pub(crate) fn class_range(&self, bounds: &[i32], j: usize, last: bool) -> (usize, usize) {
        let top = if j == 0 { self.today.max(bounds[0]) } else { bounds[j] };
        let hi = ((top.min(self.today) + 1 - self.origin).max(0) as usize).min(self.b.len());
        let lo = if last { 0 } else { ((bounds[j + 1] + 1 - self.origin).max(0) as usize).min(hi) };
        (lo, hi)
    }

    pub(super) fn class_count(&self) -> usize {
        let newest = self.visits.last().copied().unwrap_or(self.today);
        let span = self.law.span_d();
        // One bound more than there are visits, a rhythm before the first.
        let oldest = self.visits.first().copied().unwrap_or(self.today) - self.rhythm_d;
        let within = |day: i32| newest - day < span;
        let mut n = self.visits.iter().rev().take_while(|d| within(**d)).count() as i32;
        if self.visits.is_empty() {
            n += i32::from(within(newest));
        }
        n += i32::from(within(oldest));
        if newest - oldest < span {
            n += (span - (newest - oldest)) / self.rhythm_d.max(1) + 1;
        }
        (n + 1) as usize
    }

    pub(super) fn classes(&self, classes: usize) -> Classes {
        let bounds = self.class_bounds(classes);
        let ripe = self.ripe_by_cohort();
        let pool = |j: usize| {
            let last = j + 1 == classes;
            let (lo, hi) = self.ripe_range(&bounds, j, last);
            ripe[lo..hi].iter().sum::<f64>() + if last { self.old.ripe } else { 0.0 }
        };
        let pools = (0..classes).map(pool).collect();
        let stay = self.gone_stay();
        let shares = (0..classes).map(|j| self.class_share(&bounds, j, j + 1 == classes, stay)).collect();
        Classes { shares, pools, bounds }
    }

    /// Cohorts of class j that are not spent, counted from the first that is not.
    pub(super) fn ripe_range(&self, bounds: &[i32], j: usize, last: bool) -> (usize, usize) {
        let (lo, hi) = self.class_range(bounds, j, last);
        (lo.max(self.spent) - self.spent, hi.max(self.spent) - self.spent)
    }

    /// Share of follicles in class j; of what visits took, `stay` would still be there.
    fn class_share(&self, bounds: &[i32], j: usize, last: bool, stay: f64) -> f64 {
        let (lo, hi) = self.class_range(bounds, j, last);
        let (lo, hi) = (lo.max(self.spent), hi.max(self.spent));
        let end = self.gone.len();
        let gone = sum(&self.gone[lo.min(end)..hi.min(end)]);
        self.live(lo, hi) - stay * gone + if last { self.old.ripe } else { 0.0 }
    }

    /// Follicles of every cohort that the kernels reach, from this index on; of none where cohorts have rows of
    /// their own.
    fn live_by_cohort(&self, stay: f64) -> (usize, Vec<f64>) {
        let (t, law) = (self.t(), &self.law);
        if !self.rows.is_empty() {
            return (t + 1, Vec::new());
        }
        let n = law.r_live.len();
        let near = (t + 1).saturating_sub(n).max(self.spent).min(t + 1);
        let kernel = &law.r_live[n + near - (t + 1)..];
        let mut live: Vec<f64> = self.b[near..=t].iter().zip(kernel).map(|(b, k)| b * k).collect();
        if let Some(gone) = self.gone.get(near..) {
            live.iter_mut().zip(gone).for_each(|(live, gone)| *live -= stay * gone);
        }
        (near, live)
    }

    /// Follicles of the cohorts `lo..hi` that have not shed since, were nothing ripe pulled.
    fn live(&self, lo: usize, hi: usize) -> f64 {
        let (t, law) = (self.t(), &self.law);
        let n = law.r_live.len();
        // From here on the kernel reaches.
        let near = (t + 1).saturating_sub(n).max(lo).min(hi);
        let from = n + near - (t + 1).min(n + near);
        let mut live = dot(&self.b[near..hi], &law.r_live[from.min(n)..]);
        if lo < near {
            let end = (t + 1).saturating_sub(n);
            live += if lo <= self.spent && near == end {
                self.far.ripe
            } else {
                let plain = |i: &usize| self.rows.is_empty() || !self.rows.contains_key(i);
                (lo..near).filter(plain).map(|i| self.b[i] * law.ripe_at((t - i) as i32)).sum()
            };
        }
        if self.rows.is_empty() {
            return live;
        }
        for (&i, _) in self.rows.range(lo..hi) {
            let as_if_plain = if i < near { 0.0 } else { law.r_live[n - 1 - (t - i)] };
            live += self.b[i] * (self.unripe_of_unit(i) + self.ripe_of_unit(i, t) - as_if_plain);
        }
        live
    }

    /// The classes by their bounds, with the ideal shares; they stay as they are from visit to visit.
    fn marks(&self) -> &Marks {
        self.marks.get_or_init(|| {
            let n = self.class_count();
            let bounds = self.class_bounds(n);
            Marks { ideal: self.ideal_shares(&bounds, n), bounds }
        })
    }

    pub(super) fn evenness(&self) -> (f64, u32) {
        let Marks { bounds, ideal } = self.marks();
        let stay = self.gone_stay();
        let (near, live) = self.live_by_cohort(stay);
        let mut off = 0.0;
        let mut layers = 0;
        let classes = ideal.len();
        for (j, ideal) in ideal.iter().enumerate() {
            let last = j + 1 == classes;
            let (lo, hi) = self.class_range(bounds, j, last);
            let share = if !last && lo >= near {
                sum(&live[lo - near..hi - near])
            } else {
                self.class_share(bounds, j, last, stay)
            };
            off += (share - ideal).abs();
            if *ideal >= 0.05 && share >= ideal / 2.0 {
                layers += 1;
            }
        }
        (1.0 - off / 2.0, layers)
    }

    pub(super) fn ideal_shares(&self, bounds: &[i32], classes: usize) -> Vec<f64> {
        let newest = bounds[0];
        let mut s: Vec<f64> = (0..classes)
            .map(|j| {
                if j + 1 == classes {
                    0.0
                } else {
                    f64::from(bounds[j] - bounds[j + 1]) * at(&self.law.s_all, newest - bounds[j])
                }
            })
            .collect();
        let sum: f64 = s.iter().sum();
        if sum > 0.0 {
            for x in &mut s {
                *x /= sum;
            }
        }
        s
    }
}
