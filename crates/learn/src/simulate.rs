//! Readings drawn from the model itself, for calibration: what the posterior says of such data must be right.

use crate::chance::rng;
use crate::params::{DIM, Logs};
use crate::patch::patches;
use crate::posterior::{Case, LearnError};
use crate::reading::Reading;
use coat::Zone;
use rand_distr::{Distribution, StandardNormal};

/// A dog drawn from the prior, with readings drawn from the likelihood.
pub struct Simulated {
    /// The case's readings, with answers drawn anew; those that say nothing are left out.
    pub readings: Vec<Reading>,
    /// The true logarithms, by a zone of each patch.
    pub truth: Vec<(Zone, Logs)>,
    /// The true part of the dog.
    pub dog: Logs,
}

/// Draws values from the case's prior and an answer for each of its readings, which serve as patterns.
///
/// # Errors
/// [`LearnError`] when the history contradicts itself under the values drawn.
pub fn simulate(case: &Case<'_>, seed: u64) -> Result<Simulated, LearnError> {
    let mut r = rng(seed, 1 << 30);
    let prior = &case.prior;
    let dog: Logs = std::array::from_fn(|k| {
        let z: f64 = StandardNormal.sample(&mut r);
        prior.centre[k] + prior.dog_sd[k] * z
    });
    let begin = case.dog.history.first().map_or(case.dog.born, |h| h.0);
    let calendar = case.dog.lag_calendar(begin - 600, case.today + 1200);
    let (patches, _) = patches(case.dog, case.readings, case.today);
    let mut out: Vec<(usize, Reading)> = Vec::new();
    let mut truth = Vec::new();
    for p in &patches {
        let x: Logs = std::array::from_fn(|k| {
            let z: f64 = StandardNormal.sample(&mut r);
            dog[k] + prior.zone_sd[k] * z
        });
        let values = p.exact(case.dog, calendar.as_ref(), &x)?;
        let growth = if p.dims < DIM { x[4].exp() } else { 1.0 };
        for read in &p.reads {
            if out.iter().all(|o| o.0 != read.index) {
                let what = read.what.drawn(&read.sight(&values, growth), &mut r);
                out.push((read.index, Reading { what, ..case.readings[read.index].clone() }));
            }
        }
        truth.push((p.zones[0], x));
    }
    out.sort_by_key(|o| o.0);
    Ok(Simulated { readings: out.into_iter().map(|o| o.1).collect(), truth, dog })
}
