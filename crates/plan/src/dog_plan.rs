//! The plan of a whole dog: exact programme, then hand steps.

use crate::hand::{Amount, Amounts, Bar, Eval, Outcome, STEPS, Terms};
use crate::minutes::share_minutes;
use crate::programme::{Days, Ground, Takes};
use crate::solver::{Programme, Solver, SolverError};
use crate::weights::{Table, Weights};
use crate::zone_model::{Builder, Closed, ZoneModel};
use coat::{Day, Dog, DogCoat, Zone};
use rayon::prelude::*;

/// What to plan.
#[derive(Clone, Debug)]
pub struct Request {
    /// The first day of the plan; the coat is given as it stands that day before any visit.
    pub today: Day,
    /// The last day.
    pub until: Day,
    /// Days of visits, ascending, from today on.
    pub visits: Vec<Day>,
    /// Days that matter.
    pub matter: Vec<Day>,
    /// Table and hands.
    pub table: Table,
    /// Weights of the cost.
    pub weights: Weights,
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// No visit is possible before the last day.
    #[error("no plan meets every limit: between `{from}` and `{until}` no day is left for a visit")]
    NoVisit {
        /// First day.
        from: Day,
        /// Last day.
        until: Day,
    },
    /// A visit is too short for the work that every visit needs.
    #[error("no plan meets every limit: `{day}` needs `{needs_min:.0} min` and offers `{offers_min:.0} min`")]
    TooShort {
        /// The visit.
        day: Day,
        /// Least minutes.
        needs_min: f64,
        /// Limit.
        offers_min: f64,
    },
    /// The solver gave up.
    #[error("the plan could not be computed: {0}")]
    Solver(#[from] SolverError),
}

/// The answer of the exact programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Objective {
    /// Cost of the exact plan.
    pub lp_value: f64,
    /// Proven lower bound.
    pub bound: f64,
    /// (value - bound) / max(value, 1e-9).
    pub gap: f64,
    /// Cost in hand steps.
    pub rounded_value: f64,
}

/// The limit or the term of the cost that decides an amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// A limit stops the next larger step.
    Limit(Bar),
    /// Table time is used up.
    Minutes,
    /// The largest step there is.
    Largest,
    /// The next larger step costs more of this than it saves.
    Pays(Term),
    /// Nothing is ripe.
    NothingRipe,
}

/// A term of the cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Term {
    /// Cover would be thin.
    Cover,
    /// Ripe hair.
    Ripe,
    /// The layers would be less even.
    Evenness,
    /// The outline on a day that matters.
    Outline,
}

/// One zone at one visit.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedZone {
    /// Which zone.
    pub zone: Zone,
    /// How much, in hand terms.
    pub amount: Amount,
    /// Share of the visible hair.
    pub share: f64,
    /// Minutes.
    pub min: f64,
    /// Whether it is carded.
    pub carded: bool,
    /// What decides the amount.
    pub why: Why,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedVisit {
    /// The day.
    pub day: Day,
    /// Minutes in all.
    pub min: f64,
    /// The zones, in working order.
    pub zones: Vec<PlannedZone>,
    /// What ten more minutes would let start or grow, and by how much the cost falls.
    pub ten_more: Option<(Zone, f64)>,
}

/// The plan of a dog.
#[derive(Clone, Debug)]
pub struct DogPlan {
    /// The visits.
    pub visits: Vec<PlannedVisit>,
    /// What it costs and how good that is.
    pub objective: Objective,
    /// Cost of the hand plan by term.
    pub terms: Terms,
    /// The exact plan: zone, then visit, then class (newest first), shares of follicles.
    pub exact: Vec<(Zone, Vec<Vec<f64>>)>,
    /// Area-weighted evenness of the layered zones after each visit, exact plan.
    pub exact_evenness: Vec<f64>,
}

/// A plan before the hand steps.
struct Solved {
    value: f64,
    bound: f64,
    takes: Takes,
    /// Price of a minute at each visit.
    minute_price: Vec<f64>,
    /// Cover at which minutes were counted, when they bind.
    visible: Option<Vec<Vec<f64>>>,
}

/// A dog's linear data, ready to be solved and solved again.
pub struct Planner<'a> {
    request: &'a Request,
    zones: Vec<ZoneModel>,
    groups: Vec<Vec<usize>>,
    days: Days,
}

impl<'a> Planner<'a> {
    /// Prepares the data of a plan.
    ///
    /// # Errors
    /// [`PlanError`] when no visit is possible or one is too short for anything.
    pub fn new(dog: &Dog, coat: &DogCoat, request: &'a Request) -> Result<Self, PlanError> {
        let Some(first) = request.visits.first() else {
            return Err(PlanError::NoVisit { from: request.today, until: request.until });
        };
        let needs = request.table.base_min();
        if let Some(max) = request.table.max_min
            && max < needs
        {
            return Err(PlanError::TooShort { day: *first, needs_min: needs, offers_min: max });
        }
        let calendar = dog.lag_calendar(request.today - 400, request.until + 400);
        let worked: f64 = coat.zones.iter().filter(|z| z.setup.is_worked()).map(|z| z.setup.zone.defaults().area).sum();
        let n = (request.until - request.today).max(0) as usize + 1;
        let matter: Vec<usize> =
            request.matter.iter().filter(|d| **d >= request.today).map(|d| (*d - request.today) as usize).collect();
        let days = Days::new(n, &matter, request.weights.day_that_matters);
        let halves: Vec<Vec<(usize, ZoneModel)>> = split_by_law(coat)
            .into_par_iter()
            .map(|group| {
                let mut b = Builder::new(
                    request.today,
                    request.until,
                    &request.visits,
                    &request.matter,
                    calendar.clone(),
                    worked.max(1e-9),
                    &days,
                );
                group.into_iter().map(|i| (i, b.zone(&coat.zones[i]))).collect()
            })
            .collect();
        let mut zones: Vec<(usize, ZoneModel)> = halves.into_iter().flatten().collect();
        zones.sort_by_key(|z| z.0);
        let zones: Vec<ZoneModel> = zones.into_iter().map(|z| z.1).collect();
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (z, m) in zones.iter().enumerate() {
            match groups.iter_mut().find(|g| zones[g[0]].is_like(m)) {
                Some(g) => g.push(z),
                None => groups.push(vec![z]),
            }
        }
        Ok(Planner { request, zones, groups, days })
    }

    fn ground(&self) -> Ground<'_> {
        Ground {
            zones: &self.zones,
            groups: &self.groups,
            days: &self.days,
            weights: &self.request.weights,
            table: &self.request.table,
        }
    }

    fn eval(&self, z: usize) -> Eval<'_> {
        Eval { m: &self.zones[z], days: &self.days, w: &self.request.weights }
    }

    /// The whole programme as one, table minutes taken at the cover of the exact plan.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn programme(&self, solver: &dyn Solver) -> Result<Programme, PlanError> {
        let s = self.solve(solver)?;
        Ok(self.ground().build_whole(s.visible.as_deref()))
    }

    /// Cover before each visit under these takes.
    fn visible(&self, takes: &Takes) -> Vec<Vec<f64>> {
        self.zones
            .iter()
            .enumerate()
            .map(|(z, m)| {
                (0..m.at.len())
                    .map(|i| {
                        let mut v = m.cover.get(m.at[i]).copied().unwrap_or(1.0);
                        for (k, take) in takes[z].iter().enumerate().take(i) {
                            let y: f64 = take.iter().sum();
                            if y > 0.0 {
                                v += y * m.responses[k].cover[m.at[i] - m.at[k]];
                            }
                        }
                        v
                    })
                    .collect()
            })
            .collect()
    }

    fn solve(&self, solver: &dyn Solver) -> Result<Solved, PlanError> {
        let g = self.ground();
        let visits = self.request.visits.len();
        let single: Result<Vec<_>, SolverError> = self
            .groups
            .par_iter()
            .map(|group| {
                let mut zone = g.open(group[0], solver)?;
                let s = g.solve(&mut zone)?;
                Ok(g.members(group, &s, &zone.takes(&s.x), &vec![0.0; visits]))
            })
            .collect();
        let mut single: Vec<_> = single?.into_iter().flatten().collect();
        single.sort_by_key(|a| a.zone);
        let mut out = Solved {
            value: single.iter().map(|a| a.cost).sum(),
            bound: single.iter().map(|a| a.bound).sum(),
            takes: single.into_iter().map(|a| a.takes).collect(),
            minute_price: vec![0.0; visits],
            visible: None,
        };
        if !self.over_time(&out.takes) {
            return Ok(out);
        }
        // Table time binds: all zones together, minutes at the cover of the last solution.
        let shared = share_minutes(&g, &out.takes, &|t| self.visible(t), 1, solver)?;
        out.value = shared.value;
        out.bound = shared.bound;
        out.takes = shared.takes;
        out.minute_price = shared.price;
        out.visible = Some(shared.visible);
        Ok(out)
    }

    /// Whether these takes need more minutes than the table gives (touching counted as the programme does).
    fn over_time(&self, takes: &Takes) -> bool {
        let Some(max) = self.request.table.max_min else { return false };
        let visible = self.visible(takes);
        (0..self.request.visits.len()).any(|i| {
            let mut min = self.request.table.base_min();
            for (z, m) in self.zones.iter().enumerate() {
                let y: f64 = takes[z].get(i).map_or(0.0, |t| t.iter().sum());
                let share = y / visible[z].get(i).copied().unwrap_or(1.0).max(0.02);
                let area = m.setup.zone.defaults().area;
                min += self.request.table.zone_min(
                    area,
                    m.setup.tender,
                    if share > 1e-6 { share } else { 0.0 },
                    m.carded[i],
                );
            }
            min > max + 1e-6
        })
    }

    /// Value of the exact plan alone, and its evenness after each visit.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn exact_value(&self, solver: &dyn Solver) -> Result<(f64, Vec<f64>), PlanError> {
        let s = self.solve(solver)?;
        Ok((s.value, self.evenness(&s.takes)))
    }

    fn evenness(&self, takes: &Takes) -> Vec<f64> {
        let outs: Vec<Outcome> = (0..self.zones.len()).map(|z| self.eval(z).run(&Amounts::Exact(&takes[z]))).collect();
        self.mean_evenness(&outs)
    }

    fn mean_evenness(&self, outs: &[Outcome]) -> Vec<f64> {
        (0..self.request.visits.len())
            .map(|i| {
                let (mut sum, mut area) = (0.0, 0.0);
                for (m, o) in self.zones.iter().zip(outs) {
                    if m.is_layered() {
                        sum += m.area * o.evenness[i];
                        area += m.area;
                    }
                }
                if area > 0.0 { sum / area } else { 1.0 }
            })
            .collect()
    }

    /// Cost of these takes by the linear data (for checks: equals the programme's value).
    pub fn cost_of_exact(&self, plan: &DogPlan) -> f64 {
        plan.exact
            .iter()
            .enumerate()
            .map(|(z, (_, takes))| {
                let oldest_first: Vec<Vec<f64>> = takes.iter().map(|t| t.iter().rev().copied().collect()).collect();
                self.eval(z).run(&Amounts::Exact(&oldest_first)).terms.sum()
            })
            .sum()
    }

    /// Cost of these hand amounts (zone order of the dog), none where one cannot be done.
    pub fn cost_of_hand(&self, amounts: &[Vec<Amount>]) -> Option<f64> {
        let mut sum = 0.0;
        for (z, a) in amounts.iter().enumerate() {
            let out = self.eval(z).run(&Amounts::Hand(a));
            if out.barred.is_some() {
                return None;
            }
            sum += out.terms.sum();
        }
        Some(sum)
    }

    /// Plans: exact, then hand steps, then the reasons.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn plan(&self, solver: &dyn Solver) -> Result<DogPlan, PlanError> {
        let s = self.solve(solver)?;
        let table = &self.request.table;
        let visits = self.request.visits.len();
        let priced = s.minute_price.iter().any(|p| *p > 0.0).then_some((table, &s.minute_price[..]));
        let found: Vec<(&Vec<usize>, Vec<Amount>)> = self
            .groups
            .par_iter()
            .map(|group| {
                let e = self.eval(group[0]);
                let exact = e.run(&Amounts::Exact(&s.takes[group[0]]));
                (group, e.search(&exact.share, priced))
            })
            .collect();
        let mut amounts: Vec<Vec<Amount>> = vec![Vec::new(); self.zones.len()];
        for (group, a) in found {
            for &z in group {
                amounts[z].clone_from(&a);
            }
        }
        self.fit_minutes(&mut amounts);
        let outs: Vec<Outcome> = (0..self.zones.len()).map(|z| self.eval(z).run(&Amounts::Hand(&amounts[z]))).collect();
        let mut terms = Terms::default();
        for o in &outs {
            terms.cover += o.terms.cover;
            terms.ripe += o.terms.ripe;
            terms.evenness += o.terms.evenness;
            terms.wool += o.terms.wool;
            terms.outline += o.terms.outline;
            terms.order += o.terms.order;
        }
        let minutes = self.minutes(&outs);
        let mut planned = Vec::with_capacity(visits);
        for i in 0..visits {
            let mut zones: Vec<PlannedZone> = (0..self.zones.len())
                .map(|z| {
                    let m = &self.zones[z];
                    let share = outs[z].share.get(i).copied().unwrap_or(0.0);
                    PlannedZone {
                        zone: m.setup.zone,
                        amount: amounts[z][i],
                        share,
                        min: self.eval(z).minutes(table, share, i),
                        carded: m.carded[i],
                        why: self.why(z, &amounts, &outs, &minutes, i),
                    }
                })
                .collect();
            zones.sort_by_key(|p| Zone::WORKING_ORDER.iter().position(|z| *z == p.zone));
            planned.push(PlannedVisit {
                day: self.request.visits[i],
                min: minutes[i],
                zones,
                ten_more: self.ten_more(&amounts, &outs, &minutes, i),
            });
        }
        Ok(DogPlan {
            visits: planned,
            objective: Objective {
                lp_value: s.value,
                bound: s.bound,
                gap: (s.value - s.bound) / s.value.abs().max(1e-9),
                rounded_value: terms.sum(),
            },
            terms,
            exact_evenness: self.evenness(&s.takes),
            exact: self
                .zones
                .iter()
                .zip(&s.takes)
                .map(|(m, t)| (m.setup.zone, t.iter().map(|v| v.iter().rev().copied().collect()).collect()))
                .collect(),
        })
    }

    fn minutes(&self, outs: &[Outcome]) -> Vec<f64> {
        (0..self.request.visits.len())
            .map(|i| {
                let zones: f64 = (0..self.zones.len())
                    .map(|z| self.eval(z).minutes(&self.request.table, outs[z].share.get(i).copied().unwrap_or(0.0), i))
                    .sum();
                self.request.table.base_min() + zones
            })
            .collect()
    }

    /// Brings every visit within the table's minutes, giving up what costs least a minute,
    /// then uses what room is left.
    fn fit_minutes(&self, amounts: &mut [Vec<Amount>]) {
        let Some(max) = self.request.table.max_min else { return };
        let n = self.zones.len();
        let mut outs: Vec<Outcome> = (0..n).map(|z| self.eval(z).run(&Amounts::Hand(&amounts[z]))).collect();
        for i in 0..self.request.visits.len() {
            loop {
                let minutes = self.minutes(&outs);
                if minutes[i] <= max + 1e-9 {
                    break;
                }
                let mut best: Option<(f64, usize, Amount, Outcome)> = None;
                for z in 0..n {
                    if amounts[z][i] == Amount::Leave {
                        continue;
                    }
                    let e = self.eval(z);
                    let steps = e.steps();
                    let p = steps.iter().position(|s| *s == amounts[z][i]).unwrap_or(0);
                    for &a in &steps[..p] {
                        let mut trial = amounts[z].clone();
                        trial[i] = a;
                        let out = e.run(&Amounts::Hand(&trial));
                        if out.barred.is_some() {
                            continue;
                        }
                        let saved = e.minutes(&self.request.table, outs[z].share[i], i)
                            - e.minutes(&self.request.table, out.share[i], i);
                        if saved <= 1e-9 {
                            continue;
                        }
                        let rate = (out.terms.sum() - outs[z].terms.sum()) / saved;
                        if best.as_ref().is_none_or(|b| rate < b.0) {
                            best = Some((rate, z, a, out));
                        }
                    }
                }
                let Some((_, z, a, out)) = best else { break };
                amounts[z][i] = a;
                outs[z] = out;
            }
        }
        // Use the room that is left, also across two visits of a zone.
        for _ in 0..3 {
            let mut gained = false;
            for z in 0..n {
                let e = self.eval(z);
                let steps = e.steps();
                for i in 0..self.request.visits.len() {
                    for &a in &steps {
                        if a == amounts[z][i] {
                            continue;
                        }
                        let mut trial = amounts[z].clone();
                        trial[i] = a;
                        let out = e.run(&Amounts::Hand(&trial));
                        if out.barred.is_some() || out.terms.sum() >= outs[z].terms.sum() - 1e-12 {
                            continue;
                        }
                        let old = std::mem::replace(&mut outs[z], out);
                        if self.minutes(&outs).iter().all(|m| *m <= max + 1e-9) {
                            amounts[z] = trial;
                            gained = true;
                        } else {
                            outs[z] = old;
                        }
                    }
                }
            }
            if !gained {
                break;
            }
        }
    }

    /// What decides the amount of zone z at visit i: tried by taking the next larger step.
    fn why(&self, z: usize, amounts: &[Vec<Amount>], outs: &[Outcome], minutes: &[f64], i: usize) -> Why {
        let m = &self.zones[z];
        if let Some(&closed) = m.open.get(i)
            && closed != Closed::Open
        {
            return Why::Limit(Bar::Closed(closed));
        }
        let e = self.eval(z);
        let steps = e.steps();
        let p = steps.iter().position(|s| *s == amounts[z][i]).unwrap_or(0);
        if amounts[z][i] == Amount::AllRipe {
            return Why::Limit(Bar::Pool);
        }
        let Some(&next) = steps.get(p + 1) else { return Why::Largest };
        let mut trial = amounts[z].to_vec();
        trial[i] = next;
        let mut out = e.run(&Amounts::Hand(&trial));
        if let Some((at, bar)) = out.barred {
            if at == i {
                let none = amounts[z][i] == Amount::Leave && bar == Bar::Pool;
                return if none { Why::NothingRipe } else { Why::Limit(bar) };
            }
            // A later visit would have to take less: let it.
            for a in &mut trial[at..] {
                *a = Amount::Leave;
            }
            out = e.run(&Amounts::Hand(&trial));
            if out.barred.is_some() {
                return Why::Limit(bar);
            }
        }
        if let Some(max) = self.request.table.max_min {
            let more =
                e.minutes(&self.request.table, out.share[i], i) - e.minutes(&self.request.table, outs[z].share[i], i);
            if minutes[i] + more > max + 1e-9 && out.terms.sum() < outs[z].terms.sum() {
                return Why::Minutes;
            }
        }
        let (a, b) = (&out.terms, &outs[z].terms);
        let worse = [
            (a.cover - b.cover, Term::Cover),
            (a.evenness - b.evenness, Term::Evenness),
            (a.outline - b.outline, Term::Outline),
            (a.ripe - b.ripe, Term::Ripe),
        ];
        let most = worse.into_iter().max_by(|x, y| x.0.total_cmp(&y.0));
        most.map_or(Why::Largest, |(_, t)| Why::Pays(t))
    }

    /// The zone that ten more minutes at visit i would help most, with what they save.
    fn ten_more(&self, amounts: &[Vec<Amount>], outs: &[Outcome], minutes: &[f64], i: usize) -> Option<(Zone, f64)> {
        let max = self.request.table.max_min?;
        let mut best: Option<(Zone, f64)> = None;
        for z in 0..self.zones.len() {
            let e = self.eval(z);
            let steps = e.steps();
            let p = steps.iter().position(|s| *s == amounts[z][i]).unwrap_or(0);
            for &a in &steps[(p + 1).min(steps.len())..] {
                let mut trial = amounts[z].clone();
                trial[i] = a;
                let out = e.run(&Amounts::Hand(&trial));
                if out.barred.is_some() {
                    continue;
                }
                let more = e.minutes(&self.request.table, out.share[i], i)
                    - e.minutes(&self.request.table, outs[z].share[i], i);
                let gain = outs[z].terms.sum() - out.terms.sum();
                let fits_only_then = minutes[i] + more > max + 1e-9 && minutes[i] + more <= max + 10.0;
                if fits_only_then && gain > 1e-9 && best.is_none_or(|b| gain > b.1) {
                    best = Some((self.zones[z].setup.zone, gain));
                }
            }
        }
        best
    }

    /// The best hand steps of one zone by trying all of them, with their cost.
    ///
    /// Only for few visits: the work is 10 to the power of visits.
    pub fn enumerate(&self, zone: Zone) -> Option<(Vec<Amount>, f64)> {
        let z = self.zones.iter().position(|m| m.setup.zone == zone)?;
        let e = self.eval(z);
        let steps = e.steps();
        let n = self.request.visits.len();
        let mut place = vec![0; n];
        let mut best: Option<(Vec<Amount>, f64)> = None;
        loop {
            let a: Vec<Amount> = place.iter().map(|p| steps[*p]).collect();
            let out = e.run(&Amounts::Hand(&a));
            let skip = out.barred.map_or(n - 1, |b| b.0);
            if out.barred.is_none() && best.as_ref().is_none_or(|b| out.terms.sum() < b.1) {
                best = Some((a, out.terms.sum()));
            }
            // Odometer; a barred visit skips all that follows it.
            let mut i = skip;
            for p in &mut place[skip + 1..] {
                *p = 0;
            }
            loop {
                place[i] += 1;
                if place[i] < steps.len() {
                    break;
                }
                place[i] = 0;
                if i == 0 {
                    return best;
                }
                i -= 1;
            }
        }
    }

    /// Cost of the rule of one in five: a fifth of the visible hair, or what the limits leave of it.
    pub fn rule_cost(&self) -> f64 {
        (0..self.zones.len())
            .map(|z| {
                let e = self.eval(z);
                let mut a = vec![Amount::Leave; self.request.visits.len()];
                for i in 0..a.len() {
                    for step in STEPS.iter().rev().filter(|s| **s != Amount::OneIn(4)) {
                        a[i] = *step;
                        if e.run(&Amounts::Hand(&a)).barred.is_none() {
                            break;
                        }
                    }
                }
                e.run(&Amounts::Hand(&a)).terms.sum()
            })
            .sum()
    }
}

/// Zones grouped so that those of one law are built together (they share responses),
/// in about two equal halves of work.
fn split_by_law(coat: &DogCoat) -> Vec<Vec<usize>> {
    let mut groups: Vec<(*const coat::Law, Vec<usize>)> = Vec::new();
    for (i, z) in coat.zones.iter().enumerate() {
        let key = std::sync::Arc::as_ptr(z.top.law());
        match groups.iter_mut().find(|g| g.0 == key) {
            Some(g) => g.1.push(i),
            None => groups.push((key, vec![i])),
        }
    }
    groups.sort_by_key(|g| std::cmp::Reverse(g.1.len()));
    groups.into_iter().map(|g| g.1).collect()
}
