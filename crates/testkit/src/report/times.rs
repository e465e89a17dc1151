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

/// Seconds of processor time that this program has had, all threads; none where the system does not tell.
fn processor_s() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // After the name in brackets: the state, then eleven numbers, then user and system time in hundredths.
    let mut after = text.rsplit(')').next()?.split_whitespace().skip(11);
    let mut next = || after.next()?.parse::<f64>().ok();
    Some((next()? + next()?) / 100.0)
}

/// How long learning takes.
pub struct Times {
    /// Milliseconds by the clock, one dog after the other, sorted.
    pub clock_ms: Vec<f64>,
    /// Milliseconds of processor time for a dog, the mean.
    pub processor_ms: Option<f64>,
}

/// Learns `n` dogs read in so many zones, one after the other.
pub fn times(zones: usize, n: u64) -> Times {
    let records: Vec<(Dog, Vec<Reading>)> = (0..n).map(|seed| record(zones, seed)).collect();
    let before = processor_s();
    let mut clock_ms: Vec<f64> = records
        .iter()
        .zip(0..)
        .map(|((dog, readings), seed)| {
            let begun = Instant::now();
            let done = learn::learn(&case(dog, readings, seed));
            let ms = 1e3 * begun.elapsed().as_secs_f64();
            if done.is_ok() { ms } else { f64::NAN }
        })
        .collect();
    clock_ms.sort_by(f64::total_cmp);
    let processor_ms = before.zip(processor_s()).map(|(a, b)| 1e3 * (b - a) / n.max(1) as f64);
    Times { clock_ms, processor_ms }
}
