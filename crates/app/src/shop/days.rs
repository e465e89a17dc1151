//! The days: which dogs come, in what order, and what becomes of a visit.

use super::checks;
use super::desk::{Desk, revision, saved};
use super::failure::{Held, Saved, ShopFailure, clean};
use super::ids::{PersonId, RecordId};
use super::plan::Changes;
use super::port::{Found, Kind, Who, Write};
use super::records::{DogBody, EventBody, Owner, PhotoBody, VisitBody, VisitState};
use super::sheet;
use crate::cautions;
use coat::Day;
use std::collections::HashMap;
use std::sync::Arc;

/// One dog of a day.
#[derive(Clone, Debug)]
pub struct TableLine {
    /// The visit.
    pub visit: Held<VisitBody>,
    /// The dog.
    pub dog: RecordId,
    /// Its name.
    pub name: String,
    /// Its breed.
    pub breed: String,
    /// Its owner's name.
    pub owner: String,
    /// Its owner's phones.
    pub phones: Vec<String>,
    /// What it needs, in one line.
    pub line: String,
    /// Cautions for this dog, without those that hold for every dog ([`crate::cautions::ALWAYS`]).
    pub cautions: Vec<String>,
    /// Minutes that the visit takes.
    pub work_min: Option<f64>,
    /// Its latest photo, from a side where there is one.
    pub photo: Option<Held<PhotoBody>>,
}

impl Desk {
    /// The dogs of a day, in order; visits called off are left out.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn day(&self, who: &Who, today: Day, day: Day) -> Result<Vec<TableLine>, ShopFailure> {
        let as_of = self.as_of(who).await?;
        let key = (who.shop.clone(), day, today);
        let make = async { Ok(Arc::new(self.lines(who, today, day).await?)) };
        let (lines, _) = self.memos().days.find(key, as_of, make).await?;
        let mut lines = Vec::clone(&lines);
        let ids: Vec<RecordId> = lines.iter().map(|l| l.dog.clone()).collect();
        let found = self.store().found(&who.shop, &ids).await.map_err(ShopFailure::Store)?;
        let found: HashMap<&RecordId, &Found> = found.iter().map(|f| (&f.dog, f)).collect();
        for line in &mut lines {
            if let Some(f) = found.get(&line.dog) {
                line.line.clone_from(&f.line);
                line.work_min = line.work_min.or(f.work_min);
            }
        }
        Ok(lines)
    }

    /// The same without what is in the list of coats, from the records.
    async fn lines(&self, who: &Who, today: Day, day: Day) -> Result<Vec<TableLine>, ShopFailure> {
        let house = self.house(who).await?.body;
        let mut visits = self.visits_on(who, day).await?;
        visits.retain(|v| v.body.state != VisitState::CalledOff);
        let ids: Vec<RecordId> = visits.iter().filter_map(|v| v.of.clone()).collect();
        let dogs = self.some_held::<DogBody>(who, &ids).await?;
        let owners: Vec<RecordId> = dogs.values().filter_map(|d| d.of.clone()).collect();
        let owners = self.some_held::<Owner>(who, &owners).await?;
        let photos = self.held_of_some::<PhotoBody>(who, &ids).await?;
        let mut out = Vec::new();
        for visit in visits {
            let Some(dog) = visit.of.as_ref().and_then(|id| dogs.get(id)) else { continue };
            let owner = dog.of.as_ref().and_then(|o| owners.get(o)).map(|o| o.body.clone());
            let mut said = match sheet::dog_file(&dog.body, &house, 1.0, &[]) {
                Ok((file, _)) => cautions::for_dog(&file, day.max(today)),
                Err(_) => Vec::new(),
            };
            said.retain(|c| !cautions::ALWAYS.contains(&c.as_str()));
            let own = photos.get(&dog.id).map_or(&[][..], Vec::as_slice);
            let photo = own.iter().rfind(|p| p.body.pose.ends_with("side")).or(own.last()).cloned();
            let planned = visit.body.planned.as_ref().and_then(|p| p.get("min")).and_then(serde_json::Value::as_f64);
            out.push(TableLine {
                name: dog.body.name.clone(),
                breed: dog.body.breed.clone(),
                owner: owner.as_ref().map_or_else(String::new, |o| o.name.clone()),
                phones: owner.map_or_else(Vec::new, |o| o.phones),
                line: String::new(),
                cautions: said,
                work_min: planned,
                photo,
                dog: dog.id.clone(),
                visit,
            });
        }
        Ok(out)
    }

    /// How many dogs are down for a day; visits called off do not count.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn dogs_on(&self, who: &Who, day: Day) -> Result<usize, ShopFailure> {
        let visits = self.visits_on(who, day).await?;
        Ok(visits.iter().filter(|v| v.body.state != VisitState::CalledOff).count())
    }

    pub(super) async fn visits_on(&self, who: &Who, day: Day) -> Result<Vec<Held<VisitBody>>, ShopFailure> {
        let day = day.to_string();
        let records = self.store().between(&who.shop, Kind::Visit, &day, &day).await.map_err(ShopFailure::Store)?;
        let mut visits: Vec<Held<VisitBody>> = records.into_iter().map(Held::of).collect::<Result<_, _>>()?;
        visits.sort_by(|a, b| (a.body.place, &a.id).cmp(&(b.body.place, &b.id)));
        Ok(visits)
    }

    /// Puts a dog on a day, after the others.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] (field `day`) when it comes on that day already.
    pub async fn plan_visit(
        &self,
        who: &Who,
        dog: &RecordId,
        day: Day,
        groomer: Option<PersonId>,
        mut note: String,
    ) -> Result<Saved, ShopFailure> {
        let dog: Held<DogBody> = self.held(who, dog).await?;
        let mut faults = Vec::new();
        checks::note("note", "the note", &mut note, &mut faults);
        clean(faults)?;
        let others = self.visits_on(who, day).await?;
        free(&others, &dog.id, None, day)?;
        let place = others.iter().map(|v| v.body.place).max().unwrap_or(0).saturating_add(1);
        let groomer = groomer.or(dog.body.groomer);
        let body = VisitBody { groomer, note, ..VisitBody::planned_for(day.to_string(), place) };
        let write = revision(&self.new_id()?, Some(&dog.id), Some(body.day.clone()), 0, &body)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }

    /// Moves a planned visit to a day and a place in its order, counted from 1; to the end without one.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit is no longer planned, or the dog comes on that day already.
    pub async fn move_visit(
        &self,
        who: &Who,
        id: &RecordId,
        seen: i64,
        day: Day,
        place: Option<i32>,
    ) -> Result<Saved, ShopFailure> {
        let mut visit: Held<VisitBody> = self.held(who, id).await?;
        must_be(&visit, &[VisitState::Planned], "moved")?;
        let mut others = self.visits_on(who, day).await?;
        if let Some(dog) = &visit.of {
            free(&others, dog, Some(id), day)?;
        }
        others.retain(|v| v.id != *id);
        let at = place.map_or(others.len(), |p| usize::try_from(p - 1).unwrap_or(0).min(others.len()));
        visit.body.day = day.to_string();
        let mut order: Vec<(bool, Held<VisitBody>)> = others.into_iter().map(|v| (false, v)).collect();
        order.insert(at, (true, visit));
        let mut writes = Vec::new();
        for (i, (moved, mut v)) in order.into_iter().enumerate() {
            let place = i32::try_from(i + 1).unwrap_or(i32::MAX);
            if moved || v.body.place != place {
                v.body.place = place;
                let seen = if moved { seen } else { v.revision };
                writes.push((moved, revision(&v.id, v.of.as_ref(), Some(v.body.day.clone()), seen, &v.body)?));
            }
        }
        let own = writes.iter().find(|w| w.0).map(|w| saved(&w.1, Vec::new()));
        let writes: Vec<Write> = writes.into_iter().map(|w| w.1).collect();
        self.write(who, &writes, &[]).await?;
        own.ok_or_else(|| ShopFailure::NotFound { kind: Kind::Visit, id: id.clone() })
    }

    /// The dog did not come: the visit is missed, and its history says so.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit is not planned any more.
    pub async fn miss_visit(&self, who: &Who, today: Day, id: &RecordId, seen: i64) -> Result<Saved, ShopFailure> {
        let mut visit: Held<VisitBody> = self.held(who, id).await?;
        must_be(&visit, &[VisitState::Planned], "missed")?;
        visit.body.state = VisitState::Missed;
        let mut writes = Vec::new();
        if let Some(dog) = &visit.of {
            let event = EventBody { visit: Some(visit.id.clone()), ..EventBody::of(visit.body.day.clone(), "missed") };
            let mut facts = self.facts(who, dog).await?;
            let event_id = self.new_id()?;
            let write = revision(&event_id, Some(dog), Some(event.day.clone()), 0, &event)?;
            let (by, of) = (who.person.clone(), Some(dog.clone()));
            facts.events.push(Held { id: event_id.clone(), of, revision: 1, body: event, by, at_ms: who.at_ms });
            // A day on which the coat was worked after all was not missed as far as its history goes.
            if facts.file().is_ok() {
                visit.body.event = Some(event_id);
                writes.push(write);
            }
        }
        let own = revision(&visit.id, visit.of.as_ref(), Some(visit.body.day.clone()), seen, &visit.body)?;
        let out = saved(&own, Vec::new());
        writes.push(own);
        self.write(who, &writes, &[]).await?;
        if let Some(dog) = &visit.of {
            self.reckon(who, today, dog).await?;
        }
        Ok(out)
    }

    /// The visit is called off.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit is not planned any more.
    pub async fn call_off(&self, who: &Who, id: &RecordId, seen: i64) -> Result<Saved, ShopFailure> {
        let mut visit: Held<VisitBody> = self.held(who, id).await?;
        must_be(&visit, &[VisitState::Planned], "called off")?;
        visit.body.state = VisitState::CalledOff;
        let write = revision(&visit.id, visit.of.as_ref(), Some(visit.body.day.clone()), seen, &visit.body)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }

    /// The dog is at the table: its plan for today is made and kept with the visit. A second time changes nothing; a
    /// visit planned for another day, missed or called off becomes today's.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the visit is done.
    pub async fn begin_visit(&self, who: &Who, today: Day, id: &RecordId) -> Result<Held<VisitBody>, ShopFailure> {
        let mut visit: Held<VisitBody> = self.held(who, id).await?;
        if visit.body.state == VisitState::AtTable {
            return Ok(visit);
        }
        must_be(&visit, &[VisitState::Planned, VisitState::Missed, VisitState::CalledOff], "begun")?;
        let dog = visit.of.clone().ok_or_else(|| ShopFailure::NotFound { kind: Kind::Dog, id: visit.id.clone() })?;
        let mut writes = Vec::new();
        let mut facts = self.facts(who, &dog).await?;
        // It came after all.
        if let Some(missed) = visit.body.event.take()
            && let Some(at) = facts.events.iter().position(|e| e.id == missed)
        {
            let e = facts.events.remove(at);
            let write = revision(&e.id, Some(&dog), Some(e.body.day.clone()), e.revision, &e.body)?;
            writes.push(Write { gone: true, ..write });
        }
        let changes = Changes { first: Some(today), ..Changes::default() };
        visit.body.planned = match self.ready(who, today, facts, &changes).await {
            Ok(ready) => match self.planned(who, &dog, ready, true).await {
                Ok(planned) => {
                    let day = today.to_string();
                    let visit = planned.report.visits.iter().find(|v| v.date == day);
                    visit.and_then(|v| serde_json::to_value(v).ok())
                }
                // Work goes on without a plan; the dog's page says why there is none.
                Err(ShopFailure::Refused(_)) => None,
                Err(other) => return Err(other),
            },
            Err(ShopFailure::Refused(_)) => None,
            Err(other) => return Err(other),
        };
        visit.body.state = VisitState::AtTable;
        visit.body.began_ms = Some(who.at_ms);
        visit.body.day = today.to_string();
        let own = revision(&visit.id, Some(&dog), Some(visit.body.day.clone()), visit.revision, &visit.body)?;
        writes.push(own);
        match self.write(who, &writes, &[]).await {
            Ok(()) => self.held(who, id).await,
            // Two tapped at once: the first has begun it.
            Err(ShopFailure::Conflict { .. }) => {
                let now: Held<VisitBody> = self.held(who, id).await?;
                must_be(&now, &[VisitState::AtTable], "begun")?;
                Ok(now)
            }
            Err(other) => Err(other),
        }
    }

    /// Takes a visit off the table again, for one that was begun by mistake; what was tapped stays with it.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when it is not at the table.
    pub async fn back_to_planned(&self, who: &Who, id: &RecordId, seen: i64) -> Result<Saved, ShopFailure> {
        let mut visit: Held<VisitBody> = self.held(who, id).await?;
        must_be(&visit, &[VisitState::AtTable, VisitState::CalledOff], "put back")?;
        visit.body.state = VisitState::Planned;
        (visit.body.planned, visit.body.began_ms) = (None, None);
        let write = revision(&visit.id, visit.of.as_ref(), Some(visit.body.day.clone()), seen, &visit.body)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }
}

/// Whether a dog comes on a day already.
fn free(others: &[Held<VisitBody>], dog: &RecordId, but: Option<&RecordId>, day: Day) -> Result<(), ShopFailure> {
    let comes = others.iter().any(|v| {
        v.of.as_ref() == Some(dog)
            && Some(&v.id) != but
            && matches!(v.body.state, VisitState::Planned | VisitState::AtTable | VisitState::Done)
    });
    if comes {
        return Err(ShopFailure::refused(
            "day",
            format!("the dog comes on `{day}` already"),
            "Choose another day, or open that visit.",
        ));
    }
    Ok(())
}

fn must_be(visit: &Held<VisitBody>, states: &[VisitState], what: &str) -> Result<(), ShopFailure> {
    if states.contains(&visit.body.state) {
        return Ok(());
    }
    let word = state_word(visit.body.state);
    Err(ShopFailure::refused("state", format!("the visit is {word} and cannot be {what}"), "Look at it anew."))
}

/// A visit's state as it is spoken.
pub const fn state_word(state: VisitState) -> &'static str {
    match state {
        VisitState::Planned => "planned",
        VisitState::AtTable => "at the table",
        VisitState::Done => "done",
        VisitState::Missed => "missed",
        VisitState::CalledOff => "called off",
    }
}
