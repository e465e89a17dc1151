//! Pulling hair that is not yet ripe, and pulling all of it.

use super::State;
use super::state::{Far, Old, Removed};
use std::sync::OnceLock;

/// Less than this of a cohort still to come through is none.
const TRACE: f64 = 1e-12;

impl State {
    pub(super) fn pull_unripe(&mut self, amount: f64, min_mm: f64) -> f64 {
        self.spread_all();
        self.gone_to_today();
        let t = self.t();
        let cycle = *self.law.cycle();
        let mut left = amount;
        let mut w = vec![0.0; self.b.len()];
        for (i, kept) in w.iter_mut().enumerate() {
            if left <= 1e-15 {
                break;
            }
            let mm = ((t - i) as f64 - cycle.lag.mean_d()).clamp(0.0, cycle.grow.mean_d()) * cycle.growth_mm_d;
            let unripe = self.seen_unripe(i);
            if unripe <= 1e-15 || mm < min_mm {
                continue;
            }
            let y = self.pullable(i, (left / unripe).min(1.0));
            left -= y * unripe;
            // What is ripe of the cohort stays as it was.
            let before = self.b[i] * self.ripe_of_unit(i, t);
            *kept = self.scale_unripe(i, y);
            self.gone[i] += self.b[i] * self.ripe_of_unit(i, t) - before;
        }
        for rem in &mut self.removed {
            rem.whole = 0;
            rem.forget();
        }
        if let Some(lo) = w.iter().position(|x| *x != 0.0) {
            self.removed.push(Removed::new(self.today, lo, w[lo..].to_vec()));
        }
        self.recount();
        let taken = amount - left;
        self.add_cohort(taken, 1.0);
        taken
    }

    /// Share of a unit of cohort `i` that has still to come through.
    fn to_come(&self, i: usize) -> f64 {
        let row = self.rows.get(&i).unwrap_or(&self.law.p_lag);
        row.iter().skip((self.t() + 1).saturating_sub(i)).sum()
    }

    /// Of a fraction of the visible unripe hair of cohort `i`, what can be pulled. Where hair has still to come
    /// through a trace stays: the cohort's ripe hair is reckoned by the row of what came through, so that must not
    /// become nothing.
    fn pullable(&self, i: usize, fraction: f64) -> f64 {
        if self.to_come(i) > TRACE { fraction.min(1.0 - 1e-9) } else { fraction }
    }

    /// Pulls the fraction `y` of the visible unripe hair of cohort `i`; gives the
    /// weight that keeps its ripe pool as it was.
    fn scale_unripe(&mut self, i: usize, y: f64) -> f64 {
        let t = self.t();
        let mass = self.b[i];
        let row: Vec<f64> = self.rows.get(&i).cloned().unwrap_or_else(|| self.law.p_lag.clone());
        let to_come = self.to_come(i);
        let hard = self.hard_of(i);
        for (k, q) in row.iter().enumerate().take_while(|(k, _)| i + k <= t) {
            // Where all of it goes, rounding must not leave less than nothing.
            self.e[i + k] = (self.e[i + k] - mass * y * q).max(0.0);
            let cut = self.kept_hard_at(i + k);
            self.eh[i + k] = (self.eh[i + k] - mass * y * q * hard * cut).max(0.0);
        }
        if to_come > TRACE {
            // Hair still to come through is untouched: the cohort gets a row of its own. What was
            // taken from its ripe pool, and what stays ripe, is reckoned in the new row.
            let rest: Vec<f64> =
                row.iter().enumerate().map(|(k, q)| if i + k <= t { q * (1.0 - y) } else { *q }).collect();
            self.rows.insert(i, rest);
            for rem in self.removed.iter_mut().filter(|r| (r.lo..r.lo + r.w.len()).contains(&i)) {
                rem.w[i - rem.lo] /= 1.0 - y;
            }
            return -mass * y / (1.0 - y);
        }
        self.b[i] = mass * (1.0 - y);
        -mass * y
    }

    pub(super) fn strip_flat(&mut self) -> f64 {
        self.spread_all();
        let t = self.t();
        let visible = self.visible();
        for i in 0..self.b.len() {
            if self.b[i] <= 0.0 {
                continue;
            }
            let row = self.rows.get(&i).unwrap_or(&self.law.p_lag);
            if i + row.len() <= t + 1 {
                self.b[i] = 0.0;
                self.rows.remove(&i);
            } else if row[..=t - i].iter().any(|q| *q != 0.0) {
                let rest = row.iter().enumerate().map(|(k, q)| if i + k <= t { 0.0 } else { *q }).collect();
                self.rows.insert(i, rest);
            }
        }
        for v in [&mut self.e, &mut self.eh] {
            v[..=t].fill(0.0);
        }
        self.ungrown.all().into_iter().for_each(|v| v.fill(0.0));
        self.gone.fill(0.0);
        self.marks = OnceLock::new();
        self.removed.clear();
        self.clips.clear();
        self.old = Old::default();
        self.far = Far::default();
        (self.unripe, self.ripe, self.spent) = (0.0, 0.0, 0);
        self.add_cohort(visible, 1.0);
        self.mark_visit();
        visible
    }
}
