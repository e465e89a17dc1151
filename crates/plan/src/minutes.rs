//! Zones that share table minutes: the whole programme solved by parts.
//!
//! Zones are coupled by one row a visit only, so each keeps its own programme
//! open in the solver and answers to a price on minutes; a small master
//! programme mixes their answers and sets the prices (Dantzig & Wolfe 1960,
//! Operations Research 8:101-111). The mix is a solution of the whole programme,
//! the priced answers prove how good it is.

use crate::programme::{Ground, Takes};
use crate::solver::{Optimum, Programme, Solver, SolverError};
use std::sync::{Arc, mpsc};

/// Stop when value and bound are this close, relative.
const CLOSE: f64 = 1e-7;
const ROUNDS: usize = 400;

/// The whole programme's solution.
pub(crate) struct Shared {
    pub(crate) value: f64,
    pub(crate) bound: f64,
    pub(crate) takes: Takes,
    /// Cost saved per minute more, by visit.
    pub(crate) price: Vec<f64>,
    /// Cover before each visit at which minutes were counted.
    pub(crate) visible: Vec<Vec<f64>>,
}

/// One zone's answer to a price.
pub(crate) struct Answer {
    pub(crate) zone: usize,
    /// Cost without the price.
    pub(crate) cost: f64,
    /// Proven least priced cost.
    pub(crate) bound: f64,
    /// Shares of follicles taken at each visit.
    pub(crate) y: Vec<f64>,
    pub(crate) takes: Vec<Vec<f64>>,
}

impl Ground<'_> {
    /// What a group's zones answer when the first of them has this optimum at this price.
    pub(crate) fn members(&self, group: &[usize], s: &Optimum, takes: &[Vec<f64>], priced: &[f64]) -> Vec<Answer> {
        let y: Vec<f64> = takes.iter().map(|t| t.iter().sum()).collect();
        let paid: f64 = y.iter().zip(priced).map(|(a, b)| a * b).sum();
        let first = self.zones[group[0]].area;
        group
            .iter()
            .map(|&zone| {
                let m = &self.zones[zone];
                let ratio = m.area / first;
                let eval = crate::hand::Eval { m, days: self.days, w: self.weights };
                let cost = if zone == group[0] {
                    s.value - paid
                } else {
                    eval.run(&crate::hand::Amounts::Exact(takes)).terms.sum()
                };
                Answer {
                    zone,
                    cost,
                    bound: cost + ratio * (paid + s.bound - s.value),
                    y: y.clone(),
                    takes: takes.to_vec(),
                }
            })
            .collect()
    }
}

/// Minutes depend on the cover before each visit, which depends on the plan: solved at the
/// cover of the plan before (`start`), then `again` times at the cover of its own solution.
pub(crate) fn share_minutes(
    g: &Ground<'_>,
    start: &Takes,
    cover: &dyn Fn(&Takes) -> Vec<Vec<f64>>,
    again: usize,
    solver: &dyn Solver,
) -> Result<Shared, SolverError> {
    let n = g.zones.len();
    let visits = g.zones.first().map_or(0, |z| z.at.len());
    let Some(max) = g.table.max_min else { return Err(SolverError::Infeasible) };
    let room: Vec<f64> = (0..visits).map(|i| g.minutes_room(i, max)).collect();
    let threads = rayon::current_num_threads().clamp(1, 4);
    std::thread::scope(|scope| {
        let (answers, incoming) = mpsc::channel::<Result<Answer, SolverError>>();
        let mut prices_to = Vec::new();
        for k in 0..threads {
            let (tx, prices) = mpsc::channel::<Arc<Vec<Vec<f64>>>>();
            prices_to.push(tx);
            let answers = answers.clone();
            scope.spawn(move || answer_prices(g, (k..g.groups.len()).step_by(threads), solver, &prices, &answers));
        }
        drop(answers);
        // Taking nothing always fits: a start that makes the master feasible.
        let mut known: Vec<Answer> = (0..n)
            .map(|z| {
                let m = &g.zones[z];
                let none: Vec<Vec<f64>> = (0..visits).map(|i| vec![0.0; m.classes_at(i)]).collect();
                let eval = crate::hand::Eval { m, days: g.days, w: g.weights };
                let cost = eval.run(&crate::hand::Amounts::Exact(&none)).terms.sum();
                Answer { zone: z, cost, bound: cost, y: vec![0.0; visits], takes: none }
            })
            .collect();
        let mut price = vec![0.0; visits];
        let mut visible = cover(start);
        for pass in 0..=again {
            let per_unit: Vec<Vec<f64>> = (0..n)
                .map(|z| (0..visits).map(|i| g.minutes_per_unit(&g.zones[z], i, visible[z][i])).collect())
                .collect();
            let mut bound = f64::NEG_INFINITY;
            let mut settled = None;
            let mut stalled = 0;
            let mut last = f64::INFINITY;
            for _ in 0..ROUNDS {
                let priced: Vec<Vec<f64>> =
                    per_unit.iter().map(|u| u.iter().zip(&price).map(|(a, p)| a * p).collect()).collect();
                let priced = Arc::new(priced);
                for tx in &prices_to {
                    let _ = tx.send(priced.clone());
                }
                let mut least: f64 = -room.iter().zip(&price).map(|(a, b)| a * b).sum::<f64>();
                // Answers arrive in any order; nothing may depend on it.
                let mut round = Vec::with_capacity(n);
                for _ in 0..n {
                    let a = incoming.recv().map_err(|_| SolverError::Stopped("a worker ended early".to_owned()))??;
                    round.push(a);
                }
                round.sort_by_key(|a| a.zone);
                least += round.iter().map(|a| a.bound).sum::<f64>();
                known.extend(round);
                bound = bound.max(least);
                known.sort_by_key(|a| a.zone);
                let (value, mix, next) = master(&known, n, &per_unit, &room, solver)?;
                price = next;
                // Rounding in the parts can keep value and bound a hair apart for ever.
                stalled = if last - value > 1e-10 { 0 } else { stalled + 1 };
                last = value;
                let close = if stalled >= 4 { 10.0 * CLOSE } else { CLOSE };
                if value - bound <= close * value.abs().max(1.0) {
                    settled = Some((value, mix));
                    break;
                }
            }
            let Some((value, mix)) = settled else {
                return Err(SolverError::Stopped("table minutes did not settle".to_owned()));
            };
            let takes = blend(g, &known, &mix);
            if pass == again {
                return Ok(Shared { value, bound: bound.min(value), takes, price, visible });
            }
            visible = cover(&takes);
        }
        Err(SolverError::Stopped("table minutes did not settle".to_owned()))
    })
}

/// A worker: keeps its groups' programmes open and answers each price.
fn answer_prices(
    g: &Ground<'_>,
    groups: impl Iterator<Item = usize>,
    solver: &dyn Solver,
    prices: &mpsc::Receiver<Arc<Vec<Vec<f64>>>>,
    answers: &mpsc::Sender<Result<Answer, SolverError>>,
) {
    let mut open = Vec::new();
    for group in groups.map(|k| &g.groups[k]) {
        match g.open(group[0], solver) {
            Ok(s) => open.push((group, s)),
            Err(e) => {
                let _ = answers.send(Err(e));
                return;
            }
        }
    }
    while let Ok(priced) = prices.recv() {
        for (group, zone) in &mut open {
            let per = &priced[group[0]];
            zone.price(per);
            match g.solve(zone) {
                Ok(s) => {
                    for a in g.members(group, &s, &zone.takes(&s.x), per) {
                        if answers.send(Ok(a)).is_err() {
                            return;
                        }
                    }
                }
                Err(e) => {
                    let _ = answers.send(Err(e));
                    return;
                }
            }
        }
    }
}

/// The best mix of the answers known, and the price of minutes that it implies.
fn master(
    known: &[Answer],
    zones: usize,
    per_unit: &[Vec<f64>],
    room: &[f64],
    solver: &dyn Solver,
) -> Result<(f64, Vec<f64>, Vec<f64>), SolverError> {
    let mut p = Programme::default();
    for a in known {
        p.column(a.cost, 0.0, f64::INFINITY);
    }
    for (i, r) in room.iter().enumerate() {
        let terms =
            known.iter().enumerate().filter(|(_, a)| a.y[i] > 0.0).map(|(k, a)| (k, a.y[i] * per_unit[a.zone][i]));
        p.row(f64::NEG_INFINITY, *r, terms.collect());
    }
    for z in 0..zones {
        let terms = known.iter().enumerate().filter(|(_, a)| a.zone == z).map(|(k, _)| (k, 1.0));
        p.row(1.0, 1.0, terms.collect());
    }
    let s = solver.open(p)?.minimise()?;
    let price = s.price[..room.len()].iter().map(|p| (-p).max(0.0)).collect();
    Ok((s.value, s.x, price))
}

/// The mix of the answers; zones of a group share theirs evenly, so that they stay alike.
fn blend(g: &Ground<'_>, known: &[Answer], mix: &[f64]) -> Takes {
    let mut takes: Takes = vec![Vec::new(); g.zones.len()];
    for group in g.groups {
        let area: f64 = group.iter().map(|z| g.zones[*z].area).sum();
        let mut sum: Vec<Vec<f64>> = Vec::new();
        for (a, &w) in known.iter().zip(mix).filter(|(a, w)| **w > 0.0 && group.contains(&a.zone)) {
            if sum.is_empty() {
                sum = a.takes.iter().map(|t| vec![0.0; t.len()]).collect();
            }
            let part = w * if area > 0.0 { g.zones[a.zone].area / area } else { 1.0 };
            for (t, s) in sum.iter_mut().zip(&a.takes) {
                for (x, y) in t.iter_mut().zip(s) {
                    *x += part * y;
                }
            }
        }
        for &z in group {
            takes[z].clone_from(&sum);
        }
    }
    takes
}
