//! Simulation-based calibration on the model's own data (Talts, Betancourt, Simpson, Vehtari & Gelman 2018,
//! arXiv 1804.06788): the ranks of true values among draws of the posterior are even.

use crate::study::{RHYTHM_D, ZONE, first_day, recorded_dog};
use coat::{Dog, Event, Pulled, ZoneRecord};
use learn::{Case, DIM, Effort, Feel, Prior, Reading, What, simulate};
use rayon::prelude::*;

/// A dog of this many visits, and a pattern of every kind of reading.
pub fn pattern(visits: i32, wanted: &[&str]) -> (Dog, Vec<Reading>) {
    let mut dog = recorded_dog();
    let mut readings = Vec::new();
    let share = |v: i32| if v % 3 == 2 { 0.15 } else { 0.2 };
    for v in 0..visits {
        let day = first_day() + RHYTHM_D * v;
        let record = ZoneRecord { zone: ZONE, pulled: Some(Pulled::Share(share(v))), carded: Some(false) };
        dog.history.push((day, Event::Visit(vec![record])));
        let mut all = vec![What::LongestMm(30.0), What::Ease(2, Some(share(v))), What::NewHair(true)];
        if v > 0 {
            all.push(What::NewLayerMm(5.0));
        }
        if v % 2 == 0 || wanted.len() == 1 {
            all.extend([What::Cover(0.8), What::Feel(Feel::Between)]);
        }
        let wanted = |w: &What| wanted.is_empty() || wanted.contains(&w.word());
        readings.extend(all.into_iter().filter(wanted).map(|what| Reading { day, zones: vec![ZONE], what }));
    }
    (dog, readings)
}

/// Counts of ranks in bins, by value, over `n` dogs.
pub fn ranks(n: u64, bins: usize) -> [Vec<u32>; DIM] {
    let (dog, pattern) = pattern(6, &[]);
    let today = first_day() + 5 * RHYTHM_D;
    let (prior, effort) = (Prior::STANDARD, Effort::VISIT);
    let case = Case { dog: &dog, readings: &pattern, today, prior, seed: 0, effort };
    let found: Vec<[usize; DIM]> = (0..n)
        .into_par_iter()
        .filter_map(|i| {
            let s = simulate(&case, 50_000 + i).ok()?;
            let l = learn::learn(&Case { readings: &s.readings, seed: i, ..case }).ok()?;
            let draws = l.zone_draws(ZONE);
            Some(std::array::from_fn(|k| {
                let below = draws.iter().filter(|x| x[k] < s.truth[0].1[k]).count();
                (below * bins / (draws.len() + 1)).min(bins - 1)
            }))
        })
        .collect();
    let mut out: [Vec<u32>; DIM] = std::array::from_fn(|_| vec![0; bins]);
    for r in &found {
        for k in 0..DIM {
            out[k][r[k]] += 1;
        }
    }
    out
}

/// Chi-square of counts against even ones.
pub fn chi_square(counts: &[u32]) -> f64 {
    let each = f64::from(counts.iter().sum::<u32>()) / counts.len() as f64;
    counts.iter().map(|c| (f64::from(*c) - each).powi(2) / each).sum()
}
