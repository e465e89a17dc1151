//! Coverage of the 80 % windows on a simulated shop of single-follicle dogs, with gaps, rounding, wrong
//! entries and one dog in twenty that changes half-way: `cargo run --release -p testkit --example coverage -- 400`.
#![allow(clippy::print_stdout, reason = "a report")]

use coat::{CoatType, Day, Dog, Event, Pulled, Zone, ZoneRecord, ZoneSetup};
use learn::{Case, DIM, Effort, Param, Prior, Reading};
use testkit::{Answers, Follicles, Luck, TrueDog, kinds};

/// Visits before the window is asked for; a changing dog changes at the fifth.
const VISITS: i32 = 10;
/// Follicles of a zone.
const FOLLICLES: usize = 3000;

struct Found {
    window: Option<bool>,
    values: [bool; DIM],
    changing: bool,
}

fn one(seed: u64) -> Option<Found> {
    let zone = Zone::Back;
    let changing = seed.is_multiple_of(20);
    let kind = kinds()[if changing { 5 } else { 0 }];
    let truth = TrueDog::of(&kind, &mut Answers::rng(seed, 0));
    let base = ZoneSetup::defaults(zone, CoatType::Wire).cycle;
    let hard = CoatType::Wire.defaults().start_hard;
    let first = Day::from_days(20_460);
    let mut coat =
        Follicles::left_alone(truth.life(&base, hard, false), FOLLICLES, first.days(), Answers::rng(seed, 2));
    let mut dog = Dog::new(first - 1200, 8200.0, CoatType::Wire);
    dog.history.push((first, Event::LeftAlone));
    let (answers, mut luck) = (Answers::of(seed, zone), Answers::rng(seed, 1));
    let mut readings: Vec<Reading> = Vec::new();
    let mut layers: Vec<Day> = Vec::new();
    for v in 0..VISITS {
        let day = first + 21 * v;
        let l = Luck::new(&mut luck);
        if l.is_missed() && v > 0 {
            continue;
        }
        coat.advance(day.days());
        if v == VISITS / 2 {
            coat.change(truth.life(&base, hard, true));
        }
        readings.extend(answers.read(&coat, &layers, Some(0.2), &l));
        let seen = coat.visible();
        let pulled = coat.pull_ripe(0.2 * seen) / seen.max(1e-9);
        let record = ZoneRecord { zone, pulled: Some(Pulled::Share(pulled)), carded: Some(false) };
        dog.history.push((day, Event::Visit(vec![record])));
        if pulled >= 0.02 {
            layers.insert(0, day);
        }
    }
    let today = first + 21 * (VISITS - 1);
    let case = Case { dog: &dog, readings: &readings, today, prior: Prior::STANDARD, seed, effort: Effort::VISIT };
    let l = learn::learn(&case).ok()?;
    let z = l.zone(zone)?;
    let now = truth.life(&base, hard, true);
    let real = [now.lag.0, now.grow.0, now.set.0, now.hold_d, now.growth_mm_d];
    let values = std::array::from_fn(|k| (z.params[k].low..=z.params[k].high).contains(&real[k]));
    let window = l.windows().into_iter().find(|w| w.zone == zone).map(|w| {
        let then = truth.life(&base, hard, w.begun >= first + 21 * (VISITS / 2));
        let half = Follicles::half_ripe_d(&then, 20_001, Answers::rng(seed, 3));
        let ready = w.begun + half.round() as i32;
        // A layer that is ready by now is within a window that begins today.
        (w.from..=w.until).contains(&ready.max(today))
    });
    Some(Found { window, values, changing })
}

fn main() {
    let n: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(400);
    let found: Vec<Found> = (0..n).filter_map(|i| one(100_000 + i)).collect();
    let share = |v: &[bool]| {
        let p = v.iter().filter(|x| **x).count() as f64 / v.len().max(1) as f64;
        format!(
            "{:.1} % of {} (standard error {:.1})",
            100.0 * p,
            v.len(),
            100.0 * (p * (1.0 - p) / v.len() as f64).sqrt()
        )
    };
    let windows = |is: &dyn Fn(&Found) -> bool| -> Vec<bool> {
        found.iter().filter(|f| is(f)).filter_map(|f| f.window).collect()
    };
    println!("windows of the next layer: {}", share(&windows(&|_| true)));
    println!("  dogs that do not change: {}", share(&windows(&|f| !f.changing)));
    println!("  dogs that changed: {}", share(&windows(&|f| f.changing)));
    for (k, p) in Param::ALL.iter().enumerate() {
        println!("intervals of {}: {}", p.word(), share(&found.iter().map(|f| f.values[k]).collect::<Vec<_>>()));
    }
}
