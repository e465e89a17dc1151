//! Cohorts whose lag is not the plain law: under a slow clock, or pulled while coming through.

use super::state::State;
use super::{LagCalendar, LagClock};
use crate::law::{Law, at, linger_at};

impl State {
    pub(super) fn put_row(&mut self, i: usize, hard: f64, row: Vec<f64>) {
        self.b[i] = 1.0;
        self.spread_row(i, 1.0, hard, &row, 0);
        self.rows.insert(i, row);
    }

    /// The row of cohort `i` when a mass that comes through by `row` (none: by the plain law) joins it.
    pub(super) fn mix_row(&mut self, i: usize, mass: f64, row: Option<Vec<f64>>) {
        let before = self.b[i];
        let was = self.rows.get(&i);
        let mixed = match (was, row) {
            (None, None) => return,
            (None, Some(row)) if before == 0.0 => row,
            (was, row) => {
                let plain = &self.law.p_lag;
                let (a, b) = (was.unwrap_or(plain), row.as_ref().unwrap_or(plain));
                let at = |v: &[f64], k: usize| v.get(k).copied().unwrap_or(0.0);
                let of = |k: usize| (before * at(a, k) + mass * at(b, k)) / (before + mass);
                (0..a.len().max(b.len())).map(of).collect()
            }
        };
        self.rows.insert(i, mixed);
    }

    /// Sum over the days of its row, up to day index `t`, of what a kernel makes of cohort `i`.
    pub(super) fn row_sum(&self, i: usize, t: usize, kernel: impl Fn(i32) -> f64) -> f64 {
        let Some(row) = self.rows.get(&i) else { return 0.0 };
        row.iter()
            .enumerate()
            .take_while(|(k, _)| i + k <= t)
            .filter(|(_, q)| **q > 0.0)
            .map(|(k, q)| q * kernel((t - i - k) as i32))
            .sum()
    }

    /// Ripe share of a unit of cohort `i` on day index `t`, had no visit taken any.
    pub(super) fn ripe_of_unit(&self, i: usize, t: usize) -> f64 {
        if !self.rows.is_empty() && self.rows.contains_key(&i) {
            self.row_sum(i, t, |k| linger_at(&self.law.h_gs, self.law.delta, k))
        } else {
            self.law.ripe_at((t - i) as i32)
        }
    }

    /// Share of a unit of cohort `i` that is empty, growing or firm today.
    pub(super) fn unripe_of_unit(&self, i: usize) -> f64 {
        let t = self.t();
        match self.rows.get(&i) {
            Some(row) => {
                let to_come: f64 = row.iter().skip((t + 1).saturating_sub(i)).sum();
                to_come + self.row_sum(i, t, |k| at(&self.law.s_gs, k))
            }
            None => at(&self.law.s_all, (t - i) as i32),
        }
    }

    /// Visible unripe mass of cohort `i` today.
    pub(super) fn seen_unripe(&self, i: usize) -> f64 {
        let t = self.t();
        if self.rows.contains_key(&i) {
            self.b[i] * self.row_sum(i, t, |k| at(&self.law.s_gs, k))
        } else {
            let a = (t - i) as i32;
            self.b[i] * (at(&self.law.s_all, a) - at(&self.law.s_lag, a)).max(0.0)
        }
    }
}

/// Coming-through probabilities of a follicle emptied on `day` under a calendar; none if plain.
pub(super) fn slow_row(law: &Law, day: i32, calendar: &<LagCalendar as std::ops::Deref>::Target) -> Option<Vec<f64>> {
    let plain_for = law.p_lag.len() as i32;
    if (0..plain_for).all(|k| calendar(day + k) == LagClock::PLAIN) {
        return None;
    }
    let s = law.s_lag_sixths();
    let mut row = Vec::new();
    let mut left = 1.0;
    let mut clock_sixths = 0.0_f64;
    for k in 0..4_000 {
        let c = calendar(day + k);
        // Day 0 is half a day: the law's own convention.
        let from = clock_sixths;
        clock_sixths += c.speed * if k == 0 { 3.0 } else { 6.0 };
        let (a, b) = (at(s, from.round() as i32), at(s, clock_sixths.round() as i32));
        let chance = if a > 0.0 { (1.0 - b / a) * c.chance } else { c.chance };
        let through = left * chance.clamp(0.0, 1.0);
        row.push(through);
        left -= through;
        if left < 1e-13 {
            break;
        }
    }
    if let Some(last) = row.last_mut() {
        *last += left;
    }
    Some(row)
}
