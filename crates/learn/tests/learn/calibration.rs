//! Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari & Gelman 2018, arXiv 1804.06788):
//! over dogs drawn from the prior with readings drawn from the likelihood, the rank of the true value
//! among draws of the posterior is even.

use crate::cases::*;
use coat::Zone;
use learn::*;
use std::thread;

/// Ranks in `bins` bins for each parameter, over `n` simulated dogs.
fn ranks(n: u64, bins: usize) -> [Vec<u32>; DIM] {
    let d = dog(6, 21);
    let pattern = patterns(6, 21, &[Zone::Back]);
    let c = case(&d, &pattern, Effort::VISIT);
    let one = |i: u64| -> [usize; DIM] {
        let s = simulate(&c, 5000 + i).expect("simulated");
        let l = learn::learn(&Case { readings: &s.readings, seed: i, ..c }).expect("learned");
        let draws = l.zone_draws(Zone::Back);
        std::array::from_fn(|k| {
            let below = draws.iter().filter(|x| x[k] < s.truth[0].1[k]).count();
            (below * bins / (draws.len() + 1)).min(bins - 1)
        })
    };
    let mut out: [Vec<u32>; DIM] = std::array::from_fn(|_| vec![0; bins]);
    let found: Vec<[usize; DIM]> = thread::scope(|scope| {
        let halves: Vec<_> =
            (0..2).map(|h| scope.spawn(move || (h..n).step_by(2).map(one).collect::<Vec<_>>())).collect();
        halves.into_iter().flat_map(|t| t.join().expect("no panic")).collect()
    });
    for r in found {
        for k in 0..DIM {
            out[k][r[k]] += 1;
        }
    }
    out
}

/// 120 dogs, 6 bins: chi-square of the counts with 5 degrees of freedom stays under 20.5 for every
/// parameter (0.1 % point of the distribution, textbook table); the long run is in the report.
#[test]
fn ranks_are_flat() {
    let (n, bins) = (120, 6);
    for (k, counts) in ranks(n, bins).iter().enumerate() {
        let each = n as f64 / bins as f64;
        let chi2: f64 = counts.iter().map(|c| (f64::from(*c) - each).powi(2) / each).sum();
        assert!(chi2 < 20.5, "{}: {counts:?}, chi-square {chi2:.1}", Param::ALL[k].word());
    }
}
