//! The plan as one linear programme over all zones, coupled by table minutes.

use crate::carding::Carding;
use crate::outline::Parts;
use crate::solver::{Column, Optimum, Programme, Row, Session, Solver, SolverError};
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
    pub(crate) fn between(&self, a: usize, b: usize) -> f64 {
        self.w[a.min(self.w.len())..b.min(self.w.len())].iter().sum()
    }
}

/// Where a zone's columns and rows stand in the programme.
#[derive(Clone, Debug, Default)]
pub(crate) struct ZonePlace {
    pub(crate) y: Vec<usize>,
    /// By visit: (class, column).
    pub(crate) x: Vec<Vec<(usize, usize)>>,
}

/// How minutes are counted: cover before each visit, and the share that touching is spread over.
pub(crate) struct Counted {
    pub(crate) visible: Vec<Vec<f64>>,
    pub(crate) spread: Vec<Vec<f64>>,
}

/// What is taken: by zone and visit, by class (oldest first), shares of follicles.
pub(crate) type Takes = Vec<Vec<Vec<f64>>>;

pub(crate) struct Ground<'a> {
    pub(crate) zones: &'a [ZoneModel],
    /// Zones that are the same but for their size: one is solved for all.
    pub(crate) groups: &'a [Vec<usize>],
    pub(crate) days: &'a Days,
    pub(crate) weights: &'a Weights,
    pub(crate) table: &'a Table,
    /// By zone, visit and class: the outline's parts of a unit of ripe hair; empty where none matters.
    pub(crate) means: &'a [Vec<Vec<Parts>>],
}

impl Ground<'_> {
    /// Builds the whole programme at once: all zones, all days, and table minutes at the
    /// given cover before each visit (for other solvers; here it is solved by parts).
    pub(crate) fn build_whole(&self, carding: &Carding, counted: Option<&Counted>) -> Programme {
        let mut p = Programme { constant: self.wool_cost(carding), ..Programme::default() };
        let places: Vec<ZonePlace> = (0..self.zones.len()).map(|z| self.add_zone(&mut p, z, true)).collect();
        if let (Some(counted), Some(max)) = (counted, self.table.max_min) {
            for i in 0..self.zones.first().map_or(0, |z| z.at.len()) {
                let mut terms = Vec::new();
                for (z, (m, place)) in self.zones.iter().zip(&places).enumerate() {
                    if let Some(&y) = place.y.get(i) {
                        let (cover, spread) = (counted.visible[z][i], counted.spread[z][i]);
                        terms.push((y, self.minutes_per_unit(m, carding.carded[z][i], cover, spread)));
                    }
                }
                p.row(f64::NEG_INFINITY, self.minutes_room(i, carding, max), terms);
            }
        }
        p
    }

    /// Minutes that one share of follicles taken costs, at this cover before the visit.
    ///
    /// Touching a zone costs minutes once; the programme spreads them over `spread`, the share of
    /// the visible hair that is taken where the zone is touched.
    pub(crate) fn minutes_per_unit(&self, m: &ZoneModel, carded: bool, visible: f64, spread: f64) -> f64 {
        let unit = m.setup.zone.defaults().area * self.table.unit(m.setup.tender);
        let touch = if carded { 0.0 } else { TOUCH_MIN_DM2 / spread.max(0.01) };
        unit * (PULL_MIN_DM2 + touch) / visible.max(0.02)
    }

    /// Minutes of visit i left for pulling.
    pub(crate) fn minutes_room(&self, i: usize, carding: &Carding, max: f64) -> f64 {
        let touched = self.zones.iter().zip(&carding.carded).filter(|(_, c)| c[i]);
        let touch = |m: &ZoneModel| m.setup.zone.defaults().area * self.table.unit(m.setup.tender) * TOUCH_MIN_DM2;
        (max - self.table.base_min() - touched.map(|(m, _)| touch(m)).sum::<f64>()).max(0.0)
    }

    /// What the wool that stays costs.
    pub(crate) fn wool_cost(&self, carding: &Carding) -> f64 {
        let one = |(m, sum): (&ZoneModel, &f64)| m.area / self.days.sum * self.weights.wool * sum;
        self.zones.iter().zip(&carding.wool_sum).map(one).sum()
    }

    fn add_zone(&self, p: &mut Programme, z: usize, all_days: bool) -> ZonePlace {
        let m = &self.zones[z];
        let (w, days) = (self.weights, self.days);
        let n = days.w.len();
        let mut place = ZonePlace::default();
        if !m.setup.is_worked() {
            return place;
        }
        let inf = f64::INFINITY;
        let unit = m.area / days.sum;
        // Ripe hair left.
        let ripe_w = m.ripe_weight(w);
        p.constant += unit * ripe_w * m.ripe.iter().zip(&days.w).map(|(r, d)| r * d).sum::<f64>();
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
            p.constant += rate * o.base[0];
            let s = p.column(rate, 0.0, inf);
            let mut terms = vec![(s, 1.0)];
            for (k, &y) in place.y.iter().enumerate().filter(|(k, _)| m.at[*k] <= o.t) {
                p.columns[y].cost += rate * o.by[k][0];
                if o.by[k][1] != 0.0 {
                    terms.push((y, -o.by[k][1]));
                }
                // What is taken is not there on the day; of it, what would have lingered.
                let stay = m.delta.powi((o.t - m.at[k]) as i32);
                for &(c, x) in &place.x[k] {
                    let mean = self.means[z][k][c];
                    p.columns[x].cost -= rate * stay * mean[0];
                    terms.push((x, stay * mean[1]));
                }
            }
            p.row(o.base[1], inf, terms);
        }
        let first = m.at.first().copied().unwrap_or(n);
        for t in 0..n {
            if t < first {
                // Before any visit nothing can be done about it.
                p.constant += self.thin_rate(m, t) * (m.setup.floor - m.cover[t]).max(0.0);
            } else if all_days {
                let s = p.columns.len();
                let (column, row) = self.thin_day(&place, m, t, s);
                p.columns.push(column);
                p.rows.push(row);
            }
        }
        place
    }

    /// What thin cover on day t costs.
    fn thin_rate(&self, m: &ZoneModel, t: usize) -> f64 {
        m.area / self.days.sum * self.days.w[t] * self.weights.cover
    }

    /// Thin cover on day t as column `s`, and its row: s >= floor - cover.
    fn thin_day(&self, place: &ZonePlace, m: &ZoneModel, t: usize, s: usize) -> (Column, Row) {
        let mut terms = vec![(s, 1.0)];
        for (k, &y) in place.y.iter().enumerate() {
            if m.at[k] <= t {
                terms.push((y, m.responses[k].cover[t - m.at[k]]));
            }
        }
        let column = Column { cost: self.thin_rate(m, t), low: 0.0, high: f64::INFINITY };
        (column, Row { low: m.setup.floor - m.cover[t], high: f64::INFINITY, terms })
    }

    /// One zone's programme, thin days left out.
    pub(crate) fn build(&self, z: usize) -> ZoneProgramme {
        let mut programme = Programme::default();
        let place = self.add_zone(&mut programme, z, false);
        ZoneProgramme { z, place, programme }
    }

    /// Opens one zone's programme.
    pub(crate) fn open(&self, built: ZoneProgramme, solver: &dyn Solver) -> Result<ZoneSession<'_>, SolverError> {
        let ZoneProgramme { z, place, programme } = built;
        let cost = place.y.iter().map(|c| programme.columns[*c].cost).collect();
        let m = &self.zones[z];
        // Days before the first visit are counted, and a zone that is not worked has none.
        let counted = |t: usize| !m.setup.is_worked() || m.at.first().is_none_or(|first| t < *first);
        let done = (0..self.days.w.len()).map(counted).collect();
        Ok(ZoneSession { m, place, cost, done, session: solver.open(programme)? })
    }

    /// Solves a zone, adding thin days as they turn up.
    pub(crate) fn solve(&self, zone: &mut ZoneSession<'_>) -> Result<Optimum, SolverError> {
        loop {
            let s = zone.session.minimise()?;
            let m = zone.m;
            let taken: Vec<f64> = zone.place.y.iter().map(|y| s.x[*y].max(0.0)).collect();
            let mut cover = vec![0.0; m.cover.len()];
            m.cover_from(0, &mut cover, &taken);
            let mut added = false;
            for (t, c) in cover.iter().enumerate() {
                if !zone.done[t] && m.setup.floor - c > 1e-9 {
                    zone.done[t] = true;
                    added = true;
                    let (column, row) = self.thin_day(&zone.place, m, t, zone.session.programme().columns.len());
                    zone.session.add_column(column)?;
                    zone.session.add_row(row)?;
                }
            }
            if !added {
                return Ok(s);
            }
        }
    }
}

/// One zone's programme, not open yet.
pub(crate) struct ZoneProgramme {
    z: usize,
    place: ZonePlace,
    programme: Programme,
}

impl ZoneProgramme {
    pub(crate) fn rows(&self) -> usize {
        self.programme.rows.len()
    }
}

/// One zone's programme, open in the solver.
pub(crate) struct ZoneSession<'a> {
    m: &'a ZoneModel,
    place: ZonePlace,
    /// Cost of taking at each visit, without a price on minutes.
    cost: Vec<f64>,
    /// By day, whether thin cover is in the programme.
    done: Vec<bool>,
    session: Box<dyn Session>,
}

impl ZoneSession<'_> {
    /// Puts a price on the amounts of each visit.
    pub(crate) fn price(&mut self, per_unit: &[f64]) {
        for (i, &y) in self.place.y.iter().enumerate() {
            self.session.set_cost(y, self.cost[i] + per_unit[i]);
        }
    }

    /// Cost of a solution without the price, and its takes by visit and class.
    pub(crate) fn takes(&self, x: &[f64]) -> Vec<Vec<f64>> {
        (0..self.m.at.len())
            .map(|i| {
                let mut t = vec![0.0; self.m.classes_at(i)];
                for &(c, col) in self.place.x.get(i).map_or(&[][..], |v| &v[..]) {
                    t[c] = x[col].max(0.0);
                }
                t
            })
            .collect()
    }
}
