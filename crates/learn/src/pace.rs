//! Table minutes: how fast a pair of hands is, on this dog, in this zone, from the clocks.

use crate::diagnostics::Available;
use nalgebra::{DMatrix, DVector};

/// One clock reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PaceRow {
    /// Whose hands, by number.
    pub groomer: usize,
    /// Which dog, by number.
    pub dog: usize,
    /// Which zone, by number; none for a whole visit.
    pub zone: Option<usize>,
    /// Minutes that it took.
    pub took_min: f64,
    /// Minutes reckoned at pace 1.
    pub reckoned_min: f64,
}

/// A factor on minutes: mean (of the logarithm) and 80 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Mean.
    pub mean: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Posterior sd over prior sd.
    pub of_prior_sd: f64,
}

/// Paces by groomer, dog and zone.
#[derive(Clone, Debug, PartialEq)]
pub struct Paces {
    /// Means and covariance of the logarithms: groomers, then dogs, then zones.
    ln: (DVector<f64>, DMatrix<f64>),
    /// Groomers, by number.
    pub groomers: Vec<Pace>,
    /// Dogs, by number.
    pub dogs: Vec<Pace>,
    /// Zones, by number.
    pub zones: Vec<Pace>,
    /// Clock readings that counted.
    pub used: usize,
    /// What a visit of the first groomer to the first dog takes over what is reckoned; why not otherwise.
    pub visit: Available,
}

/// Prior sd of the logarithms: of groomers about their typed pace, of dogs, of zones.
const SD: [f64; 3] = [0.2, 0.15, 0.15];
const SCALE: f64 = 0.15;
const NU: f64 = 4.0;
const Z80: f64 = 1.281_551_565_545;

impl Pace {
    /// The part of a dog of which no clock was read.
    pub fn of_new_dog() -> Self {
        Pace::of(0.0, SD[1].powi(2), SD[1])
    }

    /// From mean and variance of the logarithm.
    fn of(mean: f64, var: f64, prior_sd: f64) -> Self {
        let sd = var.max(0.0).sqrt();
        Pace {
            mean: mean.exp(),
            low: (mean - Z80 * sd).exp(),
            high: (mean + Z80 * sd).exp(),
            of_prior_sd: sd / prior_sd,
        }
    }
}

impl Paces {
    /// What visits of a groomer to a dog take over what is reckoned. The two parts are not told apart for sure, but
    /// what they come to together may be; a dog without a clock, or beyond those given, counts by the prior.
    pub fn visits(&self, groomer: usize, dog: usize) -> Pace {
        let (x, cov) = &self.ln;
        let (g, d) = (groomer.min(self.groomers.len() - 1), self.groomers.len() + dog);
        let prior = SD[0].hypot(SD[1]);
        if dog >= self.dogs.len() {
            return Pace::of(x[g], cov[(g, g)] + SD[1].powi(2), prior);
        }
        Pace::of(x[g] + x[d], cov[(g, g)] + cov[(d, d)] + 2.0 * cov[(g, d)], prior)
    }
}

/// Learns paces from clocks; rows that are not above 0 min are left out. `typed` are the groomers' own paces, by number:
/// what each is expected to be before any clock; 1 where none is given.
///
/// # Reference
/// A normal prior with a Student t rest is a scale mixture of normals: reweighted least squares
/// climbs to its mode (Lange, Little & Taylor 1989, JASA 84:881).
pub fn pace(rows: &[PaceRow], typed: &[f64]) -> Paces {
    let good: Vec<&PaceRow> = rows
        .iter()
        .filter(|r| r.took_min > 0.0 && r.reckoned_min > 0.0 && r.took_min.is_finite() && r.reckoned_min.is_finite())
        .collect();
    let count = |f: &dyn Fn(&PaceRow) -> usize| good.iter().map(|r| f(r) + 1).max().unwrap_or(0);
    let n = [
        count(&|r| r.groomer).max(typed.len()).max(1),
        count(&|r| r.dog).max(1),
        good.iter().filter_map(|r| r.zone).map(|z| z + 1).max().unwrap_or(0),
    ];
    let all = n[0] + n[1] + n[2];
    let columns = |r: &PaceRow| {
        let mut c = vec![r.groomer, n[0] + r.dog];
        c.extend(r.zone.map(|z| n[0] + n[1] + z));
        c
    };
    let prior: Vec<f64> = (0..all).map(|i| SD[usize::from(i >= n[0]) + usize::from(i >= n[0] + n[1])]).collect();
    let expected = DVector::from_fn(all, |i, _| {
        let given = if i < n[0] { typed.get(i) } else { None };
        given.filter(|p| p.is_finite() && **p > 0.0).map_or(0.0, |p| p.ln())
    });
    let weight: Vec<f64> = prior.iter().map(|sd| sd.powi(-2)).collect();
    let mut x = expected.clone();
    let mut factored = None;
    for _ in 0..40 {
        let mut a = DMatrix::from_diagonal(&DVector::from_column_slice(&weight));
        let mut b = DVector::from_fn(all, |i, _| expected[i] * weight[i]);
        for r in &good {
            let c = columns(r);
            let y = (r.took_min / r.reckoned_min).ln();
            let rest = y - c.iter().map(|i| x[*i]).sum::<f64>();
            let w = (NU + 1.0) / (NU + (rest / SCALE).powi(2)) / (SCALE * SCALE);
            for i in &c {
                b[*i] += w * y;
                for j in &c {
                    a[(*i, *j)] += w;
                }
            }
        }
        let Some(f) = nalgebra::Cholesky::new(a) else { break };
        let next = f.solve(&b);
        let moved = (&next - &x).amax();
        (x, factored) = (next, Some(f));
        if moved < 1e-12 {
            break;
        }
    }
    let unknown = || DMatrix::from_diagonal(&DVector::from_iterator(all, prior.iter().map(|sd| sd.powi(2))));
    let cov = factored.map_or_else(unknown, |f| f.inverse());
    let of = |i: usize| Pace::of(x[i], cov[(i, i)], prior[i]);
    Paces {
        groomers: (0..n[0]).map(of).collect(),
        dogs: (n[0]..n[0] + n[1]).map(of).collect(),
        zones: (n[0] + n[1]..all).map(of).collect(),
        used: good.len(),
        visit: if good.is_empty() {
            Available::Not("no clock was read")
        } else {
            Available::Is((x[0] + x[n[0]]).exp())
        },
        ln: (x, cov),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_groomer_and_a_fidgeting_dog_are_told_apart() {
        let mut rows = Vec::new();
        for v in 0..24 {
            let (groomer, dog) = (v % 2, (v / 2) % 3);
            let noise = [0.04, -0.06, 0.02, 0.0, -0.03, 0.05, -0.02][v % 7];
            let ln = [0.25, -0.1][groomer] + [0.0, 0.0, 0.2][dog] + noise;
            rows.push(PaceRow { groomer, dog, zone: None, took_min: 60.0 * f64::exp(ln), reckoned_min: 60.0 });
        }
        let p = pace(&rows, &[]);
        assert!(p.groomers[0].mean / p.groomers[1].mean > 1.3, "{p:?}");
        assert!(p.dogs[2].mean > p.dogs[0].mean * 1.1);
        // One clock left running overnight moves nothing much.
        rows.push(PaceRow { groomer: 0, dog: 0, zone: None, took_min: 900.0, reckoned_min: 60.0 });
        let again = pace(&rows, &[]);
        assert!(
            (again.groomers[0].mean / p.groomers[0].mean - 1.0).abs() < 0.03,
            "{} {}",
            again.groomers[0].mean,
            p.groomers[0].mean
        );
        assert_eq!(pace(&[], &[]).used, 0);
    }

    #[test]
    fn a_typed_pace_holds_until_clocks_say_otherwise() {
        let typed = [1.4, 1.0];
        let before = pace(&[], &typed);
        assert!((before.groomers[0].mean - 1.4).abs() < 1e-9 && (before.groomers[1].mean - 1.0).abs() < 1e-9);
        // 8 in 10 of a lognormal of sd 0.2 about it, and of both parts together.
        assert!((before.groomers[0].high / 1.4 - (Z80 * 0.2).exp()).abs() < 1e-9);
        let both = before.visits(0, 0);
        assert!((both.high / both.mean - (Z80 * 0.2_f64.hypot(0.15)).exp()).abs() < 1e-9);
        // Said to be slow, and is not: 30 visits to 10 dogs.
        let row = |v: usize| PaceRow { groomer: 0, dog: v % 10, zone: None, took_min: 63.0, reckoned_min: 60.0 };
        let after = pace(&(0..30).map(row).collect::<Vec<_>>(), &typed);
        let g = after.groomers[0];
        assert!(g.mean < 1.2 && g.mean > 1.05 && g.of_prior_sd < 0.6, "{g:?}");
        assert_eq!(after.groomers[1].mean, 1.0, "nobody timed the other");
        // Together they are surer than two parts that know nothing of each other, and the interval holds what the clocks
        // said.
        let (visit, dog) = (after.visits(0, 3), after.dogs[3]);
        let width = |p: &Pace| (p.high / p.low).ln();
        assert!(width(&visit) < 0.99 * width(&g).hypot(width(&dog)), "{visit:?} {g:?} {dog:?}");
        assert!(visit.low < 1.05 && 1.05 < visit.high && visit.mean < 1.12, "{visit:?}");
        // A dog without a clock is less sure.
        assert!(width(&after.visits(0, 77)) > width(&g));
    }
}
