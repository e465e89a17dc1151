//! How a population begins.

use super::LagCalendar;
use super::share::{Next, Seen};
use super::state::{Far, Old, Removed, State, Ungrown, days};
use crate::law::{Law, at};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

impl State {
    pub(super) fn emptied(law: Arc<Law>, today: i32, start_hard: f64, hard: f64, rhythm_d: i32) -> Self {
        let mut p = State::bare(law, today, start_hard, rhythm_d);
        p.add_cohort(1.0, hard);
        p
    }

    pub(super) fn ripe_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let mut p = State::bare(law, today, start_hard, rhythm_d);
        p.old = Old { ripe: 1.0, hard: start_hard };
        p.ripe = 1.0;
        p
    }

    pub(super) fn forget_old(&mut self) {
        self.ripe -= self.old.ripe;
        self.old = Old::default();
    }

    pub(super) fn by_phases(law: Arc<Law>, today: i32, start_hard: f64, shares: [f64; 3], rhythm_d: i32) -> Self {
        let [empty, unripe, ripe] = shares;
        let mut p = State::bare(law.clone(), today, start_hard, rhythm_d);
        let lag_d: f64 = law.s_lag.iter().sum();
        let unripe_d: f64 = law.s_gs.iter().sum();
        let n = p.b.len();
        for i in 0..n {
            let age = n - 1 - i;
            // Empty follicles of this day come through from tomorrow on; hair that came through
            // on this day stands as if its follicle had been emptied then.
            let mut row: Vec<f64> = law
                .p_lag
                .iter()
                .enumerate()
                .map(|(k, q)| if k > age { q * empty / lag_d.max(1e-12) } else { 0.0 })
                .collect();
            row[0] += unripe / unripe_d.max(1e-12);
            p.put_row(i, start_hard, row);
        }
        p.spread_to = n;
        // Of the visible hair, what would be ripe by now is not there.
        p.removed.push(Removed::new(today, 0, vec![1.0; n]));
        p.gone = p.ripe_by_cohort();
        p.gone_day = today;
        p.old = Old { ripe, hard: ripe * start_hard };
        p.ripe = ripe;
        p.recount();
        p
    }

    pub(super) fn rolled(law: Arc<Law>, today: i32, start_hard: f64, every_d: i32, sparingly: bool) -> Self {
        let every = every_d.max(1);
        let visits = (3 * law.span_d() / every).clamp(12, 120);
        let share = if sparingly { steady_share(&law, every).min(0.1) } else { steady_share(&law, every) };
        let mut p = State::left_alone(law, today - visits * every, start_hard, every);
        for _ in 0..visits {
            p.step_to(p.today + every);
            let amount = (share * p.visible()).min(p.ripe);
            p.take_longest(amount);
        }
        p
    }

    pub(super) fn emptied_under(
        law: Arc<Law>,
        today: i32,
        start_hard: f64,
        rhythm_d: i32,
        calendar: Option<LagCalendar>,
    ) -> Self {
        let mut s = State::bare(law, today, start_hard, rhythm_d);
        if calendar.is_some() {
            s.set_calendar(calendar);
        }
        s.add_cohort(1.0, 1.0);
        s
    }

    fn bare(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let span = law.span_d() + 1;
        let n = span as usize + 1;
        State {
            calendar: None,
            start_hard,
            origin: today - span,
            today,
            b: days(n),
            hard_cohorts: Vec::new(),
            rows: BTreeMap::new(),
            spread_to: 0,
            e: days(n),
            eh: days(n),
            ungrown: Ungrown::empty(n),
            unripe: 0.0,
            ripe: 0.0,
            far: Far::default(),
            kept_hard: Vec::new(),
            clipped_to: Vec::new(),
            old: Old::default(),
            removed: Vec::new(),
            gone: Vec::new(),
            gone_day: today,
            spent: 0,
            clips: Vec::new(),
            visits: Vec::new(),
            marks: OnceLock::new(),
            rhythm_d,
            next: Next::default(),
            seen: Seen::default(),
            law,
        }
    }

    pub(super) fn left_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let rate = 1.0 / law.cycle_d();
        let mut p = State::bare(law.clone(), today, start_hard, rhythm_d);
        let alone = law.stationary();
        let scale = |to: &mut [f64], v: &[f64], by: f64| to.iter_mut().zip(v).for_each(|(to, x)| *to = x * by);
        p.b.fill(rate);
        scale(&mut p.e, &alone.e, rate);
        scale(&mut p.eh, &alone.e, rate * start_hard);
        scale(&mut p.ungrown.ripens, &alone.ripens, rate);
        p.recount_ripened();
        // Hair of follicles emptied before the arrays begin is all ripe: it is `old`.
        let n = p.b.len();
        let unit: f64 = (0..n).map(|i| rate * law.ripe_at((n - 1 - i) as i32)).sum();
        let empty: f64 = law.s_lag.iter().sum::<f64>() * rate;
        p.old.ripe = (1.0 - unit - p.unripe - empty).max(0.0);
        p.old.hard = p.old.ripe * start_hard;
        p.ripe = unit + p.old.ripe;
        p
    }
}

/// The share of the visible hair that keeps a coat steady at visits `every_d` apart.
///
/// # Reference
/// Renewal theory: 1 / sum over j of (1 - F(j I)) of all follicles is emptied at
/// each visit; divided by what is visible just before it.
pub fn steady_share(law: &Law, every_d: i32) -> f64 {
    let every = every_d.max(1);
    let mut sum = 0.0;
    let mut visible_before = 0.0;
    let mut j = 0;
    loop {
        let s = at(&law.s_all, j * every);
        sum += s;
        if j >= 1 {
            // Follicles emptied j visits ago and not taken since: visible when the hair is through.
            let alive = at(&law.s_all, (j - 1) * every);
            visible_before += alive - at(&law.s_lag, j * every).min(alive);
        }
        if s <= 0.0 {
            break;
        }
        j += 1;
    }
    (1.0 / visible_before.max(1.0 / sum)).min(1.0)
}
