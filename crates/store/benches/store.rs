//! What the shop's store costs with 5,000 and 50,000 dogs, on SQLite and on PostgreSQL.
//!
//! Every dog is invented: an owner, two years of visits six weeks apart with their events, and the taps of the last
//! visit. `SIZES` and `STORES` in the environment (`5000`, `sqlite`) choose fewer.

use app::shop::{Credential, Filter, Found, Kind, PersonId, RecordId, Search, ShopId, Store, Who, Write};
use divan::Bencher;
use serde_json::json;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};
use store::Db;
use testkit::postgres::OwnPostgres;
use tokio::runtime::Runtime;

const VISITS: usize = 17;
const TAPS: usize = 24;
const TODAY: &str = "2026-06-10";

fn main() {
    divan::main();
    // A static is never dropped: the server would stay.
    OPEN.lock().expect("nobody fell").clear();
}

struct Full {
    db: Db,
    runtime: Runtime,
    who: Who,
    dogs: usize,
    _folder: tempfile::TempDir,
    _server: Option<OwnPostgres>,
}

static OPEN: Mutex<BTreeMap<(Kept, usize), Arc<Full>>> = Mutex::new(BTreeMap::new());

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Kept {
    Sqlite,
    Postgres,
}

fn cases() -> Vec<String> {
    let chosen = |name: &str, all: &str| std::env::var(name).unwrap_or_else(|_| all.to_owned());
    let (stores, sizes) = (chosen("STORES", "sqlite postgres"), chosen("SIZES", "5000 50000"));
    stores.split_whitespace().flat_map(|s| sizes.split_whitespace().map(move |n| format!("{s} {n}"))).collect()
}

fn full(case: &str) -> Arc<Full> {
    let (kept, dogs) = case.split_once(' ').expect("a store and a number");
    let kept = if kept == "sqlite" { Kept::Sqlite } else { Kept::Postgres };
    let dogs: usize = dogs.parse().expect("a number of dogs");
    let mut open = OPEN.lock().expect("nobody fell");
    open.entry((kept, dogs)).or_insert_with(|| Arc::new(fill(kept, dogs))).clone()
}

fn id(kind: &str, n: usize) -> RecordId {
    RecordId::new(format!("0199f0c2-0000-7000-8000-{kind}{n:010}")).expect("an id")
}

fn word(n: usize) -> String {
    const PARTS: [&str; 16] =
        ["ar", "bel", "cor", "dun", "el", "fen", "gor", "hal", "is", "jun", "kel", "lor", "mar", "nox", "or", "pel"];
    [n % 16, n / 16 % 16, n / 256 % 16, n / 4096 % 16].iter().map(|&p| PARTS[p]).collect()
}

/// Spreads numbers, so that neighbours have nothing in common.
fn spread(n: usize) -> usize {
    (n as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) as usize >> 20
}

fn day(n: usize) -> String {
    format!("{}-{:02}-{:02}", 2024 + n / 336, n / 28 % 12 + 1, n % 28 + 1)
}

fn fill(kept: Kept, dogs: usize) -> Full {
    let folder = tempfile::tempdir().expect("a folder");
    let server = (kept == Kept::Postgres).then(OwnPostgres::start);
    let address = match &server {
        Some(server) => server.database("bench"),
        None => folder.path().join("shop.db").to_str().expect("plain text").to_owned(),
    };
    let who = Who {
        shop: ShopId::new("shop-bench").expect("an id"),
        person: PersonId::new("person-bench").expect("an id"),
        at_ms: 1_780_000_000_000,
    };
    let runtime = Runtime::new().expect("a runtime");
    let db = runtime.block_on(async {
        let db = store::open(&address).await.expect("a new store");
        let credential = Credential {
            shop: who.shop.clone(),
            person: who.person.clone(),
            sign_in: "bench".into(),
            hash: "$x".into(),
            open: true,
        };
        db.found_shop(&who, &[], &credential).await.expect("a new shop");
        for first in (0..dogs).step_by(100) {
            let (mut writes, mut found) = (Vec::new(), Vec::new());
            for n in first..(first + 100).min(dogs) {
                dog(n, &mut writes, &mut found);
            }
            db.write(&who, &writes, &found).await.expect("dogs");
        }
        db.close().await;
        // As it is found on a working day: opened anew.
        store::open(&address).await.expect("it opens again")
    });
    Full { db, runtime, who, dogs, _folder: folder, _server: server }
}

fn dog(n: usize, writes: &mut Vec<Write>, found: &mut Vec<Found>) {
    let (name, owner) = (word(spread(n)), format!("{} {}", word(spread(n + 7)), word(spread(n + 13))));
    let (dog, keeper) = (id("d", n), id("o", n));
    let write = |kind, id: RecordId, of: Option<&RecordId>, day: Option<String>, body| Write {
        kind,
        id,
        of: of.cloned(),
        day,
        seen: 0,
        body,
        gone: false,
    };
    writes.push(write(Kind::Owner, keeper.clone(), None, None, json!({ "name": owner, "phones": ["0855500000"] })));
    writes.push(write(
        Kind::Dog,
        dog.clone(),
        Some(&keeper),
        None,
        json!({ "name": name, "breed": "an invented breed", "born": "2020-01-01", "sex": "bitch", "mass_kg": 8.5,
            "coat": "wire", "temper": "calm", "look": "smart", "health": "nothing that is known" }),
    ));
    for v in 0..VISITS {
        let day = day(n % 42 + v * 42);
        let zones: Vec<_> =
            (0..8).map(|z| json!({ "zones": [format!("zone {z}")], "share": 0.2, "ease": 2 })).collect();
        writes.push(write(
            Kind::Event,
            id("e", n * VISITS + v),
            Some(&dog),
            Some(day.clone()),
            json!({ "day": day, "event": "visit", "work_min": 47.5, "zones": zones }),
        ));
        let visit = id("v", n * VISITS + v);
        writes.push(write(
            Kind::Visit,
            visit.clone(),
            Some(&dog),
            Some(day.clone()),
            json!({ "day": day, "place": 1, "state": "done" }),
        ));
        if v + 1 == VISITS {
            for t in 0..TAPS {
                let what = json!({ "count": t, "browser": "bench", "browser_ms": 1, "what": { "do": "as_planned" } });
                writes.push(write(Kind::Entry, id("t", n * TAPS + t), Some(&visit), None, what));
            }
        }
    }
    found.push(Found {
        dog,
        text: format!(
            "{name} {owner} an invented breed 94100{:010} 08555{:05}",
            spread(n) % 10_000_000_000,
            n % 100_000
        ),
        name,
        breed: "an invented breed".into(),
        owner,
        reckoned: TODAY.into(),
        ready: Some(day(700 + n % 90)),
        due: Some(day(720 + n % 90)),
        rolling: n.is_multiple_of(3),
        hard: n.is_multiple_of(4),
        resting: n.is_multiple_of(50),
        work_min: Some(45.0),
        line: "jacket and head, two parts in ten of what shows".into(),
    });
}

fn search(words: &[&str], filter: Filter) -> Search {
    Search {
        words: words.iter().map(|w| (*w).to_owned()).collect(),
        filter,
        today: TODAY.into(),
        in_a_week: "2026-06-17".into(),
        after: None,
        most: 50,
    }
}

fn find(bencher: Bencher, case: &str, asked: &Search) {
    let full = full(case);
    bencher.bench(|| full.runtime.block_on(full.db.find(&full.who.shop, asked)).expect("found"));
}

/// The first page of all.
#[divan::bench(args = cases())]
fn find_first_page(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&[], Filter::All));
}

/// Part of a name that one dog in some hundred has.
#[divan::bench(args = cases())]
fn find_part_of_a_name(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&["belcor"], Filter::All));
}

/// Part of a chip's number that nearly no dog has: every dog is looked at.
#[divan::bench(args = cases())]
fn find_part_of_a_chip(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&["0012345"], Filter::All));
}

/// Three words.
#[divan::bench(args = cases())]
fn find_three_words(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&["invented", "bel", "cor"], Filter::All));
}

/// A filter that few meet.
#[divan::bench(args = cases())]
fn find_resting(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&[], Filter::Resting));
}

/// Ready this week.
#[divan::bench(args = cases())]
fn find_ready(bencher: Bencher, case: &str) {
    find(bencher, case, &search(&[], Filter::ReadyThisWeek));
}

/// How many are found.
#[divan::bench(args = cases())]
fn count_three_words(bencher: Bencher, case: &str) {
    let full = full(case);
    let asked = search(&["invented", "bel", "cor"], Filter::All);
    bencher.bench(|| full.runtime.block_on(full.db.count(&full.who.shop, &asked)).expect("a number"));
}

/// One dog.
#[divan::bench(args = cases())]
fn read_a_dog(bencher: Bencher, case: &str) {
    let full = full(case);
    let dog = id("d", full.dogs / 2);
    bencher.bench(|| full.runtime.block_on(full.db.read(&full.who.shop, Kind::Dog, &dog)).expect("read"));
}

/// The history of a dog.
#[divan::bench(args = cases())]
fn events_of_a_dog(bencher: Bencher, case: &str) {
    let full = full(case);
    let dog = id("d", full.dogs / 2);
    bencher.bench(|| full.runtime.block_on(full.db.of(&full.who.shop, Kind::Event, &dog)).expect("events"));
}

/// The taps of a visit.
#[divan::bench(args = cases())]
fn taps_of_a_visit(bencher: Bencher, case: &str) {
    let full = full(case);
    let visit = id("v", full.dogs / 2 * VISITS + VISITS - 1);
    bencher.bench(|| full.runtime.block_on(full.db.of(&full.who.shop, Kind::Entry, &visit)).expect("taps"));
}

/// The visits of a day: one dog in 42 comes on it.
#[divan::bench(args = cases())]
fn visits_of_a_day(bencher: Bencher, case: &str) {
    let full = full(case);
    let day = day(672);
    bencher.bench(|| full.runtime.block_on(full.db.between(&full.who.shop, Kind::Visit, &day, &day)).expect("visits"));
}

/// One tap is kept: on the disk when it is answered.
#[divan::bench(args = cases())]
fn keep_a_tap(bencher: Bencher, case: &str) {
    let full = full(case);
    static COUNT: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);
    bencher.bench(|| {
        let n = COUNT.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        let tap = Write {
            kind: Kind::Entry,
            id: id("n", n),
            of: Some(id("w", n / 50)),
            day: None,
            seen: 0,
            body: json!({ "count": n, "browser": "bench", "browser_ms": 1, "what": { "do": "as_planned" } }),
            gone: false,
        };
        full.runtime.block_on(full.db.write(&full.who, &[tap], &[])).expect("kept");
    });
}
