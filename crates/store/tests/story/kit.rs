//! Short ways to say what the story says.

use app::shop::{Credential, Found, Kind, PersonId, Record, RecordId, ShopId, Store, StoreError, Who, Write};
use serde_json::{Value, json};
use std::sync::atomic::{AtomicI64, Ordering};
use store::Db;

/// Runs on threads of its own, as the program does.
pub fn run(test: impl Future<Output = ()>) {
    tokio::runtime::Runtime::new().expect("a runtime").block_on(test);
}

pub fn id(text: &str) -> RecordId {
    RecordId::new(format!("{text:0>8}")).expect("an id")
}

/// A day in 2026, as milliseconds.
pub const NOON_MS: i64 = 1_780_000_000_000;

/// A new shop with one person, `name` being part of every id.
pub async fn shop(db: &Db, name: &str) -> Who {
    static COUNT: AtomicI64 = AtomicI64::new(0);
    let at_ms = NOON_MS + COUNT.fetch_add(1, Ordering::Relaxed);
    let shop = ShopId::new(format!("shop-{name:0>8}")).expect("an id");
    let person = PersonId::new(format!("person-{name:0>8}")).expect("an id");
    let who = Who { shop: shop.clone(), person: person.clone(), at_ms };
    let credential =
        Credential { shop, person, sign_in: format!("first of {name}"), hash: "$argon2id$x".into(), open: true };
    let house = write(Kind::House, "house", 0, json!({ "name": name }));
    db.found_shop(&who, &[house], &credential).await.expect("a new shop");
    who
}

/// A revision that belongs to nothing.
pub fn write(kind: Kind, name: &str, seen: i64, body: Value) -> Write {
    Write { kind, id: id(name), of: None, day: None, seen, body, gone: false }
}

/// A new record that belongs to something on a day.
pub fn new_of(kind: Kind, name: &str, of: &str, day: &str, body: Value) -> Write {
    Write { of: Some(id(of)), day: Some(day.into()), ..write(kind, name, 0, body) }
}

/// Somebody's tap.
pub fn entry(name: &str, visit: &str, body: Value) -> Write {
    Write { of: Some(id(visit)), ..write(Kind::Entry, name, 0, body) }
}

/// A dog's place in the list of coats.
pub fn found(dog: &str, name: &str, text: &str) -> Found {
    Found {
        dog: id(dog),
        name: name.into(),
        breed: "an invented breed".into(),
        owner: "Ash Invented".into(),
        text: text.into(),
        reckoned: String::new(),
        ready: None,
        due: None,
        rolling: false,
        hard: false,
        resting: false,
        work_min: None,
        line: String::new(),
    }
}

/// A dog with its place in the list.
pub async fn dog(db: &Db, who: &Who, place: Found) {
    let dog = Write { id: place.dog.clone(), ..write(Kind::Dog, "any", 0, json!({ "name": place.name })) };
    db.write(who, &[dog], &[place]).await.expect("a new dog");
}

/// What stands instead of what was seen.
pub fn conflict(done: Result<(), StoreError>) -> (Record, i64) {
    match done {
        Err(StoreError::Conflict { stands, seen }) => (*stands, seen),
        other => panic!("a conflict was to be told, not {other:?}"),
    }
}

pub fn names(records: &[Record]) -> Vec<&str> {
    records.iter().map(|r| r.id.as_str().trim_start_matches('0')).collect()
}

pub fn dogs(found: &[Found]) -> Vec<&str> {
    found.iter().map(|f| f.dog.as_str().trim_start_matches('0')).collect()
}
