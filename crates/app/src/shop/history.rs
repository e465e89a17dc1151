//! The history of a coat as events that can be corrected; every correction says what it changed.

use super::desk::{Desk, revision, saved};
use super::dogs::Facts;
use super::failure::{Held, Saved, ShopFailure};
use super::ids::RecordId;
use super::plan::Changes;
use super::port::{Who, Write};
use super::records::EventBody;
use super::sheet::{self, Named};
use crate::report::{CoatReport, Milestones, PlanReport};
use coat::Day;

/// How a coat stands, for comparing before and after.
#[derive(Clone, Debug)]
pub struct Standing {
    /// The coat today.
    pub coat: CoatReport,
    /// The visits that follow: day and minutes.
    pub next: Vec<(String, f64)>,
    /// Its milestones.
    pub milestones: Milestones,
}

/// What a correction of the history came to.
#[derive(Clone, Debug)]
pub struct Correction {
    /// What was written.
    pub saved: Saved,
    /// How the coat stood by the history before; none when that could not be planned.
    pub before: Option<Standing>,
    /// How it stands now; none when it cannot be planned.
    pub after: Option<Standing>,
    /// What changed, in whole sentences; empty when nothing did.
    pub changed: Vec<String>,
    /// The same was written down before: nothing was written now.
    pub again: bool,
}

impl Correction {
    /// What was written down before.
    fn again(id: &RecordId, revision: i64) -> Correction {
        let saved = Saved { id: id.clone(), revision, warnings: Vec::new() };
        Correction { saved, before: None, after: None, changed: Vec::new(), again: true }
    }
}

impl Desk {
    /// Adds an event to a dog's history under an id that was made when its form was opened: the same form sent twice
    /// adds one event.
    ///
    /// # Errors
    /// As [`Desk::set_event`]; [`ShopFailure::Conflict`] with what was written down under this id already, where that is
    /// something else or was taken out again.
    pub async fn add_event(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        id: &RecordId,
        mut event: EventBody,
    ) -> Result<Correction, ShopFailure> {
        event.day = event.day.trim().to_owned();
        let before = self.facts(who, dog).await?;
        if let Some(there) = before.events.iter().find(|e| e.id == *id && e.body == event) {
            return Ok(Correction::again(id, there.revision));
        }
        match self.put_event(who, today, dog, before, id.clone(), 0, event.clone()).await {
            // The same form twice at the same time.
            Err(ShopFailure::Conflict { stands, .. })
                if stands.id == *id
                    && !stands.gone
                    && stands.of.as_ref() == Some(dog)
                    && serde_json::to_value(&event).is_ok_and(|body| body == stands.body) =>
            {
                Ok(Correction::again(id, stands.revision))
            }
            other => other,
        }
    }

    /// Adds an event to a dog's history or corrects one, and says what that changes.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`]: fields of the event stand bare (`day`, `length_mm`, `zones.0.longest_mm`), those of
    /// other events as `history.3.day`.
    pub async fn set_event(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        id: Option<&RecordId>,
        seen: i64,
        mut event: EventBody,
    ) -> Result<Correction, ShopFailure> {
        event.day = event.day.trim().to_owned();
        let before = self.facts(who, dog).await?;
        let (id, seen) = match id {
            Some(id) => (self.event_of(dog, &before, id)?, seen),
            None => (self.new_id()?, 0),
        };
        self.put_event(who, today, dog, before, id, seen, event).await
    }

    #[expect(clippy::too_many_arguments, reason = "who, when, where, and the event with what it stands in for")]
    async fn put_event(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        before: Facts,
        id: RecordId,
        seen: i64,
        event: EventBody,
    ) -> Result<Correction, ShopFailure> {
        let mut after = before.clone();
        after.events.retain(|e| e.id != id);
        check(&after, &event)?;
        let write = revision(&id, Some(dog), Some(event.day.clone()), seen, &event)?;
        let by = who.person.clone();
        let of = Some(dog.clone());
        let held = Held { id, of, revision: seen + 1, body: event, by, at_ms: who.at_ms };
        let at = after.events.partition_point(|e| e.body.day <= held.body.day);
        after.events.insert(at, held);
        self.correct(who, today, dog, before, after, write).await
    }

    /// Takes an event out of a dog's history, and says what that changes. Earlier revisions stay.
    ///
    /// # Errors
    /// [`ShopFailure`].
    pub async fn drop_event(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        id: &RecordId,
        seen: i64,
    ) -> Result<Correction, ShopFailure> {
        let before = self.facts(who, dog).await?;
        let id = self.event_of(dog, &before, id)?;
        let mut after = before.clone();
        let at = after.events.iter().position(|e| e.id == id).unwrap_or(0);
        let gone = after.events.remove(at);
        after.file()?;
        let write = Write { gone: true, ..revision(&id, Some(dog), Some(gone.body.day.clone()), seen, &gone.body)? };
        self.correct(who, today, dog, before, after, write).await
    }

    /// An event that is this dog's.
    fn event_of(&self, _dog: &RecordId, facts: &Facts, id: &RecordId) -> Result<RecordId, ShopFailure> {
        let own = facts.events.iter().find(|e| e.id == *id);
        own.map(|e| e.id.clone())
            .ok_or_else(|| ShopFailure::NotFound { kind: super::port::Kind::Event, id: id.clone() })
    }

    async fn correct(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        before: Facts,
        after: Facts,
        write: Write,
    ) -> Result<Correction, ShopFailure> {
        // Before anything is written, for a history that the model cannot follow is refused.
        let then = self.standing(who, today, dog, before).await.ok();
        let now = match self.standing(who, today, dog, after).await {
            Ok(standing) => Some(standing),
            // A plan may be impossible for other reasons than the history.
            Err(ShopFailure::Refused(said)) if said.iter().any(|s| !s.field.is_empty()) => {
                return Err(ShopFailure::Refused(said));
            }
            Err(ShopFailure::Refused(_)) => None,
            Err(other) => return Err(other),
        };
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        self.reckon(who, today, dog).await?;
        let changed = match (&then, &now) {
            (Some(a), Some(b)) => differences(a, b),
            (None, Some(_)) => vec!["The coat can be planned now.".to_owned()],
            (Some(_), None) => vec!["There is no plan any more with this history.".to_owned()],
            (None, None) => Vec::new(),
        };
        Ok(Correction { saved: saved(&write, Vec::new()), before: then, after: now, changed, again: false })
    }

    async fn standing(&self, who: &Who, today: Day, dog: &RecordId, facts: Facts) -> Result<Standing, ShopFailure> {
        let ready = self.ready(who, today, facts, &Changes::default()).await?;
        let report = self.planned(who, dog, ready, false).await?.report;
        standing(&report).ok_or_else(|| ShopFailure::refused("", "there is no coat on this day", "Choose a later day."))
    }
}

/// Whether the event fits the rest of the history; its own fields stand bare.
fn check(others: &Facts, event: &EventBody) -> Result<(), ShopFailure> {
    let by_place = others.events.iter().enumerate();
    let mut named: Vec<Named<'_>> =
        by_place.map(|(i, e)| Named { prefix: format!("history.{i}."), event: &e.body }).collect();
    named.push(Named { prefix: String::new(), event });
    let read = sheet::dog_file(&others.dog.body, &others.house, others.pace, &named);
    read.map(|_| ()).map_err(ShopFailure::Refused)
}

pub(super) fn standing(report: &PlanReport) -> Option<Standing> {
    let coat = report.forecast.iter().find(|c| c.date == report.today)?.clone();
    let next = report.visits.iter().map(|v| (v.date.clone(), v.min)).collect();
    Some(Standing { coat, next, milestones: report.milestones.clone() })
}

/// What is different, in whole sentences.
pub(super) fn differences(a: &Standing, b: &Standing) -> Vec<String> {
    let mut out = Vec::new();
    let percent = |x: Option<f64>| x.map_or("none".to_owned(), |x| format!("{:.0} %", 100.0 * x));
    let (x, y) = (a.coat.dog, b.coat.dog);
    for (name, before, after) in [
        ("Cover", x.cover, y.cover),
        ("Ripe hair", x.ripe, y.ripe),
        ("Evenness", x.evenness, y.evenness),
        ("Hard hair", x.hard, y.hard),
    ] {
        let (before, after) = (percent(before), percent(after));
        if before != after {
            out.push(format!("{name} today is {after}; it was {before}."));
        }
    }
    let mm = |x: Option<f64>| x.map_or("none".to_owned(), |x| format!("{x:.0} mm"));
    let back = |s: &Standing| mm(s.coat.zones.iter().find(|z| z.zone == "back").and_then(|z| z.top_mm));
    if back(a) != back(b) {
        out.push(format!("The back's top length today is {}; it was {}.", back(b), back(a)));
    }
    match (a.next.first(), b.next.first()) {
        (Some(a), Some(b)) if a.0 != b.0 => out.push(format!("The next visit is on {}; it was {}.", b.0, a.0)),
        (Some(a), Some(b)) if (a.1 - b.1).abs() >= 1.0 => {
            out.push(format!("The next visit takes {:.0} minutes; it was {:.0}.", b.1, a.1));
        }
        _ => {}
    }
    let (before, after) = (a.next.len(), b.next.len());
    if before != after {
        out.push(format!("The plan has {after} visits; it had {before}."));
    }
    let (m, n) = (&a.milestones, &b.milestones);
    for (name, before, after) in [
        ("Rolling", &m.rolling, &n.rolling),
        ("Furnishings", &m.furnishings, &n.furnishings),
        ("Hard", &m.hard, &n.hard),
    ] {
        let say = |d: &Option<String>| d.clone().unwrap_or_else(|| "not before the plan's last day".to_owned());
        if before != after {
            out.push(format!("{name}: {}; it was {}.", say(after), say(before)));
        }
    }
    out
}
