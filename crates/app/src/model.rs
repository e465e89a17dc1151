//! From a dog's file to the dog that the model computes with.

use crate::dog_file::{DogFile, EventKind, Pulled};
use coat::{Day, Dog, Event, Mode, Wait, Zone, ZoneRecord, ZoneSetup};
use plan::Table;

/// Days in a mean month of the Gregorian calendar.
const MONTH_D: f64 = 30.4375;
/// Clips further back than this leave no trace, days.
const REMEMBERED_D: i32 = 500;

/// The dog of a file, with a rhythm for the layers of a coat that has no visits yet.
pub fn dog(file: &DogFile, rhythm_d: i32) -> Dog {
    let mut dog = Dog::new(file.born, file.mass_kg * 1000.0, file.coat);
    dog.density = file.density;
    dog.rhythm_d = rhythm_d;
    dog.outdoors_latitude_deg = if file.outdoors { file.latitude_deg } else { None };
    dog.steroids = file.steroids.iter().map(|s| (s.from, s.until)).collect();
    dog.zones = Zone::ALL.into_iter().map(|z| setup(file, z)).collect();
    dog.history = file
        .history
        .iter()
        .filter_map(|e| {
            let event = match &e.kind {
                EventKind::LeftAlone => Event::LeftAlone,
                EventKind::Flat => Event::Flat,
                EventKind::Clipped { length_mm, every_weeks, months } => Event::Clipped {
                    length_mm: *length_mm,
                    every_d: every_weeks.map(|w| (w * 7.0).round() as i32),
                    // Without an end: for as long as a coat remembers.
                    for_d: months.map_or(REMEMBERED_D, |m| (m * MONTH_D) as i32),
                },
                EventKind::Rolled { every_weeks } => {
                    Event::Rolled { every_d: (every_weeks * 7.0).round().max(1.0) as i32 }
                }
                EventKind::Visit(v) => Event::Visit(
                    v.zones
                        .iter()
                        .flat_map(|r| {
                            r.zones.iter().map(|z| ZoneRecord {
                                zone: *z,
                                pulled: r.pulled.map(|p| match p {
                                    Pulled::Share(s) => coat::Pulled::Share(s),
                                    Pulled::AllRipe => coat::Pulled::AllRipe,
                                }),
                                carded: Some(r.carded),
                            })
                        })
                        .collect(),
                ),
                EventKind::Missed => return None,
            };
            Some((e.date, event))
        })
        .collect();
    dog
}

fn setup(file: &DogFile, zone: Zone) -> ZoneSetup {
    let mut s = ZoneSetup::defaults(zone, file.coat);
    let own = file.zone(zone);
    if let Some(mode) = own.and_then(|z| z.mode) {
        s.mode = mode;
        s.floor = zone.defaults().floor.unwrap_or(mode.floor());
    }
    s.cap = file.groomer.caps.of(s.mode);
    if s.mode == Mode::Never {
        s.cap = 0.0;
    }
    let Some(own) = own else { return s };
    let scaled = |w: Wait, mean: Option<f64>| match mean {
        Some(m) if w.mean_d() > 0.0 => w.scaled(m / w.mean_d()),
        _ => w,
    };
    s.target_mm = own.target_mm.or(s.target_mm);
    s.tender = own.tender.unwrap_or(s.tender);
    s.cap = own.cap.unwrap_or(s.cap);
    s.floor = own.floor.unwrap_or(s.floor);
    s.hands_off_until = own.hands_off.as_ref().map(|h| h.until);
    s.cycle.lag = scaled(s.cycle.lag, own.lag_d);
    s.cycle.grow = scaled(s.cycle.grow, own.grow_d);
    s.cycle.set = scaled(s.cycle.set, own.set_d);
    s.cycle.hold_d = own.hold_d.unwrap_or(s.cycle.hold_d);
    s.cycle.growth_mm_d = own.growth_mm_d.unwrap_or(s.cycle.growth_mm_d);
    s
}

/// Days of life in which a dog is a puppy.
pub const PUPPY_D: i32 = 365;
/// Minutes in which a puppy's hairs are pulled, at most: common practice.
const PUPPY_MIN: f64 = 10.0;
/// A few hairs: the most that is pulled of what one sees in a puppy's zone. Assumed.
const PUPPY_CAP: f64 = 0.1;

/// Whether the dog is a puppy on a day.
pub fn puppy(file: &DogFile, day: Day) -> bool {
    day - file.born < PUPPY_D
}

/// A puppy's zones on the day of a plan: a few hairs each.
pub fn spare(dog: &mut Dog, file: &DogFile, today: Day) {
    for z in &mut dog.zones {
        z.cap = cap_on(file, z, today);
    }
}

/// The most that a visit on a day takes of a zone, share of the visible hair.
pub fn cap_on(file: &DogFile, zone: &ZoneSetup, day: Day) -> f64 {
    if puppy(file, day) { zone.cap.min(PUPPY_CAP) } else { zone.cap }
}

/// The table of a file.
pub fn table(file: &DogFile, dog: &Dog, max_min: Option<f64>) -> Table {
    Table { dense_dm2: dog.skin_dm2() * dog.density, pace: file.groomer.pace, max_min: max_min.or(file.table_max_min) }
}

/// The table of a plan made on a day: for a puppy ten minutes beyond what every visit needs.
pub fn table_on(file: &DogFile, dog: &Dog, max_min: Option<f64>, today: Day) -> Table {
    let table = table(file, dog, max_min);
    let most = puppy(file, today).then(|| table.base_min() + PUPPY_MIN);
    Table { max_min: [table.max_min, most].into_iter().flatten().reduce(f64::min), ..table }
}

/// Growth of the back, mm a day, and the density: what the outline grows by.
pub fn outline_growth(dog: &Dog) -> f64 {
    let back = dog.zones.iter().find(|z| z.zone == Zone::Back);
    back.map_or(0.33, |z| z.cycle.growth_mm_d)
}

/// The rhythm by the rule: tolerance / (growth * density), 7 to 21 days.
pub fn recommended_rhythm(file: &DogFile, dog: &Dog) -> i32 {
    let days = file.look.tolerance_mm() / (outline_growth(dog) * file.density);
    days.clamp(7.0, 21.0).round() as i32
}

/// Days between visits: the dog's own, else by the rule.
pub fn rhythm(file: &DogFile) -> i32 {
    file.rhythm_days.unwrap_or_else(|| recommended_rhythm(file, &dog(file, 21)))
}

/// Visits from `from` to `until`, a rhythm apart, moved to the nearest possible day.
pub fn visit_days(from: Day, until: Day, rhythm_d: i32, not_on: &[(Day, Day)]) -> Vec<Day> {
    let free = |d: Day| !not_on.iter().any(|(a, b)| *a <= d && d <= *b);
    let mut out: Vec<Day> = Vec::new();
    let mut next = from;
    while next <= until {
        let earliest = out.last().map_or(from, |d| *d + 1);
        let near = (0..400).flat_map(|k| [next - k, next + k]).find(|d| *d >= earliest && free(*d));
        match near {
            Some(d) if d <= until => {
                out.push(d);
                next = d + rhythm_d;
            }
            _ => break,
        }
    }
    out
}
