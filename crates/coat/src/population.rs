//! One zone's hairs as an expected population, stepped day by day.
//!
//! Kept is the mass emptied on each day (a *cohort*), the mass coming through
//! on each day, and what visits took from each cohort's ripe pool. Everything
//! else follows by inner products with the kernels of the [`Law`], so that the
//! state is exact and small. Order within a day: shed, ripen, visit, measure.

use crate::dot::{add_scaled, dot};
use crate::law::{Law, at, linger_at};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// How the clock of empty follicles runs on a day: speed of the lag, chance multiplier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagClock {
    /// Days of lag that pass on the day: 1 usually, 1/3 under a steroid course.
    pub speed: f64,
    /// Multiplies the day's chance of coming through: 1 usually, less in winter outdoors.
    pub chance: f64,
}

impl LagClock {
    /// The usual clock.
    pub const PLAIN: LagClock = LagClock { speed: 1.0, chance: 1.0 };
}

/// Gives the lag clock of a day (days since 1970-01-01).
pub type LagCalendar = Arc<dyn Fn(i32) -> LagClock + Send + Sync>;

/// What a visit took from the ripe pools: weight per cohort, from index `lo`.
#[derive(Clone, Debug)]
pub(crate) struct Removed {
    pub(crate) day: i32,
    pub(crate) lo: usize,
    pub(crate) w: Vec<f64>,
    /// Lengths of this hair on its day, and its hard mass: worked out once.
    known: OnceLock<(Lengths, f64)>,
}

impl Removed {
    fn new(day: i32, lo: usize, w: Vec<f64>) -> Self {
        Removed { day, lo, w, known: OnceLock::new() }
    }
}

/// A clip to a length, which also softens.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clip {
    pub(crate) day: i32,
    pub(crate) len_d: f64,
}

/// Ripe hair of follicles emptied before the arrays begin.
#[derive(Clone, Debug, Default)]
pub(crate) struct Old {
    pub(crate) ripe: f64,
    pub(crate) hard: f64,
}

/// The order in which ripe hair is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Take {
    /// This share of all follicles, earliest emptied first.
    LongestFirst(f64),
    /// This share of follicles from each class of the given boundaries, newest
    /// class first, evenly within a class.
    FromClasses(Vec<f64>),
}

/// What a visit did to one population.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Taken {
    /// Share of follicles emptied by hand.
    pub share: f64,
    /// Of these, ripe.
    pub ripe: f64,
    /// Of these, not yet ripe.
    pub unripe: f64,
    /// Mean length of the hair taken, mm; 0 when none was.
    pub mean_mm: f64,
}

/// Shares of follicles by phase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phases {
    /// Empty follicles.
    pub empty: f64,
    /// Growing hair.
    pub growing: f64,
    /// Full length, firm.
    pub set: f64,
    /// Ripe.
    pub ripe: f64,
}

/// The expected population of one zone.
#[derive(Clone)]
pub struct Population {
    law: Arc<Law>,
    calendar: Option<LagCalendar>,
    start_hard: f64,
    origin: i32,
    today: i32,
    /// Weight of each cohort (mass emptied that day, less unripe hair pulled since).
    pub(crate) b: Vec<f64>,
    /// Hardness of the hair that the cohort grows.
    pub(crate) hard: Vec<f64>,
    /// Coming-through days of cohorts whose lag is not the plain law, from the cohort's own day.
    pub(crate) rows: BTreeMap<usize, Vec<f64>>,
    /// Mass coming through per day, known days ahead included.
    e: Vec<f64>,
    /// The same, hard hair only, cuts included.
    eh: Vec<f64>,
    /// Product of (1 - cut share) for hair come through by each day.
    pub(crate) kept_hard: Vec<f64>,
    /// Shortest clip, in days of growth, that hair come through by each day has met.
    clipped_to: Vec<f64>,
    pub(crate) old: Old,
    pub(crate) removed: Vec<Removed>,
    pub(crate) clips: Vec<Clip>,
    ripe: f64,
    /// Days of visits to the zone, ascending.
    visits: Vec<i32>,
    rhythm_d: i32,
}

impl Population {
    /// A coat left alone until `today`: the stationary renewal state.
    pub fn left_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let rate = 1.0 / law.cycle_d();
        Population::with_rate(law, today, start_hard, rhythm_d, |_| rate)
    }

    /// All follicles emptied `today`.
    pub fn emptied(law: Arc<Law>, today: i32, start_hard: f64, hard: f64, rhythm_d: i32) -> Self {
        let mut p = Population::bare(law, today, start_hard, rhythm_d);
        p.add_cohort(1.0, hard);
        p
    }

    /// One unit of ripe hair and nothing else: what would happen to it if it were left.
    pub fn ripe_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let mut p = Population::bare(law, today, start_hard, rhythm_d);
        p.old = Old { ripe: 1.0, hard: start_hard };
        p.ripe = 1.0;
        p
    }

    /// Leaves out the hair of follicles emptied before the first day computed.
    pub fn forget_old(&mut self) {
        self.ripe -= self.old.ripe;
        self.old = Old::default();
    }

    /// Shares empty, visible but not ripe, and ripe as given (they should sum to 1),
    /// the waits within each as in a stationary coat.
    pub fn by_phases(law: Arc<Law>, today: i32, start_hard: f64, shares: [f64; 3], rhythm_d: i32) -> Self {
        let [empty, unripe, ripe] = shares;
        let mut p = Population::bare(law.clone(), today, start_hard, rhythm_d);
        let lag_d: f64 = law.s_lag.iter().sum();
        let unripe_d: f64 = law.s_gs.iter().sum();
        let n = p.b.len();
        // Of the visible hair, what would be ripe by now is not there.
        let dropped = vec![1.0; n];
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
            p.put_row(i, 1.0, start_hard, row);
        }
        p.removed.push(Removed::new(today, 0, dropped));
        p.old = Old { ripe, hard: ripe * start_hard };
        p.ripe = ripe;
        p
    }

    /// The state that repeats itself when the coat is rolled every `every_d` days: the steady
    /// share of the visible hair each time, or, `sparingly`, at most a tenth of it.
    pub fn rolled(law: Arc<Law>, today: i32, start_hard: f64, every_d: i32, sparingly: bool) -> Self {
        let every = every_d.max(1);
        let visits = (3 * law.span_d() / every).clamp(12, 120);
        let share = if sparingly { steady_share(&law, every).min(0.1) } else { steady_share(&law, every) };
        let mut p = Population::left_alone(law, today - visits * every, start_hard, every);
        for _ in 0..visits {
            p.step_to(p.today + every);
            let amount = (share * p.visible()).min(p.ripe());
            p.visit(&Take::LongestFirst(amount));
        }
        p
    }

    fn bare(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        let span = law.span_d() + 1;
        let n = span as usize + 1;
        let ahead = n + law.p_lag.len();
        Population {
            calendar: None,
            start_hard,
            origin: today - span,
            today,
            b: vec![0.0; n],
            hard: vec![start_hard; n],
            rows: BTreeMap::new(),
            e: vec![0.0; ahead],
            eh: vec![0.0; ahead],
            kept_hard: vec![1.0; ahead],
            clipped_to: vec![f64::INFINITY; ahead],
            old: Old::default(),
            removed: Vec::new(),
            clips: Vec::new(),
            ripe: 0.0,
            visits: Vec::new(),
            rhythm_d,
            law,
        }
    }

    fn with_rate(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32, rate: impl Fn(i32) -> f64) -> Self {
        let mut p = Population::bare(law, today, start_hard, rhythm_d);
        let n = p.b.len();
        for i in 0..n {
            p.b[i] = rate(p.origin + i as i32);
        }
        // Hair of follicles emptied before the arrays begin is all ripe: it is `old`.
        let len = p.law.p_lag.len();
        for i in 0..n {
            add_scaled(&mut p.e[i..i + len], p.b[i], &p.law.p_lag);
            add_scaled(&mut p.eh[i..i + len], p.b[i] * start_hard, &p.law.p_lag);
        }
        let unit: f64 = (0..n).map(|i| p.b[i] * p.law.ripe_at((n - 1 - i) as i32)).sum();
        let visible_unripe = p.unripe_at(p.today);
        let empty: f64 = (0..n).map(|i| p.b[i] * at(&p.law.s_lag, (n - 1 - i) as i32)).sum();
        p.old.ripe = (1.0 - unit - visible_unripe - empty).max(0.0);
        p.old.hard = p.old.ripe * start_hard;
        p.ripe = unit + p.old.ripe;
        p
    }

    /// Sets the calendar of the lag clock for follicles emptied from now on.
    pub fn set_calendar(&mut self, calendar: Option<LagCalendar>) {
        self.calendar = calendar;
    }

    fn put_row(&mut self, i: usize, b: f64, hard: f64, row: Vec<f64>) {
        self.reserve_days(i + row.len() + 1);
        self.b[i] = b;
        self.hard[i] = hard;
        for (k, q) in row.iter().enumerate() {
            self.e[i + k] += b * q;
            self.eh[i + k] += b * q * hard;
        }
        self.rows.insert(i, row);
    }

    fn reserve_days(&mut self, n: usize) {
        if self.e.len() < n {
            self.e.resize(n, 0.0);
            self.eh.resize(n, 0.0);
            self.kept_hard.resize(n, 1.0);
            self.clipped_to.resize(n, f64::INFINITY);
        }
    }

    #[inline]
    pub(crate) fn idx(&self, day: i32) -> usize {
        (day - self.origin).max(0) as usize
    }

    /// The day up to which the coat is computed (days since 1970-01-01).
    pub fn today(&self) -> i32 {
        self.today
    }

    /// The law of the zone.
    pub fn law(&self) -> &Arc<Law> {
        &self.law
    }

    /// Hardness of hair grown after natural shedding.
    pub fn start_hard(&self) -> f64 {
        self.start_hard
    }

    /// 90th percentile of the visible hair's length, mm; none when too little is visible.
    pub fn top_mm(&self) -> Option<f64> {
        self.quantile_mm(0.9)
    }

    /// A quantile of the visible hair's length, mm; none when less than 0.02 is visible.
    pub fn quantile_mm(&self, q: f64) -> Option<f64> {
        Some(self.lengths().quantile(q)? * self.law.cycle().growth_mm_d)
    }

    /// Visible hair by length: (mm, share of follicles, ripe).
    pub fn hair_by_length(&self) -> Vec<(f64, f64, bool)> {
        let mm = self.law.cycle().growth_mm_d;
        let l = self.lengths();
        let whole = |v: &[f64], ripe: bool| -> Vec<(f64, f64, bool)> {
            v.iter().enumerate().map(|(k, m)| (k as f64 * mm, *m, ripe)).collect()
        };
        let mut out = whole(&l.unripe, false);
        out.extend(whole(&l.ripe, true));
        out.extend(l.cut.iter().map(|c| (c.0 * mm, c.1, c.2)));
        out.retain(|x| x.1.abs() > 1e-15);
        out
    }

    /// Days of visits to the zone, ascending.
    pub fn visits(&self) -> &[i32] {
        &self.visits
    }

    /// Adds a cohort emptied today.
    fn add_cohort(&mut self, mass: f64, hard: f64) {
        if mass <= 0.0 {
            return;
        }
        let i = self.idx(self.today);
        let n = self.law.p_lag.len();
        self.reserve_days(i + n + 1);
        let before = self.b[i];
        let row = self.calendar.as_ref().and_then(|c| slow_row(&self.law, self.today, &**c));
        self.hard[i] = if before + mass > 0.0 { (self.hard[i] * before + hard * mass) / (before + mass) } else { hard };
        self.b[i] = before + mass;
        match row {
            None => {
                add_scaled(&mut self.e[i..i + n], mass, &self.law.p_lag);
                add_scaled(&mut self.eh[i..i + n], mass * hard, &self.law.p_lag);
            }
            Some(row) => {
                self.reserve_days(i + row.len() + 1);
                add_scaled(&mut self.e[i..i + row.len()], mass, &row);
                add_scaled(&mut self.eh[i..i + row.len()], mass * hard, &row);
                self.rows.insert(i, row);
            }
        }
        // A wait that can be shorter than half a day passes at once.
        let now = mass * at(&self.law.p_all, 0);
        self.ripe += now;
    }

    /// Steps on to `day`, without visits.
    pub fn step_to(&mut self, day: i32) {
        let n = self.idx(day) + 1;
        if n > self.b.len() {
            self.b.resize(n, 0.0);
            self.hard.resize(n, self.start_hard);
        }
        self.reserve_days(n + self.law.p_lag.len());
        let h = 1.0 - self.law.delta;
        while self.today < day {
            self.today += 1;
            let t = self.idx(self.today);
            let shed = h * self.ripe;
            self.ripe -= shed;
            self.old.ripe *= self.law.delta;
            self.old.hard *= self.law.delta;
            self.add_cohort_mass_only(t, shed);
            self.ripe += Self::flow(&self.e, t, &self.law.r_p_gs);
        }
    }

    fn add_cohort_mass_only(&mut self, t: usize, mass: f64) {
        if self.calendar.is_some() {
            let before = self.ripe;
            self.add_cohort(mass, self.start_hard);
            // The day's flow below counts what passes at once.
            self.ripe = before;
            return;
        }
        let n = self.law.p_lag.len();
        self.b[t] += mass;
        let law = self.law.clone();
        add_scaled(&mut self.e[t..t + n], mass, &law.p_lag);
        add_scaled(&mut self.eh[t..t + n], mass * self.start_hard, &law.p_lag);
    }

    /// Sum over k of kernel[k] * seq[t - k], the kernel given backwards.
    #[inline]
    fn flow(seq: &[f64], t: usize, backwards: &[f64]) -> f64 {
        let n = backwards.len().min(t + 1);
        dot(&seq[t + 1 - n..=t], &backwards[backwards.len() - n..])
    }

    fn unripe_at(&self, day: i32) -> f64 {
        Self::flow(&self.e, self.idx(day), &self.law.r_s_gs)
    }

    /// Visible share of follicles.
    pub fn visible(&self) -> f64 {
        self.unripe_at(self.today) + self.ripe
    }

    /// Ripe share of follicles.
    pub fn ripe(&self) -> f64 {
        self.ripe
    }

    /// Shares by phase.
    pub fn phases(&self) -> Phases {
        let t = self.idx(self.today);
        let growing = Self::flow(&self.e, t, &self.law.r_s_grow);
        let unripe = self.unripe_at(self.today);
        // A difference of two sums may miss 0 by their rounding.
        let set = unripe - growing;
        let set = if set < 0.0 && set > -1e-10 { 0.0 } else { set };
        Phases { empty: self.empty(), growing, set, ripe: self.ripe }
    }

    /// Empty share, counted from the cohorts themselves (not as one minus the rest).
    pub fn empty(&self) -> f64 {
        let t = self.idx(self.today);
        // What has still to come through.
        self.e[t + 1..].iter().sum::<f64>()
    }

    /// The total of all phases; 1 up to rounding.
    pub fn total(&self) -> f64 {
        self.visible() + self.empty()
    }

    /// Ripe pool of every cohort today.
    pub(crate) fn ripe_by_cohort(&self) -> Vec<f64> {
        let mut r = vec![0.0; self.b.len()];
        self.add_ripe(&mut r, 0, &self.b, self.today, 1.0);
        for rem in &self.removed {
            let stay = self.law.delta.powi(self.today - rem.day);
            self.add_ripe(&mut r, rem.lo, &rem.w, rem.day, -stay);
        }
        for x in &mut r {
            if *x < 0.0 {
                *x = 0.0;
            }
        }
        r
    }

    /// Adds `scale * w[i] * G(day - d)` for the cohorts from `lo` on.
    fn add_ripe(&self, out: &mut [f64], lo: usize, w: &[f64], day: i32, scale: f64) {
        let t = self.idx(day);
        let hi = (lo + w.len()).min(t + 1);
        let n = self.law.h_all.len();
        for i in lo..hi {
            let x = w[i - lo];
            if x != 0.0 {
                let age = t - i;
                let g = if self.rows.is_empty() || !self.rows.contains_key(&i) {
                    if age < n { self.law.h_all[age] } else { self.law.ripe_at(age as i32) }
                } else {
                    self.row_sum(i, t, |k| linger_at(&self.law.h_gs, self.law.delta, k))
                };
                out[i] += scale * x * g;
            }
        }
    }

    fn row_sum(&self, i: usize, t: usize, kernel: impl Fn(i32) -> f64) -> f64 {
        let Some(row) = self.rows.get(&i) else { return 0.0 };
        row.iter()
            .enumerate()
            .take_while(|(k, _)| i + k <= t)
            .filter(|(_, q)| **q > 0.0)
            .map(|(k, q)| q * kernel((t - i - k) as i32))
            .sum()
    }

    /// Not yet ripe mass (empty, growing, set) of cohort `i` today.
    fn not_ripe(&self, i: usize) -> f64 {
        let t = self.idx(self.today);
        if self.rows.contains_key(&i) {
            let row = &self.rows[&i];
            let to_come: f64 = row.iter().skip((t + 1).saturating_sub(i)).sum();
            self.b[i] * (to_come + self.row_sum(i, t, |k| at(&self.law.s_gs, k)))
        } else {
            self.b[i] * at(&self.law.s_all, (t - i) as i32)
        }
    }

    /// Visible unripe mass of cohort `i` today.
    fn unripe_of(&self, i: usize) -> f64 {
        let t = self.idx(self.today);
        if self.rows.contains_key(&i) {
            self.b[i] * self.row_sum(i, t, |k| at(&self.law.s_gs, k))
        } else {
            let a = (t - i) as i32;
            self.b[i] * (at(&self.law.s_all, a) - at(&self.law.s_lag, a)).max(0.0)
        }
    }

    /// Marks a visit today: class boundaries follow the visits.
    pub fn mark_visit(&mut self) {
        if self.visits.last() != Some(&self.today) {
            self.visits.push(self.today);
        }
    }

    /// A visit today that takes ripe hair.
    ///
    /// Takes at most what is ripe.
    pub fn visit(&mut self, take: &Take) -> Taken {
        self.mark_visit();
        let ripe = self.ripe_by_cohort();
        let mut fraction = vec![0.0; ripe.len()];
        let mut old_fraction = 0.0;
        match take {
            Take::LongestFirst(amount) => {
                let mut left = amount.max(0.0).min(self.ripe);
                if left > 0.0 && self.old.ripe > 0.0 {
                    let x = left.min(self.old.ripe);
                    old_fraction = x / self.old.ripe;
                    left -= x;
                }
                for (f, r) in fraction.iter_mut().zip(&ripe) {
                    if left <= 0.0 {
                        break;
                    }
                    if *r > 0.0 {
                        let x = left.min(*r);
                        *f = x / r;
                        left -= x;
                    }
                }
            }
            Take::FromClasses(amounts) => {
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
            }
        }
        self.remove_ripe(&ripe, &fraction, old_fraction)
    }

    fn remove_ripe(&mut self, ripe: &[f64], fraction: &[f64], old_fraction: f64) -> Taken {
        let old = self.old.ripe * old_fraction;
        let share: f64 = old + ripe.iter().zip(fraction).map(|(r, f)| r * f).sum::<f64>();
        if share <= 0.0 {
            return Taken::default();
        }
        let lo = fraction.iter().position(|f| *f > 0.0).unwrap_or(0);
        let hi = fraction.iter().rposition(|f| *f > 0.0).map_or(lo, |i| i + 1);
        for rem in &mut self.removed {
            let end = (rem.lo + rem.w.len()).min(fraction.len());
            let taken = &fraction[rem.lo.min(end)..end];
            if taken.iter().any(|f| *f > 0.0) {
                rem.known = OnceLock::new();
                for (w, f) in rem.w.iter_mut().zip(taken) {
                    *w *= 1.0 - f;
                }
            }
        }
        self.removed.retain(|r| r.w.iter().any(|w| *w != 0.0));
        if hi > lo {
            let w: Vec<f64> = (lo..hi).map(|i| self.b[i] * fraction[i]).collect();
            self.removed.push(Removed::new(self.today, lo, w));
        }
        self.old.ripe -= old;
        self.old.hard *= 1.0 - old_fraction;
        // All that is ripe less all that was taken may miss nothing by rounding.
        self.ripe = if (self.ripe - share).abs() < 1e-11 { 0.0 } else { self.ripe - share };
        self.add_cohort(share, 1.0);
        Taken { share, ripe: share, unripe: 0.0, mean_mm: 0.0 }
    }

    /// Pulls this share of follicles from hair that is not yet ripe, oldest cohorts
    /// first, only where the hair is on average at least `min_mm` long.
    ///
    /// Returns what was found and taken.
    pub fn pull_unripe(&mut self, amount: f64, min_mm: f64) -> f64 {
        let t = self.idx(self.today);
        let cycle = *self.law.cycle();
        let mut left = amount;
        let mut w = vec![0.0; self.b.len()];
        for (i, kept) in w.iter_mut().enumerate() {
            if left <= 1e-15 {
                break;
            }
            let mm = ((t - i) as f64 - cycle.lag.mean_d()).clamp(0.0, cycle.grow.mean_d()) * cycle.growth_mm_d;
            let unripe = self.unripe_of(i);
            if unripe <= 1e-15 || mm < min_mm {
                continue;
            }
            let y = (left / unripe).min(1.0);
            left -= y * unripe;
            *kept = self.scale_unripe(i, y);
        }
        if let Some(lo) = w.iter().position(|x| *x != 0.0) {
            self.removed.push(Removed::new(self.today, lo, w[lo..].to_vec()));
        }
        let taken = amount - left;
        self.forget_known();
        self.add_cohort(taken, 1.0);
        taken
    }

    /// Pulls the fraction `y` of the visible unripe hair of cohort `i`; gives the
    /// weight that keeps its ripe pool as it was.
    fn scale_unripe(&mut self, i: usize, y: f64) -> f64 {
        let t = self.idx(self.today);
        let mass = self.b[i];
        let row: Vec<f64> = self.rows.get(&i).cloned().unwrap_or_else(|| self.law.p_lag.clone());
        let to_come: f64 = row.iter().skip((t + 1).saturating_sub(i)).sum();
        let hard = self.hard[i];
        for (k, q) in row.iter().enumerate().take_while(|(k, _)| i + k <= t) {
            // Where all of it goes, rounding must not leave less than nothing.
            self.e[i + k] = (self.e[i + k] - mass * y * q).max(0.0);
            let cut = at_or(&self.kept_hard, i + k, 1.0);
            self.eh[i + k] = (self.eh[i + k] - mass * y * q * hard * cut).max(0.0);
        }
        if to_come > 1e-12 {
            // Hair still to come through is untouched: the cohort gets a row of its own. What was
            // taken from its ripe pool, and what stays ripe, is reckoned in the new row.
            let y = y.min(1.0 - 1e-9);
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

    /// Pulls all visible hair today (a flat strip).
    pub fn strip_flat(&mut self) -> f64 {
        let t = self.idx(self.today);
        let visible = self.visible();
        for i in 0..self.b.len() {
            if self.b[i] <= 0.0 {
                continue;
            }
            let row: Vec<f64> = self.rows.get(&i).cloned().unwrap_or_else(|| self.law.p_lag.clone());
            if i + row.len() <= t + 1 {
                self.b[i] = 0.0;
                self.rows.remove(&i);
            } else {
                let rest = row.iter().enumerate().map(|(k, q)| if i + k <= t { 0.0 } else { *q }).collect();
                self.rows.insert(i, rest);
            }
        }
        self.e[..=t].fill(0.0);
        self.eh[..=t].fill(0.0);
        self.removed.clear();
        self.clips.clear();
        self.old = Old::default();
        self.ripe = 0.0;
        self.add_cohort(visible, 1.0);
        self.mark_visit();
        visible
    }

    /// Cuts every hair longer than `len_mm` to that length today; cut hair is soft.
    pub fn clip(&mut self, len_mm: f64) {
        let len_d = len_mm / self.law.cycle().growth_mm_d;
        let t = self.idx(self.today);
        for i in 0..=t {
            let was = self.clipped_to[i];
            if (t - i) as f64 > len_d && len_d < was {
                let kept = not_longer(&self.law.p_grow, len_d, was);
                self.eh[i] *= kept;
                self.kept_hard[i] *= kept;
                self.clipped_to[i] = len_d;
            }
        }
        let was = self.clips.iter().map(|c| c.len_d).fold(f64::INFINITY, f64::min);
        if len_d < was {
            self.old.hard *= not_longer(&self.law.p_old, len_d, was);
        }
        self.forget_known();
        self.clips.push(Clip { day: self.today, len_d });
    }

    /// Cuts the ends of this share of the visible hair (blending, scissoring): soft from now on.
    pub fn soften(&mut self, share: f64) {
        let t = self.idx(self.today);
        for i in 0..=t {
            self.eh[i] *= 1.0 - share;
            self.kept_hard[i] *= 1.0 - share;
        }
        self.old.hard *= 1.0 - share;
        self.forget_known();
    }

    /// Hard share of the visible hair; none when nothing is visible.
    pub fn hard(&self) -> Option<f64> {
        let visible = self.visible();
        if visible < 1e-9 {
            return None;
        }
        let t = self.idx(self.today);
        let mut hard = self.old.hard + Self::flow(&self.eh, t, &self.law.r_s_gs);
        hard += self.lingering_flow(&self.eh, t);
        for rem in &self.removed {
            hard -= self.law.delta.powi(self.today - rem.day) * self.known(rem).1;
        }
        Some((hard / visible).clamp(0.0, 1.0))
    }

    /// Ripe hair of a coming-through sequence on day index t, sheds included.
    fn lingering_flow(&self, e: &[f64], t: usize) -> f64 {
        let n = self.law.h_gs.len();
        let near = Self::flow(e, t, &self.law.r_h_gs);
        if t < n {
            return near;
        }
        // Beyond the kernel: geometric.
        let last = self.law.h_gs[n - 1];
        let mut far = 0.0;
        for x in &e[..=t - n] {
            far = far * self.law.delta + x;
        }
        near + far * last * self.law.delta
    }

    /// Coming-through masses, up to the day of the removal, of the cohorts in a removal.
    fn through_of(&self, rem: &Removed, hard: bool) -> (usize, Vec<f64>) {
        let t = self.idx(rem.day);
        let mut e = vec![0.0; t + 1 - rem.lo.min(t)];
        for (k, &w) in rem.w.iter().enumerate() {
            if w == 0.0 {
                continue;
            }
            let i = rem.lo + k;
            let row = self.rows.get(&i).map_or(&self.law.p_lag[..], |r| &r[..]);
            let scale = if hard { w * self.hard[i] } else { w };
            let end = (k + row.len()).min(e.len());
            if k < end {
                add_scaled(&mut e[k..end], scale, &row[..end - k]);
            }
        }
        if hard {
            for (k, x) in e.iter_mut().enumerate() {
                *x *= at_or(&self.kept_hard, rem.lo + k, 1.0);
            }
        }
        (rem.lo, e)
    }

    /// Lengths and hard mass of the hair in a removal, on its day.
    fn known<'a>(&self, rem: &'a Removed) -> &'a (Lengths, f64) {
        rem.known.get_or_init(|| {
            let n = self.law.p_grow.len() + 1;
            let mut hair = Lengths { unripe: Vec::new(), ripe: vec![0.0; n], ..Lengths::default() };
            let from = self.clips.last().map_or(0, |c| self.idx(c.day) + 1);
            let (lo, e) = self.through_of(rem, false);
            self.add_lengths(&mut hair, &e, lo, self.idx(rem.day), from, 1.0, false);
            hair.finish();
            let (_, e) = self.through_of(rem, true);
            let hard = if e.is_empty() { 0.0 } else { self.lingering_flow(&e, e.len() - 1) };
            (hair, hard)
        })
    }

    /// Forgets what was worked out about removals, after a cut.
    fn forget_known(&mut self) {
        for rem in &mut self.removed {
            rem.known = OnceLock::new();
        }
    }

    /// Visible hair by length: (days of growth, share of follicles), ripe and unripe.
    ///
    /// Index k of the first vector holds hair of k days' growth; the second lists
    /// hair cut by a clip at lengths between whole days.
    pub(crate) fn lengths(&self) -> Lengths {
        let t = self.idx(self.today);
        let n = self.law.p_grow.len() + 1;
        let mut out = Lengths { unripe: vec![0.0; n], ripe: vec![0.0; n], ..Lengths::default() };
        let last_clip = self.clips.last().map(|c| self.idx(c.day));
        let from = last_clip.map_or(0, |c| c + 1);
        self.add_lengths(&mut out, &self.e, 0, t, from, 1.0, true);
        for rem in &self.removed {
            let stay = self.law.delta.powi(self.today - rem.day);
            let (hair, _) = self.known(rem);
            for (o, r) in out.ripe.iter_mut().zip(&hair.ripe) {
                *o -= stay * r;
            }
            for &(len, share, ripe) in &hair.cut {
                out.add_cut(len, -stay * share, ripe);
            }
        }
        if self.old.ripe > 0.0 {
            for (g, p) in self.law.p_old.iter().enumerate() {
                let mass = self.old.ripe * p;
                match self.clips.iter().map(|c| c.len_d).reduce(f64::min) {
                    Some(len) if (g as f64) > len => out.add_cut(len, mass, true),
                    _ => out.ripe[g] += mass,
                }
            }
        }
        out.finish();
        out
    }

    /// Adds the hair of a coming-through sequence as it stands on day index `t`.
    #[expect(clippy::too_many_arguments, reason = "one inner routine, called from one place")]
    fn add_lengths(&self, out: &mut Lengths, e: &[f64], lo: usize, t: usize, from: usize, scale: f64, unripe: bool) {
        let law = &self.law;
        let seq = |day: usize| if day < lo.max(from) { 0.0 } else { e.get(day - lo).copied().unwrap_or(0.0) };
        // Hair that came through after the last clip: by the day it stopped growing.
        let first = lo.max(from);
        if first <= t {
            let n = law.p_grow.len();
            if unripe {
                for g in 0..n.min(t + 1 - first) {
                    out.unripe[g] += scale * seq(t - g) * law.s_grow[g];
                }
            }
            // By the day growth ended: firm and ripe hair, for the days that any length can come from.
            let len = t - first + 1;
            let start = len.saturating_sub(n);
            let mut ripe = 0.0;
            if start > 0 {
                // What had ripened before the first of these days.
                let near = law.h_set.len();
                let mut far = 0.0;
                for u in 0..start.saturating_sub(near) {
                    far = far * law.delta + seq(first + u);
                }
                ripe = far * law.h_set[near - 1] * law.delta;
                for u in start.saturating_sub(near)..start {
                    ripe += seq(first + u) * law.h_set[start - 1 - u];
                }
            }
            let mut firm_then = vec![0.0; len];
            let mut ripe_then = vec![0.0; len];
            for u in start..len {
                let day = first + u;
                let mut inflow = 0.0;
                let mut firm = 0.0;
                for k in 0..law.p_set.len().min(u + 1) {
                    let x = seq(day - k);
                    inflow += x * law.p_set[k];
                    firm += x * law.s_set[k];
                }
                ripe = ripe * law.delta + inflow;
                firm_then[u] = firm;
                ripe_then[u] = ripe;
            }
            for g in 0..n.min(len) {
                let u = len - 1 - g;
                out.ripe[g] += scale * law.p_grow[g] * ripe_then[u];
                if unripe {
                    out.unripe[g] += scale * law.p_grow[g] * firm_then[u];
                }
            }
        }
        if from == 0 {
            return;
        }
        // Hair that was there at the last clip, followed through every clip. What came through long
        // before it stands at the clip's length, so days are gathered: by the week, later by the month.
        let end = from.min(t + 1);
        let mut day = end;
        while day > lo {
            let before_clip = end - day;
            let width = if before_clip < 120 {
                1
            } else if before_clip < 300 {
                7
            } else {
                30
            };
            let first = day.saturating_sub(width).max(lo);
            let x = scale * e.get(first - lo..day - lo).map_or(0.0, |v| v.iter().sum::<f64>());
            let mid = (first + day - 1) / 2;
            day = first;
            if x != 0.0 {
                self.add_clipped(out, mid, t, x, unripe);
            }
        }
    }

    /// Adds hair `x` that came through on day index `day`, before the last clip.
    fn add_clipped(&self, out: &mut Lengths, day: usize, t: usize, x: f64, unripe: bool) {
        let law = &self.law;
        let age = t - day;
        if unripe && age < law.s_grow.len() && law.s_grow[age] > 0.0 {
            out.add_cut(self.length_of(day, age as f64, t), x * law.s_grow[age], false);
        }
        for g in 0..law.p_grow.len().min(age + 1) {
            let p = x * law.p_grow[g];
            if p.abs() < 1e-12 {
                continue;
            }
            let since = (age - g) as i32;
            let len = self.length_of(day, g as f64, t);
            if unripe {
                out.add_cut(len, p * at(&law.s_set, since), false);
            }
            out.add_cut(len, p * linger_at(&law.h_set, law.delta, since), true);
        }
    }

    /// Length, in days of growth, of hair come through on day index `day` that grew `g` days.
    pub(crate) fn length_of(&self, day: usize, g: f64, t: usize) -> f64 {
        let mut len = 0.0;
        let mut at_day = day as f64;
        let stop = (day as f64 + g).min(t as f64);
        for c in &self.clips {
            let c_day = self.idx(c.day) as f64;
            if c_day < day as f64 {
                continue;
            }
            let grown_to = stop.min(c_day);
            if grown_to > at_day {
                len += grown_to - at_day;
                at_day = grown_to;
            }
            if len > c.len_d {
                len = c.len_d;
            }
        }
        len + (stop - at_day).max(0.0)
    }

    /// First days (exclusive) of the classes, newest first: class j holds what was
    /// emptied after `bounds[j + 1]` up to `bounds[j]`.
    pub(crate) fn class_bounds(&self, classes: usize) -> Vec<i32> {
        let mut bounds: Vec<i32> = self.visits.iter().rev().take(classes + 1).copied().collect();
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
        let hi = self.idx(top.min(self.today) + 1).min(self.b.len());
        let lo = if last { 0 } else { ((bounds[j + 1] + 1 - self.origin).max(0) as usize).min(hi) };
        (lo, hi)
    }

    /// How many classes can hold hair that is not surely ripe, plus one for all older.
    pub fn class_count(&self) -> usize {
        let bounds = self.class_bounds(self.visits.len().max(1));
        let newest = bounds[0];
        let span = self.law.span_d();
        let mut n = bounds.iter().filter(|b| newest - **b < span).count() as i32;
        let oldest = bounds[bounds.len() - 1];
        if newest - oldest < span {
            n += (span - (newest - oldest)) / self.rhythm_d.max(1) + 1;
        }
        (n + 1) as usize
    }

    /// Shares of follicles by class (newest first, last = all older), and their ripe pools.
    pub fn classes(&self, classes: usize) -> Classes {
        let bounds = self.class_bounds(classes);
        let ripe = self.ripe_by_cohort();
        let mut shares = vec![0.0; classes];
        let mut pools = vec![0.0; classes];
        for j in 0..classes {
            let last = j + 1 == classes;
            let (lo, hi) = self.class_range(&bounds, j, last);
            for (i, r) in ripe.iter().enumerate().take(hi).skip(lo) {
                if self.b[i] != 0.0 || *r != 0.0 {
                    shares[j] += self.not_ripe(i) + r;
                    pools[j] += r;
                }
            }
            if last {
                shares[j] += self.old.ripe;
                pools[j] += self.old.ripe;
            }
        }
        Classes { bounds, shares, pools }
    }

    /// Evenness (0 to 1) and number of layers.
    pub fn evenness(&self) -> (f64, u32) {
        let n = self.class_count();
        let c = self.classes(n);
        let ideal = self.ideal_shares(&c.bounds, n);
        let mut off = 0.0;
        let mut layers = 0;
        for (share, ideal) in c.shares.iter().zip(&ideal) {
            off += (share - ideal).abs();
            if *ideal >= 0.05 && *share >= ideal / 2.0 {
                layers += 1;
            }
        }
        (1.0 - off / 2.0, layers)
    }

    /// The shares of a perfectly rolling coat for these class bounds.
    pub fn ideal_shares(&self, bounds: &[i32], classes: usize) -> Vec<f64> {
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

/// Visible hair by length.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lengths {
    pub(crate) unripe: Vec<f64>,
    pub(crate) ripe: Vec<f64>,
    /// (days of growth, share, ripe) of hair that met a clip.
    pub(crate) cut: Vec<(f64, f64, bool)>,
    cut_bins: Vec<f64>,
}

/// Bins of cut hair in a day of growth.
const CUT_BINS: f64 = 8.0;

impl Lengths {
    /// Adds hair that met a clip, `len` days of growth long.
    fn add_cut(&mut self, len: f64, share: f64, ripe: bool) {
        if share == 0.0 {
            return;
        }
        let i = 2 * (len * CUT_BINS).round().max(0.0) as usize + usize::from(ripe);
        if self.cut_bins.len() <= i {
            self.cut_bins.resize(i + 2, 0.0);
        }
        self.cut_bins[i] += share;
    }

    /// Makes the list of cut hair from the bins.
    fn finish(&mut self) {
        let bins = std::mem::take(&mut self.cut_bins);
        let hair = bins.into_iter().enumerate().filter(|(_, m)| *m != 0.0);
        self.cut = hair.map(|(i, m)| ((i / 2) as f64 / CUT_BINS, m, i % 2 == 1)).collect();
    }

    /// The length, in days of growth, below which this share of the visible hair lies.
    pub(crate) fn quantile(&self, q: f64) -> Option<f64> {
        let whole: f64 = self.unripe.iter().chain(&self.ripe).sum::<f64>();
        let total: f64 = whole + self.cut.iter().map(|c| c.1).sum::<f64>();
        if total < 0.02 {
            return None;
        }
        let mut above = (1.0 - q) * total;
        // Hair of k days is spread evenly over k - 1/2 to k + 1/2; cut hair stands at its length.
        let mut cut: Vec<(f64, f64)> = self.cut.iter().map(|c| (c.0, c.1)).collect();
        cut.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut next = cut.into_iter().peekable();
        for k in (0..self.unripe.len()).rev() {
            let (low, m) = (k as f64 - 0.5, self.unripe[k] + self.ripe[k]);
            while let Some(&(len, mass)) = next.peek() {
                if len < low {
                    break;
                }
                next.next();
                above -= mass;
                if above <= 0.0 {
                    return Some(len.max(0.0));
                }
            }
            if m >= above && m > 0.0 {
                return Some((low + 1.0 - above / m).max(0.0));
            }
            above -= m;
        }
        Some(0.0)
    }
}

/// Of hair not longer than `was`, in days of growth, the part not longer than `len_d`.
fn not_longer(p: &[f64], len_d: f64, was: f64) -> f64 {
    let below = |len: f64| p.iter().enumerate().take_while(|(g, _)| *g as f64 <= len).map(|x| x.1).sum::<f64>();
    let all = below(was);
    if all > 0.0 { below(len_d) / all } else { 1.0 }
}

#[inline]
fn at_or(v: &[f64], i: usize, otherwise: f64) -> f64 {
    v.get(i).copied().unwrap_or(otherwise)
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

/// Coming-through probabilities of a follicle emptied on `day` under a calendar; none if plain.
fn slow_row(law: &Law, day: i32, calendar: &dyn Fn(i32) -> LagClock) -> Option<Vec<f64>> {
    let plain_for = law.p_lag.len() as i32;
    if (0..plain_for).all(|k| calendar(day + k) == LagClock::PLAIN) {
        return None;
    }
    let s = &law.s_lag_sixths;
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
