//! How many whole dogs a second are forecast: 24 zones, 26 weeks, a visit every 21 days,
//! every measure weekly and before and after each visit. No planning.
//!
//! Each dog has lags and times of its own, so that no two share a law. `from_today` starts
//! from the coat as it stands, `from_history` from the dog, its laws included. Zones of a dog
//! share a law where the model's table gives them one; in `from_today_zones_apart` every
//! zone has its own.

use coat::{CoatType, Day, Dog, DogCoat, Event, Mode, Take, Wait, Zone, ZoneWork};
use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use rayon::prelude::*;

const DAYS: i32 = 182;
const RHYTHM_D: i32 = 21;

fn main() {
    // Two threads, whatever the machine has: figures are per two cores.
    rayon::ThreadPoolBuilder::new().num_threads(2).build_global().expect("no pool stands yet");
    divan::main();
}

fn today() -> Day {
    Day::from_days(20_000)
}

/// An overgrown dog whose times differ from the coat type's by factors of its own, or of each zone.
fn dog(number: usize, zones_alike: bool) -> Dog {
    let mut dog = Dog::new(today() - 1500, 8000.0, CoatType::Wire);
    dog.history.push((today() - 100, Event::LeftAlone));
    // Spread over 0.8 to 1.2 by the golden section: different for every dog and time.
    for (i, z) in dog.zones.iter_mut().enumerate() {
        let n = if zones_alike { number } else { number * Zone::ALL.len() + i };
        let factor = |k: usize| 0.8 + 0.4 * ((n * 5 + k + 1) as f64 * 0.618_033_988_75).fract();
        let scaled = |w: Wait, k: usize| w.scaled(factor(k));
        z.cycle.lag = scaled(z.cycle.lag, 0);
        z.cycle.grow = scaled(z.cycle.grow, 1);
        z.cycle.set = scaled(z.cycle.set, 2);
        z.cycle.hold_d *= factor(3);
        z.cycle.growth_mm_d *= factor(4);
    }
    dog
}

fn coat(number: usize, zones_alike: bool) -> DogCoat {
    dog(number, zones_alike).coat_on(today()).expect("the history is in order")
}

/// One in five of the visible hair in layered zones, all that is ripe (up to the cap) in short ones.
fn visit(coat: &mut DogCoat) {
    for z in &mut coat.zones {
        let share = match z.setup.mode {
            Mode::Layered => 0.2,
            Mode::Short | Mode::Shaped => z.setup.cap,
            Mode::Never => continue,
        };
        let amount = (share * z.top.visible()).min(z.top.ripe());
        let card = z.wants_carding();
        z.work(&ZoneWork { take: Take::LongestFirst(amount), unripe: None, card });
    }
}

/// Steps through the weeks and visits; the sum keeps the compiler from dropping any of it.
fn forecast(mut coat: DogCoat) -> f64 {
    let mut sum = 0.0;
    let mut measure = |coat: &DogCoat| {
        let (whole, zones) = coat.measures();
        sum += whole.cover.unwrap_or(0.0) + zones.iter().filter_map(|z| z.top_mm).sum::<f64>();
    };
    for d in 0..=DAYS {
        let is_visit = d % RHYTHM_D == 0;
        if d % 7 != 0 && !is_visit {
            continue;
        }
        coat.step_to(today() + d);
        measure(&coat);
        if is_visit {
            visit(&mut coat);
            measure(&coat);
        }
    }
    sum
}

fn coats(dogs: usize, zones_alike: bool) -> Vec<DogCoat> {
    (0..dogs).map(|n| coat(n, zones_alike)).collect()
}

/// From the coats as they stand today, made anew for every sample: nothing measured before helps.
#[divan::bench(args = [1, 10, 100], sample_count = 20, sample_size = 1, max_time = 10)]
fn from_today(bencher: Bencher, dogs: usize) {
    bencher
        .counter(ItemsCount::new(dogs))
        .with_inputs(|| coats(dogs, true))
        .bench_local_values(|coats| coats.into_par_iter().map(forecast).sum::<f64>());
}

/// The same where every zone has a law of its own.
#[divan::bench(args = [1, 10, 100], sample_count = 20, sample_size = 1, max_time = 10)]
fn from_today_zones_apart(bencher: Bencher, dogs: usize) {
    bencher
        .counter(ItemsCount::new(dogs))
        .with_inputs(|| coats(dogs, false))
        .bench_local_values(|coats| coats.into_par_iter().map(forecast).sum::<f64>());
}

/// From the dogs: their laws and their histories included.
#[divan::bench(args = [1, 10, 100], sample_count = 10, sample_size = 1, max_time = 10)]
fn from_history(bencher: Bencher, dogs: usize) {
    bencher
        .counter(ItemsCount::new(dogs))
        .bench_local(|| (0..black_box(dogs)).into_par_iter().map(|n| forecast(coat(n, true))).sum::<f64>());
}
