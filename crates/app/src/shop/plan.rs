//! The plan of a dog of the shop, as saved or with changes tried out.

use super::bearing::lower;
use super::desk::Desk;
use super::dogs::{Facts, tidy};
use super::failure::{Held, ShopFailure};
use super::ids::RecordId;
use super::learned::{RestsOn, refused};
use super::made::digest;
use super::port::Who;
use super::records::{VisitBody, VisitState, ZoneBody};
use crate::dog_file::{DogFile, EventKind, Temper};
use crate::model;
use crate::planning::{Case, Options};
use crate::report::PlanReport;
use coat::Day;
use std::sync::Arc;

/// Under this name a plan is kept.
const NAME: &str = "plan";

/// What is tried without being saved; the default changes nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Changes {
    /// Day of the first visit; by what is booked, the rhythm and the last visit when absent.
    pub first: Option<Day>,
    /// Days between visits.
    pub rhythm_days: Option<i32>,
    /// Last day of the plan.
    pub until: Option<Day>,
    /// More days on which the dog cannot come, first and last.
    pub not_on: Vec<(Day, Day)>,
    /// Most minutes of a visit.
    pub max_min: Option<f64>,
    /// More days that matter.
    pub matter: Vec<(Day, Option<String>)>,
    /// Values of zones, instead of those saved where they are given: a cap, hands off until a day.
    pub zones: Vec<ZoneBody>,
}

/// A plan, and what it was made from.
#[derive(Clone, Debug)]
pub struct Planned {
    /// The plan.
    pub report: Arc<PlanReport>,
    /// Digest of all that went into it: the same digest, the same plan.
    pub from: String,
    /// It was kept from before, not computed now.
    pub kept: bool,
    /// What the dog's values in it rest on.
    pub rests_on: RestsOn,
    /// What lowers the amounts, in a sentence: how the dog bore its last visit.
    pub note: Option<String>,
    /// What the next visit costs in money by the house's price of an hour; none where there is no price.
    pub price: Option<f64>,
}

/// The plan of a dog as it stands, and what it was computed from.
pub(super) struct Stands {
    pub(super) file: DogFile,
    pub(super) sheet: super::sheet::Sheet,
    pub(super) planned: Planned,
}

/// All that a plan is computed from.
pub(super) struct Ready {
    pub(super) file: DogFile,
    pub(super) sheet: super::sheet::Sheet,
    pub(super) options: Options,
    pub(super) rests_on: RestsOn,
    pub(super) note: Option<String>,
}

impl Desk {
    /// The plan of a dog from today on. Without changes it is kept until something that it depends on changes.
    ///
    /// The first visit is the next one booked; without one, a rhythm after the last recorded visit and never before
    /// today; today where no visit was recorded yet.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the changes or the records cannot be; fields `zones.back.cap` and so on.
    pub async fn plan(&self, who: &Who, today: Day, id: &RecordId, changes: &Changes) -> Result<Planned, ShopFailure> {
        if *changes == Changes::default() {
            let (stands, held) = self.stands(who, today, id).await?;
            let planned = stands.planned.clone();
            return Ok(Planned { kept: held || planned.kept, ..planned });
        }
        let facts = self.facts(who, id).await?;
        let ready = self.ready(who, today, facts, changes).await?;
        self.planned(who, id, ready, false).await
    }

    /// The plan of a dog from today on, as it stands; and whether it was held from before.
    ///
    /// # Errors
    /// As [`Desk::plan`].
    pub(super) async fn stands(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
    ) -> Result<(Arc<Stands>, bool), ShopFailure> {
        let as_of = self.as_of(who).await?;
        let key = (who.shop.clone(), id.clone(), today);
        self.memos().plans.find(key, as_of, self.put_together(who, today, id)).await
    }

    /// The same from the records, its plan kept in the store.
    async fn put_together(&self, who: &Who, today: Day, id: &RecordId) -> Result<Arc<Stands>, ShopFailure> {
        let facts = self.facts(who, id).await?;
        let ready = self.ready(who, today, facts, &Changes::default()).await?;
        let (file, sheet) = (ready.file.clone(), ready.sheet.clone());
        let planned = self.planned(who, id, ready, true).await?;
        Ok(Arc::new(Stands { file, sheet, planned }))
    }

    /// Makes the plans of the dogs that are down for a day, so that nobody waits for them at the table. They are kept in
    /// the store and not held: they would drive out those that are being looked at.
    ///
    /// # Errors
    /// [`ShopFailure::Store`]. A dog that cannot be planned is passed over; its page says why.
    pub async fn prepare(&self, who: &Who, today: Day, day: Day) -> Result<(), ShopFailure> {
        let visits = self.visits_on(who, day).await?;
        for dog in visits.into_iter().filter(|v| v.body.state == VisitState::Planned).filter_map(|v| v.of) {
            match self.put_together(who, today, &dog).await {
                Ok(_) | Err(ShopFailure::Refused(_) | ShopFailure::NotFound { .. }) => {}
                Err(other) => return Err(other),
            }
        }
        Ok(())
    }

    /// Computes a plan, or finds it where it was kept.
    pub(super) async fn planned(
        &self,
        who: &Who,
        id: &RecordId,
        ready: Ready,
        keep: bool,
    ) -> Result<Planned, ShopFailure> {
        let Ready { file, sheet, options, rests_on, note } = ready;
        let from = digest(&[env!("CARGO_PKG_VERSION"), &format!("{file:?}"), &format!("{options:?}")]);
        let price_per_hour = file.groomer.price_per_hour;
        let answer = |report: PlanReport, kept: bool| {
            let report = Arc::new(report);
            let price = report.visits.first().and_then(|v| price_per_hour.map(|p| p * v.min / 60.0));
            Planned { report, from: from.clone(), kept, rests_on: rests_on.clone(), note: note.clone(), price }
        };
        let solver = self.solver();
        let make = async {
            let report = self.heavy(move || Case::new(&file, &options).and_then(|c| c.report(&*solver, None))).await?;
            report.map_err(|e| refused(&e, &sheet))
        };
        let (report, kept) = if keep { self.once(who, id, NAME, &from, make).await? } else { (make.await?, false) };
        Ok(answer(report, kept))
    }

    /// Puts together what a plan is computed from.
    pub(super) async fn ready(
        &self,
        who: &Who,
        today: Day,
        mut facts: Facts,
        changes: &Changes,
    ) -> Result<Ready, ShopFailure> {
        for change in &changes.zones {
            merge(&mut facts.dog.body.zones, change);
        }
        tidy(&mut facts.dog.body);
        let (file, sheet) = facts.file()?;
        let id = facts.dog.id.clone();
        let (mut file, rests_on) = self.with_learned(who, &id, file, &sheet, today).await?;
        if let Some(minutes) = self.minutes(who, today, &facts).await? {
            file.groomer.pace = minutes.pace();
        }
        // Days that matter and are over are the file's, but no plan's.
        file.days_that_matter.retain(|d| d.date >= today);
        let visits = self.held_of::<VisitBody>(who, &id).await?;
        let last = visits.iter().rev().find(|v| v.body.state == VisitState::Done);
        let bearing = last.and_then(|v| Temper::parse(v.body.bearing.as_deref()?)).unwrap_or(Temper::Calm);
        let note = lower(&mut file, bearing);
        let first = match changes.first {
            Some(first) => first.max(today),
            None => booked(&visits, today).unwrap_or_else(|| next_by_rhythm(&file, today, changes.rhythm_days)),
        };
        let days = facts.dog.body.not_on.iter();
        let mut not_on: Vec<(Day, Day)> =
            days.filter_map(|(a, b)| Some((Day::parse(a)?, Day::parse(b)?))).filter(|d| d.1 >= today).collect();
        not_on.extend(changes.not_on.iter().copied());
        if first > today {
            not_on.push((today, first - 1));
        }
        let options = Options {
            today,
            rhythm_days: changes.rhythm_days,
            until: changes.until,
            matter: changes.matter.clone(),
            not_on,
            max_min: changes.max_min,
        };
        Ok(Ready { file, sheet, options, rests_on, note })
    }
}

/// The next day on which a visit is booked.
pub(super) fn booked(visits: &[Held<VisitBody>], today: Day) -> Option<Day> {
    let booked = visits.iter().filter(|v| v.body.state == VisitState::Planned);
    booked.filter_map(|v| Day::parse(&v.body.day)).filter(|d| *d >= today).min()
}

/// A rhythm after the last recorded visit, never before today; today where there was none.
pub(super) fn next_by_rhythm(file: &DogFile, today: Day, rhythm: Option<i32>) -> Day {
    let visit = file.history.iter().rev().find(|e| e.date <= today && matches!(e.kind, EventKind::Visit(_)));
    visit.map_or(today, |v| (v.date + rhythm.unwrap_or_else(|| model::rhythm(file))).max(today))
}

/// Lays a zone's changed values over those saved.
pub(super) fn merge(zones: &mut Vec<ZoneBody>, change: &ZoneBody) {
    match zones.iter_mut().find(|z| z.zone == change.zone) {
        None => zones.push(change.clone()),
        Some(z) => {
            z.target_mm = change.target_mm.or(z.target_mm);
            z.tender = change.tender.or(z.tender);
            z.cap = change.cap.or(z.cap);
            z.floor = change.floor.or(z.floor);
            if change.mode.is_some() {
                z.mode.clone_from(&change.mode);
            }
            if change.hands_off_until.is_some() {
                z.hands_off_until.clone_from(&change.hands_off_until);
                z.hands_off_reason.clone_from(&change.hands_off_reason);
            }
        }
    }
}
