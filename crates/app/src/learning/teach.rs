//! Which one reading at the next visit would teach most: the expected fall of the plan's cost.
//!
//! Plans are made for some draws of the posterior and priced under all of them, in one zone of each
//! group of zones that are alike. With a reading the draws weigh differently and another plan may be
//! the best; how much the cost then falls, averaged over what the reading could say, is its worth.
//! Only the plans of the list are compared, so the worth is a lower bound.
//!
//! # Reference
//! Expected value of sample information: Raiffa & Schlaifer 1961, *Applied Statistical Decision Theory*.

use crate::dog_file::DogFile;
use crate::model;
use crate::planning::Failure;
use coat::{Day, Zone};
use learn::{Kind, Learned};
use plan::{Amount, Planner, Request, Solver};
use rayon::prelude::*;

/// Draws under which plans are priced.
const DRAWS: usize = 24;
/// Plans that are compared.
const PLANS: usize = 6;
/// How far plans look, days from the next visit.
const AHEAD_D: i32 = 84;

/// What a reading is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// The zones (alike so far), any of which will do.
    pub zones: Vec<Zone>,
    /// The kind of reading.
    pub kind: Kind,
    /// Expected fall of the plan's cost, in its units.
    pub fall: f64,
    /// The same as a share of the cost expected without it.
    pub of_cost: f64,
}

/// Readings at a visit on `next`, most worth first; empty where no plan is possible.
///
/// # Errors
/// [`Failure`] when the history contradicts itself or the solver gives up.
pub fn worth(
    file: &DogFile,
    learned: &Learned,
    next: Day,
    seed: u64,
    solver: &(dyn Solver + Sync),
) -> Result<Vec<Worth>, Failure> {
    let n = learned.draw_count();
    if n == 0 {
        return Ok(Vec::new());
    }
    let draws: Vec<usize> = (0..DRAWS).map(|i| i * n / DRAWS).collect();
    let rhythm = file.rhythm_days.unwrap_or(21);
    let dog = model::dog(file, rhythm);
    let foretold = learn::foretell(learned, next, &draws)
        .map_err(|e| Failure::Option { message: e.to_string(), hint: String::new() })?;
    let mut chosen: Vec<Zone> = foretold.candidates.iter().map(|c| c.zones[0]).collect();
    chosen.sort_unstable();
    chosen.dedup();
    let mut dogs = vec![learned.dog_at_mean(&dog)];
    dogs.extend(learned.dogs_at(&dog, &draws));
    for d in &mut dogs {
        d.zones.retain(|z| chosen.contains(&z.zone));
        d.history.retain(|h| h.0 <= learned.today());
    }
    let visits = model::visit_days(next, next + AHEAD_D, rhythm, &[]);
    if visits.is_empty() {
        return Ok(Vec::new());
    }
    let request = Request {
        today: next,
        until: next + AHEAD_D,
        visits,
        matter: Vec::new(),
        table: model::table(file, &dog, None),
        weights: file.weights,
    };
    let request = Request { table: plan::Table { max_min: None, ..request.table }, ..request };
    let planners: Vec<Result<Planner<'_>, Failure>> = dogs
        .par_iter()
        .map(|d| {
            let coat = d.coat_on(next).map_err(|e| crate::planning::history_failure(file, e))?;
            Ok(Planner::new(d, &coat, &request)?)
        })
        .collect();
    let mut under = Vec::with_capacity(planners.len());
    for p in planners {
        under.push(p?);
    }
    // Plans for the mean and for draws spread over the posterior.
    let mut plans: Vec<Vec<Vec<Amount>>> = Vec::new();
    for k in 0..PLANS {
        let i = if k == 0 { 0 } else { 1 + (k - 1) * DRAWS / (PLANS - 1) };
        let plan = under[i].plan(solver)?;
        let amounts: Vec<Vec<Amount>> = dogs[i]
            .zones
            .iter()
            .map(|z| {
                let of = |v: &plan::PlannedVisit| {
                    v.zones.iter().find(|p| p.zone == z.zone).map_or(Amount::Leave, |p| p.amount)
                };
                plan.visits.iter().map(of).collect()
            })
            .collect();
        if !plans.contains(&amounts) {
            plans.push(amounts);
        }
    }
    // cost[plan][draw]; a plan that cannot be done under a draw is done as far as that draw's hair allows:
    // priced as that draw's own dearest plan.
    let cost: Vec<Vec<f64>> =
        plans.iter().map(|p| under[1..].iter().map(|u| u.cost_of_hand(p).unwrap_or(f64::NAN)).collect()).collect();
    let dearest: Vec<f64> = (0..DRAWS)
        .map(|s| cost.iter().map(|c| c[s]).filter(|c| c.is_finite()).fold(f64::NEG_INFINITY, f64::max))
        .collect();
    let cost: Vec<Vec<f64>> = cost
        .into_iter()
        .map(|c| c.into_iter().zip(&dearest).map(|(v, d)| if v.is_finite() { v } else { *d }).collect())
        .collect();
    let usable: Vec<usize> = (0..DRAWS).filter(|s| dearest[*s].is_finite()).collect();
    if usable.is_empty() {
        return Ok(Vec::new());
    }
    let best = |weights: &[f64]| -> f64 {
        cost.iter().map(|c| usable.iter().map(|s| weights[*s] * c[*s]).sum::<f64>()).fold(f64::INFINITY, f64::min)
    };
    let even = vec![1.0 / usable.len() as f64; DRAWS];
    let without = best(&even);
    let mut out: Vec<Worth> = foretold
        .candidates
        .iter()
        .enumerate()
        .map(|(c, candidate)| {
            let answers = foretold.answers(c, seed);
            let with: f64 = usable
                .iter()
                .map(|a| {
                    let most = usable.iter().map(|s| answers[*a][*s]).fold(f64::NEG_INFINITY, f64::max);
                    let mut w: Vec<f64> = answers[*a].iter().map(|l| (l - most).exp()).collect();
                    let sum: f64 = usable.iter().map(|s| w[*s]).sum();
                    w.iter_mut().for_each(|x| *x /= sum);
                    best(&w)
                })
                .sum::<f64>()
                / usable.len() as f64;
            let fall = (without - with).max(0.0);
            Worth { zones: candidate.zones.clone(), kind: candidate.kind, fall, of_cost: fall / without.max(1e-9) }
        })
        .collect();
    out.sort_by(|a, b| b.fall.total_cmp(&a.fall));
    Ok(out)
}
