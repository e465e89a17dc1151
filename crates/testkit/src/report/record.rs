//! A simulated dog's record: visits three weeks apart, one in five pulled, read as hands read.

use crate::follicles::Follicles;
use crate::shop::{Answers, Luck, TrueDog, kinds};
use crate::study::{FOLLICLES, RHYTHM_D, ZONE, first_day, recorded_dog};
use coat::{CoatType, Day, Dog, Event, Pulled, ZoneRecord, ZoneSetup};
use learn::{DIM, Logs, Reading};

/// A dog, what is written of it, and its truth.
pub struct Record {
    /// The record as the program knows it.
    pub dog: Dog,
    /// All readings.
    pub readings: Vec<Reading>,
    /// The day of the last visit.
    pub today: Day,
    /// The truth.
    pub truth: TrueDog,
    /// From when its new hair lives differently; none when it does not change.
    pub changed: Option<Day>,
}

impl Record {
    /// `visits` visits of dog `seed`, drawn from the prior; with `change` it changes at that visit.
    pub fn of(seed: u64, visits: i32, change: Option<i32>) -> Self {
        let kind = kinds()[if change.is_some() { 5 } else { 0 }];
        Self::with(seed, visits, change, TrueDog::of(&kind, &mut Answers::rng(seed, 0)))
    }

    /// A dog of a shop: around the shop's centre, with the spread that is left within shops.
    pub fn in_shop(seed: u64, visits: i32, centre: &Logs) -> Self {
        let kind = kinds()[0];
        // A quarter of the variance between dogs lies between shops; a zone's own part is not split.
        let within = (0.75_f64 + 0.25).sqrt() / 1.25_f64.sqrt();
        let truth = TrueDog::of(&(kind.0, *centre, within * kind.2, None), &mut Answers::rng(seed, 0));
        Self::with(seed, visits, None, truth)
    }

    fn with(seed: u64, visits: i32, change: Option<i32>, truth: TrueDog) -> Self {
        let base = ZoneSetup::defaults(ZONE, CoatType::Wire).cycle;
        let hard = CoatType::Wire.defaults().start_hard;
        let first = first_day();
        let life = truth.life(&base, hard, false);
        let mut coat = Follicles::left_alone(life, FOLLICLES, first.days(), Answers::rng(seed, 2));
        let mut dog = recorded_dog();
        let (answers, mut luck) = (Answers::of(seed, ZONE), Answers::rng(seed, 1));
        let (mut readings, mut layers) = (Vec::new(), Vec::new());
        for v in 0..visits {
            let day = first + RHYTHM_D * v;
            let l = Luck::new(&mut luck);
            if l.is_missed() && v > 0 && v != visits - 1 {
                continue;
            }
            coat.advance(day.days());
            if change.is_some_and(|c| v >= c) {
                coat.change(truth.life(&base, hard, true));
            }
            readings.extend(answers.read(&coat, &layers, Some(0.2), &l));
            let seen = coat.visible();
            let pulled = coat.pull_ripe(0.2 * seen) / seen.max(1e-9);
            let record = ZoneRecord { zone: ZONE, pulled: Some(Pulled::Share(pulled)), carded: Some(false) };
            dog.history.push((day, Event::Visit(vec![record])));
            if pulled >= 0.02 {
                layers.insert(0, day);
            }
        }
        let changed = change.map(|c| first + RHYTHM_D * c);
        Record { dog, readings, today: first + RHYTHM_D * (visits - 1), truth, changed }
    }

    /// The true values of hair that begins now, in their units.
    pub fn values(&self) -> [f64; DIM] {
        let base = ZoneSetup::defaults(ZONE, CoatType::Wire).cycle;
        let l = self.truth.life(&base, 0.5, true);
        [l.lag.0, l.grow.0, l.set.0, l.hold_d, l.growth_mm_d]
    }

    /// The true day on which half of the layer begun on `begun` is ripe.
    pub fn ready(&self, begun: Day, seed: u64) -> Day {
        let base = ZoneSetup::defaults(ZONE, CoatType::Wire).cycle;
        let then = self.truth.life(&base, 0.5, self.changed.is_some_and(|c| begun >= c));
        begun + Follicles::half_ripe_d(&then, 20_001, Answers::rng(seed, 3)).round() as i32
    }
}
