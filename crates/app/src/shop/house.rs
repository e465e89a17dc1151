//! The house and its people: founding, settings, colleagues and their way to sign in.

use super::checks;
use super::desk::{Desk, record_of, revision, saved};
use super::failure::{Held, Said, Saved, ShopFailure, clean};
use super::fold::fold;
use super::ids::{PersonId, RecordId, ShopId};
use super::port::{Credential, StoreError, Who};
use super::records::{DogBody, House, Person};
use super::sheet;
use coat::{CoatType, Zone};
use phonenumber::country;

/// What a shop begins with.
#[derive(Clone, Debug, PartialEq)]
pub struct Founding {
    /// The house.
    pub house: House,
    /// The first person.
    pub person: Person,
    /// The first person's password, hashed (PHC form).
    pub hash: String,
}

/// A shop that was founded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Founded {
    /// The shop.
    pub shop: ShopId,
    /// Its first person.
    pub person: PersonId,
}

impl Desk {
    /// Founds a shop with its house and its first person.
    ///
    /// # Errors
    /// [`ShopFailure::Refused`] with fields of the house, of the person, or `sign_in`.
    pub async fn found_shop(&self, at_ms: i64, founding: Founding) -> Result<Founded, ShopFailure> {
        let Founding { mut house, mut person, hash } = founding;
        let mut faults = check_house(&mut house);
        faults.extend(check_person(&mut person));
        clean(faults)?;
        let broken = |e: super::ids::BadId| ShopFailure::Store(StoreError::Broken(e.to_string()));
        let shop = ShopId::new(self.fresh().text()).map_err(broken)?;
        let first = PersonId::new(self.fresh().text()).map_err(broken)?;
        let who = Who { shop: shop.clone(), person: first.clone(), at_ms };
        let writes = [
            revision(&house_id(&shop)?, None, None, 0, &house)?,
            revision(&record_of(&first)?, None, None, 0, &person)?,
        ];
        let credential = credential(&shop, &first, &person, hash);
        self.store().found_shop(&who, &writes, &credential).await.map_err(taken)?;
        Ok(Founded { shop, person: first })
    }

    /// The house.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`] when there is no such shop.
    pub async fn house(&self, who: &Who) -> Result<Held<House>, ShopFailure> {
        self.held(who, &house_id(&who.shop)?).await
    }

    /// Changes the house. The coats are reckoned anew by and by, for caps, weights and targets are part of their plans.
    ///
    /// # Errors
    /// [`ShopFailure`]; fields as in the record, `caps.layered`, `weights.cover`, `targets`.
    pub async fn set_house(&self, who: &Who, seen: i64, mut house: House) -> Result<Saved, ShopFailure> {
        clean(check_house(&mut house))?;
        let write = revision(&house_id(&who.shop)?, None, None, seen, &house)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        // Pooled or no longer: that moves the plans of other shops.
        self.taught_others();
        Ok(saved(&write, Vec::new()))
    }

    /// The people who work here, by name; those who left come last.
    ///
    /// # Errors
    /// [`ShopFailure::Store`].
    pub async fn people(&self, who: &Who) -> Result<Vec<Held<Person>>, ShopFailure> {
        let mut people: Vec<Held<Person>> = self.all_held(who).await?;
        people.sort_by_cached_key(|p| (p.body.left, fold(&p.body.name), p.id.clone()));
        Ok(people)
    }

    /// A person.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`].
    pub async fn person(&self, who: &Who, id: &PersonId) -> Result<Held<Person>, ShopFailure> {
        self.held(who, &record_of(id)?).await
    }

    /// Takes a person in, with a way to sign in; `hash` is the password, hashed (PHC form).
    ///
    /// # Errors
    /// [`ShopFailure`]; the field `sign_in` when the name is taken.
    pub async fn add_person(&self, who: &Who, mut person: Person, hash: String) -> Result<Saved, ShopFailure> {
        clean(check_person(&mut person))?;
        let id = self.new_id()?;
        let broken = |e: super::ids::BadId| ShopFailure::Store(StoreError::Broken(e.to_string()));
        let person_id = PersonId::new(id.as_str()).map_err(broken)?;
        // The name first: when it is taken nothing is written.
        self.store().set_credential(who, &credential(&who.shop, &person_id, &person, hash)).await.map_err(taken)?;
        let write = revision(&id, None, None, 0, &person)?;
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        Ok(saved(&write, Vec::new()))
    }

    /// Changes a person. Who left cannot sign in any more, and is signed out everywhere.
    ///
    /// # Errors
    /// [`ShopFailure`]; the last person who may sign in cannot leave (field `left`).
    pub async fn set_person(
        &self,
        who: &Who,
        id: &PersonId,
        seen: i64,
        mut person: Person,
    ) -> Result<Saved, ShopFailure> {
        clean(check_person(&mut person))?;
        let before = self.person(who, id).await?;
        if person.left && !self.people(who).await?.iter().any(|p| !p.body.left && p.id != before.id) {
            return Err(ShopFailure::refused(
                "left",
                "nobody would be left who may sign in",
                "Take somebody else in first.",
            ));
        }
        let write = revision(&before.id, None, None, seen, &person)?;
        let old_name = fold(&before.body.sign_in);
        let way = self.store().credential(&old_name).await.map_err(ShopFailure::Store)?;
        let way = way.filter(|w| w.shop == who.shop && w.person == *id);
        let changed = old_name != fold(&person.sign_in) || before.body.left != person.left;
        if changed
            && seen == before.revision
            && let Some(way) = &way
        {
            let way = credential(&who.shop, id, &person, way.hash.clone());
            self.store().set_credential(who, &way).await.map_err(taken)?;
        }
        self.write(who, std::slice::from_ref(&write), &[]).await?;
        if person.left {
            self.store().end_sessions(Some(id), None, i64::MIN, i64::MIN).await.map_err(ShopFailure::Store)?;
        }
        Ok(saved(&write, Vec::new()))
    }

    /// Gives a person another password, hashed (PHC form).
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`] when there is no such person in this shop.
    pub async fn set_password(&self, who: &Who, id: &PersonId, hash: String) -> Result<(), ShopFailure> {
        let person = self.person(who, id).await?;
        self.store().set_credential(who, &credential(&who.shop, id, &person.body, hash)).await.map_err(taken)
    }
}

/// The house's record has the shop's id.
pub(super) fn house_id(shop: &ShopId) -> Result<RecordId, ShopFailure> {
    RecordId::new(shop.as_str()).map_err(|e| ShopFailure::Store(StoreError::Broken(e.to_string())))
}

fn credential(shop: &ShopId, person: &PersonId, body: &Person, hash: String) -> Credential {
    Credential { shop: shop.clone(), person: person.clone(), sign_in: fold(&body.sign_in), hash, open: !body.left }
}

fn taken(e: StoreError) -> ShopFailure {
    match e {
        StoreError::Taken(name) => ShopFailure::refused(
            "sign_in",
            format!("the name `{name}` is taken"),
            "Choose another name to sign in with.",
        ),
        other => ShopFailure::Store(other),
    }
}

fn check_person(person: &mut Person) -> Vec<Said> {
    let mut faults = Vec::new();
    checks::line("name", "the name", &mut person.name, true, &mut faults);
    checks::line("sign_in", "the name to sign in with", &mut person.sign_in, true, &mut faults);
    if !person.sign_in.is_empty() && fold(&person.sign_in).is_empty() {
        faults.push(Said::new(
            "sign_in",
            "the name to sign in with has no letter and no digit",
            "Use letters or digits.",
        ));
    }
    checks::number("pace", "the pace", person.pace, 0.3, 3.0, &mut faults);
    faults
}

fn check_house(house: &mut House) -> Vec<Said> {
    let mut faults = Vec::new();
    checks::line("name", "the house's name", &mut house.name, true, &mut faults);
    checks::line("place", "the place", &mut house.place, false, &mut faults);
    house.country = house.country.trim().to_ascii_uppercase();
    if house.country.parse::<country::Id>().is_err() {
        let message = format!("`{}` is not a country", house.country.chars().take(10).collect::<String>());
        faults.push(Said::new("country", message, "Give the two letters of ISO 3166, for instance IE."));
    }
    house.currency = house.currency.trim().to_ascii_uppercase();
    if house.currency.len() != 3 || !house.currency.bytes().all(|b| b.is_ascii_uppercase()) {
        let message = format!("`{}` is not a currency", house.currency.chars().take(10).collect::<String>());
        faults.push(Said::new("currency", message, "Give the three letters of ISO 4217, for instance EUR."));
    }
    let plain = |text: &str, more: &str| {
        (1..=60).contains(&text.len())
            && text.bytes().all(|b| b.is_ascii_alphanumeric() || more.as_bytes().contains(&b))
    };
    if !plain(&house.dates, "-") {
        faults.push(Said::new("dates", "the form of dates is no language tag", "Choose one, for instance en-IE."));
    }
    if !plain(&house.time_zone, "/_+-") {
        faults.push(Said::new("time_zone", "that is no time zone", "Choose one, for instance Europe/Dublin."));
    }
    if let Some(north) = house.latitude_deg {
        checks::number("latitude_deg", "the latitude", north, -90.0, 90.0, &mut faults);
    }
    if house.hour_minor.is_some_and(|m| m < 0) {
        faults.push(Said::new("hour_minor", "the price of an hour is below zero", "Give a price, or leave it empty."));
    }
    for t in &house.targets {
        checks::word("targets", "the zone", &t.zone, &Zone::ALL.map(Zone::word), &mut faults);
        checks::word("targets", "the coat", &t.coat, &CoatType::ALL.map(CoatType::word), &mut faults);
    }
    // The rest is part of every dog's file: its reader judges.
    for coat in CoatType::ALL {
        let dog = any_dog(coat);
        let found = sheet::dog_file(&dog, house, 1.0, &[]).err().unwrap_or_default();
        for said in found {
            let field = said.field.strip_prefix("house.").map_or("targets", |f| f).to_owned();
            let said = Said { field, ..said };
            if !faults.iter().any(|f| f.field == said.field) {
                faults.push(said);
            }
        }
    }
    faults
}

/// A dog that is in order, to try the house's values on.
fn any_dog(coat: CoatType) -> DogBody {
    DogBody {
        name: "any".into(),
        breed: String::new(),
        chip: String::new(),
        born: "2020-01-01".into(),
        sex: "dog".into(),
        neutered_since: None,
        mass_kg: 8.0,
        coat: coat.word().into(),
        density: 1.0,
        temper: "calm".into(),
        look: "pet".into(),
        table_max_min: None,
        rhythm_days: None,
        before_ripe: false,
        outdoors: false,
        health: String::new(),
        steroids: Vec::new(),
        conditions: Vec::new(),
        zones: Vec::new(),
        days_that_matter: Vec::new(),
        not_on: Vec::new(),
        groomer: None,
        left: false,
    }
}
