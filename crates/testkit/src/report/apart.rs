//! Which values the kinds of reading can and cannot tell apart: what is left of the prior's spread, and which
//! two values stay tied together, on readings drawn from the model.

use super::calibration::pattern;
use crate::study::{RHYTHM_D, ZONE, first_day};
use learn::{Case, DIM, Effort, Logs, Prior, mean_sd, simulate};
use rayon::prelude::*;

/// The kinds looked at: the words of the table, and of the readings; none are all.
pub const SETS: [(&str, &[&str]); 9] = [
    ("longest hair", &["longest hair"]),
    ("new layer", &["new layer"]),
    ("ease", &["ease"]),
    ("new hair yes or no", &["new hair"]),
    ("cover by eye", &["cover by eye"]),
    ("feel", &["feel"]),
    ("longest hair, new layer", &["longest hair", "new layer"]),
    ("ease, new hair", &["ease", "new hair"]),
    ("all of them", &[]),
];
/// Visits of the record.
pub const VISITS: i32 = 10;

/// What one set of kinds tells.
pub struct Told {
    /// Posterior sd over prior sd, mean over dogs.
    pub left: Logs,
    /// Mean posterior correlations.
    pub correlation: [Logs; DIM],
}

fn one(wanted: &[&str], i: u64) -> Option<(Logs, [Logs; DIM])> {
    let (dog, pattern) = pattern(VISITS, wanted);
    let today = first_day() + (VISITS - 1) * RHYTHM_D;
    let (prior, effort) = (Prior::STANDARD, Effort::VISIT);
    let case = Case { dog: &dog, readings: &pattern, today, prior, seed: i, effort };
    let s = simulate(&case, 70_000 + i).ok()?;
    let l = learn::learn(&Case { readings: &s.readings, ..case }).ok()?;
    let draws = l.zone_draws(ZONE);
    let of: [(f64, f64); DIM] = std::array::from_fn(|k| mean_sd(&draws.iter().map(|d| d[k]).collect::<Vec<f64>>()));
    let sd = prior.total_sd();
    let correlation = std::array::from_fn(|j| {
        std::array::from_fn(|k| {
            let sum: f64 = draws.iter().map(|d| (d[j] - of[j].0) * (d[k] - of[k].0)).sum();
            sum / draws.len() as f64 / (of[j].1 * of[k].1).max(1e-12)
        })
    });
    Some((std::array::from_fn(|k| of[k].1 / sd[k]), correlation))
}

/// What a set of kinds tells, over `n` dogs.
pub fn told(wanted: &[&str], n: u64) -> Told {
    let all: Vec<(Logs, [Logs; DIM])> = (0..n).into_par_iter().filter_map(|i| one(wanted, i)).collect();
    let count = all.len().max(1) as f64;
    Told {
        left: std::array::from_fn(|k| all.iter().map(|a| a.0[k]).sum::<f64>() / count),
        correlation: std::array::from_fn(|j| {
            std::array::from_fn(|k| all.iter().map(|a| a.1[j][k]).sum::<f64>() / count)
        }),
    }
}
