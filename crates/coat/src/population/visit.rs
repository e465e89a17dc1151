//! What a visit takes from the ripe hair.

use super::state::{Removed, State};
use super::{Take, Taken};

impl State {
    pub(super) fn mark_visit(&mut self) -> f64 {
        if self.visits.last() != Some(&self.today) {
            self.visits.push(self.today);
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
        let ripe = self.ripe_by_cohort();
        let mut fraction = Vec::with_capacity(ripe.len());
        for r in &ripe {
            if left <= 0.0 {
                break;
            }
            // A cohort without ripe hair is passed as one wholly taken.
            fraction.push(if *r <= left { 1.0 } else { left / r });
            left -= r;
        }
        self.remove_ripe(&ripe, &mut fraction, old_fraction)
    }

    fn take_from_classes(&mut self, amounts: &[f64]) -> f64 {
        self.mark_visit();
        let ripe = self.ripe_by_cohort();
        let mut fraction = vec![0.0; ripe.len()];
        let mut old_fraction = 0.0;
        let bounds = self.class_bounds(amounts.len());
        for (j, &amount) in amounts.iter().enumerate() {
            let last = j + 1 == amounts.len();
            let (lo, hi) = self.class_range(&bounds, j, last);
            let pool: f64 = ripe[lo..hi].iter().sum::<f64>() + if last { self.old.ripe } else { 0.0 };
            if pool > 0.0 && amount > 0.0 {
                let f = (amount / pool).min(1.0);
                fraction[lo..hi].fill(f);
                if last {
                    old_fraction = f;
                }
            }
        }
        self.remove_ripe(&ripe, &mut fraction, old_fraction)
    }

    /// Ripe pool of every cohort today.
    pub(super) fn ripe_by_cohort(&self) -> Vec<f64> {
        let (t, law) = (self.t(), &self.law);
        let n = law.h_all.len();
        let near = (t + 1).saturating_sub(n);
        let mut r = vec![0.0; t + 1];
        for (i, (r, b)) in r.iter_mut().zip(&self.b).enumerate().take(near).skip(self.spent) {
            *r = b * law.ripe_at((t - i) as i32);
        }
        for ((r, b), h) in r[near..].iter_mut().zip(&self.b[near..=t]).zip(law.h_all[..=t - near].iter().rev()) {
            *r = b * h;
        }
        for &i in self.rows.keys() {
            r[i] = self.b[i] * self.ripe_of_unit(i, t);
        }
        let stay = self.gone_stay();
        let from = self.spent.min(self.gone.len());
        for (r, gone) in r[from..].iter_mut().zip(&self.gone[from..]) {
            *r -= stay * gone;
        }
        r[..self.spent].fill(0.0);
        for x in &mut r {
            *x = x.max(0.0);
        }
        r
    }

    /// Takes these parts of the pools, given from the earliest cohort on as far as any is taken.
    fn remove_ripe(&mut self, ripe: &[f64], fraction: &mut [f64], old_fraction: f64) -> f64 {
        let old = self.old.ripe * old_fraction;
        let share: f64 = old + ripe.iter().zip(&*fraction).map(|(r, f)| r * f).sum::<f64>();
        if share <= 0.0 {
            return 0.0;
        }
        // What is spent counts as taken along with what follows it, or not at all.
        let from = self.spent.min(fraction.len());
        let all = match fraction[from..].iter().take_while(|f| **f == 1.0).count() {
            0 => 0,
            n => from + n,
        };
        fraction[..from].fill(if all > 0 { 1.0 } else { 0.0 });
        let fraction = &*fraction;
        self.scale_removed(fraction, all);
        let hi = fraction.iter().rposition(|f| *f > 0.0).map_or(0, |i| i + 1);
        let lo = if all > 0 { 0 } else { fraction.iter().position(|f| *f > 0.0).unwrap_or(0).min(hi) };
        if hi > lo {
            let w = self.b[lo..hi].iter().zip(&fraction[lo..hi]).map(|(b, f)| b * f).collect();
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

    /// Takes the fractions off what earlier visits took; of cohorts before `all` nothing is left.
    fn scale_removed(&mut self, fraction: &[f64], all: usize) {
        for rem in &mut self.removed {
            let drop = all.clamp(rem.lo, rem.lo + rem.w.len()) - rem.lo;
            if drop > 0 {
                rem.w.drain(..drop);
                rem.lo += drop;
                rem.whole = 0;
                rem.forget();
            }
            let end = (rem.lo + rem.w.len()).min(fraction.len());
            let taken = &fraction[rem.lo.min(end)..end];
            if taken.iter().any(|f| *f > 0.0) {
                rem.whole = 0;
                rem.forget();
                for (w, f) in rem.w.iter_mut().zip(taken) {
                    *w *= 1.0 - f;
                }
            }
        }
        self.removed.retain(|r| r.w.iter().any(|w| *w != 0.0));
    }

    fn note_gone(&mut self, ripe: &[f64], fraction: &[f64], all: usize) {
        self.gone_to_today();
        for ((gone, r), f) in self.gone.iter_mut().zip(ripe).zip(fraction) {
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
        for gone in &mut self.gone {
            *gone *= stay;
        }
        self.gone.resize(t + 1, 0.0);
        self.gone_day = self.today;
    }

    /// What a visit gives back.
    pub(super) fn taken(share: f64) -> Taken {
        Taken { share, ripe: share, unripe: 0.0, mean_mm: 0.0 }
    }
}
