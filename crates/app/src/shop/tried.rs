//! Changes of a plan tried out beside the plan as it stands, and kept when they please.

use super::desk::Desk;
use super::failure::{Saved, ShopFailure};
use super::history::{differences, standing};
use super::ids::RecordId;
use super::plan::{Changes, Planned, merge};
use super::port::Who;
use coat::Day;

/// A plan with changes, against the one that stands.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The plan with the changes.
    pub plan: Planned,
    /// What differs, in whole sentences; empty when nothing does.
    pub changed: Vec<String>,
    /// By how much the cost of the plan rises, in units of its measure; negative when the change is for the better.
    pub cost: f64,
}

impl Desk {
    /// Plans with changes, keeping none, and says what differs from the plan that stands.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when a change or the plan with it cannot be.
    pub async fn try_changes(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
        stands: &Planned,
        changes: &Changes,
    ) -> Result<Tried, ShopFailure> {
        let plan = self.plan(who, today, id, changes).await?;
        let changed = match (standing(&stands.report), standing(&plan.report)) {
            (Some(a), Some(b)) => differences(&a, &b),
            _ => Vec::new(),
        };
        let cost = plan.report.objective.rounded_value - stands.report.objective.rounded_value;
        Ok(Tried { plan, changed, cost })
    }

    /// Keeps changes with the dog: rhythm, table time, days that matter, days on which it cannot come, values of
    /// zones. The day of the next visit and the plan's last day are the Table's and the page's, and are not kept.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when they cannot be, [`ShopFailure::Conflict`] when somebody changed the dog since.
    pub async fn keep_changes(
        &self,
        who: &Who,
        today: Day,
        id: &RecordId,
        seen: i64,
        changes: &Changes,
    ) -> Result<Saved, ShopFailure> {
        let facts = self.facts(who, id).await?;
        let mut dog = facts.dog.body;
        dog.rhythm_days = changes.rhythm_days.or(dog.rhythm_days);
        dog.table_max_min = changes.max_min.or(dog.table_max_min);
        for (day, name) in &changes.matter {
            let day = day.to_string();
            dog.days_that_matter.retain(|d| d.0 != day);
            dog.days_that_matter.push((day, name.clone().unwrap_or_default()));
        }
        for (from, until) in &changes.not_on {
            let days = (from.to_string(), until.to_string());
            // Kept over somebody else's change, they may stand there already.
            if !dog.not_on.contains(&days) {
                dog.not_on.push(days);
            }
        }
        for zone in &changes.zones {
            merge(&mut dog.zones, zone);
        }
        let owner = facts.dog.of.ok_or_else(|| {
            ShopFailure::refused("", "this dog has no owner", "Give it one under People before you change it.")
        })?;
        self.set_dog(who, today, Some(id), &owner, seen, dog).await
    }
}
