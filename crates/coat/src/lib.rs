//! The coat of a hand-stripped dog as an expected follicle population.
//!
//! From a dog's history to its coat on any day, zone by zone, and the measures
//! that a groomer reads off it. Reads no clock, no file and no random number;
//! knows no storage and no screen. The model is written down in
//! `docs/coat-model.md`.

mod day;
mod dog;
mod dot;
mod forecast;
mod law;
mod layers;
mod measures;
mod moments;
mod population;
mod quantity;
mod replay;
mod taps;
mod zone;

pub use day::{Day, day_length_h};
pub use dog::{
    Dog, DogCoat, Event, HistoryError, Pulled, STEROID_AFTER_D, STEROID_LAG, Steady, WOOL_LIMIT, ZoneCoat, ZoneRecord,
    ZoneSetup, ZoneWork, steady_state, winter_factor,
};
pub use forecast::{At, Look};
pub use law::{Cycle, Law};
pub use layers::{HairPhase, Layer, Strand};
pub use measures::{DogMeasures, ZoneMeasures, dog_measures};
pub use population::{Classes, LagCalendar, LagClock, Phases, Population, Take, Taken, Weighed, steady_share};
pub use quantity::{QuantityError, Wait};
pub use zone::{CoatDefaults, CoatType, Mode, PUPPY_START_HARD, UNDERCOAT, Work, ZONES, Zone, ZoneDefaults};
