//! What was learned, in a few numbers, and readings that surprise.

use crate::diagnostics::{mean_sd, quantile};
use crate::params::{DIM, Logs, Param, scaled};
use crate::posterior::{LearnError, Learned};
use crate::sampler::part;
use coat::{Cycle, Day, Zone};

/// One value of one zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ParamSummary {
    /// Which.
    pub param: Param,
    /// Posterior mean (of the logarithm), in the parameter's unit.
    pub mean: f64,
    /// Lower end of the 80 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// The default.
    pub default: f64,
    /// Lower end of the prior's 80 % interval.
    pub prior_low: f64,
    /// Upper end.
    pub prior_high: f64,
    /// Posterior sd over prior sd, of the logarithm.
    pub of_prior_sd: f64,
    /// Hardly moved and hardly narrower: still only the default.
    pub only_default: bool,
}

/// What was learned of one zone.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneSummary {
    /// Which zone.
    pub zone: Zone,
    /// Its five values.
    pub params: [ParamSummary; DIM],
    /// Days from pull until half of a layer is ripe: mean of lag + grow + set, and its 80 % interval.
    pub pull_to_ripe_d: (f64, f64, f64),
    /// The same by the defaults.
    pub default_pull_to_ripe_d: f64,
    /// Indices of the readings that were given for this zone.
    pub readings: Vec<usize>,
}

/// A reading against what the others foretold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surprise {
    /// Index of the reading.
    pub index: usize,
    /// Chance of an answer at most this one.
    pub below: f64,
    /// Chance of an answer at least this one.
    pub above: f64,
}

impl Surprise {
    /// Whether it lies outside the middle 98 %.
    pub fn is_far(&self) -> bool {
        self.below.min(self.above) < 0.01
    }
}

/// 80 % point of a normal on either side.
const Z80: f64 = 1.281_551_565_545;
/// A posterior sd above so much of the prior's, and a mean within so much of it, is still the default.
const HARDLY_NARROWER: f64 = 0.9;
const HARDLY_MOVED: f64 = 0.25;

impl Learned {
    /// Everything about one zone; none when the dog is not set up with it.
    pub fn zone(&self, zone: Zone) -> Option<ZoneSummary> {
        let base = self.dog.zones.iter().find(|s| s.zone == zone)?.cycle;
        let draws = self.zone_draws(zone);
        let mean = self.zone_mean(zone);
        let sd = self.prior.total_sd();
        let at = |k: usize, x: f64| {
            let mut y = [0.0; DIM];
            y[k] = x;
            Param::ALL[k].of(&scaled(&base, &y))
        };
        let params = std::array::from_fn(|k| {
            let x: Vec<f64> = draws.iter().map(|d| d[k]).collect();
            let ratio = if self.patches.is_empty() { 1.0 } else { mean_sd(&x).1 / sd[k] };
            let moved = (mean[k] - self.prior.centre[k]).abs() / sd[k];
            ParamSummary {
                param: Param::ALL[k],
                mean: at(k, mean[k]),
                low: at(k, quantile(&x, 0.1)),
                high: at(k, quantile(&x, 0.9)),
                default: Param::ALL[k].of(&base),
                prior_low: at(k, self.prior.centre[k] - Z80 * sd[k]),
                prior_high: at(k, self.prior.centre[k] + Z80 * sd[k]),
                of_prior_sd: ratio,
                only_default: ratio > HARDLY_NARROWER && moved < HARDLY_MOVED,
            }
        });
        let sum = |c: &Cycle| c.pull_to_ripe_d();
        let all: Vec<f64> = draws.iter().map(|x| sum(&scaled(&base, x))).collect();
        let mut readings: Vec<usize> =
            self.patch_of(zone).map_or_else(Vec::new, |p| self.patches[p].reads.iter().map(|r| r.index).collect());
        readings.sort_unstable();
        Some(ZoneSummary {
            zone,
            params,
            pull_to_ripe_d: (sum(&scaled(&base, &mean)), quantile(&all, 0.1), quantile(&all, 0.9)),
            default_pull_to_ripe_d: sum(&base),
            readings,
        })
    }

    /// Mean and sd of the dog's own part: what a shop may keep of it.
    pub fn dog_part(&self) -> (Logs, Logs) {
        let of = |k: usize| mean_sd(&self.dog_draws.iter().map(|d| d[k]).collect::<Vec<f64>>());
        (std::array::from_fn(|k| of(k).0), std::array::from_fn(|k| of(k).1))
    }

    /// The readings of one visit against what the readings counted by `counts` foretell for it.
    fn against(&self, day: Day, counts: &(dyn Fn(Day) -> bool + Sync)) -> Result<Vec<Surprise>, LearnError> {
        let chains = self.chains(counts)?;
        let mut room = Vec::new();
        let mut out: Vec<Surprise> = Vec::new();
        for (p, patch) in self.patches.iter().enumerate() {
            for read in patch.reads.iter().filter(|r| r.day == day) {
                if out.iter().any(|s| s.index == read.index) {
                    continue;
                }
                let (mut below, mut above, mut n) = (0.0, 0.0, 0.0);
                for x in chains.iter().flatten() {
                    if let Some(s) = patch.sight_at(read, &part(x, p), &mut room) {
                        let t = read.what.tails(&s);
                        below += t.0;
                        above += t.1;
                        n += 1.0;
                    }
                }
                out.push(Surprise { index: read.index, below: below / n, above: above / n });
            }
        }
        out.sort_by_key(|s| s.index);
        Ok(out)
    }

    /// The readings of the last visit against what the visits before it foretold.
    ///
    /// # Errors
    /// [`LearnError::Numbers`] when no posterior is found without them.
    pub fn last_visit(&self) -> Result<Vec<Surprise>, LearnError> {
        match self.visit_days().last() {
            Some(&last) => self.against(last, &move |d| d < last),
            None => Ok(Vec::new()),
        }
    }

    /// The readings of one visit against what all the others say.
    ///
    /// # Errors
    /// [`LearnError::Numbers`] when no posterior is found without them.
    pub fn without_visit(&self, day: Day) -> Result<Vec<Surprise>, LearnError> {
        self.against(day, &move |d| d != day)
    }

    /// Days with readings that count, ascending.
    pub fn visit_days(&self) -> Vec<Day> {
        let mut days: Vec<Day> = self.patches.iter().flat_map(|p| p.reads.iter().map(|r| r.day)).collect();
        days.sort_unstable();
        days.dedup();
        days
    }
}
