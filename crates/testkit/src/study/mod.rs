//! Does planning with what was learned pay? One simulated year of one dog under three groomers, as fixed
//! in `docs/learning-study.md`.

mod coat;
mod run;

pub use coat::{Cost, WorkedCoat};
pub use run::{Key, Years, kept, run};

use crate::follicles::Follicles;
use crate::shop::{Answers, Luck, Prism, TrueDog};
use ::coat::{CoatType, Day, Dog, Event, HistoryError, Pulled, Zone, ZoneRecord, ZoneSetup};
use learn::{Case, Effort, LearnError, Logs, Prior, Reading, scaled};
use plan::{Amount, Highs, PlanError, Planner, Request, Table, Weights};

/// The zone of the study.
pub const ZONE: Zone = Zone::Back;
/// Days between visits.
pub const RHYTHM_D: i32 = 21;
/// Visits of the year.
pub const VISITS: i32 = 18;
/// The visit at which a changing dog changes.
pub const CHANGE: i32 = 9;
/// Days counted.
const YEAR_D: i32 = 365;
/// How far a plan looks, days.
const AHEAD_D: i32 = 84;
/// Follicles of a zone.
pub const FOLLICLES: usize = 3000;

/// What a groomer plans with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knows {
    /// The defaults.
    Defaults,
    /// The posterior mean from the readings so far.
    Readings,
    /// The dog's true values.
    Truth,
}

impl Knows {
    /// All, in order.
    pub const ALL: [Knows; 3] = [Knows::Defaults, Knows::Readings, Knows::Truth];

    /// A word for tables.
    pub const fn word(self) -> &'static str {
        match self {
            Knows::Defaults => "defaults",
            Knows::Readings => "learned",
            Knows::Truth => "truth",
        }
    }
}

/// Why a year came to no end.
#[derive(Clone, Debug, thiserror::Error)]
pub enum YearError {
    /// Nothing could be learned.
    #[error(transparent)]
    Learn(#[from] LearnError),
    /// The record contradicts itself.
    #[error(transparent)]
    History(#[from] HistoryError),
    /// No plan was found.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

/// The first day of every simulated year.
pub fn first_day() -> Day {
    Day::from_days(20_460)
}

/// The dog as its record knows it at the beginning: one zone, left alone.
pub fn recorded_dog() -> Dog {
    let mut dog = Dog::new(first_day() - 1200, 8200.0, CoatType::Wire);
    dog.rhythm_d = RHYTHM_D;
    dog.zones.retain(|z| z.zone == ZONE);
    dog.history.push((first_day(), Event::LeftAlone));
    dog
}

fn share(amount: Amount) -> f64 {
    match amount {
        Amount::Leave => 0.0,
        Amount::OneIn(n) => 1.0 / f64::from(n),
        Amount::AllRipe => 1.0,
    }
}

/// Today's hand step of the plan for the next twelve weeks.
fn planned(dog: &Dog, day: Day) -> Result<Amount, YearError> {
    let visits = (0..=AHEAD_D / RHYTHM_D).map(|k| day + k * RHYTHM_D).collect();
    let table = Table { dense_dm2: dog.skin_dm2() * dog.density, pace: 1.0, max_min: None };
    let weights = Weights::default();
    let request = Request { today: day, until: day + AHEAD_D, visits, matter: Vec::new(), table, weights };
    let coat = dog.coat_on(day)?;
    let plan = Planner::new(dog, &coat, &request)?.plan(&Highs)?;
    let first = plan.visits.first().and_then(|v| v.zones.iter().find(|z| z.zone == ZONE));
    Ok(first.map_or(Amount::Leave, |z| z.amount))
}

fn with_logs(dog: &Dog, x: &Logs) -> Dog {
    let mut out = dog.clone();
    for z in &mut out.zones {
        z.cycle = scaled(&z.cycle, x);
    }
    out
}

/// A year of one dog under one groomer; gives what it cost.
///
/// # Errors
/// [`YearError`] when a record, a posterior or a plan fails.
pub fn year(kind: &Prism, seed: u64, knows: Knows) -> Result<Cost, YearError> {
    let truth = TrueDog::of(kind, &mut Answers::rng(seed, 0));
    let setup = ZoneSetup::defaults(ZONE, CoatType::Wire);
    let hard = CoatType::Wire.defaults().start_hard;
    let first = first_day();
    let before = truth.life(&setup.cycle, hard, false);
    let hair = Follicles::left_alone(before, FOLLICLES, first.days(), Answers::rng(seed, 2));
    let mut coat = WorkedCoat::new(hair, &before, RHYTHM_D, setup.floor, Answers::rng(seed, 3));
    let mut dog = recorded_dog();
    let (answers, mut luck) = (Answers::of(seed, ZONE), Answers::rng(seed, 1));
    let mut readings: Vec<Reading> = Vec::new();
    let mut layers: Vec<Day> = Vec::new();
    for d in 0..YEAR_D {
        let day = first + d;
        coat.hair.advance(day.days());
        if d % RHYTHM_D == 0 && d / RHYTHM_D < VISITS {
            let v = d / RHYTHM_D;
            if v == CHANGE && truth.change.is_some() {
                coat.change(&truth.life(&setup.cycle, hard, true), Answers::rng(seed, 4));
            }
            let l = Luck::new(&mut luck);
            if v == 0 || !l.is_missed() {
                let known = match knows {
                    Knows::Defaults => dog.clone(),
                    Knows::Truth => with_logs(&dog, &truth.at(v >= CHANGE)),
                    Knows::Readings => {
                        // Ease is answered below, for the amount that this plan asks for.
                        readings.extend(answers.read(&coat.hair, &layers, None, &l));
                        let (prior, effort) = (Prior::STANDARD, Effort::QUICK);
                        let case = Case { dog: &dog, readings: &readings, today: day, prior, seed, effort };
                        learn::learn(&case)?.dog_to_plan(&dog)
                    }
                };
                let asks = share(planned(&known, day)?);
                if asks > 0.0 {
                    readings.extend(answers.ease(&coat.hair, asks, &l));
                }
                let seen = coat.hair.visible();
                let pulled = (100.0 * coat.hair.pull_ripe(asks * seen) / seen.max(1e-9)).round() / 100.0;
                let record = ZoneRecord {
                    zone: ZONE,
                    pulled: (asks > 0.0).then_some(Pulled::Share(pulled)),
                    carded: Some(false),
                };
                dog.history.push((day, Event::Visit(vec![record])));
                if pulled >= 0.02 {
                    layers.insert(0, day);
                }
                coat.visited();
            }
        }
        coat.count_day();
    }
    Ok(coat.cost())
}
