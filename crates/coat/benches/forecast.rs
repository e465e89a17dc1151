//! How many whole dogs a second are forecast: 24 zones, 26 weeks, a visit every 21 days,
//! every measure weekly and before and after each visit. No planning.
//!
//! Each dog has lags and times of its own, so that no two share a law. `from_today` starts
//! from the coat as it stands, `from_history` from the dog, its laws included. Zones of a dog
//! share a law where the model's table gives them one; in `from_today_zones_apart` every
//! zone has its own.

mod dogs;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use dogs::{Case, WHOLE};
use rayon::prelude::*;

const APART: Case = Case { alike: false, ..WHOLE };

/// As in the program.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() {
    // Two threads, whatever the machine has: figures are per two cores.
    rayon::ThreadPoolBuilder::new().num_threads(2).build_global().expect("no pool stands yet");
    divan::main();
}

/// From the coats as they stand today, made anew for every sample: nothing measured before helps.
#[divan::bench(args = [1, 10, 100, 1000], sample_count = 20, sample_size = 1, max_time = 10)]
fn from_today(bencher: Bencher, dogs: usize) {
    bencher
        .counter(ItemsCount::new(dogs))
        .with_inputs(|| dogs::coats(0..dogs, &WHOLE))
        .bench_local_values(|coats| coats.into_par_iter().map(|c| dogs::forecast(c, &WHOLE)).sum::<f64>());
}

/// The same where every zone has a law of its own.
#[divan::bench(args = [1, 10, 100], sample_count = 20, sample_size = 1, max_time = 10)]
fn from_today_zones_apart(bencher: Bencher, dogs: usize) {
    bencher
        .counter(ItemsCount::new(dogs))
        .with_inputs(|| dogs::coats(0..dogs, &APART))
        .bench_local_values(|coats| coats.into_par_iter().map(|c| dogs::forecast(c, &WHOLE)).sum::<f64>());
}

/// From the dogs: their laws and their histories included.
#[divan::bench(args = [1, 10, 100], sample_count = 10, sample_size = 1, max_time = 10)]
fn from_history(bencher: Bencher, dogs: usize) {
    bencher.counter(ItemsCount::new(dogs)).bench_local(|| {
        (0..black_box(dogs)).into_par_iter().map(|n| dogs::forecast(dogs::coat(n, &WHOLE), &WHOLE)).sum::<f64>()
    });
}
