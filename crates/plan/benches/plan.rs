//! How long the plan of a whole dog takes, and how it grows with zones, visits and horizon.
//!
//! The dog is overgrown and has 24 zones; the plan covers 26 weeks with a visit every
//! 21 days. `examples/programme.rs` writes the same programme for another solver.

use coat::{CoatType, Day, Dog, DogCoat, Event};
use divan::{Bencher, black_box};
use plan::{Highs, Planner, Request, Table, Weights};

/// As the program has it.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Minutes a visit at which table time binds for this dog.
const BINDING_MIN: f64 = 60.0;
const WEEKS: i32 = 26;
const RHYTHM_D: i32 = 21;

fn main() {
    divan::main();
}

fn today() -> Day {
    Day::from_days(20_000)
}

/// An overgrown dog of 8 kg with the first `zones` of its zones, in working order.
fn overgrown(zones: usize) -> (Dog, DogCoat) {
    let mut dog = Dog::new(today() - 1500, 8000.0, CoatType::Wire);
    dog.history.push((today() - 100, Event::LeftAlone));
    let kept = &coat::Zone::WORKING_ORDER[..zones];
    dog.zones.retain(|z| kept.contains(&z.zone));
    let coat = dog.coat_on(today()).expect("the history is in order");
    (dog, coat)
}

fn request(dog: &Dog, weeks: i32, rhythm_d: i32, max_min: Option<f64>) -> Request {
    Request {
        today: today(),
        until: today() + 7 * weeks,
        visits: (0..).map(|i| rhythm_d * i).take_while(|d| *d <= 7 * weeks).map(|d| today() + d).collect(),
        matter: vec![],
        table: Table { dense_dm2: dog.skin_dm2() * dog.density, pace: 1.0, max_min },
        weights: Weights::default(),
    }
}

/// Building, solving, hand steps and reasons.
fn whole(bencher: Bencher, zones: usize, weeks: i32, rhythm_d: i32, max_min: Option<f64>) {
    let (dog, coat) = overgrown(zones);
    let r = request(&dog, weeks, rhythm_d, max_min);
    bencher.bench_local(|| {
        let planner = Planner::new(&dog, &coat, black_box(&r)).expect("visits are possible");
        planner.plan(&Highs).expect("the solver answers")
    });
}

/// The plan of a whole dog, table time without a limit.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn whole_dog_minutes_free(bencher: Bencher) {
    whole(bencher, 24, WEEKS, RHYTHM_D, None);
}

/// The plan of a whole dog, table time binding.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn whole_dog_minutes_bind(bencher: Bencher) {
    whole(bencher, 24, WEEKS, RHYTHM_D, Some(BINDING_MIN));
}

/// The exact programme alone, table time binding: built from the coat and solved.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn exact_minutes_bind(bencher: Bencher) {
    let (dog, coat) = overgrown(24);
    let r = request(&dog, WEEKS, RHYTHM_D, Some(BINDING_MIN));
    bencher.bench_local(|| {
        let planner = Planner::new(&dog, &coat, black_box(&r)).expect("visits are possible");
        planner.exact_value(&Highs).expect("the solver answers")
    });
}

/// Planning anew after one visit has moved by two days.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn again_after_one_change(bencher: Bencher) {
    let (dog, coat) = overgrown(24);
    let mut r = request(&dog, WEEKS, RHYTHM_D, Some(BINDING_MIN));
    r.visits[3] = r.visits[3] + 2;
    bencher.bench_local(|| {
        let planner = Planner::new(&dog, &coat, black_box(&r)).expect("visits are possible");
        planner.plan(&Highs).expect("the solver answers")
    });
}

/// Growth with the number of zones (minutes bind).
#[divan::bench(args = [3, 6, 12, 24], sample_count = 10, sample_size = 1, max_time = 10)]
fn by_zones(bencher: Bencher, zones: usize) {
    // 20 of the minutes are spent on every visit, whatever the zones.
    let max_min = 20.0 + (BINDING_MIN - 20.0) * zones as f64 / 24.0;
    whole(bencher, zones, WEEKS, RHYTHM_D, Some(max_min));
}

/// Growth with the number of visits: days between them over 26 weeks (minutes bind).
#[divan::bench(args = [42, 28, 21, 14], sample_count = 5, sample_size = 1, max_time = 10)]
fn by_rhythm_days(bencher: Bencher, rhythm_d: i32) {
    whole(bencher, 24, WEEKS, rhythm_d, Some(BINDING_MIN));
}

/// Growth with the horizon (minutes bind).
#[divan::bench(args = [13, 26, 39], sample_count = 5, sample_size = 1, max_time = 10)]
fn by_weeks(bencher: Bencher, weeks: i32) {
    whole(bencher, 24, weeks, RHYTHM_D, Some(BINDING_MIN));
}
