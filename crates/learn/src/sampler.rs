//! The mode of a posterior with its curvature, and draws around it.

use crate::chance::rng;
use crate::diagnostics::split_r_hat;
use crate::linear::{Gaussian, factor, gaussian, prior_precision, without_negative};
use crate::params::{DIM, Logs, Prior};
use crate::patch::Patch;
use coat::Day;
use nalgebra::{DMatrix, DVector, SMatrix};
use rand::RngExt;
use rand_distr::{Distribution, Gamma, StandardNormal};
use rayon::prelude::*;

/// Degrees of freedom of the base that the slice step moves on.
const BASE_NU: f64 = 8.0;
/// Most stages of finding the base.
const STAGES: usize = 8;
/// The base that was there counts for so many draws.
const BLEND: f64 = 40.0;

/// A posterior over the patches' logarithms, the readings of some days left out or not.
pub(crate) struct Target<'a> {
    patches: &'a [Patch],
    precision: DMatrix<f64>,
    centre: DVector<f64>,
    total_sd: Logs,
    counts: &'a (dyn Fn(Day) -> bool + Sync),
}

/// The logarithms of patch `p` within a state.
pub(crate) fn part(x: &DVector<f64>, p: usize) -> Logs {
    std::array::from_fn(|k| x[p * DIM + k])
}

impl<'a> Target<'a> {
    pub(crate) fn new(patches: &'a [Patch], prior: &Prior, counts: &'a (dyn Fn(Day) -> bool + Sync)) -> Self {
        let n = patches.len();
        Target {
            patches,
            precision: prior_precision(prior, n),
            centre: DVector::from_fn(n * DIM, |i, _| prior.centre[i % DIM]),
            total_sd: prior.total_sd(),
            counts,
        }
    }

    fn ln_prior(&self, x: &DVector<f64>) -> f64 {
        let d = x - &self.centre;
        -0.5 * d.dot(&(&self.precision * &d))
    }

    pub(crate) fn ln(&self, x: &DVector<f64>, room: &mut Vec<f64>) -> f64 {
        let mut sum = self.ln_prior(x);
        for (p, patch) in self.patches.iter().enumerate() {
            sum += patch.ln_at(&part(x, p), self.counts, room);
        }
        sum
    }

    /// Gradient and second derivatives of one patch's log likelihood, by differences.
    fn bend(&self, p: usize, x: &Logs, room: &mut Vec<f64>) -> (SMatrix<f64, DIM, 1>, SMatrix<f64, DIM, DIM>) {
        let patch = &self.patches[p];
        let h: Logs = self.total_sd.map(|s| 0.08 * s);
        let mut f = |moves: &[(usize, f64)]| {
            let mut y = *x;
            for (k, by) in moves {
                y[*k] += by * h[*k];
            }
            patch.ln_at(&y, self.counts, room)
        };
        let f0 = f(&[]);
        let up: Logs = std::array::from_fn(|k| f(&[(k, 1.0)]));
        let down: Logs = std::array::from_fn(|k| f(&[(k, -1.0)]));
        let mut g = SMatrix::<f64, DIM, 1>::zeros();
        let mut m = SMatrix::<f64, DIM, DIM>::zeros();
        for k in 0..DIM {
            g[k] = (up[k] - down[k]) / (2.0 * h[k]);
            m[(k, k)] = (up[k] - 2.0 * f0 + down[k]) / (h[k] * h[k]);
            for j in 0..k {
                let both = f(&[(k, 1.0), (j, 1.0)]) + f(&[(k, -1.0), (j, -1.0)]);
                let v = (both - up[k] - down[k] - up[j] - down[j] + 2.0 * f0) / (2.0 * h[k] * h[j]);
                m[(k, j)] = v;
                m[(j, k)] = v;
            }
        }
        (g, m)
    }

    /// Climbs from the better of the starts; the Gaussian there.
    pub(crate) fn laplace(&self, starts: &[DVector<f64>]) -> Option<Gaussian> {
        let mut room = Vec::new();
        let mut best: Option<(f64, DVector<f64>)> = None;
        for x in std::iter::once(&self.centre).chain(starts) {
            let ln = self.ln(x, &mut room);
            if best.as_ref().is_none_or(|b| ln > b.0) {
                best = Some((ln, x.clone()));
            }
        }
        let (mut ln, mut x) = best?;
        let n = self.patches.len();
        let mut damp = 1e-3;
        let mut last = None;
        for _ in 0..40 {
            let mut h = self.precision.clone();
            let mut g = -(&self.precision * (&x - &self.centre));
            for p in 0..n {
                let (gp, m) = self.bend(p, &part(&x, p), &mut room);
                let m = without_negative(&(-m));
                for k in 0..DIM {
                    g[p * DIM + k] += gp[k];
                    for j in 0..DIM {
                        h[(p * DIM + k, p * DIM + j)] += m[(k, j)];
                    }
                }
            }
            last = Some(h.clone());
            let mut moved = 0.0;
            for _ in 0..8 {
                let mut damped = h.clone();
                for i in 0..damped.nrows() {
                    damped[(i, i)] *= 1.0 + damp;
                }
                let step = factor(damped)?.solve(&g);
                let new = &x + &step;
                let at = self.ln(&new, &mut room);
                if at > ln {
                    moved = at - ln;
                    (ln, x) = (at, new);
                    damp = (damp * 0.2).max(1e-9);
                    break;
                }
                damp = damp.max(1e-6) * 8.0;
            }
            if moved < 1e-4 {
                break;
            }
        }
        gaussian(x, &factor(last?)?)
    }

    /// Chains of draws by generalised elliptical slice sampling on a Student base around `base`.
    ///
    /// Stages of `warm` steps, each on a base with the mean and covariance that the last one found
    /// (blended with what was there), until the chains of a stage agree; then `keep` draws.
    pub(crate) fn chains(
        &self,
        base: &Gaussian,
        chains: usize,
        warm: usize,
        keep: usize,
        seed: u64,
    ) -> Vec<Vec<DVector<f64>>> {
        let mut walks: Vec<Walk> = (0..chains as u64).map(|c| Walk::new(self, base, rng(seed, c))).collect();
        let mut base = Gaussian { mean: base.mean.clone(), root: base.root.clone() };
        for stage in 0..STAGES {
            let pilot: Vec<Vec<DVector<f64>>> = walks
                .par_iter_mut()
                .map(|w| {
                    let all: Vec<DVector<f64>> = (0..warm).map(|_| w.step(self, &base)).collect();
                    all[warm / 4..].to_vec()
                })
                .collect();
            if let Some(b) = fitted(&pilot, &base) {
                base = b;
            }
            if stage > 0 && agree(&pilot) {
                break;
            }
        }
        walks.par_iter_mut().map(|w| (0..keep).map(|_| w.step(self, &base)).collect()).collect()
    }
}

/// Whether chains are about the same place in every coordinate.
fn agree(pilot: &[Vec<DVector<f64>>]) -> bool {
    let dims = pilot.first().and_then(|c| c.first()).map_or(0, |x| x.len());
    (0..dims).all(|i| {
        let one: Vec<Vec<f64>> = pilot.iter().map(|c| c.iter().map(|x| x[i]).collect()).collect();
        split_r_hat(&one).value().is_none_or(|r| r < 1.1)
    })
}

/// Mean and covariance of draws, the covariance blended with what was there.
fn fitted(pilot: &[Vec<DVector<f64>>], base: &Gaussian) -> Option<Gaussian> {
    let n: usize = pilot.iter().map(Vec::len).sum();
    if n < 8 {
        return None;
    }
    let mean = pilot.iter().flatten().fold(DVector::zeros(base.mean.len()), |m, x| m + x) / n as f64;
    let mut cov = &base.root * base.root.transpose() * BLEND;
    for x in pilot.iter().flatten() {
        let d = x - &mean;
        cov.ger(1.0, &d, &d, 1.0);
    }
    cov /= n as f64 + BLEND;
    let root = nalgebra::Cholesky::new(cov)?.l();
    Some(Gaussian { mean, root })
}

/// One chain on its way.
struct Walk {
    x: DVector<f64>,
    ln: f64,
    r: rand_chacha::ChaCha8Rng,
    room: Vec<f64>,
}

impl Walk {
    fn new(target: &Target<'_>, base: &Gaussian, mut r: rand_chacha::ChaCha8Rng) -> Self {
        let z = DVector::from_fn(base.mean.len(), |_, _| StandardNormal.sample(&mut r));
        let x = &base.mean + 0.7 * (&base.root * z);
        let mut room = Vec::new();
        Walk { ln: target.ln(&x, &mut room), x, r, room }
    }

    /// One generalised elliptical slice step; gives the new state.
    fn step(&mut self, target: &Target<'_>, base: &Gaussian) -> DVector<f64> {
        let d = base.mean.len();
        let shape = 0.5 * (d as f64 + BASE_NU);
        // Coordinates in which the base is round.
        let mut off = &self.x - &base.mean;
        if !base.root.solve_lower_triangular_mut(&mut off) {
            return self.x.clone();
        }
        let z = off;
        let base_ln = |z: &DVector<f64>| shape * (1.0 + z.norm_squared() / BASE_NU).ln();
        let gamma: f64 = Gamma::new(shape, 1.0).map_or(shape, |g| g.sample(&mut self.r));
        let spread = (0.5 * (BASE_NU + z.norm_squared()) / gamma.max(1e-12)).sqrt();
        let v: DVector<f64> = spread * DVector::from_fn(d, |_, _| StandardNormal.sample(&mut self.r));
        let level = self.ln + base_ln(&z) + (1.0 - self.r.random::<f64>()).ln();
        let mut angle = self.r.random::<f64>() * std::f64::consts::TAU;
        let (mut low, mut high) = (angle - std::f64::consts::TAU, angle);
        for _ in 0..60 {
            let new = angle.cos() * &z + angle.sin() * &v;
            let x = &base.mean + &base.root * &new;
            let ln = target.ln(&x, &mut self.room);
            if ln + base_ln(&new) > level {
                (self.x, self.ln) = (x, ln);
                break;
            }
            if angle < 0.0 {
                low = angle;
            } else {
                high = angle;
            }
            angle = low + self.r.random::<f64>() * (high - low);
        }
        self.x.clone()
    }
}
