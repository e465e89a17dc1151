//! The mode of a posterior with its curvature, and draws around it.

use crate::chance::rng;
use crate::diagnostics::split_r_hat;
use crate::linear::{Gaussian, factor, gaussian, prior_precision, without_negative};
use crate::params::{DIM, Logs, Prior};
use crate::patch::Patch;
use crate::sweep::Sweeps;
use coat::Day;
use nalgebra::{DMatrix, DVector, SMatrix};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, StandardNormal};
use rayon::prelude::*;

/// Degrees of freedom of the base that the slice step moves on.
const BASE_NU: f64 = 8.0;
/// Most stages of finding the base.
const STAGES: usize = 4;
/// Modes nearer than this, in standard deviations, are one.
const SAME_HILL: f64 = 1.5;
/// A mode with so much less evidence (its logarithm) is let be.
const LOW_HILL: f64 = 7.0;
/// The base that was there counts for so many draws.
const BLEND: f64 = 40.0;

/// A posterior over the patches' logarithms, the readings of some days left out or not.
pub(crate) struct Target<'a> {
    patches: &'a [Patch],
    precision: DMatrix<f64>,
    centre: DVector<f64>,
    prior: Prior,
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
            prior: *prior,
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

    /// Logarithm of the evidence by Laplace's method, from the Gaussian at the mode.
    pub(crate) fn ln_evidence(&self, mode: &Gaussian) -> Option<f64> {
        let prior = nalgebra::Cholesky::new(self.precision.clone())?;
        // Roots of determinants: of the prior's precision and the posterior's covariance; the 2 pi cancel.
        let ln_root = |l: &DMatrix<f64>| l.diagonal().iter().map(|d| d.ln()).sum::<f64>();
        Some(self.ln(&mode.mean, &mut Vec::new()) + ln_root(&prior.l()) + ln_root(&mode.root))
    }

    /// Log likelihood of one patch.
    pub(crate) fn ln_patch(&self, p: usize, x: &Logs, room: &mut Vec<f64>) -> f64 {
        self.patches[p].ln_at(x, self.counts, room)
    }

    /// Gradient and second derivatives of one patch's log likelihood, by differences.
    pub(crate) fn bend(
        &self,
        p: usize,
        x: &Logs,
        room: &mut Vec<f64>,
    ) -> (SMatrix<f64, DIM, 1>, SMatrix<f64, DIM, DIM>) {
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

    /// Climbs from the centre and from each of the starts; the Gaussians at the modes found, best first.
    pub(crate) fn modes(&self, starts: &[DVector<f64>]) -> Vec<Gaussian> {
        let mut room = Vec::new();
        let mut found: Vec<(f64, Gaussian)> = Vec::new();
        for x in std::iter::once(&self.centre).chain(starts) {
            let Some(g) = self.climb(x.clone(), &mut room) else { continue };
            // The same hill again.
            let mut off = Vec::new();
            for (_, f) in &found {
                let mut z = &g.mean - &f.mean;
                if f.root.solve_lower_triangular_mut(&mut z) {
                    off.push(z.norm());
                }
            }
            if off.iter().all(|d| *d > SAME_HILL) {
                let ln = self.ln_evidence(&g).unwrap_or(f64::NEG_INFINITY);
                found.push((ln, g));
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        let best = found.first().map_or(0.0, |f| f.0);
        found.into_iter().filter(|f| f.0 > best - LOW_HILL).map(|f| f.1).collect()
    }

    fn climb(&self, mut x: DVector<f64>, room: &mut Vec<f64>) -> Option<Gaussian> {
        let mut ln = self.ln(&x, room);
        let n = self.patches.len();
        let mut damp = 1e-3;
        let mut last = None;
        for _ in 0..40 {
            let mut h = self.precision.clone();
            let mut g = -(&self.precision * (&x - &self.centre));
            for p in 0..n {
                let (gp, m) = self.bend(p, &part(&x, p), room);
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
                let at = self.ln(&new, room);
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

    /// Chains of draws by generalised elliptical slice sampling on a Student base around the best mode.
    ///
    /// Stages of `warm` steps, each on a base with the mean and covariance that the last one found
    /// (blended with what was there), until the chains of a stage agree; then `keep` draws. Where there
    /// are several modes their Gaussians are the bases in turn, and the chains hop between them.
    pub(crate) fn chains(
        &self,
        modes: &[Gaussian],
        chains: usize,
        warm: usize,
        keep: usize,
        seed: u64,
    ) -> Vec<Vec<DVector<f64>>> {
        if self.patches.len() > 1
            && let Some(sweeps) = Sweeps::new(self, &self.prior, modes)
        {
            return sweeps.chains(chains, warm, keep, seed);
        }
        let mut bases: Vec<Gaussian> = modes.to_vec();
        let start = |c: u64| &modes[c as usize % modes.len()];
        let mut walks: Vec<Walk> = (0..chains as u64).map(|c| Walk::new(self, start(c), rng(seed, c))).collect();
        for stage in 0..STAGES {
            let pilot: Vec<Vec<DVector<f64>>> = walks
                .par_iter_mut()
                .map(|w| {
                    let all: Vec<DVector<f64>> = (0..warm).map(|_| w.step(self, &bases)).collect();
                    all[warm / 4..].to_vec()
                })
                .collect();
            if bases.len() == 1
                && let Some(b) = fitted(&pilot, &bases[0])
            {
                bases[0] = b;
            }
            if stage > 0 && agree(&pilot) {
                break;
            }
        }
        walks.par_iter_mut().map(|w| (0..keep).map(|_| w.step(self, &bases)).collect()).collect()
    }

    /// A few draws, to see where the posterior lies.
    pub(crate) fn pilot(&self, modes: &[Gaussian], steps: usize, seed: u64) -> Vec<DVector<f64>> {
        if self.patches.len() > 1
            && let Some(sweeps) = Sweeps::new(self, &self.prior, modes)
        {
            return sweeps.chains(2, steps / 4, steps, seed + 1).concat();
        }
        let start = |c: u64| &modes[c as usize % modes.len()];
        let mut walks: Vec<Walk> = (0..2).map(|c| Walk::new(self, start(c), rng(seed, 64 + c))).collect();
        walks.par_iter_mut().flat_map_iter(|w| (0..steps).map(|_| w.step(self, modes)).collect::<Vec<_>>()).collect()
    }

    /// Tries to hop from one mode to another, each taken to the other's shape; the new place and the target there.
    ///
    /// The pair is drawn evenly, so that the way back is as likely; what the shapes stretch is paid for.
    pub(crate) fn hop(
        &self,
        x: &DVector<f64>,
        ln: f64,
        modes: &[Gaussian],
        r: &mut ChaCha8Rng,
        room: &mut Vec<f64>,
    ) -> Option<(DVector<f64>, f64)> {
        if modes.len() < 2 {
            return None;
        }
        let i = r.random_range(0..modes.len());
        let j = (i + r.random_range(1..modes.len())) % modes.len();
        let (from, to) = (&modes[i], &modes[j]);
        let mut z = x - &from.mean;
        if !from.root.solve_lower_triangular_mut(&mut z) {
            return None;
        }
        let new = &to.mean + &to.root * z;
        let at = self.ln(&new, room);
        let stretch: f64 = (0..new.len()).map(|k| (to.root[(k, k)] / from.root[(k, k)]).ln()).sum();
        ((1.0 - r.random::<f64>()).ln() < at - ln + stretch).then_some((new, at))
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
    r: ChaCha8Rng,
    room: Vec<f64>,
}

impl Walk {
    fn new(target: &Target<'_>, base: &Gaussian, mut r: ChaCha8Rng) -> Self {
        let z = DVector::from_fn(base.mean.len(), |_, _| StandardNormal.sample(&mut r));
        let x = &base.mean + 0.7 * (&base.root * z);
        let mut room = Vec::new();
        Walk { ln: target.ln(&x, &mut room), x, r, room }
    }

    /// One slice step, and a hop where there are several modes; gives the new state.
    fn step(&mut self, target: &Target<'_>, bases: &[Gaussian]) -> DVector<f64> {
        if let Some((x, ln)) = target.hop(&self.x, self.ln, bases, &mut self.r, &mut self.room) {
            (self.x, self.ln) = (x, ln);
        }
        let base = &bases[if bases.len() > 1 { self.r.random_range(0..bases.len()) } else { 0 }];
        // Coordinates in which the base is round.
        let mut z = &self.x - &base.mean;
        if base.root.solve_lower_triangular_mut(&mut z) {
            let room = &mut self.room;
            let at = |z: &DVector<f64>| &base.mean + &base.root * z;
            let found = slice(&z, self.ln, &mut self.r, &mut |z| target.ln(&at(z), room));
            if let Some((z, ln)) = found {
                (self.x, self.ln) = (at(&z), ln);
            }
        }
        self.x.clone()
    }
}

/// One generalised elliptical slice step from `z`, where the target is `ln`, in coordinates in which the
/// base is round; the new place and the target there, which was looked at last.
pub(crate) fn slice(
    z: &DVector<f64>,
    ln: f64,
    r: &mut ChaCha8Rng,
    target: &mut dyn FnMut(&DVector<f64>) -> f64,
) -> Option<(DVector<f64>, f64)> {
    let d = z.len();
    let shape = 0.5 * (d as f64 + BASE_NU);
    let base_ln = |z: &DVector<f64>| shape * (1.0 + z.norm_squared() / BASE_NU).ln();
    let gamma: f64 = Gamma::new(shape, 1.0).map_or(shape, |g| g.sample(r));
    let spread = (0.5 * (BASE_NU + z.norm_squared()) / gamma.max(1e-12)).sqrt();
    let v: DVector<f64> = spread * DVector::from_fn(d, |_, _| StandardNormal.sample(r));
    let level = ln + base_ln(z) + (1.0 - r.random::<f64>()).ln();
    let mut angle = r.random::<f64>() * std::f64::consts::TAU;
    let (mut low, mut high) = (angle - std::f64::consts::TAU, angle);
    for _ in 0..60 {
        let new = angle.cos() * z + angle.sin() * &v;
        let ln = target(&new);
        if ln + base_ln(&new) > level {
            return Some((new, ln));
        }
        if angle < 0.0 {
            low = angle;
        } else {
            high = angle;
        }
        angle = low + r.random::<f64>() * (high - low);
    }
    None
}
