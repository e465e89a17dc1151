//! What was learned of a dog, kept beside the dog until its record changes.

use super::desk::Desk;
use super::failure::{Said, ShopFailure};
use super::ids::RecordId;
use super::made::digest;
use super::port::Who;
use super::sheet::Sheet;
use crate::dog_file::{DogFile, ZoneSettings};
use crate::learning;
use crate::model;
use crate::planning::Failure;
use coat::{CoatType, Day, Zone};
use learn::{DIM, DogSummary, Effort, Prior};
use serde::{Deserialize, Serialize};

/// Under this name it is kept.
const NAME: &str = "learned";
/// Under this name the dog's own part is kept, for the next dogs of its coat type.
const PART: &str = "own part";
/// Under this name it is kept what the other dogs let expect of the dog on a day.
const EXPERIENCE: &str = "experience";
/// So many dogs of a coat type are put together at most.
const MOST_DOGS: u32 = 400;
/// The shop's centre and spreads count in steps of this, so that one visit of one dog does not set all others anew.
const STEP: f64 = 0.02;

/// Learned values of a zone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Values {
    lag_d: Option<f64>,
    grow_d: Option<f64>,
    set_d: Option<f64>,
    hold_d: Option<f64>,
    growth_mm_d: Option<f64>,
}

/// What a dog's values rest on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RestsOn {
    /// Readings of this dog that count; 0 where its values are not its own yet.
    pub readings: usize,
    /// The shop's other dogs of its coat type that say something; 0 where values start from the coat type's default.
    pub dogs: usize,
    /// Dogs of its coat type in other shops that say something, where the house is pooled.
    #[serde(default)]
    pub elsewhere: usize,
    /// How long its zones take from pull to ripe, in sentences; empty where nothing was learned of that.
    pub said: Vec<String>,
}

/// Learned values as they are kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    zones: Vec<(String, Values)>,
    rests_on: RestsOn,
}

/// What the shop's other dogs of a coat type let expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Experience {
    pub(super) prior: Prior,
    /// So many of them.
    pub(super) dogs: usize,
    /// So many dogs of other shops.
    pub(super) elsewhere: usize,
}

/// What one dog tells the next of its type: how its own part differs from the type's, and how sure that is. Nothing
/// of who it is, and no day: other shops may be given it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Part {
    mean: [f64; DIM],
    sd: [f64; DIM],
    /// Centre, spread between dogs, spread of zones of the prior that it was learned under.
    prior: [[f64; DIM]; 3],
}

impl Part {
    fn of(own: &DogSummary) -> Self {
        Part { mean: own.mean, sd: own.sd, prior: numbers_of(&own.prior) }
    }

    fn summary(&self) -> DogSummary {
        DogSummary { mean: self.mean, sd: self.sd, prior: prior_of(self.prior) }
    }
}

/// An experience as it is kept.
type KeptExperience = ([[f64; DIM]; 3], usize, usize);

/// A prior as it is kept: centre, spread between dogs, spread of zones.
fn numbers_of(p: &Prior) -> [[f64; DIM]; 3] {
    [p.centre, p.dog_sd, p.zone_sd]
}

fn prior_of([centre, dog_sd, zone_sd]: [[f64; DIM]; 3]) -> Prior {
    Prior { centre, dog_sd, zone_sd }
}

/// What parts of a coat type are made from: the last of it is the last day that was known.
fn part_from(coat: CoatType, until: &str) -> String {
    format!("{} {} {until}", coat.word(), env!("CARGO_PKG_VERSION"))
}

/// From so many dogs on, one more does not count before the next day.
const ENOUGH_DOGS: usize = 9;

/// Dogs that what they say together is made from anew on one day: each one up to eight.
///
/// Every dog that is learned moves the others' prior a little. Were it to count at once, each look at one dog would
/// set all others anew, theirs would set it, and so on as long as there is a dog to look at.
pub(super) fn worth_anew(dogs: usize) -> usize {
    dogs.min(ENOUGH_DOGS)
}

/// Whether one dog more beside `others` sets some other dog's experience anew: that of a dog that is one of them, or of
/// one of which nothing was read.
pub(super) fn moves_others(others: usize) -> bool {
    others <= ENOUGH_DOGS
}

/// A shop's prior in steps; none where it comes to the coat type's own.
fn in_steps(mut prior: Prior) -> Option<Prior> {
    for k in 0..DIM {
        prior.centre[k] = (prior.centre[k] / STEP).round() * STEP;
        let own = Prior::STANDARD.dog_sd[k];
        prior.dog_sd[k] = (own - ((own - prior.dog_sd[k]) / STEP).round() * STEP).min(own);
    }
    (prior != Prior::STANDARD).then_some(prior)
}

/// A model's failure as faults of fields.
pub(super) fn refused(failure: &Failure, sheet: &Sheet) -> ShopFailure {
    match failure {
        Failure::Fault(fault) => ShopFailure::Refused(vec![sheet.said(fault)]),
        other => {
            let hint = match other {
                Failure::Plan(plan::PlanError::NoVisit { .. }) => {
                    "Leave a day free on which the dog can come, or plan further ahead.".to_owned()
                }
                Failure::Plan(plan::PlanError::TooShort { .. }) => {
                    "Allow more table time: look over, brush, pads and feet come before any hair is pulled.".to_owned()
                }
                Failure::Plan(_) => "Correct the dog's values; if they are right, this is our fault.".to_owned(),
                failure => failure.hint().replace("`--on` ", "").replace("`--until` ", "the last day, "),
            };
            ShopFailure::Refused(vec![Said::new("", other.to_string(), hint)])
        }
    }
}

impl Desk {
    /// What the shop's other dogs of a coat type, and those of other shops where the house is pooled, make of the prior
    /// as known on a day; none where they say nothing. And how many dogs of the shop they are.
    /// Put together once a day, and on a day again while there are few of them.
    pub(super) async fn shop_prior(
        &self,
        who: &Who,
        dog: &RecordId,
        coat: CoatType,
        today: Day,
    ) -> Result<(Option<Experience>, usize), ShopFailure> {
        let (first, last) = (part_from(coat, ""), part_from(coat, &today.to_string()));
        let between = (first.as_str(), last.as_str());
        let read = |bytes: &[u8]| serde_json::from_slice::<Part>(bytes).ok().map(|p| p.summary());
        let all = self.store().all_made(&who.shop, PART, between, MOST_DOGS).await.map_err(ShopFailure::Store)?;
        let ours: Vec<DogSummary> = all.iter().filter(|(of, _)| of != dog).filter_map(|(_, b)| read(b)).collect();
        let all = self.store().pooled_made(&who.shop, PART, between, MOST_DOGS).await.map_err(ShopFailure::Store)?;
        let theirs: Vec<Vec<DogSummary>> = all.iter().map(|of| of.iter().filter_map(|b| read(b)).collect()).collect();
        let elsewhere = theirs.iter().map(Vec::len).sum::<usize>();
        let counts = format!("{} {}", worth_anew(ours.len()), worth_anew(elsewhere));
        let from = digest(&[&first, &today.to_string(), &counts]);
        let dogs = ours.len();
        let make = async {
            let prior = in_steps(learn::pooled_prior(&Prior::STANDARD, &ours, &theirs));
            Ok(prior.map(|prior| -> KeptExperience { (numbers_of(&prior), dogs, elsewhere) }))
        };
        let (kept, _) = self.once(who, dog, EXPERIENCE, &from, make).await?;
        let found = kept.map(|(prior, dogs, elsewhere)| Experience { prior: prior_of(prior), dogs, elsewhere });
        Ok((found, dogs))
    }

    /// The file with what was learned of the dog by `today`, and what that rests on: made once for each state of its
    /// record. A dog of which nothing was read yet has the values that the shop's other dogs of its coat type let
    /// expect. Where the readings give no numbers the values of the coat type hold.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the history contradicts itself.
    pub(super) async fn with_learned(
        &self,
        who: &Who,
        dog: &RecordId,
        file: DogFile,
        sheet: &Sheet,
        today: Day,
    ) -> Result<(DogFile, RestsOn), ShopFailure> {
        let recorded = learning::recorded(&file, today);
        let coat = file.coat;
        let (others, known) = self.shop_prior(who, dog, coat, today).await?;
        if recorded.is_empty() && others.is_none() {
            return Ok((file, RestsOn::default()));
        }
        // All that the posterior depends on.
        let shop = others.map(|o| o.prior);
        let (dogs, elsewhere) = others.map_or((0, 0), |o| (o.dogs, o.elsewhere));
        let prior = learning::prior(&file, today, shop);
        let case = model::dog(&file, file.rhythm_days.unwrap_or(21));
        let readings: Vec<_> = recorded.iter().map(|r| &r.reading).collect();
        let from =
            digest(&[env!("CARGO_PKG_VERSION"), &format!("{case:?}"), &format!("{readings:?}"), &format!("{prior:?}")]);
        let plain = file.clone();
        let work = move || {
            let (l, recorded) = learning::learned(&file, today, shop, learning::SEED, Effort::VISIT)?;
            let part = learning::own_part(&l, recorded.len()).map(|own| Part::of(&own));
            let readings = recorded.len() - l.unused.len();
            let said = if readings > 0 { learning::in_short(&file, &l) } else { Vec::new() };
            Ok((learning::with_learned(&file, &l), part, RestsOn { readings, dogs, elsewhere, said }))
        };
        let make = async {
            let (learned, part, rests_on) = match self.heavy(work).await? {
                Ok(found) => found,
                Err(e @ Failure::Fault(_)) => return Err(refused(&e, sheet)),
                Err(_) => return Ok(None),
            };
            if let Some(part) = part {
                self.keep_made(who, dog, PART, &part_from(coat, &today.to_string()), &part).await?;
                if moves_others(known) {
                    self.taught_others();
                }
            }
            Ok(Some(Kept { zones: learned.zones.iter().map(values_of).collect(), rests_on }))
        };
        Ok(match self.once(who, dog, NAME, &from, make).await?.0 {
            Some(kept) => (with_values(plain, &kept.zones), RestsOn { dogs, elsewhere, ..kept.rests_on }),
            None => (plain, RestsOn::default()),
        })
    }
}

fn values_of(z: &ZoneSettings) -> (String, Values) {
    let values =
        Values { lag_d: z.lag_d, grow_d: z.grow_d, set_d: z.set_d, hold_d: z.hold_d, growth_mm_d: z.growth_mm_d };
    (z.zone.word().to_owned(), values)
}

fn with_values(mut file: DogFile, values: &[(String, Values)]) -> DogFile {
    for (word, v) in values {
        let Some(zone) = Zone::parse(word) else { continue };
        let at = match file.zones.iter().position(|z| z.zone == zone) {
            Some(at) => at,
            None => {
                file.zones.push(ZoneSettings::bare(zone));
                file.zones.len() - 1
            }
        };
        let z = &mut file.zones[at];
        (z.lag_d, z.grow_d, z.set_d) = (v.lag_d, v.grow_d, v.set_d);
        (z.hold_d, z.growth_mm_d) = (v.hold_d, v.growth_mm_d);
    }
    file
}
