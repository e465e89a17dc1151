//! How long it takes: one dog after a visit, and a chain's dogs overnight from a sample.

use crate::study::{RHYTHM_D, first_day};
use coat::{CoatType, Dog, Event, Pulled, Zone, ZoneRecord};
use learn::{Case, Effort, Feel, Prior, Reading, What, simulate};
use std::time::Instant;

const ZONES: [Zone; 3] = [Zone::Back, Zone::Sides, Zone::HindLegs];
const VISITS: i32 = 10;

/// A dog of ten visits, read in so many zones at each, answers drawn from the model.
fn record(zones: usize, seed: u64) -> (Dog, Vec<Reading>) {
    let mut dog = Dog::new(first_day() - 1200, 8200.0, CoatType::Wire);
    dog.history.push((first_day(), Event::LeftAlone));
    let mut pattern = Vec::new();
    for v in 0..VISITS {
        let day = first_day() + RHYTHM_D * v;
        let pulled = Some(Pulled::Share(0.2));
        dog.history
            .push((day, Event::Visit(ZONES.map(|zone| ZoneRecord { zone, pulled, carded: Some(false) }).to_vec())));
        for zone in &ZONES[..zones] {
            let mut add = |what| pattern.push(Reading { day, zones: vec![*zone], what });
            add(What::LongestMm(30.0));
            add(What::Ease(2, Some(0.2)));
            add(What::NewHair(true));
            if v > 0 {
                add(What::NewLayerMm(5.0));
            }
            if v % 3 == 0 {
                add(What::Feel(Feel::Between));
            }
        }
    }
    let case = case(&dog, &pattern, seed);
    let readings = simulate(&case, 90_000 + seed).map(|s| s.readings).unwrap_or_default();
    (dog, readings)
}

fn case<'a>(dog: &'a Dog, readings: &'a [Reading], seed: u64) -> Case<'a> {
    let today = first_day() + RHYTHM_D * (VISITS - 1);
    Case { dog, readings, today, prior: Prior::STANDARD, seed, effort: Effort::VISIT }
}

/// Milliseconds of learning each of `n` dogs read in so many zones, sorted.
pub fn times_ms(zones: usize, n: u64) -> Vec<f64> {
    let mut out: Vec<f64> = (0..n)
        .map(|seed| {
            let (dog, readings) = record(zones, seed);
            let begun = Instant::now();
            let done = learn::learn(&case(&dog, &readings, seed));
            let ms = 1e3 * begun.elapsed().as_secs_f64();
            if done.is_ok() { ms } else { f64::NAN }
        })
        .collect();
    out.sort_by(f64::total_cmp);
    out
}
