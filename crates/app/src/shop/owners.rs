//! Owners: who they are, how to reach them, what they agreed to.

use super::checks;
use super::desk::{Desk, revision, saved};
use super::failure::{Held, Said, Saved, ShopFailure, clean};
use super::fold::fold;
use super::ids::RecordId;
use super::phone::phone;
use super::port::{Found, Kind, Who};
use super::records::{DogBody, Owner};

/// To what an owner may agree.
pub const CONSENTS: [&str; 4] = ["photos", "photos shown", "reminders", "work on this coat"];
/// The most phone numbers of an owner.
const MOST_PHONES: usize = 10;

/// An owner with their dogs.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnerCard {
    /// The owner.
    pub owner: Held<Owner>,
    /// Their dogs as the list of coats shows them, by name.
    pub dogs: Vec<Found>,
    /// What looks wrong and was saved all the same.
    pub warnings: Vec<Said>,
}

impl Desk {
    /// Owners by name, at most `most`; those in whose name, phones, mail, address or note every word occurs.
    ///
    /// Reads all owners of the shop: quick for thousands, felt from about fifty thousand on.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn owners(&self, who: &Who, search: &str, most: usize) -> Result<Vec<Held<Owner>>, ShopFailure> {
        let house = self.house(who).await?.body;
        let words = fold(search);
        let words: Vec<&str> = words.split(' ').filter(|w| !w.is_empty()).collect();
        let mut owners: Vec<Held<Owner>> = self.all_held(who).await?;
        owners.retain(|o| {
            let text = search_text(&o.body, &house.country);
            words.iter().all(|w| text.contains(w))
        });
        owners.sort_by_cached_key(|o| (fold(&o.body.name), o.id.clone()));
        owners.truncate(most);
        Ok(owners)
    }

    /// An owner with their dogs.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`].
    pub async fn owner(&self, who: &Who, id: &RecordId) -> Result<OwnerCard, ShopFailure> {
        let owner: Held<Owner> = self.held(who, id).await?;
        let house = self.house(who).await?.body;
        let ids = self.dogs_of(who, id).await?.into_iter().map(|d| d.id).collect::<Vec<_>>();
        let mut dogs = self.store().found(&who.shop, &ids).await.map_err(ShopFailure::Store)?;
        dogs.sort_by_cached_key(|d| (fold(&d.name), d.dog.clone()));
        let warnings = check_owner(&mut owner.body.clone(), &house.country).1;
        Ok(OwnerCard { owner, dogs, warnings })
    }

    /// Takes an owner in, or changes one. Phones are kept as E.164 where they can be read; others are kept and warned of.
    ///
    /// # Errors
    /// [`ShopFailure`].
    pub async fn set_owner(
        &self,
        who: &Who,
        id: Option<&RecordId>,
        seen: i64,
        mut owner: Owner,
    ) -> Result<Saved, ShopFailure> {
        let house = self.house(who).await?.body;
        let (faults, warnings) = check_owner(&mut owner, &house.country);
        clean(faults)?;
        let (id, seen) = match id {
            Some(id) => (self.held::<Owner>(who, id).await?.id, seen),
            None => (self.new_id()?, 0),
        };
        let write = revision(&id, None, None, seen, &owner)?;
        // The owner's name and phones are how their dogs are found.
        let dogs = if seen == 0 { Vec::new() } else { self.dogs_of(who, &id).await? };
        let ids: Vec<RecordId> = dogs.iter().map(|d| d.id.clone()).collect();
        let old = self.store().found(&who.shop, &ids).await.map_err(ShopFailure::Store)?;
        let found: Vec<Found> = dogs
            .iter()
            .map(|d| {
                let before = old.iter().find(|f| f.dog == d.id).cloned();
                place(&d.id, &d.body, Some(&owner), &house.country, before)
            })
            .collect();
        self.write(who, std::slice::from_ref(&write), &found).await?;
        Ok(saved(&write, warnings))
    }

    /// Takes an owner away who has no dogs. Earlier revisions stay.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] while there are dogs.
    pub async fn drop_owner(&self, who: &Who, id: &RecordId, seen: i64) -> Result<(), ShopFailure> {
        let owner: Held<Owner> = self.held(who, id).await?;
        if !self.dogs_of(who, id).await?.is_empty() {
            return Err(ShopFailure::refused("", "the owner has dogs here", "Give the dogs another owner first."));
        }
        let write = super::port::Write { gone: true, ..revision(id, None, None, seen, &owner.body)? };
        self.write(who, &[write], &[]).await
    }

    pub(super) async fn dogs_of(&self, who: &Who, owner: &RecordId) -> Result<Vec<Held<DogBody>>, ShopFailure> {
        let records = self.store().of(&who.shop, Kind::Dog, owner).await.map_err(ShopFailure::Store)?;
        records.into_iter().map(Held::of).collect()
    }
}

/// How the list of coats finds a dog; what was reckoned stays as it was before, and counts as stale.
pub(super) fn place(
    id: &RecordId,
    dog: &DogBody,
    owner: Option<&Owner>,
    country: &str,
    before: Option<Found>,
) -> Found {
    let mut words = vec![fold(&dog.name), fold(&dog.breed), fold(&super::chip::chip_digits(&dog.chip))];
    if let Some(owner) = owner {
        words.push(search_text(owner, country));
    }
    words.retain(|w| !w.is_empty());
    let text = words.join(" ");
    let name = owner.map_or_else(String::new, |o| o.name.clone());
    match before {
        Some(f) => {
            Found { name: dog.name.clone(), breed: dog.breed.clone(), owner: name, text, reckoned: String::new(), ..f }
        }
        None => Found {
            dog: id.clone(),
            name: dog.name.clone(),
            breed: dog.breed.clone(),
            owner: name,
            text,
            reckoned: String::new(),
            ready: None,
            due: None,
            rolling: false,
            hard: false,
            resting: false,
            work_min: None,
            line: String::new(),
        },
    }
}

/// All that a search for an owner looks through: phones both with the country's code and as dialled at home.
fn search_text(owner: &Owner, country: &str) -> String {
    let mut out = vec![fold(&owner.name)];
    for kept in &owner.phones {
        out.push(fold(kept));
        if let Some(home) = super::phone::at_home(kept, country) {
            out.push(home.chars().filter(char::is_ascii_digit).collect());
            out.push(fold(&home));
        }
    }
    out.extend([fold(&owner.mail), fold(&owner.address)]);
    out.retain(|w| !w.is_empty());
    out.join(" ")
}

/// Puts an owner into order; faults, then warnings.
pub(super) fn check_owner(owner: &mut Owner, country: &str) -> (Vec<Said>, Vec<Said>) {
    let (mut faults, mut warnings) = (Vec::new(), Vec::new());
    checks::line("name", "the name", &mut owner.name, true, &mut faults);
    checks::line("mail", "the mail address", &mut owner.mail, false, &mut faults);
    checks::note("address", "the address", &mut owner.address, &mut faults);
    checks::note("note", "the note", &mut owner.note, &mut faults);
    let at = owner.mail.split_once('@');
    if !owner.mail.is_empty() && !at.is_some_and(|(a, b)| !a.is_empty() && b.contains('.') && !b.contains(['@', ' '])) {
        warnings.push(Said::new(
            "mail",
            "that does not look like a mail address",
            "Read it again; it is kept as it is.",
        ));
    }
    owner.phones = std::mem::take(&mut owner.phones).into_iter().filter(|p| !p.trim().is_empty()).collect();
    if owner.phones.len() > MOST_PHONES {
        let message = format!("there are `{}` phone numbers, more than `{MOST_PHONES}`", owner.phones.len());
        faults.push(Said::new("phones", message, "Keep those that are answered."));
    }
    for (i, written) in owner.phones.iter_mut().enumerate() {
        let field = format!("phones.{i}");
        checks::line(&field, "the phone number", written, false, &mut faults);
        let read = phone(written, country, &field);
        *written = read.kept;
        warnings.extend(read.warning);
    }
    for (i, c) in owner.consents.iter_mut().enumerate() {
        checks::word(&format!("consents.{i}.what"), "the consent", &c.what, &CONSENTS, &mut faults);
        checks::note(&format!("consents.{i}.words"), "the wording", &mut c.words, &mut faults);
        if c.words.is_empty() {
            let field = format!("consents.{i}.words");
            faults.push(Said::new(field, "the wording is empty", "Keep the words that the owner was shown."));
        }
        checks::day(&format!("consents.{i}.day"), &c.day, &mut faults);
    }
    (faults, warnings)
}
