//! What is kept of a population, and what can be read off it at once.

use super::class::Marks;
use super::length::{Lengths, RipeHair};
use super::share::{Next, Seen};
use super::{LagCalendar, Phases};
use crate::dot::dot;
use crate::law::{Law, at};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// What a visit took from the ripe pools: weight per cohort, from index `lo`.
#[derive(Clone, Debug)]
pub(crate) struct Removed {
    pub(crate) day: i32,
    pub(crate) lo: usize,
    pub(crate) w: Vec<f64>,
    /// Cohorts before this index are in it with all their weight.
    pub(super) whole: usize,
    /// Hard ripe hair on its day that came through too early for the kernels.
    pub(super) far_hard: f64,
    pub(super) known: Known,
}

/// What was worked out of a removal.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    /// When this hair came through, as `through_removed` says.
    pub(super) through: OnceLock<(usize, Vec<f64>)>,
    /// Lengths of this hair on its day where no clip was: the long ones, and all.
    pub(super) long: OnceLock<RipeHair>,
    pub(super) all: OnceLock<RipeHair>,
    /// Lengths of this hair on its day where a clip was.
    pub(super) clipped: OnceLock<Lengths>,
    /// Its hard mass on its day.
    pub(super) hard: OnceLock<f64>,
}

impl Removed {
    pub(super) fn new(day: i32, lo: usize, w: Vec<f64>) -> Self {
        Removed { day, lo, w, whole: 0, far_hard: 0.0, known: Known::default() }
    }

    /// Forgets what was worked out.
    pub(super) fn forget(&mut self) {
        self.known = Known::default();
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

/// The coat of hair that takes no time to grow, by day. As growing and setting are independent,
/// hair that grew g days stands today as hair of this coat stood g days ago.
#[derive(Clone, Default)]
pub(super) struct Ungrown {
    pub(super) ripens: Vec<f64>,
    pub(super) ripe: Vec<f64>,
    /// What came through and what was shed, up to each day; the rest is there, ripe or firm.
    pub(super) come: Vec<f64>,
    pub(super) shed: Vec<f64>,
}

impl Ungrown {
    pub(super) fn empty(n: usize) -> Self {
        Ungrown { ripens: days(n), ripe: days(n), come: days(n), shed: days(n) }
    }

    pub(super) fn all(&mut self) -> [&mut Vec<f64>; 4] {
        [&mut self.ripens, &mut self.ripe, &mut self.come, &mut self.shed]
    }
}

/// Days that an array has room for beyond those it begins with: a replayed year or a season's forecast
/// without moving it.
const AHEAD_D: usize = 366;

/// An array over so many days, empty, with room for more.
pub(super) fn days(n: usize) -> Vec<f64> {
    let mut days = Vec::with_capacity(n + AHEAD_D);
    days.resize(n, 0.0);
    days
}

/// Mass older than the kernels reach: it fades as ripe hair does.
#[derive(Clone, Copy, Default)]
pub(super) struct Far {
    /// Ripe hair of cohorts from `spent` on with the plain law, what visits took not taken off.
    pub(super) ripe: f64,
    /// Hard ripe hair by its day of coming through, likewise.
    pub(super) hard: f64,
}

/// The state of a [`super::Population`]. Index 0 of every array is the day `origin`.
#[derive(Clone)]
pub(crate) struct State {
    pub(crate) law: Arc<Law>,
    pub(super) calendar: Option<LagCalendar>,
    pub(super) start_hard: f64,
    pub(super) origin: i32,
    pub(super) today: i32,
    /// Weight of each cohort (mass emptied that day, less unripe hair pulled since).
    pub(crate) b: Vec<f64>,
    /// Hardness of the hair that a cohort grows, where it is not `start_hard`; ascending.
    pub(super) hard_cohorts: Vec<(usize, f64)>,
    /// Coming-through days of cohorts whose lag is not the plain law, from the cohort's own day.
    pub(crate) rows: BTreeMap<usize, Vec<f64>>,
    /// Cohorts before this have put all of their coming through into `e`; later ones only what
    /// is through by today.
    pub(super) spread_to: usize,
    /// Mass coming through per day, what `spread_to` says of the days ahead included.
    pub(super) e: Vec<f64>,
    /// The same, hard hair only, cuts included. Ahead it holds, beside what `e` holds, what
    /// cohorts harder than `start_hard` add.
    pub(super) eh: Vec<f64>,
    pub(super) ungrown: Ungrown,
    /// Visible and not ripe today.
    pub(super) unripe: f64,
    pub(super) ripe: f64,
    pub(super) far: Far,
    /// Product of (1 - cut share) for hair come through by each day; 1 past its end.
    pub(super) kept_hard: Vec<f64>,
    /// Shortest clip, in days of growth, that hair come through by each day has met.
    pub(super) clipped_to: Vec<f64>,
    pub(crate) old: Old,
    pub(crate) removed: Vec<Removed>,
    /// Ripe hair that visits took from each cohort and that would still be there, as at `gone_day`.
    pub(super) gone: Vec<f64>,
    pub(super) gone_day: i32,
    /// Cohorts before this are surely ripe and wholly taken.
    pub(super) spent: usize,
    pub(crate) clips: Vec<Clip>,
    /// Days of visits to the zone, ascending.
    pub(super) visits: Vec<i32>,
    pub(super) marks: OnceLock<Marks>,
    pub(super) rhythm_d: i32,
    pub(super) next: Next,
    pub(super) seen: Seen,
}

impl State {
    #[inline]
    pub(crate) fn idx(&self, day: i32) -> usize {
        (day - self.origin).max(0) as usize
    }

    /// Index of today.
    #[inline]
    pub(super) fn t(&self) -> usize {
        self.idx(self.today)
    }

    pub(crate) fn today(&self) -> i32 {
        self.today
    }

    /// Hardness of the hair that cohort `i` grows.
    pub(crate) fn hard_of(&self, i: usize) -> f64 {
        match self.hard_cohorts.binary_search_by_key(&i, |c| c.0) {
            Ok(k) => self.hard_cohorts[k].1,
            Err(_) => self.start_hard,
        }
    }

    pub(super) fn set_hard(&mut self, i: usize, hard: f64) {
        match self.hard_cohorts.binary_search_by_key(&i, |c| c.0) {
            Ok(k) => self.hard_cohorts[k].1 = hard,
            Err(k) if hard != self.start_hard => self.hard_cohorts.insert(k, (i, hard)),
            Err(_) => {}
        }
    }

    /// Share of the hair come through on day index `day` that no cut softened.
    pub(crate) fn kept_hard_at(&self, day: usize) -> f64 {
        self.kept_hard.get(day).copied().unwrap_or(1.0)
    }

    /// Of what visits took, the part that would still be there today, to be read with `gone`.
    pub(super) fn gone_stay(&self) -> f64 {
        if self.gone.is_empty() { 0.0 } else { self.law.stay(self.today - self.gone_day) }
    }

    pub(super) fn visible(&self) -> f64 {
        self.unripe + self.ripe
    }

    pub(super) fn phases(&self) -> Phases {
        let t = self.t();
        let growing = look_back(&self.e, t, &self.law.r_s_grow);
        // A difference of two sums may miss 0 by their rounding.
        let set = self.unripe - growing;
        let set = if set < 0.0 && set > -1e-10 { 0.0 } else { set };
        Phases { empty: self.empty(), growing, set, ripe: self.ripe }
    }

    pub(super) fn empty(&self) -> f64 {
        let t = self.t();
        // What has still to come through.
        let spread: f64 = self.e.get(t + 1..).map_or(0.0, |v| v.iter().sum());
        let from = self.spread_to.max((t + 1).saturating_sub(self.law.s_lag.len()));
        let rest: f64 = (from..=t).map(|i| self.b[i] * at(&self.law.s_lag, (t - i) as i32)).sum();
        spread + rest
    }
}

/// Sum over k of kernel[k] * seq[t - k], the kernel given backwards.
#[inline]
pub(super) fn look_back(seq: &[f64], t: usize, backwards: &[f64]) -> f64 {
    let n = backwards.len().min(t + 1);
    dot(&seq[t + 1 - n..=t], &backwards[backwards.len() - n..])
}
