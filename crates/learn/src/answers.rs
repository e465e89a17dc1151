//! What a reading at a coming visit could say: the ground for asking which one would teach most.

use crate::chance::rng;
use crate::features::{Slot, replay, sight, slots_of};
use crate::params::Logs;
use crate::patch::layer_days;
use crate::posterior::{LearnError, Learned};
use crate::reading::{Feel, Sight, What};
use coat::{Day, Mode, Zone};
use rayon::prelude::*;

/// A kind of reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The comb on the longest hair.
    Longest,
    /// Length of the new layer.
    NewLayer,
    /// Ease, where a fifth is pulled.
    Ease,
    /// New hair through or not.
    NewHair,
    /// Cover by eye.
    Cover,
    /// Feel.
    Feel,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 6] = [Kind::Longest, Kind::NewLayer, Kind::Ease, Kind::NewHair, Kind::Cover, Kind::Feel];

    /// In words.
    pub const fn word(self) -> &'static str {
        self.pattern().word()
    }

    const fn pattern(self) -> What {
        match self {
            Kind::Longest => What::LongestMm(0.0),
            Kind::NewLayer => What::NewLayerMm(0.0),
            Kind::Ease => What::Ease(3, Some(0.2)),
            Kind::NewHair => What::NewHair(true),
            Kind::Cover => What::Cover(0.5),
            Kind::Feel => What::Feel(Feel::Between),
        }
    }
}

/// A reading that could be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// In which zones (alike so far).
    pub zones: Vec<Zone>,
    /// Of what kind.
    pub kind: Kind,
}

/// What each candidate would show under each of some draws.
pub struct Foretold {
    /// The candidates.
    pub candidates: Vec<Candidate>,
    sights: Vec<Vec<Sight>>,
}

impl Foretold {
    /// Log likelihoods, under every draw, of one answer drawn for each draw: `[answer][draw]`.
    pub fn answers(&self, candidate: usize, seed: u64) -> Vec<Vec<f64>> {
        let mut r = rng(seed, (1 << 22) + candidate as u64);
        let sights = &self.sights[candidate];
        let pattern = self.candidates[candidate].kind.pattern();
        sights
            .iter()
            .map(|truth| {
                let what = pattern.drawn(truth, &mut r);
                sights.iter().map(|s| what.ln_likelihood(s)).collect()
            })
            .collect()
    }
}

/// Replays some draws on to `day` and reads every kind in every zone that is unlike the others.
///
/// # Errors
/// [`LearnError`] when a replay contradicts itself.
pub fn foretell(learned: &Learned, day: Day, draws: &[usize]) -> Result<Foretold, LearnError> {
    let l = learned;
    // Zones that are alike: one patch, or unread with one law and the same works.
    let mut groups: Vec<(Vec<Zone>, Option<usize>, Vec<Day>)> = Vec::new();
    for s in l.dog.zones.iter().filter(|s| s.mode != Mode::Never) {
        let (patch, works) = (l.patch_of(s.zone), layer_days(&l.dog, s.zone, day));
        let cycle = |z: Zone| l.dog.zones.iter().find(|o| o.zone == z).map(|o| (o.cycle, o.mode));
        match groups.iter_mut().find(|g| g.1 == patch && g.2 == works && cycle(g.0[0]) == Some((s.cycle, s.mode))) {
            Some(g) => g.0.push(s.zone),
            None => groups.push((vec![s.zone], patch, works)),
        }
    }
    let mut candidates = Vec::new();
    let mut sights = Vec::new();
    for (zones, _, works) in groups {
        let Some(setup) = l.dog.zones.iter().find(|s| s.zone == zones[0]) else { continue };
        let kinds: Vec<Kind> = Kind::ALL.into_iter().filter(|k| *k != Kind::NewLayer || !works.is_empty()).collect();
        let mut slots: Vec<Slot> = Vec::new();
        let places: Vec<Vec<usize>> = kinds
            .iter()
            .map(|k| {
                slots_of(&k.pattern(), day, &works, l.calendar.is_none())
                    .into_iter()
                    .map(|s| {
                        slots.push(s);
                        slots.len() - 1
                    })
                    .collect()
            })
            .collect();
        let x: Vec<Logs> = l.zone_draws(zones[0]);
        let mut found = Vec::with_capacity(draws.len());
        let values: Vec<_> = draws
            .par_iter()
            .map(|i| replay(&l.dog, setup, l.calendar.as_ref(), &slots, &x[(*i).min(x.len() - 1)], 5))
            .collect();
        for v in values {
            found.push(v?);
        }
        for (kind, place) in kinds.iter().zip(&places) {
            sights.push(found.iter().map(|v| sight(&kind.pattern(), v, place, 1.0)).collect());
            candidates.push(Candidate { zones: zones.clone(), kind: *kind });
        }
    }
    Ok(Foretold { candidates, sights })
}
