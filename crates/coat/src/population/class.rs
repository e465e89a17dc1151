//! Age classes, layers and evenness.

use super::State;
use super::step::far_sum;
use crate::dot::{dot, products, sum};
use crate::law::at;
use pulp::{Arch, Simd, WithSimd};

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

/// The classes by their bounds, and the shares that a perfectly rolling coat has in them.
#[derive(Clone)]
pub(super) struct Marks {
    bounds: Vec<i32>,
    /// The first cohort of each class but the last; the class reaches to the one before.
    firsts: Vec<usize>,
    /// What visits took from each of these, as `State::gone` has it.
    gone: Vec<f64>,
    ideal: Vec<f64>,
}

/// Gives the shares of the newest classes, as far as the kernels reach: as `class_share`, all at once.
struct Plain<'a> {
    state: &'a State,
    marks: &'a Marks,
    stay: f64,
    shares: &'a mut Vec<f64>,
}

impl WithSimd for Plain<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let (state, marks) = (self.state, self.marks);
        let kernel = &state.law.r_live;
        let mut hi = state.t() + 1;
        let near = hi.saturating_sub(kernel.len()).max(state.spent);
        let ages = kernel.len() - hi.min(kernel.len());
        let before = hi.saturating_sub(kernel.len());
        for (&lo, gone) in marks.firsts.iter().zip(&marks.gone).take_while(|(lo, _)| **lo >= near) {
            self.shares.push(products(simd, &state.b[lo..hi], &kernel[ages + lo - before..]) - self.stay * gone);
            hi = lo;
        }
    }
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

    /// Classes by these bounding days, newest first; the last is all older.
    pub(super) fn classes_between(&self, bounds: Vec<i32>) -> Classes {
        let classes = bounds.len().saturating_sub(1);
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
        self.live(lo, hi) - stay * self.gone_of(lo, hi) + if last { self.old.ripe } else { 0.0 }
    }

    /// What visits took from the cohorts `lo..hi`, to be read with `gone_stay`.
    fn gone_of(&self, lo: usize, hi: usize) -> f64 {
        let end = self.gone.len();
        sum(&self.gone[lo.min(end)..hi.min(end)])
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
            } else if self.rows.is_empty() {
                far_sum(&self.b[lo..near], law.ripe_at((t + 1 - near) as i32), law.delta)
            } else {
                let plain = |i: &usize| !self.rows.contains_key(i);
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

    /// The classes with their ideal shares; they stay as they are from visit to visit.
    fn marks(&self) -> &Marks {
        self.marks.get_or_init(|| {
            let n = self.class_count();
            let bounds = self.class_bounds(n);
            let ranges = (0..n - 1).map(|j| self.class_range(&bounds, j, false));
            let (firsts, gone) = ranges.map(|(lo, hi)| (lo, self.gone_of(lo, hi))).unzip();
            Marks { ideal: self.ideal_shares(&bounds, n), firsts, gone, bounds }
        })
    }

    pub(super) fn evenness(&self) -> (f64, u32) {
        let marks = self.marks();
        let mut off = 0.0;
        let mut layers = 0;
        for (share, ideal) in self.shares(marks).iter().zip(&marks.ideal) {
            off += (share - ideal).abs();
            if *ideal >= 0.05 && *share >= ideal / 2.0 {
                layers += 1;
            }
        }
        (1.0 - off / 2.0, layers)
    }

    /// Shares of follicles by class.
    fn shares(&self, marks: &Marks) -> Vec<f64> {
        let (classes, stay) = (marks.ideal.len(), self.gone_stay());
        let mut shares = Vec::with_capacity(classes);
        if self.rows.is_empty() {
            Arch::new().dispatch(Plain { state: self, marks, stay, shares: &mut shares });
        }
        shares.extend((shares.len()..classes).map(|j| self.class_share(&marks.bounds, j, j + 1 == classes, stay)));
        shares
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
