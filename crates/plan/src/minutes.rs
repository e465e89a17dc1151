//! Zones that share table minutes: the whole programme solved by parts.
//!
//! Zones are coupled by one row a visit only, so each keeps its own programme
//! open in the solver and answers to a price on minutes; a small master
//! programme mixes their answers and sets the prices (Dantzig & Wolfe 1960,
//! Operations Research 8:101-111). The mix is a solution of the whole programme,
//! the priced answers prove how good it is. Zones that are the same but for their
//! size answer once.

use crate::carding::Carding;
use crate::course::{Amounts, Eval};
use crate::master::{Known, Master};
use crate::programme::{Counted, Ground, Takes, ZoneProgramme};
use crate::solver::{Optimum, Solver, SolverError};
use rayon::prelude::*;
use std::sync::{Arc, mpsc};

/// Stop when value and bound are this close, relative.
const CLOSE: f64 = 5e-7;
/// The same for a solution that only tells how minutes are counted next: nearer costs rounds and gains nothing.
const CLOSE_TO_COUNT: f64 = 6e-3;
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

/// A group's answer to a price: the plan of its first zone.
#[derive(Clone)]
pub(crate) struct Answer {
    pub(crate) group: usize,
    /// Which of the group's parts was asked for.
    part: usize,
    /// Cost without the price, wool left out.
    pub(crate) cost: f64,
    /// Proven least priced cost.
    pub(crate) bound: f64,
    /// Shares of follicles taken at each visit.
    y: Vec<f64>,
    pub(crate) takes: Vec<Vec<f64>>,
}

impl Answer {
    /// The optimum of a group's programme at this price of a share of follicles.
    pub(crate) fn new(group: usize, part: usize, s: &Optimum, takes: Vec<Vec<f64>>, priced: &[f64]) -> Answer {
        let y: Vec<f64> = takes.iter().map(|t| t.iter().sum()).collect();
        let paid: f64 = y.iter().zip(priced).map(|(a, b)| a * b).sum();
        Answer { group, part, cost: s.value - paid, bound: s.bound, y, takes }
    }
}

impl Ground<'_> {
    /// Skin of these zones in units of the first zone of their group. All costs of a zone go by its skin.
    pub(crate) fn size(&self, group: usize, zones: &[usize]) -> f64 {
        zones.iter().map(|z| self.zones[*z].area).sum::<f64>() / self.zones[self.groups[group][0]].area
    }

    /// The cost of taking nothing, and nothing taken.
    fn nothing(&self, group: usize) -> Answer {
        let m = &self.zones[self.groups[group][0]];
        let none: Vec<Vec<f64>> = (0..m.at.len()).map(|i| vec![0.0; m.classes_at(i)]).collect();
        let eval = Eval { m, days: self.days, w: self.weights, carded: &[], wool_sum: 0.0 };
        let cost = eval.run(&Amounts::Exact(&none)).terms.sum();
        Answer { group, part: 0, cost, bound: cost, y: vec![0.0; m.at.len()], takes: none }
    }
}

/// Whether minutes bind, and the plan.
pub(crate) enum Minutes {
    /// The plans of the groups by themselves, which need no limit.
    Free(Vec<Answer>),
    Bind(Box<Shared>),
}

/// Workers that keep the groups' programmes open, each its own.
struct Workers<'a> {
    asks: Vec<mpsc::Sender<Arc<Ask>>>,
    answers: mpsc::Receiver<Result<Answer, SolverError>>,
    g: &'a Ground<'a>,
}

impl Workers<'_> {
    /// Every part's answer to what a share of follicles of each zone is to cost; in a fixed order, whoever came first.
    fn answers(&self, priced: Vec<Vec<f64>>, parts: &[Vec<Vec<usize>>]) -> Result<Vec<Answer>, SolverError> {
        let ask = Arc::new(Ask { priced, parts: parts.to_vec() });
        for to in &self.asks {
            let _ = to.send(ask.clone());
        }
        let n = parts.iter().map(Vec::len).sum();
        let mut round = Vec::with_capacity(n);
        for _ in 0..n {
            let a = self.answers.recv().map_err(|_| SolverError::Stopped("a worker ended early".to_owned()))??;
            round.push(a);
        }
        round.sort_by_key(|a| (a.group, a.part));
        Ok(round)
    }

    /// The plans of the groups by themselves.
    fn apart(&self) -> Result<Vec<Answer>, SolverError> {
        let free = self.g.zones.iter().map(|m| vec![0.0; m.at.len()]).collect();
        let whole: Vec<Vec<Vec<usize>>> = self.g.groups.iter().map(|group| vec![group.clone()]).collect();
        self.answers(free, &whole)
    }
}

/// Runs `work` beside workers that have the groups' programmes open.
fn with_workers<T>(
    g: &Ground<'_>,
    solver: &dyn Solver,
    work: impl FnOnce(&Workers<'_>) -> Result<T, SolverError>,
) -> Result<T, SolverError> {
    let shifts = shifts(g, rayon::current_num_threads().clamp(1, 4));
    std::thread::scope(|scope| {
        let (to, answers) = mpsc::channel::<Result<Answer, SolverError>>();
        let mut asks = Vec::new();
        for groups in shifts {
            let (ask, asked) = mpsc::channel::<Arc<Ask>>();
            asks.push(ask);
            let to = to.clone();
            scope.spawn(move || answer_prices(g, groups, solver, &asked, &to));
        }
        drop(to);
        work(&Workers { asks, answers, g })
    })
}

/// The groups of each worker with their programmes: the largest first, each to who has least. The time of a programme
/// goes by its rows.
fn shifts(g: &Ground<'_>, workers: usize) -> Vec<Vec<(usize, ZoneProgramme)>> {
    let build = |(k, zones): (usize, &Vec<usize>)| (k, g.build(zones[0]));
    let mut built: Vec<(usize, ZoneProgramme)> = g.groups.par_iter().enumerate().map(build).collect();
    built.sort_by_key(|(_, p)| std::cmp::Reverse(p.rows()));
    let mut shifts: Vec<(usize, Vec<(usize, ZoneProgramme)>)> = (0..workers).map(|_| (0, Vec::new())).collect();
    for (k, p) in built {
        if let Some(least) = shifts.iter_mut().min_by_key(|s| s.0) {
            least.0 += p.rows();
            least.1.push((k, p));
        }
    }
    shifts.into_iter().map(|s| s.1).collect()
}

/// Minutes depend on the cover before each visit, which depends on the plan. Solved without a limit first; `first`
/// counts the minutes for that, and tells by none that they need no limit. Then solved as counted, and `times` times
/// as `again` counts them for the solution before and its prices.
pub(crate) fn share_minutes(
    g: &Ground<'_>,
    first: impl FnOnce(&Takes) -> Option<Pass>,
    again: &dyn Fn(&Found<'_>) -> Pass,
    times: usize,
    solver: &dyn Solver,
) -> Result<Minutes, SolverError> {
    with_workers(g, solver, |workers| {
        let apart = workers.apart()?;
        let Some(mut pass) = first(&each_zone(g, &apart)) else { return Ok(Minutes::Free(apart)) };
        // Taking nothing always fits: a start that makes the master feasible.
        let mut known: Vec<Answer> = (0..g.groups.len()).map(|k| g.nothing(k)).collect();
        known.extend(apart);
        let mut price = None;
        for turn in 0..=times {
            let close = if turn < times { CLOSE_TO_COUNT } else { CLOSE };
            let solved = settle(g, workers, &pass, &mut known, price.take(), close, solver)?;
            if turn == times {
                return Ok(Minutes::Bind(Box::new(solved.shared(pass))));
            }
            let spread = &pass.counted.spread;
            let found = Found { takes: &solved.takes, touched: &solved.touched, price: &solved.price, spread };
            pass = again(&found);
            price = Some(solved.price);
        }
        Err(SolverError::Stopped("table minutes did not settle".to_owned()))
    })
}

/// What each zone takes by the plan of its group.
pub(crate) fn each_zone(g: &Ground<'_>, answers: &[Answer]) -> Takes {
    let mut takes = vec![Vec::new(); g.zones.len()];
    for a in answers {
        for &z in &g.groups[a.group] {
            takes[z].clone_from(&a.takes);
        }
    }
    takes
}

/// A solution under one count of minutes.
struct Solved {
    value: f64,
    bound: f64,
    price: Vec<f64>,
    takes: Takes,
    touched: Vec<Vec<f64>>,
    mixed: Vec<(usize, Vec<Vec<f64>>)>,
}

impl Solved {
    fn shared(self, pass: Pass) -> Shared {
        let Solved { value, bound, price, takes, mixed, .. } = self;
        Shared { value, bound: bound.min(value), takes, price, pass, mixed }
    }
}

/// Prices and answers in turn until value and bound meet; what is learned is added to `known`.
fn settle(
    g: &Ground<'_>,
    workers: &Workers<'_>,
    pass: &Pass,
    known: &mut Vec<Answer>,
    price: Option<Vec<f64>>,
    close: f64,
    solver: &dyn Solver,
) -> Result<Solved, SolverError> {
    let parts: Vec<(usize, &Vec<usize>)> =
        pass.parts.iter().enumerate().flat_map(|(k, parts)| parts.iter().map(move |p| (k, p))).collect();
    let minutes = |part: &[usize], a: &Answer| -> Vec<f64> {
        (0..a.y.len()).map(|i| a.y[i] * part.iter().map(|z| pass.per_unit[*z][i]).sum::<f64>()).collect()
    };
    // A plan is as good for every part of its group: a row of the master for each.
    let rows = |plan: usize, a: &Answer| -> Vec<Known> {
        let of_group = parts.iter().enumerate().filter(|(_, (k, _))| *k == a.group);
        of_group
            .map(|(part, (k, zones))| Known { part, plan, cost: g.size(*k, zones) * a.cost, min: minutes(zones, a) })
            .collect()
    };
    let start = known.iter().enumerate().flat_map(|(n, a)| rows(n, a));
    let mut master = Master::open(&pass.room, parts.len(), f64::INFINITY, start, solver)?;

    let mut mixed = master.mix()?;
    let mut price = price.unwrap_or_else(|| mixed.price.clone());
    let (mut bound, mut best_price) = (f64::NEG_INFINITY, price.clone());
    let mut stalled = 0;
    for _ in 0..ROUNDS {
        let priced = |u: &Vec<f64>| u.iter().zip(&price).map(|(a, p)| a * p).collect();
        let round = workers.answers(pass.per_unit.iter().map(priced).collect(), &pass.parts)?;
        let free: f64 = pass.room.iter().zip(&price).map(|(a, b)| a * b).sum();
        let least = round.iter().map(|a| g.size(a.group, &pass.parts[a.group][a.part]) * a.bound).sum::<f64>() - free;
        if least > bound {
            bound = least;
            best_price.clone_from(&price);
        }
        for a in round {
            // What is known already helps nobody.
            if known.iter().all(|k| k.group != a.group || k.y != a.y) {
                for k in rows(known.len(), &a) {
                    master.add(&k)?;
                }
                known.push(a);
            }
        }
        let last = mixed.value;
        mixed = master.mix()?;
        // Between the price of the best bound and the newest: prices that swing from end to end
        // would never meet.
        price = if stalled % 2 == 1 {
            best_price.iter().zip(&mixed.price).map(|(a, b)| (a + b) / 2.0).collect()
        } else {
            mixed.price.clone()
        };
        // Rounding in the parts can keep value and bound a hair apart for ever. Where they do not meet,
        // the gap between them is reported with the plan.
        stalled = if last - mixed.value > 1e-10 { 0 } else { stalled + 1 };
        let close = if stalled >= 4 { close.max(2.0 * CLOSE) } else { close };
        if mixed.value - bound <= close * mixed.value.abs() || stalled >= STUCK {
            break;
        }
    }
    let mut out = Solved {
        value: mixed.value,
        bound,
        price,
        takes: vec![Vec::new(); g.zones.len()],
        touched: vec![Vec::new(); g.zones.len()],
        mixed: Vec::new(),
    };
    for (p, (_, zones)) in parts.iter().enumerate() {
        let used = mixed.used.iter().filter(|u| u.part == p);
        let used: Vec<(&Answer, f64)> = used.map(|u| (&known[u.plan], u.share)).collect();
        let (takes, touched) = blend(&used);
        let single = used.iter().filter(|(_, share)| *share > 1e-6);
        out.mixed.extend(single.map(|(a, _)| (zones[0], a.takes.clone())));
        for &z in *zones {
            out.takes[z].clone_from(&takes);
            out.touched[z].clone_from(&touched);
        }
    }
    Ok(out)
}

/// A worker: keeps its groups' programmes open and answers each price.
fn answer_prices(
    g: &Ground<'_>,
    groups: Vec<(usize, ZoneProgramme)>,
    solver: &dyn Solver,
    asks: &mpsc::Receiver<Arc<Ask>>,
    answers: &mpsc::Sender<Result<Answer, SolverError>>,
) {
    let mut open = Vec::new();
    for (k, built) in groups {
        match g.open(built, solver) {
            Ok(s) => open.push((k, s)),
            Err(e) => {
                let _ = answers.send(Err(e));
                return;
            }
        }
    }
    while let Ok(ask) = asks.recv() {
        for (k, session) in &mut open {
            for (p, part) in ask.parts[*k].iter().enumerate() {
                // The group's programme stands for a zone of its first one's size.
                let size = g.zones[g.groups[*k][0]].area / g.zones[part[0]].area;
                let per: Vec<f64> = ask.priced[part[0]].iter().map(|p| size * p).collect();
                session.price(&per);
                let answer = g.solve(session).map(|s| Answer::new(*k, p, &s, session.takes(&s.x), &per));
                let failed = answer.is_err();
                if answers.send(answer).is_err() || failed {
                    return;
                }
            }
        }
    }
}

/// The mix of one part's plans: what is taken, and the part of the skin that is touched at each visit.
fn blend(used: &[(&Answer, f64)]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let Some((first, _)) = used.first() else { return (Vec::new(), Vec::new()) };
    let mut sum: Vec<Vec<f64>> = first.takes.iter().map(|t| vec![0.0; t.len()]).collect();
    let mut touched = vec![0.0; first.y.len()];
    for (a, share) in used {
        for (sum, takes) in sum.iter_mut().zip(&a.takes) {
            for (x, y) in sum.iter_mut().zip(takes) {
                *x += share * y;
            }
        }
        for (t, y) in touched.iter_mut().zip(&a.y) {
            *t += if *y > 1e-6 { *share } else { 0.0 };
        }
    }
    (sum, touched)
}
