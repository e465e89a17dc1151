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

const SD: [f64; 3] = [0.2, 0.15, 0.15];
const SCALE: f64 = 0.15;
const NU: f64 = 4.0;
const Z80: f64 = 1.281_551_565_545;

/// Learns paces from clocks; rows that are not above 0 min are left out.
///
/// # Reference
/// A normal prior with a Student t rest is a scale mixture of normals: reweighted least squares
/// climbs to its mode (Lange, Little & Taylor 1989, JASA 84:881).
pub fn pace(rows: &[PaceRow]) -> Paces {
    let good: Vec<&PaceRow> = rows
        .iter()
        .filter(|r| r.took_min > 0.0 && r.reckoned_min > 0.0 && r.took_min.is_finite() && r.reckoned_min.is_finite())
        .collect();
    let count = |f: &dyn Fn(&PaceRow) -> usize| good.iter().map(|r| f(r) + 1).max().unwrap_or(0);
    let n = [
        count(&|r| r.groomer).max(1),
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
    let mut x = DVector::zeros(all);
    let mut cov = DMatrix::from_fn(all, all, |i, j| if i == j { prior[i].powi(2) } else { 0.0 });
    for _ in 0..40 {
        let mut a = DMatrix::from_fn(all, all, |i, j| if i == j { prior[i].powi(-2) } else { 0.0 });
        let mut b = DVector::zeros(all);
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
        if let Some(f) = nalgebra::Cholesky::new(a) {
            x = f.solve(&b);
            cov = f.inverse();
        }
    }
    let of = |i: usize| {
        let (m, s): (f64, f64) = (x[i], cov[(i, i)].sqrt());
        Pace { mean: m.exp(), low: (m - Z80 * s).exp(), high: (m + Z80 * s).exp(), of_prior_sd: s / prior[i] }
    };
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
        let p = pace(&rows);
        assert!(p.groomers[0].mean / p.groomers[1].mean > 1.3, "{p:?}");
        assert!(p.dogs[2].mean > p.dogs[0].mean * 1.1);
        // One clock left running overnight moves nothing much.
        rows.push(PaceRow { groomer: 0, dog: 0, zone: None, took_min: 900.0, reckoned_min: 60.0 });
        let again = pace(&rows);
        assert!(
            (again.groomers[0].mean / p.groomers[0].mean - 1.0).abs() < 0.03,
            "{} {}",
            again.groomers[0].mean,
            p.groomers[0].mean
        );
        assert_eq!(pace(&[]).used, 0);
    }
}
