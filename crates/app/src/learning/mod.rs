//! What a dog's recorded visits taught: the use case around the `learn` crate.
//!
//! Days and seeds come in as arguments; later entries than the day asked for are never used.

mod bands;
mod minutes;
mod readings;
mod report;
mod shop;
mod teach;
mod words;

pub use bands::{Bands, Within, bands};
pub use minutes::{Clock, clocks};
pub use readings::{Recorded, recorded};
pub use report::{
    DiagnosticsReport, LearnReport, NextReading, OtherReading, PaceReport, ParamReport, ReadingReport, RipeReport,
    SurpriseReport, WindowReport, ZoneLearned, in_short, next_reading, report,
};
pub use shop::{kept_of, own_part};
pub use teach::{Worth, worth};
pub use words::sentences;

use crate::dog_file::{DogFile, ZoneSettings};
use crate::model;
use crate::planning::Failure;
use coat::{Day, Mode};
use learn::{Case, Effort, LearnError, Learned, Param, Prior};

/// The seed of the draws unless told otherwise.
pub const SEED: u64 = 20_261_125;
/// In so many days after neutering spreads are wider.
const NEUTERED_D: i32 = 365;
/// By so much.
const NEUTERED_SPREAD: f64 = 1.5;

/// The prior of a file's dog on a day: the coat type's, or the shop's, wider in the year after neutering.
pub fn prior(file: &DogFile, today: Day, shop: Option<Prior>) -> Prior {
    let prior = shop.unwrap_or(Prior::STANDARD);
    let lately = file.neutered_since.is_some_and(|n| n <= today && today - n < NEUTERED_D);
    if lately { prior.widened(NEUTERED_SPREAD) } else { prior }
}

/// Learns the dog of a file from what is recorded up to `today`.
///
/// # Errors
/// [`Failure::Fault`] when the history contradicts itself.
pub fn learned(
    file: &DogFile,
    today: Day,
    shop: Option<Prior>,
    seed: u64,
    effort: Effort,
) -> Result<(Learned, Vec<Recorded>), Failure> {
    let recorded = recorded(file, today);
    Ok((learned_from(file, &recorded, today, shop, seed, effort)?, recorded))
}

/// The dog of a file as if nothing had been read of it: its prior.
///
/// # Errors
/// [`Failure::Fault`] when the history contradicts itself.
pub fn unread(file: &DogFile, today: Day, shop: Option<Prior>, seed: u64, effort: Effort) -> Result<Learned, Failure> {
    learned_from(file, &[], today, shop, seed, effort)
}

fn learned_from(
    file: &DogFile,
    recorded: &[Recorded],
    today: Day,
    shop: Option<Prior>,
    seed: u64,
    effort: Effort,
) -> Result<Learned, Failure> {
    let dog = model::dog(file, file.rhythm_days.unwrap_or(21));
    let readings: Vec<learn::Reading> = recorded.iter().map(|r| r.reading.clone()).collect();
    let case = Case { dog: &dog, readings: &readings, today, prior: prior(file, today, shop), seed, effort };
    learn::learn(&case).map_err(|e| failure(file, recorded, e))
}

fn failure(file: &DogFile, recorded: &[Recorded], e: LearnError) -> Failure {
    match e {
        LearnError::History(e) => crate::planning::history_failure(file, e),
        LearnError::Reading(e) => {
            let line = recorded.iter().find(|r| r.reading.check().is_err()).map_or(1, |r| r.line);
            Failure::Fault(file.source.fault_at(line, e.to_string(), "Correct the reading, or take it out."))
        }
        LearnError::Numbers(why) => Failure::Option {
            message: format!("nothing could be learned: {why}"),
            hint: "Plan with `--defaults-only`; if `coatwright check` finds no fault, this is our fault.".into(),
        },
    }
}

/// The file with each zone's values as learned by `today`; unchanged when nothing was read by then.
///
/// # Errors
/// [`Failure::Fault`] when the history contradicts itself.
pub fn as_learned(file: &DogFile, today: Day) -> Result<DogFile, Failure> {
    if recorded(file, today).is_empty() {
        return Ok(file.clone());
    }
    let (l, _) = learned(file, today, None, SEED, Effort::VISIT)?;
    Ok(with_learned(file, &l))
}

/// The file with each zone's values as a plan should count on them.
pub fn with_learned(file: &DogFile, learned: &Learned) -> DogFile {
    let mut out = file.clone();
    let dog = model::dog(file, file.rhythm_days.unwrap_or(21));
    for s in learned.dog_to_plan(&dog).zones.iter().filter(|s| s.mode != Mode::Never) {
        let of = |p: Param| Some(p.of(&s.cycle));
        let (lag_d, grow_d, set_d) = (of(Param::Lag), of(Param::Grow), of(Param::Set));
        let (hold_d, growth_mm_d) = (of(Param::Hold), of(Param::Growth));
        match out.zones.iter_mut().find(|z| z.zone == s.zone) {
            Some(z) => {
                (z.lag_d, z.grow_d, z.set_d) = (lag_d, grow_d, set_d);
                (z.hold_d, z.growth_mm_d) = (hold_d, growth_mm_d);
            }
            None => {
                out.zones.push(ZoneSettings { lag_d, grow_d, set_d, hold_d, growth_mm_d, ..ZoneSettings::bare(s.zone) })
            }
        }
    }
    out
}
