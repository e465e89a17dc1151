//! A dog's coat on any day: by its records up to today, by its plan from then on.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::learned::refused;
use super::plan::{Planned, Stands};
use super::port::Who;
use crate::model;
use crate::planning::coat_on;
use coat::{Day, Dog, DogCoat};

/// A coat on a day, and the plan that carries it on.
#[derive(Clone)]
pub struct CoatAt {
    /// Before anything was done that day.
    pub before: DogCoat,
    /// After what was recorded for that day; none where nothing was.
    pub after: Option<DogCoat>,
    /// The plan as it stands; what it does on that day is not in either.
    pub planned: Planned,
}

impl Desk {
    /// The coat of a dog on a day: by its records up to today, after that as its plan leaves it.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the day lies before the history or after the plan, or there is no plan.
    pub async fn coat_at(&self, who: &Who, today: Day, id: &RecordId, day: Day) -> Result<CoatAt, ShopFailure> {
        let (stands, _) = self.stands(who, today, id).await?;
        let planned = stands.planned.clone();
        if Day::parse(&planned.report.until).is_none_or(|until| day > until) {
            let until = &planned.report.until;
            return Err(ShopFailure::refused(
                "day",
                format!("the plan ends on `{until}`, before `{day}`"),
                "Ask for an earlier day.",
            ));
        }
        let replayed = self.heavy(move || {
            let Stands { file, sheet, .. } = &*stands;
            let mut dog = model::dog(file, model::rhythm(file));
            let on = |dog: &Dog| coat_on(file, dog, day.min(today)).map_err(|e| refused(&e, sheet));
            let done = day <= today && dog.history.iter().any(|h| h.0 == day);
            let after = if done { Some(on(&dog)?) } else { None };
            dog.history.retain(|h| !done || h.0 < day);
            Ok((on(&dog)?, after))
        });
        let (mut before, after) = replayed.await??;
        for visit in &planned.report.visits {
            let Some(on) = Day::parse(&visit.date).filter(|d| *d < day) else { break };
            before.step_to(on);
            for zone in &mut before.zones {
                let work = visit.work_on(zone);
                zone.work(&work);
            }
        }
        before.step_to(day);
        Ok(CoatAt { before, after, planned })
    }
}
