//! Zones that were worked alike and read together are computed once.

use crate::features::{Slot, replay, sight, slots_of};
use crate::params::{Logs, Prior};
use crate::posterior::{Unused, UnusedWhy};
use crate::reading::{Reading, Sight, What};
use crate::surface::Surface;
use coat::{Day, Dog, Event, HistoryError, LagCalendar, Mode, Pulled, Zone, ZoneSetup};

/// A reading as it counts in one patch.
#[derive(Clone, Debug)]
pub(crate) struct Read {
    /// Index among the readings given.
    pub(crate) index: usize,
    pub(crate) day: Day,
    pub(crate) what: What,
    /// One over the number of patches that it was given for.
    pub(crate) weight: f64,
    pub(crate) slots: Vec<usize>,
}

impl Read {
    pub(crate) fn sight(&self, values: &[f64], growth: f64) -> Sight {
        sight(&self.what, values, &self.slots, growth)
    }
}

/// Zones with one law, one history and the same readings.
#[derive(Clone, Debug)]
pub(crate) struct Patch {
    pub(crate) zones: Vec<Zone>,
    pub(crate) setup: ZoneSetup,
    pub(crate) reads: Vec<Read>,
    pub(crate) slots: Vec<Slot>,
    /// 4 where growth only scales lengths, 5 where a clip ties it to the rest.
    pub(crate) dims: usize,
    pub(crate) points: Vec<Logs>,
    pub(crate) values: Vec<Vec<f64>>,
    pub(crate) surface: Option<Surface>,
}

/// A patch on its way, its readings and its works.
type Grown = (Patch, Vec<usize>, Vec<(Day, Option<Pulled>)>);

/// What was done to a zone, as far as its topcoat remembers.
fn works(dog: &Dog, zone: Zone) -> Vec<(Day, Option<Pulled>)> {
    let mut out = Vec::new();
    for (day, event) in &dog.history {
        if let Event::Visit(records) = event {
            out.extend(records.iter().filter(|r| r.zone == zone && r.pulled.is_some()).map(|r| (*day, r.pulled)));
        }
    }
    out
}

/// Days before `day` on which a layer of the zone was begun, newest first.
pub(crate) fn layer_days(dog: &Dog, zone: Zone, day: Day) -> Vec<Day> {
    let mut out: Vec<Day> = Vec::new();
    for (d, event) in dog.history.iter().filter(|h| h.0 < day) {
        match event {
            Event::Flat => out.push(*d),
            Event::Rolled { every_d } => out.extend((0..3).rev().map(|k| *d - k * every_d)),
            Event::Visit(records) => {
                let pulled = records.iter().filter(|r| r.zone == zone).any(|r| match r.pulled {
                    Some(Pulled::Share(s)) => s >= 0.02,
                    Some(Pulled::AllRipe) => true,
                    None => false,
                });
                if pulled {
                    out.push(*d);
                }
            }
            Event::LeftAlone | Event::Clipped { .. } => {}
        }
    }
    out.sort_unstable();
    out.dedup();
    out.reverse();
    out
}

/// Makes the patches, and lists the readings that say nothing and why.
pub(crate) fn patches(dog: &Dog, readings: &[Reading], today: Day) -> (Vec<Patch>, Vec<Unused>) {
    let clipped = dog.history.iter().any(|h| matches!(h.1, Event::Clipped { .. }));
    let begin = dog.history.first().map_or(dog.born, |h| h.0);
    let plain = dog.steroids.is_empty() && dog.outdoors_latitude_deg.is_none();
    let mut unused = Vec::new();
    let mut usable = vec![true; readings.len()];
    for (index, r) in readings.iter().enumerate() {
        let worked = |z: &&Zone| dog.zones.iter().any(|s| s.zone == **z && s.mode != Mode::Never);
        let new_layer = matches!(r.what, What::NewLayerMm(_) | What::NewLayerDepth(_));
        let why = if r.day > today {
            Some(UnusedWhy::Later)
        } else if r.day < begin {
            Some(UnusedWhy::BeforeHistory)
        } else if !r.zones.iter().any(|z| worked(&z)) {
            Some(UnusedWhy::NeverWorked)
        } else if new_layer && r.zones.iter().all(|z| layer_days(dog, *z, r.day).is_empty()) {
            Some(UnusedWhy::NoLayer)
        } else {
            None
        };
        if let Some(why) = why {
            usable[index] = false;
            unused.push(Unused { index, why });
        }
    }
    let mut out: Vec<Grown> = Vec::new();
    for setup in dog.zones.iter().filter(|s| s.mode != Mode::Never) {
        let mine: Vec<usize> =
            (0..readings.len()).filter(|i| usable[*i] && readings[*i].zones.contains(&setup.zone)).collect();
        if mine.is_empty() {
            continue;
        }
        let done = works(dog, setup.zone);
        let alike = |p: &&mut Grown| {
            p.1 == mine && p.2 == done && p.0.setup.cycle == setup.cycle && p.0.setup.mode == setup.mode
        };
        if let Some(p) = out.iter_mut().find(alike) {
            p.0.zones.push(setup.zone);
            continue;
        }
        let dims = if clipped { 5 } else { 4 };
        let patch = Patch {
            zones: vec![setup.zone],
            setup: setup.clone(),
            reads: Vec::new(),
            slots: Vec::new(),
            dims,
            points: Vec::new(),
            values: Vec::new(),
            surface: None,
        };
        out.push((patch, mine, done));
    }
    let shared: Vec<usize> = (0..readings.len()).map(|i| out.iter().filter(|p| p.1.contains(&i)).count()).collect();
    let patches = out
        .into_iter()
        .map(|(mut p, mine, _)| {
            for i in mine {
                let r = &readings[i];
                let layers = layer_days(dog, p.setup.zone, r.day);
                let slots = slots_of(&r.what, r.day, &layers, plain);
                if slots.is_empty() {
                    continue;
                }
                let slots = slots
                    .into_iter()
                    .map(|s| {
                        p.slots.iter().position(|o| *o == s).unwrap_or_else(|| {
                            p.slots.push(s);
                            p.slots.len() - 1
                        })
                    })
                    .collect();
                p.reads.push(Read { index: i, day: r.day, what: r.what, weight: 1.0 / shared[i] as f64, slots });
            }
            p
        })
        .filter(|p| !p.reads.is_empty())
        .collect();
    (patches, unused)
}

impl Patch {
    /// The engine's own answer.
    pub(crate) fn exact(&self, dog: &Dog, calendar: Option<&LagCalendar>, x: &Logs) -> Result<Vec<f64>, HistoryError> {
        replay(dog, &self.setup, calendar, &self.slots, x, self.dims)
    }

    /// Makes the surface anew from all points known.
    pub(crate) fn refit(&mut self, prior: &Prior) -> bool {
        self.surface = Surface::through(&self.points, &self.values, self.dims, &prior.centre, &prior.total_sd());
        self.surface.is_some()
    }

    fn growth(&self, x: &Logs) -> f64 {
        if self.dims == 4 { x[4].exp() } else { 1.0 }
    }

    /// Log likelihood of the readings counted, from slot values.
    pub(crate) fn ln_of(&self, values: &[f64], x: &Logs, counts: &dyn Fn(Day) -> bool) -> f64 {
        let g = self.growth(x);
        self.reads.iter().filter(|r| counts(r.day)).map(|r| r.weight * r.what.ln_likelihood(&r.sight(values, g))).sum()
    }

    /// The same by the surface.
    pub(crate) fn ln_at(&self, x: &Logs, counts: &dyn Fn(Day) -> bool, room: &mut Vec<f64>) -> f64 {
        match &self.surface {
            Some(s) => {
                s.at(x, room);
                self.ln_of(room, x, counts)
            }
            None => 0.0,
        }
    }

    /// What a reading should show at `x`, by the surface.
    pub(crate) fn sight_at(&self, read: &Read, x: &Logs, room: &mut Vec<f64>) -> Option<Sight> {
        self.surface.as_ref()?.at(x, room);
        Some(read.sight(room, self.growth(x)))
    }
}
