//! Taking a new dog in: whose it is, who it is, and what was done to its coat before, kept in one write or not at all.

use super::chip::chip_fault;
use super::desk::{Desk, revision};
use super::dogs::tidy;
use super::failure::{Held, Said, Saved, ShopFailure, clean};
use super::ids::RecordId;
use super::owners::check_owner;
use super::port::Who;
use super::records::{DogBody, EventBody, House, Owner, Person};
use super::sheet;
use coat::Day;

/// Whose a new dog is.
#[derive(Clone, Debug, PartialEq)]
pub enum Whose {
    /// An owner who is here already.
    Known(RecordId),
    /// An owner who comes with the dog.
    New(Owner),
}

/// A dog that comes for the first time.
#[derive(Clone, Debug, PartialEq)]
pub struct Newcomer {
    /// Whose it is.
    pub whose: Whose,
    /// The dog.
    pub dog: DogBody,
    /// What was done to its coat before.
    pub history: Vec<EventBody>,
}

/// What there is to say of a newcomer before it is taken in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LookedOver {
    /// What keeps it from being taken in.
    pub faults: Vec<Said>,
    /// What looks wrong and would be kept all the same.
    pub warnings: Vec<Said>,
}

impl Desk {
    /// Looks a newcomer over without keeping anything. Fields are the dog's, `history.0.day` and so on, `owner` where
    /// the owner is not here, and those of a new owner as `owner.name`.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn look_over(&self, who: &Who, today: Day, new: &Newcomer) -> Result<LookedOver, ShopFailure> {
        let house = self.house(who).await?.body;
        let mut out = LookedOver::default();
        match &new.whose {
            Whose::Known(id) => {
                if self.held_if_any::<Owner>(who, id).await?.is_none() {
                    out.faults.push(Said::new("owner", "that owner is not here any more", "Choose another owner."));
                }
            }
            Whose::New(owner) => {
                let (faults, warnings) = check_owner(&mut owner.clone(), &house.country);
                let of_owner = |s: Said| Said {
                    field: format!("owner.{}", s.field),
                    message: s.message.replacen("the name", "the owner's name", 1),
                    ..s
                };
                out.faults.extend(faults.into_iter().map(of_owner));
                out.warnings.extend(warnings.into_iter().map(of_owner));
            }
        }
        if let Some(groomer) = &new.dog.groomer {
            let person: Option<Held<Person>> = self.held_if_any(who, &super::desk::record_of(groomer)?).await?;
            if person.is_none_or(|p| p.body.left) {
                out.faults.push(Said::new("groomer", "that colleague is not here any more", "Choose another."));
            }
        }
        out.faults.extend(dog_faults(&new.dog, &new.history, &house, today));
        out.warnings.extend(chip_fault(&new.dog.chip));
        Ok(out)
    }

    /// Takes a newcomer in under an id that was made when its form was opened, with its owner where that is new, and
    /// reckons its coat. The same form sent twice takes in one dog.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] with the fields of [`Desk::look_over`]; [`ShopFailure::Conflict`] with the dog that was
    /// taken in under this id already, where that is another than this one.
    pub async fn take_in(&self, who: &Who, today: Day, id: &RecordId, new: Newcomer) -> Result<Saved, ShopFailure> {
        clean(self.look_over(who, today, &new).await?.faults)?;
        let house = self.house(who).await?.body;
        let mut writes = Vec::new();
        let (owner_id, owner) = match new.whose {
            Whose::Known(owner) => {
                let held: Held<Owner> = self.held(who, &owner).await?;
                (held.id, held.body)
            }
            Whose::New(mut owner) => {
                let (faults, _) = check_owner(&mut owner, &house.country);
                clean(faults)?;
                let owner_id = self.new_id()?;
                writes.push(revision(&owner_id, None, None, 0, &owner)?);
                (owner_id, owner)
            }
        };
        let past = new.history.into_iter().map(|event| (event, None)).collect();
        let made = self.new_dog(id.clone(), &house, (&owner_id, &owner), new.dog, past, Vec::new())?;
        writes.extend(made.writes);
        let dog = writes.iter().find(|w| w.id == *id).map(|w| w.body.clone());
        match self.write(who, &writes, std::slice::from_ref(&made.found)).await {
            Ok(()) => {}
            // The same form once more, or an answer that was lost on its way.
            Err(ShopFailure::Conflict { stands, .. }) if stands.id == *id && Some(&stands.body) == dog.as_ref() => {}
            Err(other) => return Err(other),
        }
        self.reckon(who, today, id).await?;
        Ok(Saved { id: id.clone(), revision: 1, warnings: made.warnings })
    }
}

/// What keeps a dog and its past from being taken in today.
fn dog_faults(dog: &DogBody, history: &[EventBody], house: &House, today: Day) -> Vec<Said> {
    let mut dog = dog.clone();
    let mut faults = tidy(&mut dog);
    faults.extend(sheet::dog_file(&dog, house, 1.0, &sheet::by_place(history)).err().unwrap_or_default());
    let mut to_come = |field: String, what: &str, day: &str| {
        if Day::parse(day).is_some_and(|d| d > today) {
            faults.push(Said::new(
                field,
                format!("{what} `{day}` is still to come"),
                format!("Give a day up to {today}."),
            ));
        }
    };
    to_come("born".into(), "the day of birth", &dog.born);
    for (i, event) in history.iter().enumerate() {
        to_come(format!("history.{i}.day"), "the day", &event.day);
    }
    for (i, (day, _)) in dog.days_that_matter.iter().enumerate() {
        if Day::parse(day).is_some_and(|d| d < today) {
            let field = format!("days_that_matter.{i}.day");
            faults.push(Said::new(field, format!("`{day}` is past"), format!("Give a day from {today} on.")));
        }
    }
    // One thing at a time: where two find fault with a field, the first says it.
    let mut seen: Vec<Said> = Vec::new();
    for s in faults {
        if s.field.is_empty() || !seen.iter().any(|o| o.field == s.field) {
            seen.push(s);
        }
    }
    seen
}
