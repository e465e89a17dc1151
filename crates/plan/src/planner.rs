//! From a request to a plan: the exact programme, then hand steps, then reasons.

use crate::carding::{Carding, Combs, Undercoats};
use crate::course::{Amounts, Eval, Outcome};
use crate::hand::{Amount, Terms};
use crate::minutes::{Answer, Found, Minutes, Pass, Shared, each_zone, share_minutes};
use crate::outcome::{DogPlan, Objective, PlanError, PlannedVisit, PlannedZone, Request};
use crate::outline::Parts;
use crate::programme::{Counted, Days, Ground, Takes};
use crate::reasons::{InHand, Why};
use crate::solver::{Solver, SolverError};
use crate::zone_model::{Builder, ZoneModel};
use coat::{Dog, DogCoat, Zone};
use rayon::prelude::*;

/// Times that minutes are counted anew, from the solution before.
const COUNTS: usize = 2;
/// Times that the lengths of what visits find are worked out anew.
const MEANS: usize = 3;
/// Share of the cost that working them out anew must save to be done once more.
const WORTH: f64 = 1e-3;

/// A plan before the hand steps.
pub(crate) struct Solved {
    pub(crate) value: f64,
    pub(crate) bound: f64,
    pub(crate) takes: Takes,
    /// Price of a minute at each visit.
    pub(crate) minute_price: Vec<f64>,
    /// How minutes were counted, when they bind.
    pub(crate) counted: Option<Counted>,
    pub(crate) carding: Carding,
    pub(crate) means: Means,
    /// The single plans that the solution mixes, where minutes bind: zone and takes.
    pub(crate) mixed: Vec<(usize, Vec<Vec<f64>>)>,
}

/// A plan in hand steps, beside the exact one.
pub(crate) struct Settled {
    pub(crate) exact: Solved,
    pub(crate) amounts: Vec<Vec<Amount>>,
    pub(crate) outs: Vec<Outcome>,
    pub(crate) terms: Terms,
}

/// By zone, visit and class: how the ripe hair there adds to the outline on days that matter.
pub(crate) type Means = Vec<Vec<Vec<Parts>>>;

/// A dog's linear data, ready to be solved and solved again.
pub struct Planner<'a> {
    pub(crate) request: &'a Request,
    pub(crate) zones: Vec<ZoneModel>,
    /// Zones that are the same but for their size.
    pub(crate) groups: Vec<Vec<usize>>,
    pub(crate) days: Days,
    undercoats: Undercoats,
    /// Carding by the rule alone, minutes without a limit.
    pub(crate) rule: Carding,
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
        let carded = |m: &ZoneModel| m.setup.is_worked() && m.setup.is_carded();
        let unders = zones.iter().zip(&coat.zones).map(|(m, z)| carded(m).then(|| z.under.clone())).collect();
        let at = zones.first().map_or(&[][..], |m| &m.at);
        let undercoats = Undercoats::new(unders, request.today, at, &days);
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (z, m) in zones.iter().enumerate() {
            match groups.iter_mut().find(|g| zones[g[0]].is_like(m)) {
                Some(g) => g.push(z),
                None => groups.push(vec![z]),
            }
        }
        let mut out = Planner { request, zones, groups, days, undercoats, rule: Carding::default() };
        out.rule = out.combs().card(None, None);
        Ok(out)
    }

    pub(crate) fn ground<'b>(&'b self, means: &'b Means) -> Ground<'b> {
        Ground {
            means,
            zones: &self.zones,
            groups: &self.groups,
            days: &self.days,
            weights: &self.request.weights,
            table: &self.request.table,
        }
    }

    fn combs(&self) -> Combs<'_> {
        let (today, table) = (self.request.today, &self.request.table);
        Combs { today, zones: &self.zones, undercoats: &self.undercoats, days: &self.days, table }
    }

    pub(crate) fn eval<'b>(&'b self, z: usize, carding: &'b Carding) -> Eval<'b> {
        Eval {
            m: &self.zones[z],
            days: &self.days,
            w: &self.request.weights,
            carded: &carding.carded[z],
            wool_sum: carding.wool_sum[z],
        }
    }

    /// Cover before each visit under these takes.
    fn visible(&self, takes: &Takes) -> Vec<Vec<f64>> {
        let one = |(m, takes): (&ZoneModel, &Vec<Vec<f64>>)| {
            if !m.setup.is_worked() {
                return vec![1.0; m.at.len()];
            }
            let taken: Vec<f64> = takes.iter().map(|t| t.iter().sum()).collect();
            (0..m.at.len()).map(|i| m.cover_on(m.at[i], &taken[..i])).collect()
        };
        self.zones.iter().zip(takes).map(one).collect()
    }

    /// Share of the visible hair that these takes pull, by zone and visit.
    fn shares(&self, takes: &Takes, visible: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let of = |z: usize, i: usize| {
            let y: f64 = takes[z].get(i).map_or(0.0, |t| t.iter().sum());
            y / visible[z].get(i).copied().unwrap_or(1.0).max(0.02)
        };
        (0..self.zones.len()).map(|z| (0..self.request.visits.len()).map(|i| of(z, i)).collect()).collect()
    }

    pub(crate) fn solve(&self, solver: &dyn Solver) -> Result<Solved, PlanError> {
        self.solve_counting(COUNTS, solver)
    }

    /// Solves, minutes counted anew so many times.
    pub(crate) fn solve_counting(&self, counts: usize, solver: &dyn Solver) -> Result<Solved, PlanError> {
        let visits = self.request.visits.len();
        let nothing = self.zones.iter().map(|m| (0..visits).map(|i| vec![0.0; m.classes_at(i)]).collect()).collect();
        self.solve_found(self.means(&nothing), |means| match self.request.table.max_min {
            Some(max) => self.solve_within(means, max, counts, solver),
            None => self.solve_apart(means, solver),
        })
    }

    /// How long the hair is that a visit finds depends on what visits before it took, which no linear
    /// programme can say: solved at the lengths of the solution before, as long as that pays.
    fn solve_found(
        &self,
        means: Means,
        solve: impl Fn(&Means) -> Result<Solved, PlanError>,
    ) -> Result<Solved, PlanError> {
        let mut best = solve(&means)?;
        best.means = means;
        if !self.has_outline() {
            return Ok(best);
        }
        let mut least = self.true_value(&best);
        for _ in 0..MEANS {
            let means = self.means(&best.takes);
            let mut next = solve(&means)?;
            next.means = means;
            let value = self.true_value(&next);
            let pays = value < least * (1.0 - WORTH);
            if value < least {
                (best, least) = (next, value);
            }
            if !pays {
                break;
            }
        }
        Ok(best)
    }

    fn has_outline(&self) -> bool {
        self.zones.iter().any(|m| !m.outlines.is_empty())
    }

    /// What the takes of a solution cost, each as long as the visits before left it.
    fn true_value(&self, s: &Solved) -> f64 {
        let run = |z: usize| self.eval(z, &s.carding).run(&Amounts::Exact(&s.takes[z])).terms.sum();
        (0..self.zones.len()).map(run).sum()
    }

    /// How the hair that each visit finds adds to the outline, under these takes.
    fn means(&self, takes: &Takes) -> Means {
        (0..self.zones.len()).map(|z| self.eval(z, &self.rule).found_by(&Amounts::Exact(&takes[z]))).collect()
    }

    /// The exact plan of each zone by itself.
    fn solve_apart(&self, means: &Means, solver: &dyn Solver) -> Result<Solved, PlanError> {
        let g = self.ground(means);
        let none = vec![0.0; self.request.visits.len()];
        let alone = |(k, group): (usize, &Vec<usize>)| {
            let mut zone = g.open(g.build(group[0]), solver)?;
            let s = g.solve(&mut zone)?;
            Ok(Answer::new(k, 0, &s, zone.takes(&s.x), &none))
        };
        let answers: Result<Vec<Answer>, SolverError> = self.groups.par_iter().enumerate().map(alone).collect();
        Ok(self.apart(&g, &answers?))
    }

    /// The same within the minutes of the table: where they bind, all zones together, minutes at the cover of the
    /// last solution, and carding where it is worth the minutes.
    fn solve_within(&self, means: &Means, max: f64, counts: usize, solver: &dyn Solver) -> Result<Solved, PlanError> {
        let g = self.ground(means);
        let again = |found: &Found<'_>| {
            let visible = self.visible(found.takes);
            let share = self.shares(found.takes, &visible);
            let allowed = self.combs().worth(&self.request.weights, found.price, &share);
            let carding = self.combs().card(Some(&allowed), Some(max));
            // Touching is spread over what is taken where a zone is touched; where it is not, as before.
            let spread = |z: usize, i: usize| match found.touched[z].get(i) {
                Some(t) if *t > 1e-6 && share[z][i] > 1e-6 => (share[z][i] / t).min(self.zones[z].setup.cap),
                _ => found.spread[z][i],
            };
            let spread = (0..share.len()).map(|z| (0..share[z].len()).map(|i| spread(z, i)).collect()).collect();
            Pass::new(&g, Counted { visible, spread }, carding, max)
        };
        let first = |takes: &Takes| {
            // At first over all that the cap allows: never more than the true minutes.
            let visits = self.request.visits.len();
            let caps: Vec<Vec<f64>> = self.zones.iter().map(|m| vec![m.setup.cap; visits]).collect();
            let untouched = vec![Vec::new(); self.zones.len()];
            let none = vec![0.0; visits];
            let found = Found { takes, touched: &untouched, price: &none, spread: &caps };
            self.over_time(takes, max).then(|| again(&found))
        };
        let minutes = share_minutes(&g, first, &again, counts, solver)?;
        Ok(self.solved(&g, minutes))
    }

    /// The exact plan, then hand steps; then the exact plan again where minutes or lengths were counted
    /// otherwise than the hand plan uses and finds them, so that it is never the dearer of the two.
    pub(crate) fn settle(&self, solver: &dyn Solver) -> Result<Settled, PlanError> {
        let mut exact = self.solve(solver)?;
        let amounts = self.hand_steps(&exact, solver)?;
        let run = |z: usize| self.eval(z, &exact.carding).run(&Amounts::Hand(&amounts[z]));
        let outs: Vec<Outcome> = (0..self.zones.len()).map(run).collect();
        let terms = outs.iter().fold(Terms::default(), |sum, o| sum + o.terms);
        if (self.has_outline() || exact.counted.is_some()) && terms.sum() < exact.value - 1e-9 {
            exact = self.solve_as_in_hand(&exact, &amounts, &outs, solver)?;
        }
        Ok(Settled { exact, amounts, outs, terms })
    }

    fn solve_as_in_hand(
        &self,
        s: &Solved,
        amounts: &[Vec<Amount>],
        outs: &[Outcome],
        solver: &dyn Solver,
    ) -> Result<Solved, PlanError> {
        let found = |z: usize| self.eval(z, &s.carding).found_by(&Amounts::Hand(&amounts[z]));
        let means = (0..self.zones.len()).map(found).collect();
        let mut out = match self.request.table.max_min.zip(s.counted.as_ref()) {
            None => self.solve_apart(&means, solver)?,
            Some((max, counted)) => {
                let g = self.ground(&means);
                let visible = outs.iter().map(|o| o.visible.clone()).collect();
                let spread = |z: usize, i: usize| match outs[z].share.get(i) {
                    Some(share) if *share > 1e-6 => *share,
                    _ => counted.spread[z][i],
                };
                let spread = |z: usize| (0..s.minute_price.len()).map(|i| spread(z, i)).collect();
                let spread = (0..outs.len()).map(spread).collect();
                let first = Pass::new(&g, Counted { visible, spread }, s.carding.clone(), max);
                let again =
                    |_: &Found<'_>| Pass::new(&g, Counted { visible: vec![], spread: vec![] }, Carding::default(), max);
                self.solved(&g, share_minutes(&g, |_| Some(first), &again, 0, solver)?)
            }
        };
        out.means = means;
        Ok(out)
    }

    fn solved(&self, g: &Ground<'_>, minutes: Minutes) -> Solved {
        match minutes {
            Minutes::Free(answers) => self.apart(g, &answers),
            Minutes::Bind(shared) => self.together(g, *shared),
        }
    }

    fn apart(&self, g: &Ground<'_>, answers: &[Answer]) -> Solved {
        let wool = g.wool_cost(&self.rule);
        let all = |of: fn(&Answer) -> f64| -> f64 {
            answers.iter().map(|a| g.size(a.group, &self.groups[a.group]) * of(a)).sum()
        };
        Solved {
            value: wool + all(|a| a.cost),
            bound: wool + all(|a| a.bound),
            takes: each_zone(g, answers),
            minute_price: vec![0.0; self.request.visits.len()],
            counted: None,
            carding: self.rule.clone(),
            means: Means::new(),
            mixed: Vec::new(),
        }
    }

    fn together(&self, g: &Ground<'_>, shared: Shared) -> Solved {
        let wool = g.wool_cost(&shared.pass.carding);
        Solved {
            value: wool + shared.value,
            bound: wool + shared.bound,
            takes: shared.takes,
            minute_price: shared.price,
            counted: Some(shared.pass.counted),
            carding: shared.pass.carding,
            means: Means::new(),
            mixed: shared.mixed,
        }
    }

    /// Whether these takes need more minutes than the table gives (touching counted as the programme does).
    fn over_time(&self, takes: &Takes, max: f64) -> bool {
        let shares = self.shares(takes, &self.visible(takes));
        (0..self.request.visits.len()).any(|i| {
            let zone = |z: usize| {
                let share = if shares[z][i] > 1e-6 { shares[z][i] } else { 0.0 };
                self.eval(z, &self.rule).minutes(&self.request.table, share, i)
            };
            self.request.table.base_min() + (0..self.zones.len()).map(zone).sum::<f64>() > max + 1e-6
        })
    }

    pub(crate) fn evenness(&self, takes: &Takes) -> Vec<f64> {
        let run = |z: usize| self.eval(z, &self.rule).run(&Amounts::Exact(&takes[z]));
        self.mean_evenness(&(0..self.zones.len()).map(run).collect::<Vec<_>>())
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

    /// Plans: exact, then hand steps, then the reasons.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn plan(&self, solver: &dyn Solver) -> Result<DogPlan, PlanError> {
        self.plan_with(solver, true)
    }

    /// The same plan, nobody asking for reasons: every amount is given as the largest step.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn plan_plain(&self, solver: &dyn Solver) -> Result<DogPlan, PlanError> {
        self.plan_with(solver, false)
    }

    fn plan_with(&self, solver: &dyn Solver, reasons: bool) -> Result<DogPlan, PlanError> {
        let Settled { exact: s, amounts, outs, terms } = self.settle(solver)?;
        let table = &self.request.table;
        let visits = self.request.visits.len();
        let minutes = self.minutes(&s.carding, &outs);
        let in_hand = InHand { carding: &s.carding, amounts: &amounts, outs: &outs, minutes: &minutes };
        let visit = |i: usize| {
            let mut zones: Vec<PlannedZone> = (0..self.zones.len())
                .map(|z| {
                    let share = outs[z].share.get(i).copied().unwrap_or(0.0);
                    PlannedZone {
                        zone: self.zones[z].setup.zone,
                        amount: amounts[z][i],
                        share,
                        ripe: outs[z].ripe.get(i).copied().unwrap_or(0.0),
                        min: self.eval(z, &s.carding).minutes(table, share, i),
                        carded: s.carding.carded[z][i],
                        why: if reasons { self.why(z, i, &in_hand) } else { Why::Largest },
                    }
                })
                .collect();
            zones.sort_by_key(|p| Zone::WORKING_ORDER.iter().position(|z| *z == p.zone));
            let ten_more = if reasons { self.ten_more(i, &in_hand) } else { None };
            PlannedVisit { day: self.request.visits[i], min: minutes[i], zones, ten_more }
        };
        let planned: Vec<PlannedVisit> = (0..visits).into_par_iter().map(visit).collect();
        let newest_first = |t: &Vec<Vec<f64>>| t.iter().map(|v| v.iter().rev().copied().collect()).collect();
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
            exact: self.zones.iter().zip(&s.takes).map(|(m, t)| (m.setup.zone, newest_first(t))).collect(),
            carding: s.carding,
        })
    }

    pub(crate) fn minutes(&self, carding: &Carding, outs: &[Outcome]) -> Vec<f64> {
        (0..self.request.visits.len())
            .map(|i| {
                let zone = |z: usize| {
                    let share = outs[z].share.get(i).copied().unwrap_or(0.0);
                    self.eval(z, carding).minutes(&self.request.table, share, i)
                };
                self.request.table.base_min() + (0..self.zones.len()).map(zone).sum::<f64>()
            })
            .collect()
    }
}

/// Zones grouped so that those of one law are built together (they share responses).
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
