//! Hand plans of all zones chosen together, where table time binds.
//!
//! Each zone offers hand plans, found at several prices of a minute. A small programme mixes them
//! within the minutes and so sets better prices (as in `minutes`); in the end every zone keeps one,
//! chosen so that each visit fits, and plans and steps are exchanged as long as the cost falls.

use crate::carding::Carding;
use crate::course::{Amounts, Course, Eval};
use crate::hand::Amount;
use crate::master::{Known, Master};
use crate::planner::{Planner, Solved};
use crate::solver::{Solver, SolverError};
use crate::weights::Table;
use rayon::prelude::*;

/// Rounds of offers at new prices.
const ROUNDS: usize = 14;
/// Share of the cost that a round must save for another to follow.
const WORTH: f64 = 2e-4;
/// Minutes over the table's have this price, which nothing is worth, so that there always is a mix.
const DEAREST: f64 = 1e3;

/// A hand plan of one zone.
#[derive(Clone)]
struct Offer {
    amounts: Vec<Amount>,
    cost: f64,
    /// Minutes at each visit.
    min: Vec<f64>,
}

/// Zones that are the same but for their size, carded alike; offers are those of the first.
struct Part {
    zones: Vec<usize>,
    offers: Vec<Offer>,
}

impl Part {
    fn add(&mut self, offer: Option<Offer>) -> bool {
        match offer.filter(|o| self.offers.iter().all(|known| known.amounts != o.amounts)) {
            Some(o) => {
                self.offers.push(o);
                true
            }
            None => false,
        }
    }

    fn best(&self, price: &[f64]) -> Option<&Offer> {
        let priced = |o: &Offer| o.cost + o.min.iter().zip(price).map(|(m, p)| m * p).sum::<f64>();
        self.offers.iter().min_by(|a, b| priced(a).total_cmp(&priced(b)))
    }
}

/// The plan of each zone while they are chosen.
struct Choice {
    /// By zone, the plan kept.
    kept: Vec<Offer>,
    /// Minutes of each visit, all zones.
    min: Vec<f64>,
    room: f64,
}

impl Choice {
    fn put(&mut self, z: usize, offer: Offer) {
        for (m, (new, old)) in self.min.iter_mut().zip(offer.min.iter().zip(&self.kept[z].min)) {
            *m += new - old;
        }
        self.kept[z] = offer;
    }

    /// Minutes over the table's, all visits, were zone z to follow this plan.
    fn over_with(&self, z: usize, offer: &Offer) -> f64 {
        let each = self.min.iter().zip(offer.min.iter().zip(&self.kept[z].min));
        each.map(|(m, (new, old))| (m + new - old - self.room).max(0.0)).sum()
    }

    fn amounts(self) -> Vec<Vec<Amount>> {
        self.kept.into_iter().map(|o| o.amounts).collect()
    }

    fn over(&self) -> f64 {
        self.min.iter().map(|m| (m - self.room).max(0.0)).sum()
    }

    fn fits_with(&self, z: usize, offer: &Offer) -> bool {
        let each = self.min.iter().zip(offer.min.iter().zip(&self.kept[z].min));
        each.into_iter().all(|(m, (new, old))| new <= old || m + new - old <= self.room + 1e-9)
    }
}

impl Eval<'_> {
    fn offer(&self, table: &Table, amounts: Vec<Amount>) -> Option<Offer> {
        if !self.m.setup.is_worked() {
            return Some(Offer { min: vec![0.0; amounts.len()], amounts, cost: 0.0 });
        }
        self.offer_on(&mut self.start(), 0, table, amounts)
    }

    /// The same, a course followed on from visit `from`.
    fn offer_on(&self, course: &mut Course, from: usize, table: &Table, amounts: Vec<Amount>) -> Option<Offer> {
        self.follow_to_end(course, from, &amounts, None)?;
        let min = course.share.iter().enumerate().map(|(i, s)| self.minutes(table, *s, i)).collect();
        Some(Offer { amounts, cost: self.terms(course).sum(), min })
    }
}

impl Planner<'_> {
    /// Hand steps of all zones, zone by zone where table time does not bind.
    pub(crate) fn hand_steps(&self, s: &Solved, solver: &dyn Solver) -> Result<Vec<Vec<Amount>>, SolverError> {
        let exact: Vec<Vec<f64>> = self
            .groups
            .par_iter()
            .map(|g| self.eval(g[0], &s.carding).run(&Amounts::Exact(&s.takes[g[0]])).share)
            .collect();
        let Some(max) = self.request.table.max_min else { return Ok(self.steps_apart(s, &exact)) };
        let room = max - self.request.table.base_min();
        let mut parts = self.parts(&s.carding);
        let mut choice = if s.counted.is_some() {
            let mix = self.gather(&mut parts, s, room, solver)?;
            self.round(&parts, &mix, room)
        } else {
            // The exact plan needs no limit; its hand steps may need a little more than it.
            let choice = self.choice_of(self.steps_apart(s, &exact), &s.carding, room);
            if choice.over() <= 1e-9 {
                return Ok(choice.amounts());
            }
            choice
        };
        self.make_fit(&parts, &s.carding, &mut choice);
        exchange(&parts, &self.sizes(), &mut choice);
        self.use_room(&s.carding, &mut choice);
        Ok(choice.amounts())
    }

    /// Hand steps of each zone by itself, near its exact shares.
    fn steps_apart(&self, s: &Solved, exact: &[Vec<f64>]) -> Vec<Vec<Amount>> {
        let found: Vec<Vec<Amount>> =
            self.groups.par_iter().zip(exact).map(|(g, x)| self.eval(g[0], &s.carding).search(x)).collect();
        let mut amounts = vec![Vec::new(); self.zones.len()];
        for (group, a) in self.groups.iter().zip(found) {
            for &z in group {
                amounts[z].clone_from(&a);
            }
        }
        amounts
    }

    /// These hand steps, which can be done.
    fn choice_of(&self, amounts: Vec<Vec<Amount>>, carding: &Carding, room: f64) -> Choice {
        let mut choice = self.nothing(room);
        for (z, amounts) in amounts.into_iter().enumerate() {
            if let Some(o) = self.eval(z, carding).offer(&self.request.table, amounts) {
                choice.put(z, o);
            }
        }
        choice
    }

    /// Nothing chosen yet for any zone.
    fn nothing(&self, room: f64) -> Choice {
        let visits = self.request.visits.len();
        let nothing = Offer { amounts: vec![Amount::Leave; visits], cost: 0.0, min: vec![0.0; visits] };
        Choice { kept: vec![nothing; self.zones.len()], min: vec![0.0; visits], room }
    }

    fn parts(&self, carding: &Carding) -> Vec<Part> {
        let mut parts: Vec<Part> = Vec::new();
        for group in &self.groups {
            let first = parts.len();
            for &z in group {
                let alike = |p: &&mut Part| carding.carded[p.zones[0]] == carding.carded[z];
                match parts[first..].iter_mut().find(alike) {
                    Some(p) => p.zones.push(z),
                    None => parts.push(Part { zones: vec![z], offers: Vec::new() }),
                }
            }
        }
        parts
    }

    fn sizes(&self) -> Vec<f64> {
        self.zones.iter().map(|m| m.area).collect()
    }

    /// Lets every part offer plans at better and better prices; gives the best mix of them.
    fn gather(
        &self,
        parts: &mut [Part],
        s: &Solved,
        room: f64,
        solver: &dyn Solver,
    ) -> Result<Vec<Vec<f64>>, SolverError> {
        let table = &self.request.table;
        let price = &s.minute_price;
        parts.par_iter_mut().for_each(|p| {
            let e = self.eval(p.zones[0], &s.carding);
            let exact = e.run(&Amounts::Exact(&s.takes[p.zones[0]])).share;
            let priced = Some((table, &price[..]));
            p.add(e.offer(table, vec![Amount::Leave; exact.len()]));
            // Touching a zone costs minutes whatever is pulled: every other visit may do as well.
            let every_other = |odd: usize| -> Vec<f64> {
                exact.iter().enumerate().map(|(i, x)| if i % 2 == odd { 2.0 * x } else { 0.0 }).collect()
            };
            for start in [exact.clone(), every_other(0), every_other(1)] {
                p.add(e.offer(table, e.improve_singly(e.near(&start), priced)));
            }
            let zones = p.zones.clone();
            for (_, takes) in s.mixed.iter().filter(|m| zones.contains(&m.0)) {
                let share = e.run(&Amounts::Exact(takes)).share;
                p.add(e.offer(table, e.near(&share)));
            }
        });
        let known = |part: usize, p: &Part, plan: usize| {
            let (size, o) = (self.size(p), &p.offers[plan]);
            Known { part, plan, cost: size * o.cost, min: o.min.iter().map(|m| size * m).collect() }
        };
        let rooms = vec![room; self.request.visits.len()];
        let start = parts.iter().enumerate().flat_map(|(k, p)| (0..p.offers.len()).map(move |o| known(k, p, o)));
        let mut master = Master::open(&rooms, parts.len(), DEAREST, start, solver)?;
        let mut mixed = master.mix()?;
        for _ in 0..ROUNDS {
            let price = &mixed.price;
            let new: Vec<bool> = parts
                .par_iter_mut()
                .map(|p| {
                    let e = self.eval(p.zones[0], &s.carding);
                    let start = p.best(price).map(|o| o.amounts.clone());
                    let found = start.map(|a| e.improve_singly(a, Some((table, &price[..]))));
                    p.add(found.and_then(|a| e.offer(table, a)))
                })
                .collect();
            if !new.contains(&true) {
                break;
            }
            for (k, p) in parts.iter().enumerate().filter(|(k, _)| new[*k]) {
                master.add(&known(k, p, p.offers.len() - 1))?;
            }
            let last = mixed.value;
            mixed = master.mix()?;
            if last - mixed.value < WORTH * mixed.value {
                break;
            }
        }
        let mut mix: Vec<Vec<f64>> = parts.iter().map(|p| vec![0.0; p.offers.len()]).collect();
        for used in mixed.used {
            mix[used.part][used.plan] = used.share;
        }
        Ok(mix)
    }

    /// Skin of a part in units of its first zone.
    fn size(&self, part: &Part) -> f64 {
        let first = self.zones[part.zones[0]].area;
        if first > 0.0 { part.zones.iter().map(|z| self.zones[*z].area).sum::<f64>() / first } else { 1.0 }
    }

    fn scaled(&self, part: &Part, z: usize, o: &Offer) -> Offer {
        let first = self.zones[part.zones[0]].area;
        let by = if first > 0.0 { self.zones[z].area / first } else { 1.0 };
        Offer { amounts: o.amounts.clone(), cost: by * o.cost, min: o.min.iter().map(|m| by * m).collect() }
    }

    /// One plan for every zone: a mix within a part is dealt out to its zones, the largest first.
    fn round(&self, parts: &[Part], mix: &[Vec<f64>], room: f64) -> Choice {
        let mut choice = self.nothing(room);
        for (part, mix) in parts.iter().zip(mix) {
            let all: f64 = part.zones.iter().map(|z| self.zones[*z].area).sum();
            let mut due: Vec<f64> = mix.iter().map(|x| x * all).collect();
            let mut zones = part.zones.clone();
            zones.sort_by(|a, b| self.zones[*b].area.total_cmp(&self.zones[*a].area).then(a.cmp(b)));
            for z in zones {
                let most = (0..due.len()).max_by(|a, b| due[*a].total_cmp(&due[*b]).then(b.cmp(a))).unwrap_or(0);
                due[most] -= self.zones[z].area;
                choice.put(z, self.scaled(part, z, &part.offers[most]));
            }
        }
        choice
    }

    /// Brings every visit within the minutes, giving up what costs least a minute.
    fn make_fit(&self, parts: &[Part], carding: &Carding, choice: &mut Choice) {
        // By zone, what else it could do: its part's offers, and fewer or smaller steps at visits that are over.
        let mut other: Vec<Vec<Offer>> = vec![Vec::new(); self.zones.len()];
        for part in parts {
            for &z in &part.zones {
                other[z] = part.offers.iter().map(|o| self.scaled(part, z, o)).collect();
            }
        }
        let down = |choice: &Choice, z: usize, at: &[usize]| {
            self.steps_down(&self.eval(z, carding), &choice.kept[z].amounts, at)
        };
        // Visits that are or were over: their steps are known, by zone.
        let mut at: Vec<usize> = Vec::new();
        let mut steps: Vec<Vec<Offer>> = vec![Vec::new(); self.zones.len()];
        loop {
            let over = choice.over();
            if over <= 1e-9 {
                return;
            }
            let newly = |i: &usize| choice.min[*i] > choice.room + 1e-9 && !at.contains(i);
            let new: Vec<usize> = (0..choice.min.len()).filter(newly).collect();
            if !new.is_empty() {
                steps.par_iter_mut().enumerate().for_each(|(z, offers)| offers.extend(down(choice, z, &new)));
                at.extend(new);
            }
            let mut best: Option<(f64, usize, &Offer)> = None;
            for z in 0..self.zones.len() {
                for o in other[z].iter().chain(&steps[z]) {
                    let saved = over - choice.over_with(z, o);
                    if saved > 1e-9 {
                        let rate = (o.cost - choice.kept[z].cost) / saved;
                        if best.as_ref().is_none_or(|b| rate < b.0) {
                            best = Some((rate, z, o));
                        }
                    }
                }
            }
            let Some((_, z, o)) = best.map(|(rate, z, o)| (rate, z, o.clone())) else { return };
            choice.put(z, o);
            steps[z] = down(choice, z, &at);
        }
    }

    /// A zone's plan with a smaller step at one of these visits.
    fn steps_down(&self, e: &Eval<'_>, now: &[Amount], at: &[usize]) -> Vec<Offer> {
        self.with_one_step(e, now, |i, steps| {
            let p = steps.iter().position(|s| *s == now[i]).unwrap_or(0);
            if at.contains(&i) { 0..p } else { 0..0 }
        })
    }

    /// A zone's plan with another step at one visit, of those that are to be `tried`.
    fn with_one_step(
        &self,
        e: &Eval<'_>,
        now: &[Amount],
        tried: impl Fn(usize, &[Amount]) -> std::ops::Range<usize>,
    ) -> Vec<Offer> {
        let mut found = Vec::new();
        if !e.m.setup.is_worked() {
            return found;
        }
        let steps = e.steps();
        let (mut course, mut trial) = (e.start(), e.start());
        for (i, was) in now.iter().enumerate() {
            for a in steps[tried(i, &steps)].iter().filter(|a| *a != was) {
                let mut amounts = now.to_vec();
                amounts[i] = *a;
                trial.go_back_to(&course);
                found.extend(e.offer_on(&mut trial, i, &self.request.table, amounts));
            }
            if e.follow(&mut course, i, *was, None).is_none() {
                break;
            }
        }
        found
    }

    /// Uses what room is left: one step at one visit of one zone at a time, what saves most first.
    fn use_room(&self, carding: &Carding, choice: &mut Choice) {
        let better = |choice: &Choice, z: usize| self.steps_that_save(&self.eval(z, carding), &choice.kept[z]);
        let mut steps: Vec<Vec<Offer>> = (0..self.zones.len()).into_par_iter().map(|z| better(choice, z)).collect();
        loop {
            let fit = steps.iter().enumerate().flat_map(|(z, offers)| offers.iter().map(move |o| (z, o)));
            let fit = fit.filter(|(z, o)| choice.fits_with(*z, o));
            let saves = |(z, o): &(usize, &Offer)| choice.kept[*z].cost - o.cost;
            let Some((z, o)) = fit.max_by(|a, b| saves(a).total_cmp(&saves(b))) else { return };
            choice.put(z, o.clone());
            steps[z] = better(choice, z);
        }
    }

    /// A zone's plan with another step at one visit, where that costs less.
    fn steps_that_save(&self, e: &Eval<'_>, now: &Offer) -> Vec<Offer> {
        let mut found = self.with_one_step(e, &now.amounts, |_, steps| 0..steps.len());
        found.retain(|o| o.cost < now.cost - 1e-12);
        found
    }
}

/// Exchanges the plans of one zone, or of two at once, as long as the cost falls and all fits.
fn exchange(parts: &[Part], sizes: &[f64], choice: &mut Choice) {
    let scaled = |part: &Part, z: usize, o: &Offer| {
        let by = sizes[z] / sizes[part.zones[0]].max(1e-12);
        Offer { amounts: o.amounts.clone(), cost: by * o.cost, min: o.min.iter().map(|m| by * m).collect() }
    };
    let open: Vec<(usize, Vec<Offer>)> = parts
        .iter()
        .filter(|p| p.offers.len() > 1)
        .flat_map(|p| p.zones.iter().map(move |z| (*z, p.offers.iter().map(|o| scaled(p, *z, o)).collect())))
        .collect();
    loop {
        let mut best: Option<(f64, Vec<(usize, Offer)>)> = None;
        let mut take = |gain: f64, put: Vec<(usize, &Offer)>| {
            if gain > 1e-9 && best.as_ref().is_none_or(|b| gain > b.0) {
                best = Some((gain, put.into_iter().map(|(z, o)| (z, o.clone())).collect()));
            }
        };
        for (k, (z, offers)) in open.iter().enumerate() {
            for o in offers {
                let gain = choice.kept[*z].cost - o.cost;
                if choice.fits_with(*z, o) {
                    take(gain, vec![(*z, o)]);
                }
                // With another zone that makes room, or uses it.
                let min: Vec<f64> =
                    (0..choice.min.len()).map(|i| choice.min[i] + o.min[i] - choice.kept[*z].min[i]).collect();
                for (y, others) in &open[k + 1..] {
                    for other in others {
                        let both = gain + choice.kept[*y].cost - other.cost;
                        let fits = || {
                            let old = &choice.kept[*y].min;
                            (0..min.len())
                                .all(|i| min[i] + other.min[i] - old[i] <= choice.room.max(choice.min[i]) + 1e-9)
                        };
                        if both > 1e-9 && fits() {
                            take(both, vec![(*z, o), (*y, other)]);
                        }
                    }
                }
            }
        }
        let Some((_, put)) = best else { return };
        for (z, o) in put {
            choice.put(z, o);
        }
    }
}
