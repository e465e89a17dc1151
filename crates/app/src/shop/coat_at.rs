//! A dog's coat on any day: by its records up to today, by its plan from then on.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::heavy::heavy;
use super::ids::RecordId;
use super::learned::refused;
use super::plan::{Changes, Planned};
use super::port::Who;
use crate::model;
use crate::planning::coat_on;
use coat::{Day, DogCoat};

/// Before or after the work of a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// Before it.
    Before,
    /// After it.
    After,
}

/// A coat, and the plan that carries it on.
#[derive(Clone)]
pub struct CoatAt {
    /// The coat at the moment asked for.
    pub coat: DogCoat,
    /// The plan as it stands.
    pub planned: Planned,
}

impl Desk {
    /// The coat of a dog on a day, before or after what was done or is planned for that day.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the day lies before the history or after the plan, or there is no plan.
    pub async fn coat_at(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
        day: Day,
        moment: Moment,
    ) -> Result<CoatAt, ShopFailure> {
        let facts = self.facts(who, id).await?;
        let ready = self.ready(who, today, facts, &Changes::default()).await?;
        let (file, sheet) = (ready.file.clone(), ready.sheet.clone());
        let planned = self.planned(who, id, ready, true).await?;
        if Day::parse(&planned.report.until).is_none_or(|until| day > until) {
            let until = &planned.report.until;
            return Err(ShopFailure::refused(
                "day",
                format!("the plan ends on `{until}`, before `{day}`"),
                "Ask for an earlier day.",
            ));
        }
        let from = day.min(today);
        let replayed = heavy(move || {
            let rhythm = file.rhythm_days.unwrap_or_else(|| model::recommended_rhythm(&file, &model::dog(&file, 21)));
            let mut dog = model::dog(&file, rhythm);
            if moment == Moment::Before && day <= today {
                dog.history.retain(|h| h.0 < day);
            }
            coat_on(&file, &dog, from).map_err(|e| refused(&e, &sheet))
        });
        let mut coat = replayed.await??;
        for visit in &planned.report.visits {
            let Some(on) = Day::parse(&visit.date).filter(|d| *d < day || (*d == day && moment == Moment::After))
            else {
                break;
            };
            coat.step_to(on);
            for zone in &mut coat.zones {
                let work = visit.work_on(zone);
                zone.work(&work);
            }
        }
        coat.step_to(day);
        Ok(CoatAt { coat, planned })
    }
}
