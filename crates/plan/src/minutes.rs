//! Zones that share table minutes: the whole programme solved by parts.
//!
//! Zones are coupled by one row a visit only, so each keeps its own programme
//! open in the solver and answers to a price on minutes; a small master
//! programme mixes their answers and sets the prices (Dantzig & Wolfe 1960,
//! Operations Research 8:101-111). The mix is a solution of the whole programme,
//! the priced answers prove how good it is.

use crate::programme::{Ground, Takes};
use crate::solver::{Programme, Solver, SolverError};
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
struct Answer {
    zone: usize,
    /// Cost without the price.
    cost: f64,
    /// Proven least priced cost.
    bound: f64,
    /// Shares of follicles taken at each visit.
    y: Vec<f64>,
    takes: Vec<Vec<f64>>,
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
            scope.spawn(move || answer_prices(g, (k..n).step_by(threads), solver, &prices, &answers));
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
            for _ in 0..ROUNDS {
                let priced: Vec<Vec<f64>> =
                    per_unit.iter().map(|u| u.iter().zip(&price).map(|(a, p)| a * p).collect()).collect();
                let priced = Arc::new(priced);
                for tx in &prices_to {
                    let _ = tx.send(priced.clone());
                }
                let mut least: f64 = -room.iter().zip(&price).map(|(a, b)| a * b).sum::<f64>();
                for _ in 0..n {
                    let a = incoming.recv().map_err(|_| SolverError::Stopped("a worker ended early".to_owned()))??;
                    least += a.bound;
                    known.push(a);
                }
                bound = bound.max(least);
                // Answers arrive in any order; the mix must not depend on it.
                known.sort_by_key(|a| a.zone);
                let (value, mix, next) = master(&known, n, &per_unit, &room, solver)?;
                price = next;
                if value - bound <= CLOSE * value.abs().max(1.0) {
                    settled = Some((value, mix));
                    break;
                }
            }
            let Some((value, mix)) = settled else {
                return Err(SolverError::Stopped("table minutes did not settle".to_owned()));
            };
            let takes = blend(&known, &mix, n);
            if pass == again {
                return Ok(Shared { value, bound: bound.min(value), takes, price, visible });
            }
            visible = cover(&takes);
        }
        Err(SolverError::Stopped("table minutes did not settle".to_owned()))
    })
}

/// A worker: keeps its zones' programmes open and answers each price.
fn answer_prices(
    g: &Ground<'_>,
    zones: impl Iterator<Item = usize>,
    solver: &dyn Solver,
    prices: &mpsc::Receiver<Arc<Vec<Vec<f64>>>>,
    answers: &mpsc::Sender<Result<Answer, SolverError>>,
) {
    let mut open = Vec::new();
    for z in zones {
        match g.open(z, solver) {
            Ok(s) => open.push((z, s)),
            Err(e) => {
                let _ = answers.send(Err(e));
                return;
            }
        }
    }
    while let Ok(priced) = prices.recv() {
        for (z, zone) in &mut open {
            let per = &priced[*z];
            zone.price(per);
            let answer = g.solve(zone).map(|s| {
                let takes = zone.takes(&s.x);
                let y: Vec<f64> = takes.iter().map(|t| t.iter().sum()).collect();
                let paid: f64 = y.iter().zip(per).map(|(a, b)| a * b).sum();
                Answer { zone: *z, cost: s.value - paid, bound: s.bound, y, takes }
            });
            if answers.send(answer).is_err() {
                return;
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
        let terms = known
            .iter()
            .enumerate()
            .filter(|(_, a)| a.y[i] > 0.0)
            .map(|(k, a)| (k, a.y[i] * per_unit[a.zone][i]));
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

fn blend(known: &[Answer], mix: &[f64], zones: usize) -> Takes {
    let mut takes: Takes = vec![Vec::new(); zones];
    for (a, &w) in known.iter().zip(mix) {
        if w <= 0.0 {
            continue;
        }
        let into = &mut takes[a.zone];
        if into.is_empty() {
            *into = a.takes.iter().map(|t| vec![0.0; t.len()]).collect();
        }
        for (t, s) in into.iter_mut().zip(&a.takes) {
            for (x, y) in t.iter_mut().zip(s) {
                *x += w * y;
            }
        }
    }
    takes
}
