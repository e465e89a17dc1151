//! Coverage of windows and intervals on a simulated shop of single-follicle dogs, with gaps, rounding, wrong
//! entries and one dog in twenty that changes half-way.

use super::record::Record;
use crate::study::ZONE;
use learn::{Case, DIM, Effort, Prior};
use rayon::prelude::*;

/// Visits before the window is asked for.
const VISITS: i32 = 10;

/// What held of one dog.
pub struct Found {
    /// Whether the day was in the window of the next layer; none where there is no next layer.
    pub window: Option<bool>,
    /// Whether the true values were in their intervals.
    pub values: [bool; DIM],
    /// Whether the dog changed.
    pub changing: bool,
}

fn one(seed: u64) -> Option<Found> {
    let changing = seed.is_multiple_of(20);
    let r = Record::of(seed, VISITS, changing.then_some(VISITS / 2));
    let (prior, effort) = (Prior::STANDARD, Effort::VISIT);
    let case = Case { dog: &r.dog, readings: &r.readings, today: r.today, prior, seed, effort };
    let l = learn::learn(&case).ok()?;
    let z = l.zone(ZONE)?;
    let real = r.values();
    let values = std::array::from_fn(|k| (z.params[k].low..=z.params[k].high).contains(&real[k]));
    let window = l.windows().into_iter().find(|w| w.zone == ZONE).map(|w| {
        // A layer that is ready by now is within a window that begins today.
        (w.from..=w.until).contains(&r.ready(w.begun, seed).max(r.today))
    });
    Some(Found { window, values, changing })
}

/// `n` dogs, seeds from `first` on.
pub fn coverage_from(first: u64, n: u64) -> Vec<Found> {
    (0..n).into_par_iter().filter_map(|i| one(first + i)).collect()
}

/// A share with its standard error.
#[derive(Clone, Copy, Debug)]
pub struct Share {
    /// Of how many.
    pub n: usize,
    /// The share.
    pub at: f64,
}

impl Share {
    /// Of these.
    pub fn of(v: impl IntoIterator<Item = bool>) -> Self {
        let (mut n, mut yes) = (0, 0);
        for x in v {
            n += 1;
            yes += usize::from(x);
        }
        Share { n, at: yes as f64 / n.max(1) as f64 }
    }

    /// Standard error.
    pub fn se(&self) -> f64 {
        (self.at * (1.0 - self.at) / self.n.max(1) as f64).sqrt()
    }
}
