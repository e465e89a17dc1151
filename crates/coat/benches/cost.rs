//! What a forecast costs, and how that grows with dogs, zones, visits and horizon.
//!
//! Time of the processor, one thread: on a machine shared with other work it says more than the clock on the wall.
//! With the word `once` it forecasts three dogs and prints nothing but a sum: for a profiler.
#![expect(clippy::print_stdout, reason = "a benchmark's output is its result")]

mod dogs;

use dogs::{Case, WHOLE};
use std::hint::black_box;

/// As in the program.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Coats that stand ready at a time.
const BATCH: usize = 50;
/// Batches or rounds of which the median is taken.
const ROUNDS: usize = 9;

/// Time of the processor that this thread has had, ns: what other programs take does not count.
fn cpu_ns() -> u64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").expect("Linux counts a thread's time");
    text.split(' ').next().and_then(|n| n.parse().ok()).expect("a number")
}

/// The most memory that the program has held, MB.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux counts a program's memory");
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).expect("its highest mark");
    line.trim().trim_end_matches("kB").trim().parse::<f64>().expect("a number") / 1e3
}

/// Milliseconds for so many dogs, their coats made beforehand and not counted.
fn time_ms(case: &Case, dogs: usize) -> f64 {
    let mut ns = 0;
    for first in (0..dogs).step_by(BATCH) {
        let coats = dogs::coats(first..dogs.min(first + BATCH), case);
        let begin = cpu_ns();
        for coat in coats {
            black_box(dogs::forecast(coat, case));
        }
        ns += cpu_ns() - begin;
    }
    ns as f64 / 1e6
}

/// Least and median of the time for one dog, ms.
fn a_dog_ms(case: &Case, dogs: usize) -> [f64; 2] {
    let mut times: Vec<f64> = (0..ROUNDS).map(|_| time_ms(case, dogs) / dogs as f64).collect();
    times.sort_by(f64::total_cmp);
    [times[0], times[ROUNDS / 2]]
}

fn row(what: &str, case: &Case, dogs: usize) {
    let [least, median] = a_dog_ms(case, dogs);
    println!("{what:32} {least:8.3} ms {median:8.3} ms");
}

fn main() {
    if std::env::args().any(|a| a == "once") {
        let sum: f64 = dogs::coats(0..3, &WHOLE).into_iter().map(|c| dogs::forecast(c, &WHOLE)).sum();
        println!("{sum}");
        return;
    }
    println!("{:32} {:>11} {:>11}", "processor time of one dog", "least", "median");
    row("whole dog", &WHOLE, BATCH);
    row("zones apart", &Case { alike: false, ..WHOLE }, BATCH);
    for dogs in [10, 100, 1000] {
        row(&format!("of {dogs} dogs"), &WHOLE, dogs);
    }
    println!("{:32} {:8.1} MB", "most memory held until here", peak_mb());
    for zones in [1, 6, 12, 18, 24] {
        row(&format!("{zones} zones, apart"), &Case { zones, alike: false, ..WHOLE }, BATCH);
    }
    row("no visits", &Case { rhythm_d: None, ..WHOLE }, BATCH);
    for rhythm_d in [28, 21, 14, 7] {
        let visits = WHOLE.days / rhythm_d + 1;
        row(&format!("{visits} visits"), &Case { rhythm_d: Some(rhythm_d), ..WHOLE }, BATCH);
    }
    for weeks in [13, 26, 52, 104] {
        row(&format!("{weeks} weeks"), &Case { days: 7 * weeks, ..WHOLE }, BATCH);
    }
}
