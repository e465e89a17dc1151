//! The plan as one linear programme over all zones, coupled by table minutes.

use crate::solver::{Optimum, Programme, Solver, SolverError};
use crate::weights::{PULL_MIN_DM2, TOUCH_MIN_DM2, Table, Weights};
use crate::zone_model::{Closed, NOTHING, ZoneModel};

/// Day weights: 1, more on days that matter, with their sum.
#[derive(Clone, Debug)]
pub(crate) struct Days {
    pub(crate) w: Vec<f64>,
    pub(crate) sum: f64,
}

impl Days {
    pub(crate) fn new(n: usize, matter: &[usize], weight: f64) -> Days {
        let mut w = vec![1.0; n];
        for &t in matter {
            if t < n {
                w[t] = weight;
            }
        }
        let sum = w.iter().sum();
        Days { w, sum }
    }

    /// Weight of the days from `a` up to, not including, `b`.
    fn between(&self, a: usize, b: usize) -> f64 {
        self.w[a.min(self.w.len())..b.min(self.w.len())].iter().sum()
    }
}

/// Where a zone's columns and rows stand in the programme.
#[derive(Clone, Debug, Default)]
pub(crate) struct ZonePlace {
    pub(crate) y: Vec<usize>,
    /// By visit: (class, column).
    pub(crate) x: Vec<Vec<(usize, usize)>>,
    s: Vec<Option<usize>>,
}

/// The programme of one or more zones.
pub(crate) struct Built {
    pub(crate) programme: Programme,
    pub(crate) places: Vec<ZonePlace>,
    pub(crate) minute_rows: Vec<usize>,
}

/// What is taken: by zone and visit, by class (oldest first), shares of follicles.
pub(crate) type Takes = Vec<Vec<Vec<f64>>>;

pub(crate) struct Ground<'a> {
    pub(crate) zones: &'a [ZoneModel],
    pub(crate) days: &'a Days,
    pub(crate) weights: &'a Weights,
    pub(crate) table: &'a Table,
}

impl Ground<'_> {
    /// Builds the programme of the zones in `which`; table minutes with `visible` as the
    /// cover before each visit, when given.
    pub(crate) fn build(&self, which: &[usize], visible: Option<&[Vec<f64>]>, all_days: bool) -> Built {
        let mut p = Programme::default();
        let mut places = Vec::new();
        for &z in which {
            places.push(self.add_zone(&mut p, &self.zones[z], all_days));
        }
        let mut minute_rows = Vec::new();
        if let (Some(visible), Some(max)) = (visible, self.table.max_min) {
            for i in 0..self.zones.first().map_or(0, |z| z.at.len()) {
                let mut terms = Vec::new();
                let mut room = max - self.table.base_min();
                for (k, &z) in which.iter().enumerate() {
                    let m = &self.zones[z];
                    let unit = m.setup.zone.defaults().area * self.table.unit(m.setup.tender);
                    let carded = m.carded[i];
                    if carded {
                        room -= unit * TOUCH_MIN_DM2;
                    }
                    if let Some(&y) = places[k].y.get(i) {
                        let v = visible[z][i].max(0.02);
                        let touch = if carded { 0.0 } else { TOUCH_MIN_DM2 / m.setup.cap.max(0.01) };
                        terms.push((y, unit * (PULL_MIN_DM2 + touch) / v));
                    }
                }
                minute_rows.push(p.row(f64::NEG_INFINITY, room.max(0.0), terms));
            }
        }
        Built { programme: p, places, minute_rows }
    }

    fn add_zone(&self, p: &mut Programme, m: &ZoneModel, all_days: bool) -> ZonePlace {
        let (w, days) = (self.weights, self.days);
        let n = days.w.len();
        let mut place = ZonePlace { s: vec![None; n], ..ZonePlace::default() };
        if !m.setup.is_worked() {
            return place;
        }
        let inf = f64::INFINITY;
        let unit = m.area / days.sum;
        // Ripe hair left.
        let ripe_w = m.ripe_weight(w);
        p.constant += unit * ripe_w * m.ripe.iter().zip(&days.w).map(|(r, d)| r * d).sum::<f64>();
        if m.setup.is_carded() {
            let wool: f64 = m.wool.iter().zip(&days.w).map(|(x, d)| d * (x - 0.15).max(0.0)).sum();
            p.constant += unit * w.wool * wool;
        }
        for i in 0..m.at.len() {
            let o = m.at[i];
            let mut cost: f64 = m.responses[i].ripe.iter().zip(&days.w[o..]).map(|(r, d)| r * d).sum();
            cost *= unit * ripe_w;
            let high = if m.open[i] == Closed::Open { 1.0 } else { 0.0 };
            place.y.push(p.column(cost, 0.0, high));
            let mut xs = Vec::new();
            for c in 0..m.classes_at(i) {
                let can = m.pools[i][c] > NOTHING
                    || (0..i).any(|k| m.class_response(&m.responses[k].pools, k, i, c) > NOTHING);
                if can && high > 0.0 {
                    xs.push((c, p.column(w.order * m.area * c as f64, 0.0, 1.0)));
                }
            }
            // y = sum of x.
            let mut terms: Vec<(usize, f64)> = xs.iter().map(|x| (x.1, -1.0)).collect();
            terms.push((place.y[i], 1.0));
            p.row(0.0, 0.0, terms);
            // At most the ripe pool of each class.
            for &(c, x) in &xs {
                let mut terms = vec![(x, 1.0)];
                for k in 0..i {
                    if let Some(&(_, xk)) = place.x[k].iter().find(|e| e.0 == c) {
                        terms.push((xk, m.delta.powi((o - m.at[k]) as i32)));
                    }
                    let a = m.class_response(&m.responses[k].pools, k, i, c);
                    if a.abs() > 1e-12 {
                        terms.push((place.y[k], -a));
                    }
                }
                p.row(-inf, m.pools[i][c], terms);
            }
            place.x.push(xs);
            if high > 0.0 {
                // At most the cap, and never down to the bare limit.
                let before = |k: usize| m.responses[k].cover[o - m.at[k]];
                let mut cap = vec![(place.y[i], 1.0)];
                let mut bare = vec![(place.y[i], -1.0)];
                for k in 0..i {
                    cap.push((place.y[k], -m.setup.cap * before(k)));
                    bare.push((place.y[k], before(k)));
                }
                p.row(-inf, m.setup.cap * m.cover[o], cap);
                p.row(m.setup.floor - 0.15 - m.cover[o], inf, bare);
            }
            if m.is_layered() {
                let next = m.at.get(i + 1).copied().unwrap_or(n);
                let rate = unit * w.evenness * days.between(o, next);
                for c in 0..m.classes_at(i) {
                    if m.ideal[i][c] <= 0.0 {
                        continue;
                    }
                    // short of the ideal >= ideal - share
                    let e = p.column(rate, 0.0, inf);
                    let mut terms = vec![(e, 1.0)];
                    for k in 0..=i {
                        let a = m.class_response(&m.responses[k].shares, k, i, c);
                        if a.abs() > 1e-12 {
                            terms.push((place.y[k], a));
                        }
                        if let Some(&(_, xk)) = place.x[k].iter().find(|e| e.0 == c) {
                            terms.push((xk, -m.delta.powi((o - m.at[k]) as i32)));
                        }
                    }
                    p.row(m.ideal[i][c] - m.shares[i][c], inf, terms);
                }
            }
        }
        if m.is_layered() {
            let first = m.at.first().copied().unwrap_or(n);
            p.constant += unit * w.evenness * (1.0 - m.first_evenness) * days.between(0, first);
        }
        for o in &m.outlines {
            let rate = unit * w.outline * days.w[o.t];
            p.constant += rate * o.over;
            let s = p.column(rate, 0.0, inf);
            let mut terms = vec![(s, 1.0)];
            for (k, &y) in place.y.iter().enumerate() {
                p.columns[y].cost += rate * o.over_by[k];
                if o.short_by[k] != 0.0 {
                    terms.push((y, -o.short_by[k]));
                }
            }
            p.row(o.short, inf, terms);
        }
        for t in 0..n {
            if all_days {
                self.add_day(p, &mut place, m, t);
            } else {
                // Days before any visit, and days with no visit's help, are constants.
                self.add_constant_day(p, &mut place, m, t);
            }
        }
        place
    }

    /// Thin cover on a day that no visit can change.
    fn add_constant_day(&self, p: &mut Programme, place: &mut ZonePlace, m: &ZoneModel, t: usize) {
        if m.at.first().is_none_or(|o| t < *o) {
            let short = (m.setup.floor - m.cover[t]).max(0.0);
            p.constant += m.area / self.days.sum * self.days.w[t] * self.weights.cover * short;
            place.s[t] = Some(usize::MAX);
        }
    }

    /// Thin cover on day t: s >= floor - cover.
    fn add_day(&self, p: &mut Programme, place: &mut ZonePlace, m: &ZoneModel, t: usize) {
        if place.s[t].is_some() {
            return;
        }
        let s = p.column(m.area / self.days.sum * self.days.w[t] * self.weights.cover, 0.0, f64::INFINITY);
        place.s[t] = Some(s);
        let mut terms = vec![(s, 1.0)];
        for (k, &y) in place.y.iter().enumerate() {
            if m.at[k] <= t {
                terms.push((y, m.responses[k].cover[t - m.at[k]]));
            }
        }
        p.row(m.setup.floor - m.cover[t], f64::INFINITY, terms);
    }

    /// Solves, adding the thin days as they turn up.
    pub(crate) fn solve(&self, which: &[usize], built: &mut Built, solver: &dyn Solver) -> Result<Optimum, SolverError> {
        let places = &mut built.places;
        // Columns of thin days are all there from the start (they are cheap); their rows come when violated.
        for (k, &z) in which.iter().enumerate() {
            let m = &self.zones[z];
            if !m.setup.is_worked() {
                continue;
            }
            for t in 0..self.days.w.len() {
                if places[k].s[t].is_none() {
                    let cost = m.area / self.days.sum * self.days.w[t] * self.weights.cover;
                    places[k].s[t] = Some(built.programme.column(cost, 0.0, f64::INFINITY));
                }
            }
        }
        let mut done: Vec<Vec<bool>> = which.iter().map(|_| vec![false; self.days.w.len()]).collect();
        let mut violated = |x: &[f64], p: &mut Programme| {
            let mut added = 0;
            for (k, &z) in which.iter().enumerate() {
                let m = &self.zones[z];
                if !m.setup.is_worked() {
                    continue;
                }
                let mut cover = m.cover.clone();
                for (i, &y) in places[k].y.iter().enumerate() {
                    if x[y] > 0.0 {
                        let o = m.at[i];
                        for (c, r) in cover[o..].iter_mut().zip(&m.responses[i].cover) {
                            *c += x[y] * r;
                        }
                    }
                }
                for (t, c) in cover.iter().enumerate() {
                    let Some(s) = places[k].s[t].filter(|s| *s != usize::MAX) else { continue };
                    if !done[k][t] && m.setup.floor - c > x[s] + 1e-9 {
                        done[k][t] = true;
                        let mut terms = vec![(s, 1.0)];
                        for (i, &y) in places[k].y.iter().enumerate() {
                            if m.at[i] <= t {
                                terms.push((y, m.responses[i].cover[t - m.at[i]]));
                            }
                        }
                        p.row(m.setup.floor - m.cover[t], f64::INFINITY, terms);
                        added += 1;
                    }
                }
            }
            added
        };
        solver.minimise(&mut built.programme, &mut violated)
    }

    /// The takes of a solution, by zone of `which`.
    pub(crate) fn takes(&self, which: &[usize], built: &Built, x: &[f64]) -> Takes {
        which
            .iter()
            .zip(&built.places)
            .map(|(&z, place)| {
                let m = &self.zones[z];
                (0..m.at.len())
                    .map(|i| {
                        let mut t = vec![0.0; m.classes_at(i)];
                        if let Some(xs) = place.x.get(i) {
                            for &(c, col) in xs {
                                t[c] = x[col].max(0.0);
                            }
                        }
                        t
                    })
                    .collect()
            })
            .collect()
    }
}
