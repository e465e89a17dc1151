//! A true coat through a year: single follicles, and the plan's cost of what they show.

use crate::follicles::{Follicles, Life};
use rand_chacha::ChaCha8Rng;

/// Draws from which the share not ripe after so many days is counted.
const TIMES: usize = 8000;
/// Age classes looked at; older than this no follicle of these dogs is unripe.
const CLASSES: usize = 40;

/// What a day costs by term, averaged over days: the plan's cost of a layered zone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cost {
    /// Cover below the floor.
    pub cover: f64,
    /// Ripe hair left.
    pub ripe: f64,
    /// Unevenness.
    pub evenness: f64,
}

impl Cost {
    /// All of it.
    pub fn sum(&self) -> f64 {
        self.cover + self.ripe + self.evenness
    }
}

/// A coat that is worked, with its cost so far.
pub struct WorkedCoat {
    /// The follicles.
    pub hair: Follicles,
    /// Days of visits, oldest first.
    visits: Vec<i32>,
    rhythm_d: i32,
    floor: f64,
    /// Days from emptying to ripe, sorted.
    times: Vec<f64>,
    uneven: f64,
    sum: Cost,
    days: i32,
}

impl WorkedCoat {
    /// A coat on its first day, nothing counted yet.
    pub fn new(hair: Follicles, life: &Life, rhythm_d: i32, floor: f64, rng: ChaCha8Rng) -> Self {
        let times = Follicles::ripe_times(life, TIMES, rng);
        WorkedCoat { hair, visits: Vec::new(), rhythm_d, floor, times, uneven: 0.0, sum: Cost::default(), days: 0 }
    }

    /// From now on new hair lives differently.
    pub fn change(&mut self, life: &Life, rng: ChaCha8Rng) {
        self.hair.change(*life);
        self.times = Follicles::ripe_times(life, TIMES, rng);
    }

    /// Ends a visit: age classes end here, and evenness is as it stands now.
    pub fn visited(&mut self) {
        self.visits.push(self.hair.day());
        self.uneven = 1.0 - self.evenness();
    }

    fn unripe_after(&self, days: i32) -> f64 {
        let ripe = self.times.partition_point(|t| *t <= f64::from(days) + 0.5);
        1.0 - ripe as f64 / self.times.len() as f64
    }

    /// `1 - sum |share - ideal| / 2` over the age classes that the visits make.
    pub fn evenness(&self) -> f64 {
        let Some(&newest) = self.visits.last() else { return 0.0 };
        let mut ends: Vec<i32> = self.visits.iter().rev().copied().collect();
        while ends.len() <= CLASSES {
            ends.push(ends[ends.len() - 1] - self.rhythm_d);
        }
        let mut ideal: Vec<f64> =
            ends.windows(2).map(|w| f64::from(w[0] - w[1]) * self.unripe_after(newest - w[0])).collect();
        let sum: f64 = ideal.iter().sum();
        for x in &mut ideal {
            *x /= sum.max(1e-12);
        }
        let shares: Vec<f64> = ends
            .windows(2)
            .enumerate()
            .map(|(j, w)| self.hair.emptied_between(w[1], if j == 0 { self.hair.day() } else { w[0] }))
            .collect();
        let older = 1.0 - shares.iter().sum::<f64>();
        let off: f64 = shares.iter().zip(&ideal).map(|(s, i)| (s - i).abs()).sum::<f64>() + older;
        1.0 - off / 2.0
    }

    /// Counts today, as it stands after its work.
    pub fn count_day(&mut self) {
        self.sum.cover += 20.0 * (self.floor - self.hair.visible()).max(0.0);
        self.sum.ripe += self.hair.ripe();
        self.sum.evenness += 2.0 * self.uneven;
        self.days += 1;
    }

    /// Mean over the days counted.
    pub fn cost(&self) -> Cost {
        let n = f64::from(self.days.max(1));
        Cost { cover: self.sum.cover / n, ripe: self.sum.ripe / n, evenness: self.sum.evenness / n }
    }
}
