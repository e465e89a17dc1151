//! The shop's use cases over a store in memory. All names are invented.

#![expect(clippy::unwrap_used, reason = "a step that cannot go on falls where it stands")]

mod bands;
mod demo;
mod experience;
mod history;
mod house;
mod made;
mod paces;
mod people;
mod pooled;
mod records;
mod table;
mod take_in;

use app::shop::{
    Changes, Desk, DogBody, EventBody, Founding, House, Owner, Person, RecordBody, RecordId, ShopFailure, Units, Who,
};
use coat::Day;
use std::sync::Arc;
use testkit::{Counted, Memory, ready};

/// A shop with one owner.
struct Bench {
    desk: Desk,
    who: Who,
    owner: RecordId,
}

fn today() -> Day {
    Day::from_ymd(2026, 11, 25).unwrap()
}

fn a_house() -> House {
    House {
        name: "Dock Lane".into(),
        place: "Nowhere".into(),
        country: "IE".into(),
        latitude_deg: None,
        units: Units::Mm,
        currency: "EUR".into(),
        dates: "en-IE".into(),
        time_zone: "Europe/Dublin".into(),
        hour_minor: Some(4500),
        short_passwords: false,
        pooled: false,
        caps: None,
        weights: Vec::new(),
        targets: Vec::new(),
        demo: false,
    }
}

fn a_person(name: &str, sign_in: &str) -> Person {
    Person { name: name.into(), sign_in: sign_in.into(), pace: 1.0, left: false }
}

fn a_dog(name: &str) -> DogBody {
    DogBody {
        name: name.into(),
        breed: "terrier".into(),
        chip: String::new(),
        born: "2022-04-03".into(),
        sex: "bitch".into(),
        neutered_since: None,
        mass_kg: 8.2,
        coat: "wire".into(),
        density: 1.0,
        temper: "calm".into(),
        look: "pet".into(),
        table_max_min: None,
        rhythm_days: Some(21),
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

fn an_event(day: &str, what: &str) -> EventBody {
    EventBody::of(day, what)
}

/// One in five of the whole jacket.
fn a_visit(day: &str) -> EventBody {
    let r = RecordBody { zones: vec!["jacket".into()], share: Some(0.2), carded: true, ..RecordBody::default() };
    EventBody { zones: vec![r], ..an_event(day, "visit") }
}

fn desk() -> Desk {
    Desk::new(Arc::new(Memory::default()), Arc::new(Counted::default()), Arc::new(plan::Highs))
}

/// Founds a shop in a desk's store.
fn found(desk: &Desk, sign_in: &str) -> Bench {
    let founding =
        Founding { house: a_house(), person: a_person("Ida Fern", sign_in), hash: "$argon2id$invented".into() };
    let founded = ready(desk.found_shop(1_000, founding)).unwrap();
    let who = Who { shop: founded.shop, person: founded.person, at_ms: 2_000 };
    let owner = Owner { name: "Zoë Ó Briain".into(), phones: vec!["085 012 3456".into()], ..Owner::default() };
    let owner = ready(desk.set_owner(&who, None, 0, owner)).unwrap().id;
    Bench { desk: desk.clone(), who, owner }
}

fn bench() -> Bench {
    found(&desk(), "ida")
}

impl Bench {
    fn add(&self, dog: DogBody, history: Vec<EventBody>) -> RecordId {
        ready(self.desk.add_dog(&self.who, today(), &self.owner, dog, history)).unwrap().id
    }

    /// Left alone, then two visits of one in five, the last three weeks ago.
    fn rolling(&self, name: &str) -> RecordId {
        let history = vec![an_event("2026-10-14", "left alone"), a_visit("2026-10-14"), a_visit("2026-11-04")];
        self.add(a_dog(name), history)
    }
}

/// The fields of what was refused.
fn fields<T: std::fmt::Debug>(answer: Result<T, ShopFailure>) -> Vec<String> {
    match answer {
        Err(ShopFailure::Refused(said)) => {
            for s in &said {
                assert!(!s.message.is_empty() && s.hint.ends_with('.'), "{s:?}");
                let numbered = |t: &str| t.split("line ").skip(1).any(|r| r.starts_with(|c: char| c.is_ascii_digit()));
                assert!(!numbered(&s.message) && !numbered(&s.hint), "a form has no lines: {s:?}");
            }
            said.into_iter().map(|s| s.field).collect()
        }
        other => panic!("not refused: {other:?}"),
    }
}
