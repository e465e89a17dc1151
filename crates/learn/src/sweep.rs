//! Draws for a dog read in several patches, a patch at a time.
//!
//! Given the dog's part the patches know nothing of one another, so each moves in its own five
//! dimensions; then the dog's part moves with all patches held at their distance from it (centred and
//! non-centred moves in turn: Yu & Meng 2011, J Comput Graph Stat 20:531-570). Every move is a
//! generalised elliptical slice step, whose base is the Gaussian of the readings at the mode together
//! with the prior.

use crate::chance::rng;
use crate::linear::{Gaussian, factor, without_negative};
use crate::params::{DIM, Logs, Prior};
use crate::sampler::{Target, part, slice};
use nalgebra::{DMatrix, DVector};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Readings near the mode as `linear . x - x curve x / 2`, and a root of a move's covariance.
struct Bowl {
    curve: DMatrix<f64>,
    linear: DVector<f64>,
}

/// A move's covariance and its root.
struct Move {
    cov: DMatrix<f64>,
    root: DMatrix<f64>,
}

impl Move {
    fn new(precision: DMatrix<f64>) -> Option<Self> {
        let cov = factor(precision)?.inverse();
        let root = nalgebra::Cholesky::new(cov.clone())?.l();
        Some(Move { cov, root })
    }

    /// Coordinates in which the base around `mean` is round.
    fn round(&self, x: &DVector<f64>, mean: &DVector<f64>) -> Option<DVector<f64>> {
        let mut off = x - mean;
        self.root.solve_lower_triangular_mut(&mut off).then_some(off)
    }
}

/// The moves that go with one mode.
struct Moves {
    bowls: Vec<Bowl>,
    own: Vec<Move>,
    joint: Move,
}

/// All that the chains share.
pub(crate) struct Sweeps<'a> {
    target: &'a Target<'a>,
    prior: Prior,
    modes: &'a [Gaussian],
    moves: Vec<Moves>,
}

/// One chain on its way.
struct Walk {
    x: Vec<DVector<f64>>,
    ln: Vec<f64>,
    r: ChaCha8Rng,
    room: Vec<f64>,
}

fn together(x: &[DVector<f64>]) -> DVector<f64> {
    DVector::from_iterator(x.len() * DIM, x.iter().flat_map(|x| x.iter().copied()))
}

fn apart(x: &DVector<f64>) -> Vec<DVector<f64>> {
    (0..x.len() / DIM).map(|p| DVector::from_row_slice(&part(x, p))).collect()
}

fn logs(x: &DVector<f64>) -> Logs {
    std::array::from_fn(|k| x[k])
}

fn precision(sd: &Logs) -> DMatrix<f64> {
    DMatrix::from_fn(DIM, DIM, |i, j| if i == j { sd[i].powi(-2) } else { 0.0 })
}

fn ln_normal(x: &DVector<f64>, centre: impl Fn(usize) -> f64, sd: &Logs) -> f64 {
    (0..DIM).map(|k| -0.5 * ((x[k] - centre(k)) / sd[k]).powi(2)).sum()
}

impl Moves {
    fn new(target: &Target<'_>, prior: &Prior, mode: &Gaussian) -> Option<Self> {
        let mut room = Vec::new();
        let mut bowls = Vec::new();
        let mut own = Vec::new();
        let mut all = precision(&prior.dog_sd);
        for p in 0..mode.mean.len() / DIM {
            let at = part(&mode.mean, p);
            let (g, m) = target.bend(p, &at, &mut room);
            let h = without_negative(&(-m));
            let curve = DMatrix::from_fn(DIM, DIM, |i, j| h[(i, j)]);
            let x = DVector::from_row_slice(&at);
            let linear = DVector::from_fn(DIM, |k, _| g[k]) + &curve * &x;
            own.push(Move::new(&curve + precision(&prior.zone_sd))?);
            all += &curve;
            bowls.push(Bowl { curve, linear });
        }
        Some(Moves { bowls, own, joint: Move::new(all)? })
    }
}

impl<'a> Sweeps<'a> {
    /// Gaussians at the modes; none when one cannot be factored.
    pub(crate) fn new(target: &'a Target<'a>, prior: &Prior, modes: &'a [Gaussian]) -> Option<Self> {
        let moves: Option<Vec<Moves>> = modes.iter().map(|m| Moves::new(target, prior, m)).collect();
        Some(Sweeps { target, prior: *prior, modes, moves: moves? })
    }

    /// Chains of draws: `warm` sweeps passed over, then `keep` kept.
    pub(crate) fn chains(&self, chains: usize, warm: usize, keep: usize, seed: u64) -> Vec<Vec<DVector<f64>>> {
        (0..chains as u64)
            .into_par_iter()
            .map(|c| {
                let mut w = self.begin(&self.modes[c as usize % self.modes.len()], rng(seed, c));
                for _ in 0..warm {
                    self.sweep(&mut w);
                }
                (0..keep)
                    .map(|_| {
                        self.sweep(&mut w);
                        together(&w.x)
                    })
                    .collect()
            })
            .collect()
    }

    fn begin(&self, mode: &Gaussian, mut r: ChaCha8Rng) -> Walk {
        let z = DVector::from_fn(mode.mean.len(), |_, _| StandardNormal.sample(&mut r));
        let x = apart(&(&mode.mean + 0.7 * (&mode.root * z)));
        let mut room = Vec::new();
        let ln = self.patches(&x, &mut room);
        Walk { x, ln, r, room }
    }

    /// Log likelihood of each patch.
    fn patches(&self, x: &[DVector<f64>], room: &mut Vec<f64>) -> Vec<f64> {
        x.iter().enumerate().map(|(p, x)| self.target.ln_patch(p, &logs(x), room)).collect()
    }

    fn sweep(&self, w: &mut Walk) {
        if self.modes.len() > 1 {
            let x = together(&w.x);
            let ln = self.target.ln(&x, &mut w.room);
            if let Some((x, _)) = self.target.hop(&x, ln, self.modes, &mut w.r, &mut w.room) {
                w.x = apart(&x);
                w.ln = self.patches(&w.x, &mut w.room);
            }
        }
        let k = if self.moves.len() > 1 { w.r.random_range(0..self.moves.len()) } else { 0 };
        let Moves { bowls, own, joint } = &self.moves[k];
        let n = bowls.len();
        let prior = &self.prior;
        let (a, b) = (prior.dog_sd.map(|s| s.powi(-2)), prior.zone_sd.map(|s| s.powi(-2)));
        let dog = DVector::from_fn(DIM, |k, _| {
            let precision = a[k] + n as f64 * b[k];
            let sum: f64 = w.x.iter().map(|x| x[k]).sum();
            let z: f64 = StandardNormal.sample(&mut w.r);
            (prior.centre[k] * a[k] + sum * b[k]) / precision + z / precision.sqrt()
        });
        for p in 0..n {
            let m = &own[p];
            let mean = &m.cov * DVector::from_fn(DIM, |k, _| bowls[p].linear[k] + b[k] * dog[k]);
            let Some(z) = m.round(&w.x[p], &mean) else { continue };
            let from_dog = |x: &DVector<f64>| ln_normal(x, |k| dog[k], &prior.zone_sd);
            let now = w.ln[p] + from_dog(&w.x[p]);
            let mut ln = w.ln[p];
            let room = &mut w.room;
            let found = slice(&z, now, &mut w.r, &mut |z| {
                let x = &mean + &m.root * z;
                ln = self.target.ln_patch(p, &logs(&x), room);
                ln + from_dog(&x)
            });
            if let Some((z, _)) = found {
                w.x[p] = &mean + &m.root * z;
                w.ln[p] = ln;
            }
        }
        let off: Vec<DVector<f64>> = w.x.iter().map(|x| x - &dog).collect();
        let mut linear = DVector::from_fn(DIM, |k, _| a[k] * prior.centre[k]);
        for (bowl, e) in bowls.iter().zip(&off) {
            linear += &bowl.linear - &bowl.curve * e;
        }
        let mean = &joint.cov * linear;
        let Some(z) = joint.round(&dog, &mean) else { return };
        let of_prior = |d: &DVector<f64>| ln_normal(d, |k| prior.centre[k], &prior.dog_sd);
        let now = w.ln.iter().sum::<f64>() + of_prior(&dog);
        let mut ln = w.ln.clone();
        let room = &mut w.room;
        let found = slice(&z, now, &mut w.r, &mut |z| {
            let d = &mean + &joint.root * z;
            for (p, e) in off.iter().enumerate() {
                ln[p] = self.target.ln_patch(p, &logs(&(&d + e)), room);
            }
            ln.iter().sum::<f64>() + of_prior(&d)
        });
        if let Some((z, _)) = found {
            let d = &mean + &joint.root * z;
            for (x, e) in w.x.iter_mut().zip(&off) {
                *x = &d + e;
            }
            w.ln = ln;
        }
    }
}
