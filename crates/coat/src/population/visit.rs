//! What a visit takes from the ripe hair.

use super::state::{Removed, State};
use super::{Take, Taken};
use crate::dot::{dot, sum};
use pulp::Arch;
use std::sync::OnceLock;

/// Cohorts whose ripe hair is reckoned at a time.
const SOME: usize = 64;

/// Parts taken of cohorts' ripe pools, from the first that is not spent on: all of so many, then these parts.
struct Parts {
    whole: usize,
    then: Vec<f64>,
}

impl State {
    pub(super) fn mark_visit(&mut self) -> f64 {
        if self.visits.last() != Some(&self.today) {
            self.visits.push(self.today);
            self.marks = OnceLock::new();
        }
        0.0
    }

    pub(super) fn visit(&mut self, take: &Take) -> f64 {
        match take {
            Take::LongestFirst(amount) => self.take_longest(*amount),
            Take::FromClasses(amounts) => self.take_from_classes(amounts),
        }
    }

    /// Takes this share of follicles, earliest emptied first.
    pub(super) fn take_longest(&mut self, amount: f64) -> f64 {
        self.mark_visit();
        let mut left = amount.max(0.0).min(self.ripe);
        if left <= 0.0 {
            return 0.0;
        }
        let mut old_fraction = 0.0;
        if self.old.ripe > 0.0 {
            let x = left.min(self.old.ripe);
            old_fraction = x / self.old.ripe;
            left -= x;
        }
        let end = self.t() + 1;
        let mut ripe = Vec::with_capacity(end.saturating_sub(self.spent));
        let mut parts = Parts { whole: 0, then: Vec::new() };
        while left > 0.0 && self.spent + ripe.len() < end {
            let from = self.spent + ripe.len();
            self.add_ripe(from, (from + SOME).min(end), &mut ripe);
            let some = &ripe[parts.whole..];
            let all = sum(some);
            if all <= left {
                // A cohort without ripe hair is passed as one wholly taken.
                parts.whole += some.len();
                left -= all;
                continue;
            }
            let passed = some.iter().take_while(|r| {
                let whole = **r <= left;
                left -= if whole { **r } else { 0.0 };
                whole
            });
            parts.whole += passed.count();
            parts.then.extend(ripe.get(parts.whole).filter(|_| left > 0.0).map(|r| left / r));
            break;
        }
        self.remove_ripe(&ripe, &parts, old_fraction)
    }

    fn take_from_classes(&mut self, amounts: &[f64]) -> f64 {
        self.mark_visit();
        let ripe = self.ripe_by_cohort();
        let mut fraction = vec![0.0; ripe.len()];
        let mut old_fraction = 0.0;
        let bounds = self.class_bounds(amounts.len());
        for (j, &amount) in amounts.iter().enumerate() {
            let last = j + 1 == amounts.len();
            let (lo, hi) = self.ripe_range(&bounds, j, last);
            let pool: f64 = ripe[lo..hi].iter().sum::<f64>() + if last { self.old.ripe } else { 0.0 };
            if pool > 0.0 && amount > 0.0 {
                let f = (amount / pool).min(1.0);
                fraction[lo..hi].fill(f);
                if last {
                    old_fraction = f;
                }
            }
        }
        let whole = fraction.iter().take_while(|f| **f == 1.0).count();
        self.remove_ripe(&ripe, &Parts { whole, then: fraction.split_off(whole) }, old_fraction)
    }

    /// Ripe pool today of every cohort from `spent` on; earlier ones have none.
    pub(super) fn ripe_by_cohort(&self) -> Vec<f64> {
        let mut ripe = Vec::with_capacity(self.t() + 1 - self.spent);
        self.add_ripe(self.spent, self.t() + 1, &mut ripe);
        ripe
    }

    /// Adds the ripe pools today of the cohorts `from..to`, none of them spent.
    fn add_ripe(&self, from: usize, to: usize, out: &mut Vec<f64>) {
        let (t, law) = (self.t(), &self.law);
        let n = law.h_all.len();
        let near = (t + 1).saturating_sub(n).clamp(from, to);
        let start = out.len();
        out.resize(start + to - from, 0.0);
        let here = &mut out[start..];
        if from < near {
            // Too old for the kernel: it fades.
            let mut h = law.ripe_at((t - from) as i32);
            for (r, b) in here.iter_mut().zip(&self.b[from..near]) {
                *r = b * h;
                h /= law.delta;
            }
        }
        let kernel = &law.r_h_all[(n + near - (t + 1).min(n + near)).min(n)..];
        let (stay, gone) = (self.gone_stay(), self.gone.get(from..).unwrap_or(&[]));
        Arch::new().dispatch(|| {
            let pools = here[near - from..].iter_mut().zip(&self.b[near..to]).zip(kernel);
            pools.for_each(|((r, b), h)| *r = b * h);
        });
        for &i in self.rows.range(from..to).map(|r| r.0) {
            here[i - from] = self.b[i] * self.ripe_of_unit(i, t);
        }
        Arch::new().dispatch(|| {
            here.iter_mut().zip(gone).for_each(|(r, gone)| *r -= stay * gone);
            here.iter_mut().for_each(|r| *r = r.max(0.0));
        });
    }

    /// Takes these parts of the pools, both given from the cohort `spent` on as far as any is taken.
    fn remove_ripe(&mut self, ripe: &[f64], parts: &Parts, old_fraction: f64) -> f64 {
        let old = self.old.ripe * old_fraction;
        let share = old + sum(&ripe[..parts.whole]) + dot(&ripe[parts.whole..], &parts.then);
        if share <= 0.0 {
            return 0.0;
        }
        let then = self.spent + parts.whole;
        // What is spent counts as taken along with what follows it, or not at all.
        let all = if parts.whole == 0 { 0 } else { then };
        self.scale_removed(&parts.then, then, all);
        let hi = parts.then.iter().rposition(|f| *f > 0.0).map_or(all, |i| then + i + 1);
        let lo = if all > 0 { 0 } else { parts.then.iter().position(|f| *f > 0.0).map_or(hi, |i| then + i) };
        if hi > lo {
            let mut w = self.b[lo..hi].to_vec();
            let from = then.max(lo);
            w[from - lo..].iter_mut().zip(&parts.then[from - then..]).for_each(|(w, f)| *w *= f);
            let mut taken = Removed::new(self.today, lo, w);
            if self.rows.range(all..).next().is_none() {
                // The day's own cohort is about to grow.
                taken.whole = all.min(self.t());
            }
            taken.far_hard = self.far.hard;
            self.removed.push(taken);
        }
        self.note_gone(ripe, parts, all);
        self.old.ripe -= old;
        self.old.hard *= 1.0 - old_fraction;
        // All that is ripe less all that was taken may miss nothing by rounding.
        self.ripe = if (self.ripe - share).abs() < 1e-11 { 0.0 } else { self.ripe - share };
        self.add_cohort(share, 1.0);
        share
    }

    /// Takes the parts, given from the cohort `from` on, off what earlier visits took; of cohorts
    /// before `all` nothing is left.
    fn scale_removed(&mut self, parts: &[f64], from: usize, all: usize) {
        for rem in &mut self.removed {
            let drop = all.clamp(rem.lo, rem.lo + rem.w.len()) - rem.lo;
            if drop > 0 {
                rem.w.drain(..drop);
                rem.lo += drop;
                rem.whole = 0;
                rem.forget();
            }
            let w = rem.w.iter_mut().skip(from.saturating_sub(rem.lo));
            let taken = &parts[rem.lo.saturating_sub(from).min(parts.len())..];
            if taken.iter().take(w.len()).any(|f| *f > 0.0) {
                w.zip(taken).for_each(|(w, f)| *w *= 1.0 - f);
                rem.whole = 0;
                rem.forget();
            }
        }
        self.removed.retain(|r| r.w.iter().any(|w| *w != 0.0));
    }

    fn note_gone(&mut self, ripe: &[f64], parts: &Parts, all: usize) {
        self.gone_to_today();
        let (whole, then) = self.gone[self.spent..].split_at_mut(parts.whole);
        whole.iter_mut().zip(ripe).for_each(|(gone, r)| *gone += r);
        then.iter_mut().zip(&ripe[parts.whole..]).zip(&parts.then).for_each(|((gone, r), f)| *gone += r * f);
        let sure = (self.t() + 1).saturating_sub(self.law.h_all.len()).min(all);
        if sure > self.spent && self.rows.range(self.spent..sure).next().is_none() {
            self.spent = sure;
            self.recount_far_ripe();
        }
    }

    /// Brings what visits took up to today, to be changed.
    pub(super) fn gone_to_today(&mut self) {
        let (stay, t) = (self.gone_stay(), self.t());
        self.marks = OnceLock::new();
        for gone in self.gone.iter_mut().skip(self.spent) {
            *gone *= stay;
        }
        self.gone.reserve(self.b.capacity().saturating_sub(self.gone.len()));
        self.gone.resize(t + 1, 0.0);
        self.gone_day = self.today;
    }

    /// What a visit gives back.
    pub(super) fn taken(share: f64) -> Taken {
        Taken { share, ripe: share, unripe: 0.0, mean_mm: 0.0 }
    }
}
