//! Zones that share table minutes: the whole programme solved by parts.
//!
//! Zones are coupled by one row a visit only, so each keeps its own programme
//! open in the solver and answers to a price on minutes; a small master
//! programme mixes their answers and sets the prices (Dantzig & Wolfe 1960,
//! Operations Research 8:101-111). The mix is a solution of the whole programme,
//! the priced answers prove how good it is.

use crate::carding::Carding;
use crate::course::{Amounts, Eval};
use crate::programme::{Counted, Ground, Takes};
use crate::solver::{Optimum, Programme, Solver, SolverError};
use std::sync::{Arc, mpsc};

/// Stop when value and bound are this close, relative.
const CLOSE: f64 = 1e-7;
/// The same for a solution that only tells how minutes are counted next: nearer costs rounds and gains nothing.
const CLOSE_TO_COUNT: f64 = 3e-3;
const ROUNDS: usize = 400;
/// Rounds without gain after which value and bound are taken as they are.
const STUCK: usize = 80;

/// The whole programme's solution.
pub(crate) struct Shared {
    pub(crate) value: f64,
    pub(crate) bound: f64,
    pub(crate) takes: Takes,
    /// Cost saved per minute more, by visit.
    pub(crate) price: Vec<f64>,
    /// How minutes were counted.
    pub(crate) pass: Pass,
    /// The single plans that the solution mixes: zone, then takes by visit and class.
    pub(crate) mixed: Vec<(usize, Vec<Vec<f64>>)>,
}

/// How minutes are counted while the programme is solved once.
pub(crate) struct Pass {
    pub(crate) counted: Counted,
    pub(crate) carding: Carding,
    /// Minutes that one share of follicles costs, by zone and visit.
    per_unit: Vec<Vec<f64>>,
    /// Minutes of each visit that are left for pulling.
    room: Vec<f64>,
    /// The zones of each group, those together whose minutes count alike.
    parts: Vec<Vec<Vec<usize>>>,
}

impl Pass {
    /// Counts minutes at this cover, touching spread over these shares.
    pub(crate) fn new(g: &Ground<'_>, counted: Counted, carding: Carding, max: f64) -> Pass {
        let visits = g.zones.first().map_or(0, |z| z.at.len());
        let unit = |z: usize, i: usize| {
            g.minutes_per_unit(&g.zones[z], carding.carded[z][i], counted.visible[z][i], counted.spread[z][i])
        };
        let per_unit = (0..g.zones.len()).map(|z| (0..visits).map(|i| unit(z, i)).collect()).collect();
        let room = (0..visits).map(|i| g.minutes_room(i, &carding, max)).collect();
        let parts = g
            .groups
            .iter()
            .map(|group| {
                let mut parts: Vec<Vec<usize>> = Vec::new();
                for &z in group {
                    let alike = |p: &&mut Vec<usize>| {
                        carding.carded[p[0]] == carding.carded[z]
                            && counted.visible[p[0]] == counted.visible[z]
                            && counted.spread[p[0]] == counted.spread[z]
                    };
                    match parts.iter_mut().find(alike) {
                        Some(p) => p.push(z),
                        None => parts.push(vec![z]),
                    }
                }
                parts
            })
            .collect();
        Pass { counted, carding, per_unit, room, parts }
    }
}

/// What a solution under one count of minutes hands on to the next.
pub(crate) struct Found<'a> {
    pub(crate) takes: &'a Takes,
    /// Part of a zone's skin that is touched at each visit: 1, 0, or between where plans are mixed.
    pub(crate) touched: &'a [Vec<f64>],
    pub(crate) price: &'a [f64],
    pub(crate) spread: &'a [Vec<f64>],
}

/// What the workers are asked: by zone, what a share of follicles is to cost at each visit.
struct Ask {
    priced: Vec<Vec<f64>>,
    parts: Vec<Vec<Vec<usize>>>,
}

/// One zone's answer to a price.
pub(crate) struct Answer {
    pub(crate) zone: usize,
    /// Cost without the price, wool left out.
    pub(crate) cost: f64,
    /// Proven least priced cost.
    pub(crate) bound: f64,
    /// Shares of follicles taken at each visit.
    pub(crate) y: Vec<f64>,
    pub(crate) takes: Vec<Vec<f64>>,
}

impl Ground<'_> {
    /// What these zones answer when `solved`, a zone like them, has this optimum at this price.
    pub(crate) fn members(
        &self,
        solved: usize,
        zones: &[usize],
        s: &Optimum,
        takes: &[Vec<f64>],
        priced: &[f64],
    ) -> Vec<Answer> {
        let y: Vec<f64> = takes.iter().map(|t| t.iter().sum()).collect();
        let paid: f64 = y.iter().zip(priced).map(|(a, b)| a * b).sum();
        let answer = |&zone: &usize| {
            // All costs of a zone go by its area.
            let ratio = self.zones[zone].area / self.zones[solved].area;
            let takes = takes.to_vec();
            Answer { zone, cost: ratio * (s.value - paid), bound: ratio * s.bound, y: y.clone(), takes }
        };
        zones.iter().map(answer).collect()
    }

    /// The cost of taking nothing, and nothing taken.
    fn nothing(&self, zone: usize) -> Answer {
        let m = &self.zones[zone];
        let none: Vec<Vec<f64>> = (0..m.at.len()).map(|i| vec![0.0; m.classes_at(i)]).collect();
        let eval = Eval { m, days: self.days, w: self.weights, carded: &[], wool_sum: 0.0 };
        let cost = eval.run(&Amounts::Exact(&none)).terms.sum();
        Answer { zone, cost, bound: cost, y: vec![0.0; m.at.len()], takes: none }
    }
}

/// Minutes depend on the cover before each visit, which depends on the plan: solved as counted
/// by `first`, then `times` times as `again` counts them for the solution before and its prices.
pub(crate) fn share_minutes(
    g: &Ground<'_>,
    first: Pass,
    again: &dyn Fn(&Found<'_>) -> Pass,
    times: usize,
    solver: &dyn Solver,
) -> Result<Shared, SolverError> {
    let n = g.zones.len();
    let threads = rayon::current_num_threads().clamp(1, 4);
    std::thread::scope(|scope| {
        let (answers, incoming) = mpsc::channel::<Result<Answer, SolverError>>();
        let mut asks_to = Vec::new();
        for k in 0..threads {
            let (tx, asks) = mpsc::channel::<Arc<Ask>>();
            asks_to.push(tx);
            let answers = answers.clone();
            scope.spawn(move || answer_prices(g, (k..g.groups.len()).step_by(threads), solver, &asks, &answers));
        }
        drop(answers);
        // Taking nothing always fits: a start that makes the master feasible.
        let mut known: Vec<Answer> = (0..n).map(|z| g.nothing(z)).collect();
        let mut price = vec![0.0; first.room.len()];
        let mut pass = first;
        for turn in 0..=times {
            let mut bound = f64::NEG_INFINITY;
            let mut best = None;
            let mut best_price = price.clone();
            let mut stalled = 0;
            let mut last = f64::INFINITY;
            for _ in 0..ROUNDS {
                let priced = |u: &Vec<f64>| u.iter().zip(&price).map(|(a, p)| a * p).collect();
                let priced: Vec<Vec<f64>> = pass.per_unit.iter().map(priced).collect();
                let ask = Arc::new(Ask { priced, parts: pass.parts.clone() });
                for tx in &asks_to {
                    let _ = tx.send(ask.clone());
                }
                let mut least: f64 = -pass.room.iter().zip(&price).map(|(a, b)| a * b).sum::<f64>();
                // Answers arrive in any order; nothing may depend on it.
                let mut round = Vec::with_capacity(n);
                for _ in 0..n {
                    let a = incoming.recv().map_err(|_| SolverError::Stopped("a worker ended early".to_owned()))??;
                    round.push(a);
                }
                round.sort_by_key(|a| a.zone);
                least += round.iter().map(|a| a.bound).sum::<f64>();
                // What is known already helps nobody.
                round.retain(|a| !known.iter().any(|k| k.zone == a.zone && k.y == a.y));
                known.extend(round);
                if least > bound {
                    bound = least;
                    best_price.clone_from(&price);
                }
                known.sort_by_key(|a| a.zone);
                let (value, mix, next) = master(&known, n, &pass.per_unit, &pass.room, solver)?;
                // Between the price of the best bound and the newest: prices that swing from end to end
                // would never meet.
                price = if stalled % 2 == 1 {
                    best_price.iter().zip(&next).map(|(a, b)| (a + b) / 2.0).collect()
                } else {
                    next
                };
                // Rounding in the parts can keep value and bound a hair apart for ever.
                stalled = if last - value > 1e-10 { 0 } else { stalled + 1 };
                last = value;
                best = Some((value, mix));
                let close = if turn < times {
                    CLOSE_TO_COUNT
                } else if stalled >= 4 {
                    10.0 * CLOSE
                } else {
                    CLOSE
                };
                if value - bound <= close * value.abs().max(1.0) || stalled >= STUCK {
                    break;
                }
            }
            // Where value and bound did not meet, the gap between them is reported with the plan.
            let Some((value, mix)) = best else {
                return Err(SolverError::Stopped("table minutes did not settle".to_owned()));
            };
            let (takes, touched) = blend(g, &pass.parts, &known, &mix);
            if turn == times {
                let used = known.iter().zip(&mix).filter(|(_, w)| **w > 1e-6);
                let mixed = used.map(|(a, _)| (a.zone, a.takes.clone())).collect();
                return Ok(Shared { value, bound: bound.min(value), takes, price, pass, mixed });
            }
            pass = again(&Found { takes: &takes, touched: &touched, price: &price, spread: &pass.counted.spread });
        }
        Err(SolverError::Stopped("table minutes did not settle".to_owned()))
    })
}

/// A worker: keeps its groups' programmes open and answers each price.
fn answer_prices(
    g: &Ground<'_>,
    groups: impl Iterator<Item = usize>,
    solver: &dyn Solver,
    asks: &mpsc::Receiver<Arc<Ask>>,
    answers: &mpsc::Sender<Result<Answer, SolverError>>,
) {
    let mut open = Vec::new();
    for k in groups {
        match g.open(g.groups[k][0], solver) {
            Ok(s) => open.push((k, s)),
            Err(e) => {
                let _ = answers.send(Err(e));
                return;
            }
        }
    }
    while let Ok(ask) = asks.recv() {
        for (k, session) in &mut open {
            for part in &ask.parts[*k] {
                // The group's programme stands for a zone of its first one's size.
                let solved = g.groups[*k][0];
                let size = g.zones[solved].area / g.zones[part[0]].area;
                let per: Vec<f64> = ask.priced[part[0]].iter().map(|p| size * p).collect();
                session.price(&per);
                match g.solve(session) {
                    Ok(s) => {
                        for a in g.members(solved, part, &s, &session.takes(&s.x), &per) {
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

/// The mix of the answers; zones that count alike share theirs evenly, so that they stay alike.
fn blend(g: &Ground<'_>, parts: &[Vec<Vec<usize>>], known: &[Answer], mix: &[f64]) -> (Takes, Vec<Vec<f64>>) {
    let mut takes: Takes = vec![Vec::new(); g.zones.len()];
    let mut touched = vec![Vec::new(); g.zones.len()];
    for group in parts.iter().flatten() {
        let area: f64 = group.iter().map(|z| g.zones[*z].area).sum();
        let mut sum: Vec<Vec<f64>> = Vec::new();
        let mut touch: Vec<f64> = Vec::new();
        for (a, &w) in known.iter().zip(mix).filter(|(a, w)| **w > 0.0 && group.contains(&a.zone)) {
            if sum.is_empty() {
                sum = a.takes.iter().map(|t| vec![0.0; t.len()]).collect();
                touch = vec![0.0; a.y.len()];
            }
            let part = w * if area > 0.0 { g.zones[a.zone].area / area } else { 1.0 };
            for (t, s) in sum.iter_mut().zip(&a.takes) {
                for (x, y) in t.iter_mut().zip(s) {
                    *x += part * y;
                }
            }
            for (t, y) in touch.iter_mut().zip(&a.y) {
                *t += if *y > 1e-6 { part } else { 0.0 };
            }
        }
        for &z in group {
            takes[z].clone_from(&sum);
            touched[z].clone_from(&touch);
        }
    }
    (takes, touched)
}
