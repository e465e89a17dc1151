//! Is a dog noticed whose coat changes half-way, and how often is one suspected that does not?

use super::record::Record;
use learn::{Case, Change, Effort, Prior};
use rayon::prelude::*;

/// Visits of a record before the change.
pub const BEFORE: i32 = 8;

/// The change found `after` visits past the true one, over `n` dogs; for dogs that do not change at the same visit.
pub fn changes(n: u64, after: i32, change: bool) -> Vec<Option<Change>> {
    (0..n)
        .into_par_iter()
        .filter_map(|i| {
            let seed = 300_000 + i;
            let r = Record::of(seed, BEFORE + after, change.then_some(BEFORE));
            let (prior, effort) = (Prior::STANDARD, Effort::VISIT);
            let case = Case { dog: &r.dog, readings: &r.readings, today: r.today, prior, seed, effort };
            learn::learn(&case).ok()?.change().ok()
        })
        .collect()
}
