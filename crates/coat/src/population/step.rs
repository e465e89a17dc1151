//! Stepping from day to day.
//!
//! Waits are mostly longer than a few days, so what comes through, rests and ripens on the days
//! of a block is nearly all known before the block begins: it is summed for all its days at
//! once, and only what the block's own days add is summed day by day.

use super::state::{Far, State};
use crate::law::Law;
use crate::taps::BLOCK;
use std::sync::{Arc, OnceLock};

impl State {
    pub(super) fn step_to(&mut self, day: i32) -> f64 {
        let n = self.idx(day) + 1;
        if n > self.b.len() {
            self.b.resize(n, 0.0);
            self.ungrown.all().into_iter().for_each(|v| v.resize(n, 0.0));
        }
        self.reserve_days(n);
        if self.visits.is_empty() {
            self.marks = OnceLock::new();
        }
        let law = Arc::clone(&self.law);
        let fade = Fade::new(&law);
        while self.today < day {
            let days = ((day - self.today) as usize).min(BLOCK);
            self.step_block(&law, &fade, days);
        }
        0.0
    }

    fn step_block(&mut self, law: &Law, fade: &Fade, days: usize) {
        let first = self.t() + 1;
        let through = law.lag.block(&self.b[..first], self.spread_to, first);
        let ripens = law.set.block(&self.e[..first], 0, first);
        let inflow = law.grow.block(&self.ungrown.ripens[..first], 0, first);
        // The block's own days: emptied, come through, and as `Ungrown` has them.
        let (mut b, mut e, mut own) = ([0.0; BLOCK], [0.0; BLOCK], [[0.0; BLOCK]; 4]);
        let u = &self.ungrown;
        let (mut ripe, mut come, mut gone) = (u.ripe[first - 1], u.come[first - 1], u.shed[first - 1]);
        for j in 0..days {
            let t = first + j;
            let shed = (1.0 - law.delta) * self.ripe;
            let mut gathered = through[j];
            if self.calendar.is_some() {
                self.spread(t, shed, self.start_hard);
                self.spread_to = t + 1;
            } else {
                b[j] = shed;
                gathered += law.lag.own(&b, j);
            }
            self.b[t] = shed;
            self.e[t] += gathered;
            self.eh[t] += self.start_hard * gathered;
            e[j] = self.e[t];
            let ripened = ripens[j] + law.set.own(&e, j);
            come += e[j];
            gone += (1.0 - law.delta) * ripe;
            ripe = law.delta * ripe + ripened;
            for (own, x) in own.iter_mut().zip([ripened, ripe, come, gone]) {
                own[j] = x;
            }
            let grown = inflow[j] + law.grow.own(&own[0], j);
            self.unripe += e[j] - grown;
            self.ripe = self.ripe - shed + grown;
            self.old.ripe *= law.delta;
            self.old.hard *= law.delta;
            self.far = self.further(fade, t);
        }
        self.today += days as i32;
        for (all, own) in self.ungrown.all().into_iter().zip(own) {
            all[first..first + days].copy_from_slice(&own[..days]);
        }
    }

    /// What is too old for the kernels on day index `t`, from the day before.
    #[inline]
    fn further(&self, fade: &Fade, t: usize) -> Far {
        let mut far = Far { ripe: fade.delta * self.far.ripe, hard: fade.delta * self.far.hard };
        if let Some(i) = t.checked_sub(fade.all)
            && i >= self.spent
            && (self.rows.is_empty() || !self.rows.contains_key(&i))
        {
            far.ripe += fade.after_all * self.b[i];
        }
        if let Some(d) = t.checked_sub(fade.seen) {
            far.hard += fade.after_seen * self.eh[d];
        }
        far
    }

    /// Sums anew what is too old for the kernels.
    pub(super) fn recount_far(&mut self) {
        self.far.hard = self.far_hard_on(self.t());
        self.recount_far_ripe();
    }

    /// Hard ripe hair on day index `t` that came through too early for the kernels.
    pub(super) fn far_hard_on(&self, t: usize) -> f64 {
        let fade = Fade::new(&self.law);
        far_sum(&self.eh[..(t + 1).saturating_sub(fade.seen)], fade.after_seen, fade.delta)
    }

    pub(super) fn recount_far_ripe(&mut self) {
        let fade = Fade::new(&self.law);
        let t = self.t();
        let end = (t + 1).saturating_sub(fade.all);
        let from = self.spent.min(end);
        if self.rows.range(from..end).next().is_none() {
            self.far.ripe = far_sum(&self.b[from..end], fade.after_all, fade.delta);
        } else {
            let plain: Vec<f64> =
                (from..end).map(|i| if self.rows.contains_key(&i) { 0.0 } else { self.b[i] }).collect();
            self.far.ripe = far_sum(&plain, fade.after_all, fade.delta);
        }
    }

    /// Works out anew all that follows from what came through up to today.
    pub(super) fn recount(&mut self) {
        let law = Arc::clone(&self.law);
        let t = self.t();
        self.ungrown.ripens.clear();
        self.ungrown.ripens.extend(law.set.convolve(&self.e[..=t], 0, t + 1));
        self.recount_ripened();
    }

    /// The same where what ripens on each day is known.
    pub(super) fn recount_ripened(&mut self) {
        let (t, delta) = (self.t(), self.law.delta);
        let (mut ripe, mut come, mut shed) = (0.0, 0.0, 0.0);
        for d in 0..=t {
            come += self.e[d];
            shed += (1.0 - delta) * ripe;
            ripe = delta * ripe + self.ungrown.ripens[d];
            (self.ungrown.ripe[d], self.ungrown.come[d], self.ungrown.shed[d]) = (ripe, come, shed);
        }
        self.recount_unripe();
        self.recount_far();
    }

    pub(super) fn recount_unripe(&mut self) {
        self.unripe = self.e[..=self.t()].iter().rev().zip(&self.law.s_gs).map(|(e, s)| e * s).sum();
    }

    pub(super) fn reserve_days(&mut self, n: usize) {
        if self.e.len() < n {
            self.e.resize(n, 0.0);
            self.eh.resize(n, 0.0);
        }
    }

    /// Puts all of the coming through of a mass emptied on day index `i` into its days.
    fn spread(&mut self, i: usize, mass: f64, hard: f64) {
        let day = self.origin + i as i32;
        let law = Arc::clone(&self.law);
        let slow = self.calendar.as_ref().and_then(|c| super::rows::slow_row(&law, day, &**c));
        let row = slow.as_deref().unwrap_or(&law.p_lag);
        self.spread_row(i, mass, hard, row, 0);
        self.mix_row(i, mass, slow);
    }

    /// The part of it from `from` days after day index `i` on.
    pub(super) fn spread_row(&mut self, i: usize, mass: f64, hard: f64, row: &[f64], from: usize) {
        self.reserve_days(i + row.len());
        if from >= row.len() {
            return;
        }
        let days = i + from..i + row.len();
        let (e, eh) = (&mut self.e[days.clone()], &mut self.eh[days]);
        for ((e, eh), q) in e.iter_mut().zip(eh).zip(&row[from..]) {
            *e += mass * q;
            *eh += mass * q * hard;
        }
    }

    /// Puts the coming through of every cohort into its days, so that a cohort can be changed.
    pub(super) fn spread_all(&mut self) {
        let (t, law) = (self.t(), Arc::clone(&self.law));
        let from = self.spread_to.max((t + 1).saturating_sub(law.p_lag.len()));
        for i in from..=t {
            // What makes a cohort harder than usual stands ahead already.
            self.spread_row(i, self.b[i], self.start_hard, &law.p_lag, t + 1 - i);
        }
        self.spread_to = t + 1;
    }

    pub(super) fn set_calendar(&mut self, calendar: Option<super::LagCalendar>) {
        self.spread_all();
        self.calendar = calendar;
    }

    /// Adds a cohort emptied today.
    pub(super) fn add_cohort(&mut self, mass: f64, hard: f64) {
        if mass <= 0.0 {
            return;
        }
        let (i, law) = (self.t(), Arc::clone(&self.law));
        let before = self.b[i];
        let blend = (self.hard_of(i) * before + hard * mass) / (before + mass);
        self.set_hard(i, blend);
        let at_once = self.e[i];
        if i < self.spread_to {
            self.spread(i, mass, hard);
        } else {
            // Its days to come are gathered as they come; only what makes it harder is put there now.
            self.e[i] += mass * law.p_lag[0];
            self.eh[i] += mass * law.p_lag[0] * self.start_hard;
            let more = hard - self.start_hard;
            if more != 0.0 {
                self.reserve_days(i + law.p_lag.len());
                for (eh, q) in self.eh[i..].iter_mut().zip(&law.p_lag) {
                    *eh += mass * more * q;
                }
            }
        }
        self.b[i] = before + mass;
        // A wait that can be shorter than half a day passes at once.
        let through = self.e[i] - at_once;
        if through > 0.0 {
            let rested = through * law.p_set[0];
            let ripe = rested * law.p_grow[0];
            self.ungrown.ripens[i] += rested;
            self.ungrown.ripe[i] += rested;
            self.ungrown.come[i] += through;
            self.unripe += through - ripe;
            self.ripe += ripe;
        }
    }
}

/// How mass enters what is too old for the kernels.
struct Fade {
    delta: f64,
    all: usize,
    after_all: f64,
    seen: usize,
    after_seen: f64,
}

impl Fade {
    fn new(law: &Law) -> Self {
        let (all, seen) = (law.h_all.len(), law.h_gs.len());
        Fade {
            delta: law.delta,
            all,
            after_all: law.h_all[all - 1] * law.delta,
            seen,
            after_seen: law.h_gs[seen - 1] * law.delta,
        }
    }
}

/// The sum of a sequence that fades, its last entry by `last`.
pub(super) fn far_sum(v: &[f64], last: f64, delta: f64) -> f64 {
    v.iter().fold(0.0, |far, x| far * delta + x) * last
}
