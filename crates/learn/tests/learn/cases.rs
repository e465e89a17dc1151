//! Records to learn from, shared by the tests.

use coat::{CoatType, Day, Dog, Event, Pulled, Zone, ZoneRecord};
use learn::{Case, Effort, Feel, Prior, Reading, What};

pub fn first_day() -> Day {
    Day::from_ymd(2026, 1, 7).expect("a date")
}

/// A wire dog left alone until the first visit, then pulled one in five every `every_d` days.
pub fn dog(visits: i32, every_d: i32) -> Dog {
    let first = first_day();
    let mut dog = Dog::new(first - 1200, 8200.0, CoatType::Wire);
    dog.history.push((first, Event::LeftAlone));
    for v in 0..visits {
        let share = if v % 3 == 2 { 0.15 } else { 0.2 };
        let records = [Zone::Back, Zone::Sides, Zone::HindLegs].map(|zone| ZoneRecord {
            zone,
            pulled: Some(Pulled::Share(share)),
            carded: Some(false),
        });
        dog.history.push((first + v * every_d, Event::Visit(records.to_vec())));
    }
    dog
}

/// Patterns of readings: every kind in the given zones at every visit.
pub fn patterns(visits: i32, every_d: i32, zones: &[Zone]) -> Vec<Reading> {
    let mut out = Vec::new();
    for v in 0..visits {
        for zone in zones {
            let mut add = |what| out.push(Reading { day: first_day() + v * every_d, zones: vec![*zone], what });
            add(What::LongestMm(30.0));
            add(What::Ease(2, Some(if v % 3 == 2 { 0.15 } else { 0.2 })));
            add(What::NewHair(true));
            if v > 0 {
                add(What::NewLayerMm(5.0));
            }
            if v % 2 == 0 {
                add(What::Cover(0.8));
                add(What::Feel(Feel::Between));
            }
        }
    }
    out
}

pub fn case<'a>(dog: &'a Dog, readings: &'a [Reading], effort: Effort) -> Case<'a> {
    let today = dog.history.last().map_or(first_day(), |h| h.0);
    Case { dog, readings, today, prior: Prior::STANDARD, seed: 7, effort }
}
