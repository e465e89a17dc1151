//! From readings to draws of a dog's values.

use crate::chance::{halton_normal, rng};
use crate::diagnostics::{Available, k_hat, mean_sd, split_r_hat, total_ess};
use crate::linear::Gaussian;
use crate::params::{DIM, Logs, Prior, scaled};
use crate::patch::{Patch, patches};
use crate::reading::{Reading, ReadingError};
use crate::sampler::{Target, part};
use coat::{Day, Dog, HistoryError, LagCalendar, Zone, ZoneSetup};
use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// How much work to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Replays that fill the prior, for each patch.
    pub first: usize,
    /// Replays around the posterior, for each patch.
    pub second: usize,
    /// Draws compared with the engine.
    pub checks: usize,
    /// Chains.
    pub chains: usize,
    /// Steps of a chain left out first.
    pub warm: usize,
    /// Draws kept of a chain.
    pub keep: usize,
}

impl Effort {
    /// After a visit: under 300 ms for a usual record.
    pub const VISIT: Effort = Effort { first: 40, second: 32, checks: 32, chains: 4, warm: 80, keep: 250 };
    /// For many simulated dogs.
    pub const QUICK: Effort = Effort { first: 32, second: 16, checks: 0, chains: 2, warm: 60, keep: 150 };
    /// For checks: where records fit two kinds of coat, one draw in thirty is as good as an independent one.
    pub const LONG: Effort = Effort { first: 80, second: 80, checks: 100, chains: 4, warm: 200, keep: 12_500 };
}

/// What to learn from.
#[derive(Clone, Copy)]
pub struct Case<'a> {
    /// The dog, its zones at their defaults and its history.
    pub dog: &'a Dog,
    /// What was read; later than `today` is not used.
    pub readings: &'a [Reading],
    /// The last day that may be known.
    pub today: Day,
    /// The prior.
    pub prior: Prior,
    /// For the draws.
    pub seed: u64,
    /// How much work to do.
    pub effort: Effort,
}

/// Why nothing could be learned.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LearnError {
    /// A reading out of range.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// The history contradicts itself.
    #[error(transparent)]
    History(#[from] HistoryError),
    /// The numbers gave out.
    #[error("no posterior was found: {0}")]
    Numbers(&'static str),
}

/// A reading that says nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unused {
    /// Index among the readings given.
    pub index: usize,
    /// Why.
    pub why: UnusedWhy,
}

/// Why a reading says nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnusedWhy {
    /// It is of a later day.
    Later,
    /// The history begins after it.
    BeforeHistory,
    /// None of its zones is worked.
    NeverWorked,
    /// A new layer was read and nothing had been pulled before.
    NoLayer,
}

/// How far the draws can be trusted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diagnostics {
    /// Draws in all.
    pub draws: usize,
    /// Smallest effective sample size over the parameters.
    pub ess: Available,
    /// Largest split R-hat.
    pub r_hat: Available,
    /// Pareto shape of the engine's answer over the interpolated one.
    pub k_hat: Available,
    /// Standard deviation of the logarithm of that ratio.
    pub ln_ratio_sd: Available,
    /// Replays of the engine.
    pub replays: usize,
    /// Patches.
    pub patches: usize,
    /// Times that the interpolation was made better.
    pub rounds: usize,
}

/// What was learned of one dog.
pub struct Learned {
    pub(crate) dog: Dog,
    pub(crate) prior: Prior,
    pub(crate) today: Day,
    pub(crate) seed: u64,
    pub(crate) effort: Effort,
    pub(crate) calendar: Option<LagCalendar>,
    pub(crate) patches: Vec<Patch>,
    /// Draws of the patches' logarithms, chain after chain.
    pub(crate) draws: Vec<DVector<f64>>,
    /// The dog's part in each draw.
    pub(crate) dog_draws: Vec<Logs>,
    /// Readings that say nothing.
    pub unused: Vec<Unused>,
    /// How far to trust it.
    pub diagnostics: Diagnostics,
}

/// Learns one dog from its readings.
///
/// # Errors
/// [`LearnError`] when a reading is out of range or the history contradicts itself.
pub fn learn(case: &Case<'_>) -> Result<Learned, LearnError> {
    for r in case.readings {
        r.check()?;
    }
    let mut dog = case.dog.clone();
    dog.history.retain(|h| h.0 <= case.today);
    let begin = dog.history.first().map_or(dog.born, |h| h.0);
    let calendar = dog.lag_calendar(begin - 600, case.today + 1200);
    let (patches, unused) = patches(&dog, case.readings, case.today);
    let mut l = Learned {
        dog,
        prior: case.prior,
        today: case.today,
        seed: case.seed,
        effort: case.effort,
        calendar,
        patches,
        draws: Vec::new(),
        dog_draws: Vec::new(),
        unused,
        diagnostics: Diagnostics {
            draws: 0,
            ess: Available::Not("there is no reading"),
            r_hat: Available::Not("there is no reading"),
            k_hat: Available::Not("there is no reading"),
            ln_ratio_sd: Available::Not("there is no reading"),
            replays: 0,
            patches: 0,
            rounds: 0,
        },
    };
    l.sample()?;
    Ok(l)
}

/// Ratios of engine to interpolation may spread so much for one patch before it is made better.
const MOST_SPREAD: f64 = 0.4;
/// Replays around the posterior are spread so much wider than it.
const WIDER: f64 = 1.3;
/// A plan expects new hair so much of a standard deviation later.
const LATER: f64 = 0.4;
/// It departs from the prior only where a value is nearly certain: what is known counts with this power.
const CERTAIN: i32 = 4;
/// Modes are looked for from so many places,
const STARTS: usize = 3;
/// so far apart in lag or grow, prior standard deviations.
const APART: f64 = 1.2;
/// And their tail be so heavy.
const MOST_K: f64 = 0.7;

/// Points of one patch among draws, spread a little wider than they are.
fn around(draws: &[DVector<f64>], p: usize, n: usize) -> Vec<Logs> {
    let count = draws.len().max(1);
    let mean: Logs = std::array::from_fn(|k| draws.iter().map(|x| x[p * DIM + k]).sum::<f64>() / count as f64);
    (0..n.min(draws.len()))
        .map(|i| {
            let x = part(&draws[i * draws.len() / n.min(draws.len())], p);
            std::array::from_fn(|k| mean[k] + WIDER * (x[k] - mean[k]))
        })
        .collect()
}

impl Learned {
    fn target<'a>(&'a self, counts: &'a (dyn Fn(Day) -> bool + Sync)) -> Target<'a> {
        Target::new(&self.patches, &self.prior, counts)
    }

    fn sample(&mut self) -> Result<(), LearnError> {
        let e = self.effort;
        self.diagnostics.patches = self.patches.len();
        if !self.patches.is_empty() {
            let sd = self.prior.total_sd();
            let centre = self.prior.centre;
            let first: Vec<Logs> = (0..e.first)
                .map(|i| {
                    let h = halton_normal(i, DIM);
                    std::array::from_fn(|k| centre[k] + 1.1 * sd[k] * h[k])
                })
                .collect();
            let points = vec![first; self.patches.len()];
            self.ask(&points)?;
            if e.second > 0 {
                // Where the posterior lies by the interpolation so far, a little wider.
                let modes = self.modes(&|_| true)?;
                let pilot = self.target(&|_| true).pilot(&modes, e.warm, self.seed);
                let around: Vec<Vec<Logs>> = (0..self.patches.len()).map(|p| around(&pilot, p, e.second)).collect();
                self.ask(&around)?;
            }
            for round in 0..3 {
                let chains = self.chains(&|_| true)?;
                self.judge(&chains);
                self.draws = chains.into_iter().flatten().collect();
                self.diagnostics.rounds = round;
                if e.checks == 0 {
                    let why = Available::Not("no draw was compared");
                    (self.diagnostics.k_hat, self.diagnostics.ln_ratio_sd) = (why, why);
                    break;
                }
                let more = self.compare(round)?;
                let d = &self.diagnostics;
                let bad = d.k_hat.value().is_some_and(|k| k > MOST_K) && d.ln_ratio_sd.value().is_some_and(|s| s > 0.1)
                    || d.ln_ratio_sd.value().is_some_and(|s| s > MOST_SPREAD * (self.patches.len() as f64).sqrt());
                if !bad || round == 2 {
                    break;
                }
                self.add(more);
            }
        } else {
            self.draws = vec![DVector::zeros(0); e.chains * e.keep];
        }
        self.diagnostics.draws = self.draws.len();
        self.draw_dogs();
        Ok(())
    }

    /// Replays points of every patch and takes them into its surface.
    fn ask(&mut self, points: &[Vec<Logs>]) -> Result<(), LearnError> {
        let jobs: Vec<(usize, Logs)> =
            points.iter().enumerate().flat_map(|(p, v)| v.iter().map(move |x| (p, *x))).collect();
        let (dog, calendar, patches) = (&self.dog, self.calendar.as_ref(), &self.patches);
        let found: Vec<Result<Vec<f64>, HistoryError>> =
            jobs.par_iter().map(|(p, x)| patches[*p].exact(dog, calendar, x)).collect();
        let mut more = Vec::with_capacity(jobs.len());
        for (job, f) in jobs.into_iter().zip(found) {
            more.push((job.0, job.1, f?));
        }
        self.diagnostics.replays += more.len();
        self.add(more);
        if self.patches.iter().any(|p| p.surface.is_none()) {
            return Err(LearnError::Numbers("the replays do not determine the interpolation"));
        }
        Ok(())
    }

    fn add(&mut self, more: Vec<(usize, Logs, Vec<f64>)>) {
        for (p, x, v) in more {
            self.patches[p].points.push(x);
            self.patches[p].values.push(v);
        }
        let prior = self.prior;
        for p in &mut self.patches {
            p.refit(&prior);
        }
    }

    /// The Gaussian at the best mode.
    pub(crate) fn mode(&self, counts: &(dyn Fn(Day) -> bool + Sync)) -> Result<Gaussian, LearnError> {
        Ok(self.modes(counts)?.swap_remove(0))
    }

    /// The Gaussians at the modes, best first: climbed to from the best points that were replayed.
    fn modes(&self, counts: &(dyn Fn(Day) -> bool + Sync)) -> Result<Vec<Gaussian>, LearnError> {
        let sd = self.prior.total_sd();
        let unit = |x: &Logs, k: usize| (x[k] - self.prior.centre[k]) / sd[k];
        // Patch by patch the best; and, of the points that fill the prior (the same in every patch), the
        // best on the whole that lie well apart.
        let score = |patch: &Patch, i: usize| {
            let x = &patch.points[i];
            let off: f64 = (0..DIM).map(|k| unit(x, k).powi(2)).sum();
            patch.ln_of(&patch.values[i], x, counts) - 0.5 * off
        };
        let mut best = DVector::zeros(self.patches.len() * DIM);
        for (p, patch) in self.patches.iter().enumerate() {
            let all: Vec<f64> = (0..patch.points.len()).map(|i| score(patch, i)).collect();
            let i = (0..all.len()).max_by(|a, b| all[*a].total_cmp(&all[*b])).unwrap_or(0);
            for k in 0..DIM {
                best[p * DIM + k] = patch.points[i][k];
            }
        }
        let mut starts = vec![best];
        if let Some(first) = self.patches.first() {
            let n = self.effort.first.min(first.points.len());
            let mut order: Vec<(f64, usize)> =
                (0..n).map(|i| (self.patches.iter().map(|p| score(p, i)).sum(), i)).collect();
            order.sort_by(|a, b| b.0.total_cmp(&a.0));
            for (_, i) in order {
                let x = &first.points[i];
                let far = |s: &DVector<f64>| {
                    let y = part(s, 0);
                    (unit(x, 0) - unit(&y, 0)).abs().max((unit(x, 1) - unit(&y, 1)).abs()) > APART
                };
                if starts.len() < STARTS && starts.iter().all(far) {
                    starts.push(DVector::from_fn(self.patches.len() * DIM, |j, _| x[j % DIM]));
                }
            }
        }
        let found = self.target(counts).modes(&starts);
        if found.is_empty() { Err(LearnError::Numbers("its curvature could not be factored")) } else { Ok(found) }
    }

    pub(crate) fn chains(&self, counts: &(dyn Fn(Day) -> bool + Sync)) -> Result<Vec<Vec<DVector<f64>>>, LearnError> {
        let e = self.effort;
        Ok(self.target(counts).chains(&self.modes(counts)?, e.chains, e.warm, e.keep, self.seed))
    }

    fn judge(&mut self, chains: &[Vec<DVector<f64>>]) {
        let (mut ess, mut r_hat) = (Available::Not("too few draws"), Available::Not("too few draws"));
        for i in 0..self.patches.len() * DIM {
            let one: Vec<Vec<f64>> = chains.iter().map(|c| c.iter().map(|x| x[i]).collect()).collect();
            let (e, r) = (total_ess(&one), split_r_hat(&one));
            if ess.value().is_none_or(|v| e.value().is_some_and(|w| w < v)) {
                ess = e;
            }
            if r_hat.value().is_none_or(|v| r.value().is_some_and(|w| w > v)) {
                r_hat = r;
            }
        }
        (self.diagnostics.ess, self.diagnostics.r_hat) = (ess, r_hat);
    }

    /// Replays some draws and compares; gives what was replayed.
    fn compare(&mut self, round: usize) -> Result<Vec<(usize, Logs, Vec<f64>)>, LearnError> {
        let step = (self.draws.len() / self.effort.checks.max(1)).max(1);
        let chosen: Vec<&DVector<f64>> = self.draws.iter().skip(round % step).step_by(step).collect();
        let jobs: Vec<(usize, usize)> =
            (0..chosen.len()).flat_map(|i| (0..self.patches.len()).map(move |p| (i, p))).collect();
        let found: Vec<Result<Vec<f64>, HistoryError>> = jobs
            .par_iter()
            .map(|(i, p)| self.patches[*p].exact(&self.dog, self.calendar.as_ref(), &part(chosen[*i], *p)))
            .collect();
        let mut ln = vec![0.0; chosen.len()];
        let mut more = Vec::with_capacity(jobs.len());
        let mut room = Vec::new();
        for ((i, p), f) in jobs.iter().zip(found) {
            let (x, v) = (part(chosen[*i], *p), f?);
            let all = |_| true;
            ln[*i] += self.patches[*p].ln_of(&v, &x, &all) - self.patches[*p].ln_at(&x, &all, &mut room);
            more.push((*p, x, v));
        }
        self.diagnostics.replays += more.len();
        self.diagnostics.k_hat = k_hat(&ln);
        self.diagnostics.ln_ratio_sd =
            if ln.len() > 4 { Available::Is(mean_sd(&ln).1) } else { Available::Not("too few draws") };
        Ok(more)
    }

    fn draw_dogs(&mut self) {
        self.dog_draws = self.dogs_of(&self.draws);
    }

    /// The dog's part given its patches, drawn.
    pub(crate) fn dogs_of(&self, draws: &[DVector<f64>]) -> Vec<Logs> {
        let mut r = rng(self.seed, 1 << 20);
        let n = self.patches.len();
        draws
            .iter()
            .map(|x| {
                std::array::from_fn(|k| {
                    let (a, b) = (self.prior.dog_sd[k].powi(2), self.prior.zone_sd[k].powi(2));
                    let precision = 1.0 / a + n as f64 / b;
                    let sum: f64 = (0..n).map(|p| x[p * DIM + k]).sum();
                    let z: f64 = StandardNormal.sample(&mut r);
                    (self.prior.centre[k] / a + sum / b) / precision + z / precision.sqrt()
                })
            })
            .collect()
    }

    /// The patch that a zone is in; none where nothing was read.
    pub(crate) fn patch_of(&self, zone: Zone) -> Option<usize> {
        self.patches.iter().position(|p| p.zones.contains(&zone))
    }

    /// Draws of a zone's logarithms.
    pub fn zone_draws(&self, zone: Zone) -> Vec<Logs> {
        self.zone_draws_from(zone, &self.draws, &self.dog_draws)
    }

    pub(crate) fn zone_draws_from(&self, zone: Zone, draws: &[DVector<f64>], dogs: &[Logs]) -> Vec<Logs> {
        if let Some(p) = self.patch_of(zone) {
            return draws.iter().map(|x| part(x, p)).collect();
        }
        let mut r = rng(self.seed, (1 << 21) + zone as u64);
        dogs.iter()
            .map(|d| {
                std::array::from_fn(|k| {
                    let z: f64 = StandardNormal.sample(&mut r);
                    d[k] + self.prior.zone_sd[k] * z
                })
            })
            .collect()
    }

    /// Draws of the dog's own part.
    pub fn dog_draws(&self) -> &[Logs] {
        &self.dog_draws
    }

    /// How many draws there are.
    pub fn draw_count(&self) -> usize {
        self.draws.len()
    }

    /// Posterior mean of a zone's logarithms; the prior's centre where nothing is known.
    pub fn zone_mean(&self, zone: Zone) -> Logs {
        if self.patches.is_empty() {
            return self.prior.centre;
        }
        if let Some(p) = self.patch_of(zone) {
            return std::array::from_fn(|k| {
                self.draws.iter().map(|x| x[p * DIM + k]).sum::<f64>() / self.draws.len().max(1) as f64
            });
        }
        // The zone's own part has mean 0; the dog's part is a weighted mean of its patches'.
        let n = self.patches.len();
        std::array::from_fn(|k| {
            let (a, b) = (self.prior.dog_sd[k].powi(2), self.prior.zone_sd[k].powi(2));
            let all: f64 = self.draws.iter().map(|x| (0..n).map(|p| x[p * DIM + k]).sum::<f64>()).sum();
            let sum = all / self.draws.len().max(1) as f64;
            (self.prior.centre[k] / a + sum / b) / (1.0 / a + n as f64 / b)
        })
    }

    fn with(dog: &Dog, of: impl Fn(Zone) -> Logs) -> Dog {
        let mut out = dog.clone();
        out.zones = dog.zones.iter().map(|s| ZoneSetup { cycle: scaled(&s.cycle, &of(s.zone)), ..s.clone() }).collect();
        out
    }

    /// A dog with every zone's values at their posterior mean (of the logarithms).
    pub fn dog_at_mean(&self, dog: &Dog) -> Dog {
        Self::with(dog, |z| self.zone_mean(z))
    }

    /// The logarithms that a plan should count on: as far from the prior's centre as they are known.
    ///
    /// A plan errs more dearly in taking too much than too little; and the mean of a value that is half known
    /// moves from visit to visit, the amounts with it, which makes a coat uneven. So each mean counts by a power
    /// of the share of the prior's variance that the readings took away, and hair is expected a part of a
    /// standard deviation later.
    pub fn zone_to_plan(&self, zone: Zone) -> Logs {
        let mean = self.zone_mean(zone);
        if self.patches.is_empty() {
            return mean;
        }
        let draws = self.zone_draws(zone);
        let (centre, prior) = (&self.prior.centre, self.prior.total_sd());
        std::array::from_fn(|k| {
            let sd = mean_sd(&draws.iter().map(|d| d[k]).collect::<Vec<f64>>()).1;
            let known = (1.0 - (sd / prior[k]).powi(2)).clamp(0.0, 1.0).powi(CERTAIN);
            centre[k] + known * (mean[k] - centre[k]) + if k == 0 { LATER * sd } else { 0.0 }
        })
    }

    /// A dog with every zone's values as a plan should count on them.
    pub fn dog_to_plan(&self, dog: &Dog) -> Dog {
        Self::with(dog, |z| self.zone_to_plan(z))
    }

    /// A dog with the values of some draws, in the order given.
    pub fn dogs_at(&self, dog: &Dog, draws: &[usize]) -> Vec<Dog> {
        let all: Vec<(Zone, Vec<Logs>)> = dog.zones.iter().map(|s| (s.zone, self.zone_draws(s.zone))).collect();
        let of = |i: usize, z: Zone| all.iter().find(|a| a.0 == z).map_or(self.prior.centre, |a| a.1[i]);
        draws.iter().map(|&i| Self::with(dog, |z| of(i.min(self.draws.len() - 1), z))).collect()
    }

    /// The prior that was used.
    pub fn prior(&self) -> &Prior {
        &self.prior
    }

    /// The last day that was known.
    pub fn today(&self) -> Day {
        self.today
    }
}
