//! What a visit takes from the ripe hair.

use super::state::{Removed, State};
use super::{Take, Taken};
use std::sync::OnceLock;

/// Cohorts whose ripe hair is reckoned at a time.
const SOME: usize = 64;

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
        let most = end.saturating_sub(self.spent);
        let (mut ripe, mut fraction) = (Vec::with_capacity(most), Vec::with_capacity(most));
        while left > 0.0 && self.spent + ripe.len() < end {
            let from = self.spent + ripe.len();
            self.add_ripe(from, (from + SOME).min(end), &mut ripe);
            for r in &ripe[fraction.len()..] {
                if left <= 0.0 {
                    break;
                }
                // A cohort without ripe hair is passed as one wholly taken.
                fraction.push(if *r <= left { 1.0 } else { left / r });
                left -= r;
            }
        }
        self.remove_ripe(&ripe, &fraction, old_fraction)
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
        self.remove_ripe(&ripe, &fraction, old_fraction)
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
        if from < near {
            // Too old for the kernel: it fades.
            let mut h = law.ripe_at((t - from) as i32);
            for b in &self.b[from..near] {
                out.push(b * h);
                h /= law.delta;
            }
        }
        if near < to {
            let kernel = &law.r_h_all[n - 1 - (t - near)..];
            out.extend(self.b[near..to].iter().zip(kernel).map(|(b, h)| b * h));
        }
        let here = &mut out[start..];
        if !self.rows.is_empty() {
            for &i in self.rows.range(from..to).map(|r| r.0) {
                here[i - from] = self.b[i] * self.ripe_of_unit(i, t);
            }
        }
        if let Some(gone) = self.gone.get(from..) {
            let stay = self.gone_stay();
            for (r, gone) in here.iter_mut().zip(gone) {
                *r -= stay * gone;
            }
        }
        for r in here {
            *r = r.max(0.0);
        }
    }

    /// Takes these parts of the pools, both given from the cohort `spent` on as far as any is taken.
    fn remove_ripe(&mut self, ripe: &[f64], fraction: &[f64], old_fraction: f64) -> f64 {
        let base = self.spent;
        let old = self.old.ripe * old_fraction;
        let share: f64 = old + ripe.iter().zip(fraction).map(|(r, f)| r * f).sum::<f64>();
        if share <= 0.0 {
            return 0.0;
        }
        // What is spent counts as taken along with what follows it, or not at all.
        let all = match fraction.iter().take_while(|f| **f == 1.0).count() {
            0 => 0,
            n => base + n,
        };
        self.scale_removed(fraction, all);
        let hi = fraction.iter().rposition(|f| *f > 0.0).map_or(0, |i| base + i + 1);
        let lo = if all > 0 { 0 } else { fraction.iter().position(|f| *f > 0.0).map_or(hi, |i| base + i) };
        if hi > lo {
            let mut w = self.b[lo..hi].to_vec();
            let from = base.max(lo);
            w[from - lo..].iter_mut().zip(&fraction[from - base..]).for_each(|(w, f)| *w *= f);
            let mut taken = Removed::new(self.today, lo, w);
            if self.rows.range(all..).next().is_none() {
                // The day's own cohort is about to grow.
                taken.whole = all.min(self.t());
            }
            taken.far_hard = self.far.hard;
            self.removed.push(taken);
        }
        self.note_gone(ripe, fraction, all);
        self.old.ripe -= old;
        self.old.hard *= 1.0 - old_fraction;
        // All that is ripe less all that was taken may miss nothing by rounding.
        self.ripe = if (self.ripe - share).abs() < 1e-11 { 0.0 } else { self.ripe - share };
        self.add_cohort(share, 1.0);
        share
    }

    /// Takes the fractions, given from the cohort `spent` on, off what earlier visits took; of
    /// cohorts before `all` nothing is left.
    fn scale_removed(&mut self, fraction: &[f64], all: usize) {
        let base = self.spent;
        for rem in &mut self.removed {
            let drop = all.clamp(rem.lo, rem.lo + rem.w.len()) - rem.lo;
            if drop > 0 {
                rem.w.drain(..drop);
                rem.lo += drop;
                rem.whole = 0;
                rem.forget();
            }
            let w = rem.w.iter_mut().skip(base.saturating_sub(rem.lo));
            let taken = &fraction[rem.lo.saturating_sub(base).min(fraction.len())..];
            if taken.iter().take(w.len()).any(|f| *f > 0.0) {
                w.zip(taken).for_each(|(w, f)| *w *= 1.0 - f);
                rem.whole = 0;
                rem.forget();
            }
        }
        self.removed.retain(|r| r.w.iter().any(|w| *w != 0.0));
    }

    fn note_gone(&mut self, ripe: &[f64], fraction: &[f64], all: usize) {
        self.gone_to_today();
        for ((gone, r), f) in self.gone[self.spent..].iter_mut().zip(ripe).zip(fraction) {
            *gone += r * f;
        }
        let sure = (self.t() + 1).saturating_sub(self.law.h_all.len()).min(all);
        if sure > self.spent && self.rows.range(self.spent..sure).next().is_none() {
            self.spent = sure;
            self.recount_far_ripe();
        }
    }

    /// Brings what visits took up to today.
    pub(super) fn gone_to_today(&mut self) {
        let (stay, t) = (self.gone_stay(), self.t());
        self.gone.iter_mut().skip(self.spent).for_each(|gone| *gone *= stay);
        self.gone.resize(t + 1, 0.0);
        self.gone_day = self.today;
    }

    /// What a visit gives back.
    pub(super) fn taken(share: f64) -> Taken {
        Taken { share, ripe: share, unripe: 0.0, mean_mm: 0.0 }
    }
}
