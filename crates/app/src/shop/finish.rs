//! Finishing a visit: what was tapped becomes an event of the dog's history, and the coat is looked at before and after.

use super::desk::{Desk, revision};
use super::dogs::Facts;
use super::failure::{Held, Said, ShopFailure};
use super::ids::RecordId;
use super::learned::refused;
use super::plan::Changes;
use super::port::Who;
use super::reckon::reckoned;
use super::records::{EventBody, RecordBody, VisitBody, VisitState};
use super::work::{Work, WorkZone, ZoneState};
use crate::dog_file::{DogFile, EventKind};
use crate::model;
use crate::planning::{Failure, coat_on};
use crate::report::CoatReport;
use coat::{Day, Zone};

/// A zone's clock that ran for less is taken for a slip, seconds.
const SLIP_S: i64 = 5;
/// Less than this much of what was planned leaves something for next time.
const ENOUGH: f64 = 0.8;

/// A zone of which something is left for next time.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// The zone.
    pub zone: Zone,
    /// Why, in a whole sentence.
    pub why: String,
}

/// The next visit, proposed.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposed {
    /// The day.
    pub day: Day,
    /// Minutes, by the plan for that day.
    pub min: Option<f64>,
    /// Why that day, in a whole sentence.
    pub why: String,
}

/// What a finished visit came to.
#[derive(Clone, Debug)]
pub struct Finished {
    /// The visit.
    pub visit: Held<VisitBody>,
    /// The event of the history that it became.
    pub event: Held<EventBody>,
    /// The coat just before, with what is known now.
    pub before: CoatReport,
    /// The coat just after.
    pub after: CoatReport,
    /// What is left for next time.
    pub left: Vec<Leftover>,
    /// The next visit: the one that is booked already, or a proposal.
    pub next: Option<Proposed>,
    /// The next visit is booked already.
    pub booked: bool,
}

impl Desk {
    /// Finishes a visit: its entries become an event, the dog is learned and reckoned anew. Finishing again takes
    /// entries that came late into the same event; without any it changes nothing.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit was never begun and has no entries, or what was recorded cannot be: the
    /// field is then the zone and the reading, for instance `back.new_layer_mm`.
    pub async fn finish_visit(&self, who: &Who, today: Day, id: &RecordId) -> Result<Finished, ShopFailure> {
        let work = self.work(who, id).await?;
        let mut visit = work.visit.clone();
        let dog = work.dog.id.clone();
        let begun = matches!(visit.body.state, VisitState::AtTable | VisitState::Done);
        if !begun && work.entries.is_empty() {
            let message =
                format!("the visit is {}, and nothing was recorded", super::days::state_word(visit.body.state));
            return Err(ShopFailure::refused("state", message, "Begin it first."));
        }
        let facts = self.facts(who, &dog).await?;
        let old = visit.body.event.as_ref().and_then(|e| facts.events.iter().find(|h| h.id == *e)).cloned();
        let event = event_of(&work);
        let bearing = work.bearing.word().to_owned();
        let same = old.as_ref().is_some_and(|o| o.body == event);
        if same && visit.body.state == VisitState::Done && visit.body.bearing.as_ref() == Some(&bearing) {
            return self.finished(who, today, id).await;
        }
        let (event_id, seen) = match &old {
            Some(o) => (o.id.clone(), o.revision),
            None => (self.new_id()?, 0),
        };
        let mut after = facts;
        after.events.retain(|e| e.id != event_id);
        let at = after.events.partition_point(|e| e.body.day <= event.day);
        let (by, of) = (who.person.clone(), Some(dog.clone()));
        let held = Held { id: event_id.clone(), of, revision: seen + 1, body: event, by, at_ms: who.at_ms };
        after.events.insert(at, held.clone());
        let prefix = format!("history.{at}.");
        if let Err(failure) = after.file() {
            return Err(by_zone(failure, &prefix, &held.body));
        }
        visit.body.state = VisitState::Done;
        visit.body.done_ms = visit.body.done_ms.or(Some(who.at_ms));
        visit.body.event = Some(event_id.clone());
        visit.body.bearing = Some(bearing);
        let writes = [
            revision(&event_id, Some(&dog), Some(held.body.day.clone()), seen, &held.body)?,
            revision(&visit.id, Some(&dog), Some(visit.body.day.clone()), visit.revision, &visit.body)?,
        ];
        match self.write(who, &writes, &[]).await {
            Ok(()) => {}
            // Two finished at once: the first did it.
            Err(conflict @ ShopFailure::Conflict { .. }) => {
                let now: Held<VisitBody> = self.held(who, id).await?;
                if now.body.state != VisitState::Done {
                    return Err(conflict);
                }
            }
            Err(other) => return Err(other),
        }
        self.reckon(who, today, &dog).await?;
        self.finished(who, today, id).await
    }

    /// What a finished visit came to.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit is not done.
    pub async fn finished(&self, who: &Who, today: Day, id: &RecordId) -> Result<Finished, ShopFailure> {
        let work = self.work(who, id).await?;
        let visit = work.visit.clone();
        let dog = work.dog.id.clone();
        let facts = self.facts(who, &dog).await?;
        let event = visit.body.event.as_ref().filter(|_| visit.body.state == VisitState::Done);
        let event = event.and_then(|e| facts.events.iter().find(|h| h.id == *e)).cloned();
        let event = event.ok_or_else(|| {
            let message = format!("the visit is {}", super::days::state_word(visit.body.state));
            ShopFailure::refused("state", message, "Finish it first.")
        })?;
        let day =
            Day::parse(&event.body.day).ok_or_else(|| ShopFailure::refused("day", "no such day", "Correct it."))?;
        let (file, sheet) = facts.file()?;
        let (file, _) = self.with_learned(who, &dog, file, &sheet, today.max(day)).await?;
        let looked = file.clone();
        let (before, after) = self.heavy(move || around(&looked, day)).await?.map_err(|e| refused(&e, &sheet))?;
        let (next, booked) = self.next(who, today, &dog, facts, file, day).await?;
        Ok(Finished { left: left(&work), visit, event, before, after, next, booked })
    }

    /// The next visit: as booked, or a rhythm on, once something is ready, on a day on which the dog can come.
    async fn next(
        &self,
        who: &Who,
        today: Day,
        dog: &RecordId,
        facts: Facts,
        file: DogFile,
        day: Day,
    ) -> Result<(Option<Proposed>, bool), ShopFailure> {
        let visits = self.held_of::<VisitBody>(who, dog).await?;
        let planned = visits.iter().filter(|v| v.body.state == VisitState::Planned);
        let booked = planned.filter_map(|v| Day::parse(&v.body.day)).filter(|d| *d > day).min();
        let reckoned = match self.heavy(move || (reckoned(&file, today.max(day)), file)).await? {
            (Ok(r), file) => (r, file),
            (Err(_), _) => return Ok((None, false)),
        };
        let (r, file) = reckoned;
        let rhythm = model::rhythm(&file);
        let by_rhythm = day + rhythm;
        let (proposed, why) = match booked {
            Some(booked) => (booked, "It is booked for this day.".to_owned()),
            None => {
                let Some(ready) = r.ready else { return Ok((None, false)) };
                let wanted = by_rhythm.max(ready).max(today + 1);
                let not_on: Vec<(Day, Day)> =
                    facts.dog.body.not_on.iter().filter_map(|(a, b)| Some((Day::parse(a)?, Day::parse(b)?))).collect();
                let mut free = model::visit_days(wanted, wanted + 60, 61, &not_on);
                let Some(free) = free.pop() else { return Ok((None, false)) };
                let why = if free != wanted {
                    format!("{rhythm} days on it cannot come; this is the first day after on which it can.")
                } else if ready > by_rhythm {
                    format!("Not enough is ripe before {ready}.")
                } else {
                    format!("{rhythm} days on, its rhythm.")
                };
                (free, why)
            }
        };
        let changes = Changes { first: Some(proposed), ..Changes::default() };
        let min = match self.ready(who, today.max(day), facts, &changes).await {
            Ok(ready) => match self.planned(who, dog, ready, true).await {
                Ok(p) => p.report.visits.first().map(|v| v.min),
                Err(ShopFailure::Refused(_)) => None,
                Err(other) => return Err(other),
            },
            Err(ShopFailure::Refused(_)) => None,
            Err(other) => return Err(other),
        };
        Ok((Some(Proposed { day: proposed, min, why }), booked.is_some()))
    }
}

/// The event that the work becomes.
pub(super) fn event_of(work: &Work) -> EventBody {
    let minutes = |s: i64| (s >= SLIP_S).then(|| (s as f64 / 6.0).round() / 10.0);
    let record = |z: &WorkZone| RecordBody {
        zones: vec![z.zone.word().to_owned()],
        share: z.pulled.filter(|s| *s > 0.0),
        all_ripe: z.all_ripe,
        carded: z.carded.unwrap_or(false),
        longest_mm: z.longest_mm,
        new_layer_mm: z.new_layer_mm,
        longest_depth: z.longest_depth,
        new_layer_depth: z.new_layer_depth,
        work_min: minutes(z.seconds),
        ease: z.ease,
        feel: z.feel.clone(),
        cover_by_eye: z.cover,
        new_hair: z.new_hair,
    };
    EventBody {
        work_min: minutes(work.seconds),
        ease: work.ease,
        zones: work.zones.iter().filter(|z| z.touched()).map(record).collect(),
        visit: Some(work.visit.id.clone()),
        ..EventBody::of(work.visit.body.day.clone(), "visit")
    }
}

/// The coat just before and just after the visit of a day.
fn around(file: &DogFile, day: Day) -> Result<(CoatReport, CoatReport), Failure> {
    let look = |file: &DogFile, at: &'static str| -> Result<CoatReport, Failure> {
        let dog = model::dog(file, file.rhythm_days.unwrap_or(21));
        let (means, zones) = coat_on(file, &dog, day)?.measures();
        Ok(CoatReport::new(day, at, means, &zones))
    };
    let mut before = file.clone();
    // A visit that changed nothing keeps the coat where a history that would be empty has none.
    for e in before.history.iter_mut().filter(|e| e.date == day) {
        if let EventKind::Visit(v) = &mut e.kind {
            v.zones.clear();
        }
    }
    Ok((look(&before, "before")?, look(file, "after")?))
}

/// What was planned and not done.
fn left(work: &Work) -> Vec<Leftover> {
    let mut out = Vec::new();
    for z in &work.zones {
        let Some(p) = z.planned.as_ref().filter(|p| p.amount != "leave") else { continue };
        let amount = if p.amount == "all ripe" { "all that is ripe" } else { &p.amount };
        let why = match z.state {
            ZoneState::Open => format!("Not worked: {amount} was planned."),
            ZoneState::Left => format!("Left: {amount} was planned."),
            ZoneState::Done if z.stop.is_some() && !z.all_ripe => "Set, not ripe: it would not come.".to_owned(),
            ZoneState::Done if !z.all_ripe && z.pulled.unwrap_or(0.0) < ENOUGH * p.share => {
                format!("Less than planned: {amount} was planned.")
            }
            ZoneState::Done => continue,
        };
        out.push(Leftover { zone: z.zone, why });
    }
    out
}

/// Faults of the visit's event named by zone.
fn by_zone(failure: ShopFailure, prefix: &str, event: &EventBody) -> ShopFailure {
    let ShopFailure::Refused(said) = failure else { return failure };
    let named = |s: Said| {
        let Some(own) = s.field.strip_prefix(prefix) else { return s };
        let zone = own.strip_prefix("zones.").and_then(|rest| {
            let (i, field) = rest.split_once('.').unwrap_or((rest, ""));
            let record = event.zones.get(i.parse::<usize>().ok()?)?;
            Some(format!("{}.{field}", record.zones.first()?))
        });
        Said { field: zone.unwrap_or_else(|| own.to_owned()), ..s }
    };
    ShopFailure::Refused(said.into_iter().map(named).collect())
}
