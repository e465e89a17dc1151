//! Dogs: their cards, taking one in, changing one, finding one.

use super::checks;
use super::chip::{chip_digits, chip_fault};
use super::desk::{Desk, revision, saved};
use super::failure::{Held, Said, Saved, ShopFailure, clean};
use super::fold::fold;
use super::ids::RecordId;
use super::owners::place;
use super::port::{Filter, Found, Search, Who, Write};
use super::records::{DogBody, EventBody, House, Owner, PhotoBody, VisitBody};
use super::sheet::{self, Named, Sheet};
use crate::dog_file::DogFile;
use coat::Day;
use std::sync::Arc;

/// The most dogs that one page of a search gives.
pub const MOST_FOUND: u32 = 200;

/// A dog with all that belongs to it.
#[derive(Clone, Debug, PartialEq)]
pub struct DogCard {
    /// The dog.
    pub dog: Held<DogBody>,
    /// Its owner.
    pub owner: Option<Held<Owner>>,
    /// What happened to its coat, by day.
    pub events: Vec<Held<EventBody>>,
    /// Its visits, by day.
    pub visits: Vec<Held<VisitBody>>,
    /// Its photos, by day.
    pub photos: Vec<Held<PhotoBody>>,
    /// How the list of coats shows it.
    pub found: Option<Found>,
    /// What looks wrong and was saved all the same.
    pub warnings: Vec<Said>,
}

/// What to find in the list of coats.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// Words as typed: parts of names, breed, chip, phone.
    pub words: String,
    /// Which coats.
    pub filter: Filter,
    /// The last of the page before.
    pub after: Option<(String, RecordId)>,
    /// At most so many, up to [`MOST_FOUND`].
    pub most: u32,
}

/// A page of the list of coats.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// The dogs, by name.
    pub found: Vec<Found>,
    /// How many there are in all.
    pub count: u64,
    /// Where the next page begins; none when this is the last.
    pub next: Option<(String, RecordId)>,
}

/// A dog to be taken in.
pub(super) struct NewDog {
    pub(super) writes: Vec<Write>,
    pub(super) found: Found,
    pub(super) file: DogFile,
    pub(super) warnings: Vec<Said>,
}

/// What a dog's file is made of.
#[derive(Clone)]
pub(super) struct Facts {
    pub(super) dog: Held<DogBody>,
    pub(super) house: House,
    pub(super) pace: f64,
    pub(super) events: Vec<Held<EventBody>>,
}

impl Facts {
    /// The dog's file, read, and the sheet it was read from.
    pub(super) fn file(&self) -> Result<(DogFile, Sheet), ShopFailure> {
        sheet::dog_file(&self.dog.body, &self.house, self.pace, &self.named()).map_err(ShopFailure::Refused)
    }

    fn named(&self) -> Vec<Named<'_>> {
        let by_place = self.events.iter().enumerate();
        by_place.map(|(i, e)| Named { prefix: format!("history.{i}."), event: &e.body }).collect()
    }
}

impl Desk {
    /// A dog with its owner, history, visits and photos.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`].
    pub async fn dog(&self, who: &Who, id: &RecordId) -> Result<DogCard, ShopFailure> {
        let as_of = self.as_of(who).await?;
        let key = (who.shop.clone(), id.clone());
        let make = async { Ok(Arc::new(self.card(who, id).await?)) };
        let (card, _) = self.memos().cards.find(key, as_of, make).await?;
        let found = self.store().found(&who.shop, std::slice::from_ref(id)).await.map_err(ShopFailure::Store)?.pop();
        Ok(DogCard { found, ..DogCard::clone(&card) })
    }

    /// The same without its place in the list of coats, from the records.
    async fn card(&self, who: &Who, id: &RecordId) -> Result<DogCard, ShopFailure> {
        let dog: Held<DogBody> = self.held(who, id).await?;
        let owner = match &dog.of {
            Some(owner) => self.held_if_any(who, owner).await?,
            None => None,
        };
        let warnings = chip_fault(&dog.body.chip).into_iter().collect();
        Ok(DogCard {
            owner,
            events: self.held_of(who, id).await?,
            visits: self.held_of(who, id).await?,
            photos: self.held_of(who, id).await?,
            found: None,
            warnings,
            dog,
        })
    }

    /// Takes a dog in with what is known of its coat's history, and reckons it.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] with the dog's fields, and `history.0.day` and so on.
    pub async fn add_dog(
        &self,
        who: &Who,
        today: Day,
        owner: &RecordId,
        dog: DogBody,
        history: Vec<EventBody>,
    ) -> Result<Saved, ShopFailure> {
        let owner: Held<Owner> = self.held(who, owner).await?;
        let house = self.house(who).await?.body;
        let past = history.into_iter().map(|event| (event, None)).collect();
        let new = self.new_dog(self.new_id()?, &house, (&owner.id, &owner.body), dog, past, Vec::new())?;
        self.write(who, &new.writes, std::slice::from_ref(&new.found)).await?;
        self.reckon(who, today, &new.found.dog).await?;
        Ok(Saved { id: new.found.dog, revision: 1, warnings: new.warnings })
    }

    /// The writes that take a dog in with its past (events, each with the visit that it was recorded at) and the
    /// visits to come.
    pub(super) fn new_dog(
        &self,
        id: RecordId,
        house: &House,
        owner: (&RecordId, &Owner),
        mut dog: DogBody,
        past: Vec<(EventBody, Option<VisitBody>)>,
        visits: Vec<VisitBody>,
    ) -> Result<NewDog, ShopFailure> {
        let history: Vec<EventBody> = past.iter().map(|p| p.0.clone()).collect();
        let mut faults = tidy(&mut dog);
        let file = match sheet::dog_file(&dog, house, 1.0, &sheet::by_place(&history)) {
            Ok((file, _)) => file,
            Err(said) => {
                faults.extend(said.into_iter().filter(|s| !faults.contains(s)).collect::<Vec<_>>());
                return Err(ShopFailure::Refused(faults));
            }
        };
        clean(faults)?;
        let warnings = chip_fault(&dog.chip).into_iter().collect();
        let found = place(&id, &dog, Some(owner.1), &house.country, None);
        let mut writes = vec![revision(&id, Some(owner.0), None, 0, &dog)?];
        for (mut event, visit) in past {
            let event_id = self.new_id()?;
            if let Some(mut visit) = visit {
                let visit_id = self.new_id()?;
                visit.event = Some(event_id.clone());
                event.visit = Some(visit_id.clone());
                writes.push(revision(&visit_id, Some(&id), Some(visit.day.clone()), 0, &visit)?);
            }
            writes.push(revision(&event_id, Some(&id), Some(event.day.clone()), 0, &event)?);
        }
        for visit in &visits {
            writes.push(revision(&self.new_id()?, Some(&id), Some(visit.day.clone()), 0, visit)?);
        }
        Ok(NewDog { writes, found, file, warnings })
    }

    /// Takes a dog in without a history, or changes one; its coat is reckoned at once.
    ///
    /// # Errors
    /// [`ShopFailure`]; a change that contradicts the history names `history.3.day` and so on.
    pub async fn set_dog(
        &self,
        who: &Who,
        today: Day,
        id: Option<&RecordId>,
        owner: &RecordId,
        seen: i64,
        mut dog: DogBody,
    ) -> Result<Saved, ShopFailure> {
        let Some(id) = id else { return self.add_dog(who, today, owner, dog, Vec::new()).await };
        let owner: Held<Owner> = self.held(who, owner).await?;
        let mut facts = self.facts(who, id).await?;
        let mut faults = tidy(&mut dog);
        facts.dog.body = dog.clone();
        if let Err(ShopFailure::Refused(said)) = facts.file() {
            faults.extend(said.into_iter().filter(|s| !faults.contains(s)).collect::<Vec<_>>());
        }
        clean(faults)?;
        let old = self.store().found(&who.shop, std::slice::from_ref(id)).await.map_err(ShopFailure::Store)?.pop();
        let found = place(id, &dog, Some(&owner.body), &facts.house.country, old);
        let write = revision(id, Some(&owner.id), None, seen, &dog)?;
        self.write(who, std::slice::from_ref(&write), &[found]).await?;
        self.reckon(who, today, id).await?;
        Ok(saved(&write, chip_fault(&dog.chip).into_iter().collect()))
    }

    /// The dog as its file: read, and as text that `coatwright plan` takes.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] when the records contradict themselves.
    pub async fn dog_file(&self, who: &Who, id: &RecordId) -> Result<(DogFile, String), ShopFailure> {
        let (file, sheet) = self.facts(who, id).await?.file()?;
        Ok((file, sheet.as_text().to_owned()))
    }

    /// Finds dogs by parts of their or their owners' names, breed, chip or phone.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn search(&self, who: &Who, today: Day, asked: &Asked) -> Result<Listed, ShopFailure> {
        let most = asked.most.clamp(1, MOST_FOUND);
        let search = Search {
            words: fold(&asked.words).split(' ').filter(|w| !w.is_empty()).take(12).map(str::to_owned).collect(),
            filter: asked.filter,
            today: today.to_string(),
            in_a_week: (today + 7).to_string(),
            after: asked.after.clone(),
            most: most + 1,
        };
        let mut found = self.store().find(&who.shop, &search).await.map_err(ShopFailure::Store)?;
        let more = found.len() > most as usize;
        found.truncate(most as usize);
        let next = found.last().filter(|_| more).map(|f| (f.name.clone(), f.dog.clone()));
        let count = match (&asked.after, more) {
            // All that there is stands on this page.
            (None, false) => found.len() as u64,
            _ => {
                let all = Search { after: None, ..search };
                self.store().count(&who.shop, &all).await.map_err(ShopFailure::Store)?
            }
        };
        Ok(Listed { found, count, next })
    }

    /// What a dog's file is made of.
    pub(super) async fn facts(&self, who: &Who, id: &RecordId) -> Result<Facts, ShopFailure> {
        let dog: Held<DogBody> = self.held(who, id).await?;
        let house = self.house(who).await?.body;
        let pace = match &dog.body.groomer {
            Some(p) => self.held_if_any(who, &super::desk::record_of(p)?).await?.map_or(1.0, pace_of),
            None => 1.0,
        };
        Ok(Facts { dog, house, pace, events: self.held_of(who, id).await? })
    }
}

fn pace_of(person: Held<super::records::Person>) -> f64 {
    person.body.pace
}

/// Puts a dog's record into order; the faults that its file does not know of.
pub(super) fn tidy(dog: &mut DogBody) -> Vec<Said> {
    let mut faults = Vec::new();
    checks::line("name", "the name", &mut dog.name, true, &mut faults);
    checks::line("breed", "the breed", &mut dog.breed, false, &mut faults);
    checks::line("chip", "the chip", &mut dog.chip, false, &mut faults);
    dog.chip = chip_digits(&dog.chip);
    dog.born = dog.born.trim().to_owned();
    checks::note("health", "the note on health", &mut dog.health, &mut faults);
    checks::some(&mut dog.neutered_since);
    for s in &mut dog.steroids {
        checks::some(&mut s.1);
    }
    for c in &mut dog.conditions {
        checks::some(&mut c.until);
        c.note = c.note.trim().to_owned();
    }
    for z in &mut dog.zones {
        checks::some(&mut z.hands_off_until);
        checks::some(&mut z.mode);
        z.hands_off_reason = z.hands_off_reason.trim().to_owned();
    }
    dog.days_that_matter.sort();
    for (_, name) in &mut dog.days_that_matter {
        *name = name.trim().to_owned();
    }
    for (i, (from, until)) in dog.not_on.iter().enumerate() {
        let first = checks::day(&format!("not_on.{i}.from"), from, &mut faults);
        let last = checks::day(&format!("not_on.{i}.until"), until, &mut faults);
        if let (Some(first), Some(last)) = (first, last)
            && last < first
        {
            let field = format!("not_on.{i}.until");
            faults.push(Said::new(
                field,
                format!("until `{last}` lies before from `{first}`"),
                "Exchange the two days.",
            ));
        }
    }
    faults
}
