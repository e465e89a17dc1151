//! Clocks against the minutes reckoned.

use crate::dog_file::{DogFile, EventKind, Pulled, Visit, ZoneRecord};
use crate::model;
use coat::{Day, Dog, Zone};
use learn::PaceRow;
use plan::Table;

/// What "all that is ripe" is reckoned as where no share was written, of the visible hair.
const ALL_RIPE: f64 = 0.2;

/// A clock of a visit, or of one zone of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clock {
    /// Day of the visit.
    pub day: Day,
    /// The zone; none for the whole visit.
    pub zone: Option<Zone>,
    /// Minutes that it took.
    pub took_min: f64,
    /// Minutes reckoned at pace 1.
    pub reckoned_min: f64,
}

impl Clock {
    /// The clock as it is learned from: zones by their place in [`Zone::ALL`], groomer and dog as numbered.
    pub fn row(&self, groomer: usize, dog: usize) -> PaceRow {
        let (zone, took_min, reckoned_min) = (self.zone.map(|z| z as usize), self.took_min, self.reckoned_min);
        PaceRow { groomer, dog, zone, took_min, reckoned_min }
    }
}

/// The clocks of a file up to a day, in its order.
pub fn clocks(file: &DogFile, until: Day) -> Vec<Clock> {
    let dog = model::dog(file, file.rhythm_days.unwrap_or(21));
    let table = Table { pace: 1.0, ..model::table(file, &dog, None) };
    let mut out = Vec::new();
    let visits = file.history.iter().filter(|e| e.date <= until).filter_map(|e| match &e.kind {
        EventKind::Visit(v) => Some((e.date, v)),
        _ => None,
    });
    for (day, visit) in visits {
        if let Some(took_min) = visit.work_min {
            let reckoned_min = table.base_min() + visit.zones.iter().map(|r| reckoned(&dog, &table, r)).sum::<f64>();
            out.push(Clock { day, zone: None, took_min, reckoned_min });
        }
        // Minutes of several zones together say nothing of any one of them alone.
        out.extend(single(visit).map(|(zone, took_min, r)| Clock {
            day,
            zone: Some(zone),
            took_min,
            reckoned_min: reckoned(&dog, &table, r),
        }));
    }
    out
}

fn single(visit: &Visit) -> impl Iterator<Item = (Zone, f64, &ZoneRecord)> {
    visit.zones.iter().filter_map(|r| match (&r.zones[..], r.work_min) {
        ([zone], Some(min)) => Some((*zone, min, r)),
        _ => None,
    })
}

fn reckoned(dog: &Dog, table: &Table, r: &ZoneRecord) -> f64 {
    let share = match r.pulled {
        None => 0.0,
        Some(Pulled::Share(s)) => s,
        Some(Pulled::AllRipe) => ALL_RIPE,
    };
    let of = |zone: &Zone| dog.zones.iter().find(|s| s.zone == *zone);
    r.zones
        .iter()
        .filter_map(of)
        .map(|s| table.zone_min(s.zone.defaults().area, s.tender, share, r.carded && s.is_carded()))
        .sum()
}
