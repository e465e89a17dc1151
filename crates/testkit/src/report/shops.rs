//! Does what a shop learned of its dogs help with the next one? And is the left-out visit foretold?

use super::record::Record;
use crate::shop::Answers;
use crate::study::ZONE;
use learn::{Case, DIM, DogSummary, Effort, Learned, Logs, Prior, shop_prior};
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Visits of the dogs that a shop has learned, and of the next ones.
const KNOWN_VISITS: i32 = 10;
/// See [`KNOWN_VISITS`].
pub const NEXT_VISITS: i32 = 3;

/// Squared error of the logarithms over prior variance, and whether the 80 % interval held.
#[derive(Clone, Copy, Debug, Default)]
pub struct Error {
    /// Squared error, by value.
    pub square: Logs,
    /// Held, by value.
    pub held: [bool; DIM],
}

fn learned(r: &Record, seed: u64, prior: Prior) -> Option<Learned> {
    let case = Case { dog: &r.dog, readings: &r.readings, today: r.today, prior, seed, effort: Effort::VISIT };
    learn::learn(&case).ok()
}

fn error(r: &Record, seed: u64, prior: Prior) -> Option<Error> {
    let l = learned(r, seed, prior)?;
    let (mean, sd) = (l.zone_mean(ZONE), Prior::STANDARD.total_sd());
    let draws = l.zone_draws(ZONE);
    let x = r.truth.at(false);
    let held = std::array::from_fn(|k| {
        let one: Vec<f64> = draws.iter().map(|d| d[k]).collect();
        (learn::quantile(&one, 0.1)..=learn::quantile(&one, 0.9)).contains(&x[k])
    });
    Some(Error { square: std::array::from_fn(|k| ((mean[k] - x[k]) / sd[k]).powi(2)), held })
}

/// The next dogs of `shops` shops under the type's prior and under the shop's, made from `known` dogs each.
pub fn pooled(shops: u64, known: u64, next: u64) -> Vec<(Error, Error)> {
    (0..shops)
        .into_par_iter()
        .flat_map_iter(|s| {
            let seed = 400_000 + 1000 * s;
            let mut rng = Answers::rng(seed, 9);
            let centre: Logs = Prior::STANDARD.dog_sd.map(|sd| {
                let z: f64 = StandardNormal.sample(&mut rng);
                0.5 * sd * z
            });
            let dogs: Vec<DogSummary> = (0..known)
                .filter_map(|i| {
                    let r = Record::in_shop(seed + i, KNOWN_VISITS, &centre);
                    let (mean, sd) = learned(&r, seed + i, Prior::STANDARD)?.dog_part();
                    Some(DogSummary { mean, sd, prior: Prior::STANDARD })
                })
                .collect();
            let prior = shop_prior(&Prior::STANDARD, &dogs);
            (0..next)
                .filter_map(|i| {
                    let seed = seed + 500 + i;
                    let r = Record::in_shop(seed, NEXT_VISITS, &centre);
                    Some((error(&r, seed, Prior::STANDARD)?, error(&r, seed, prior)?))
                })
                .collect::<Vec<_>>()
        })
        .collect()
}

/// One reading of a left-out visit: which kind, and how much of its place lies within the middle 80 %.
pub struct LeftOut {
    /// The kind of reading.
    pub kind: &'static str,
    /// Of the answer's share of chance, the part between 0.1 and 0.9: 1 or 0 for a length.
    pub within: f64,
}

impl LeftOut {
    /// From the chances of an answer at most, and at least, the one that was read.
    pub fn new(kind: &'static str, below: f64, above: f64) -> Self {
        // The answer's place runs from 1 - above to below.
        let (a, b) = (1.0 - above, below);
        let inside = (b.min(0.9) - a.max(0.1)).max(0.0);
        let within = if b - a > 1e-9 { inside / (b - a) } else { f64::from(u8::from((0.1..=0.9).contains(&b))) };
        LeftOut { kind, within }
    }
}

/// Every visit of `n` dogs left out in turn and foretold from the others.
pub fn left_out(n: u64) -> Vec<LeftOut> {
    (0..n)
        .into_par_iter()
        .flat_map_iter(|i| {
            let seed = 100_000 + i;
            let r = Record::of(seed, KNOWN_VISITS, None);
            let l = learned(&r, seed, Prior::STANDARD);
            let mut out = Vec::new();
            for day in l.iter().flat_map(Learned::visit_days) {
                let found = l.as_ref().and_then(|l| l.without_visit(day).ok()).unwrap_or_default();
                let told = |f: learn::Surprise| LeftOut::new(r.readings[f.index].what.word(), f.below, f.above);
                out.extend(found.into_iter().map(told));
            }
            out
        })
        .collect()
}
