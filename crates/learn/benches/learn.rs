//! One dog after a visit: a record of ten visits, read in one zone and in three. A chain of 10,000 dogs
//! overnight is 10,000 times the latter.
#![allow(missing_docs)]

use coat::{CoatType, Day, Dog, Event, Pulled, Zone, ZoneRecord};
use learn::{Case, Effort, Prior, Reading, What, learn, simulate};

fn main() {
    divan::main();
}

#[divan::bench(args = [1, 3], sample_count = 20)]
fn after_a_visit(bencher: divan::Bencher<'_, '_>, zones: usize) {
    let first = Day::from_days(20_460);
    let all = [Zone::Back, Zone::Sides, Zone::HindLegs];
    let mut dog = Dog::new(first - 1200, 8200.0, CoatType::Wire);
    dog.history.push((first, Event::LeftAlone));
    let mut pattern = Vec::new();
    for v in 0..10 {
        let day = first + 21 * v;
        let pulled = Some(Pulled::Share(0.2));
        let records = all.map(|zone| ZoneRecord { zone, pulled, carded: Some(false) });
        dog.history.push((day, Event::Visit(records.to_vec())));
        for zone in &all[..zones] {
            let mut add = |what| pattern.push(Reading { day, zones: vec![*zone], what });
            add(What::LongestMm(30.0));
            add(What::Ease(2, Some(0.2)));
            add(What::NewHair(true));
            if v > 0 {
                add(What::NewLayerMm(5.0));
            }
        }
    }
    let case = Case {
        dog: &dog,
        readings: &pattern,
        today: first + 189,
        prior: Prior::STANDARD,
        seed: 1,
        effort: Effort::VISIT,
    };
    let readings = simulate(&case, 1).map(|s| s.readings).unwrap_or_default();
    let case = Case { readings: &readings, ..case };
    bencher.bench(|| learn(divan::black_box(&case)).is_ok());
}
