//! What the recorded visits taught of a dog, told: the report of its readings, and the one reading at the next visit
//! that would teach most. Each is made once for each state of the record and day.

use super::desk::Desk;
use super::dogs::Facts;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::learned::{Experience, RestsOn};
use super::made::digest;
use super::paces::Minutes;
use super::plan::{booked, next_by_rhythm};
use super::port::Who;
use super::records::VisitBody;
use super::sheet::Sheet;
use crate::dog_file::{DogFile, EventKind};
use crate::learning::{self, LearnReport, NextReading, SEED};
use coat::Day;
use learn::{Effort, Prior};

/// Under these names the two are kept.
const REPORT: &str = "learned in words";
const NEXT: &str = "next reading";

/// What was learned of a dog.
#[derive(Clone, Debug, PartialEq)]
pub struct Taught {
    /// All of it but the next reading, which takes longer: [`Desk::next_reading`].
    pub report: LearnReport,
    /// What the dog's values rest on; its sentences are the report's.
    pub rests_on: RestsOn,
    /// What the clocks say of its minutes; none where none was read of the dog nor of who works it.
    pub minutes: Option<Minutes>,
}

/// What both are made from.
struct Known {
    file: DogFile,
    sheet: Sheet,
    others: Option<Experience>,
    facts: Facts,
}

impl Known {
    fn prior(&self) -> Option<Prior> {
        self.others.map(|o| o.prior)
    }

    fn digest(&self, more: &[Day]) -> String {
        digest(&[
            env!("CARGO_PKG_VERSION"),
            &format!("{:?}", self.file),
            &format!("{:?}", self.prior()),
            &format!("{more:?}"),
        ])
    }
}

impl Desk {
    /// What was learned of a dog by `today`: its readings against what the shop's other dogs of its coat type and the
    /// defaults let expect. What the report leaves null, the next reading, is asked for by [`Desk::next_reading`].
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the history contradicts itself or the readings give no numbers.
    pub async fn taught(&self, who: &Who, today: Day, id: &RecordId) -> Result<Taught, ShopFailure> {
        let known = self.known(who, today, id).await?;
        let (prior, from) = (known.prior(), known.digest(&[today]));
        let minutes = self.minutes(who, today, &known.facts).await?;
        let Known { file, sheet, others, .. } = known;
        let work = move || learning::report(&file, today, prior, SEED, Effort::VISIT, None);
        let report: LearnReport = self.told(who, id, REPORT, &from, &sheet, work).await?;
        let readings = report.readings.iter().filter(|r| r.unused.is_none()).count();
        let said = report.sentences.clone();
        let (dogs, elsewhere) = others.map_or((0, 0), |o| (o.dogs, o.elsewhere));
        let rests_on = RestsOn { readings, dogs, elsewhere, said };
        Ok(Taught { report, rests_on, minutes })
    }

    /// The one reading at the next visit that would teach most, by the expected fall of the plan's cost; none when none
    /// would. The next visit is the one booked, else a rhythm after the last. Takes seconds the first time.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the history contradicts itself or the readings give no numbers.
    pub async fn next_reading(&self, who: &Who, today: Day, id: &RecordId) -> Result<Option<NextReading>, ShopFailure> {
        let known = self.known(who, today, id).await?;
        let visits = self.held_of::<VisitBody>(who, id).await?;
        // What is read at a visit that was recorded already is known.
        let over =
            |day: &Day| known.file.history.iter().any(|e| e.date == *day && matches!(e.kind, EventKind::Visit(_)));
        let by_rhythm = || next_by_rhythm(&known.file, today, None).max(today);
        let next = booked(&visits, today).filter(|d| !over(d)).unwrap_or_else(by_rhythm);
        let (prior, from, solver) = (known.prior(), known.digest(&[today, next]), self.solver());
        let Known { file, sheet, .. } = known;
        let work = move || learning::next_reading(&file, today, next, prior, SEED, Effort::VISIT, &*solver);
        self.told(who, id, NEXT, &from, &sheet, work).await
    }

    async fn known(&self, who: &Who, today: Day, id: &RecordId) -> Result<Known, ShopFailure> {
        let facts = self.facts(who, id).await?;
        let (file, sheet) = facts.file()?;
        let (others, _) = self.shop_prior(who, id, file.coat, today).await?;
        Ok(Known { file, sheet, others, facts })
    }
}
