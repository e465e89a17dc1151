//! A program that writes is killed at random moments, a thousand taps long: none that was acknowledged is lost,
//! none is there twice.
//!
//! The test runs itself once more as the program that is killed. That one founds the shop if nobody has, and
//! delivers one tap after another, saying so when the store has answered.

use crate::kit::{self, NOON_MS, id};
use app::shop::{Credential, Kind, PersonId, ShopId, Store, Who, Write};
use serde_json::json;
use std::io::{BufRead, BufReader, Write as _};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use testkit::postgres::OwnPostgres;

/// Taps delivered in all.
const TAPS: usize = 1000;
/// How many of the acknowledged ones are delivered again after a kill: a browser may not have heard the answer.
const AGAIN: usize = 3;
/// Set for the program that is killed: where the store is, and the first tap to deliver.
const STORE: &str = "COATWRIGHT_TEST_KILL_STORE";
const FIRST: &str = "COATWRIGHT_TEST_KILL_FIRST";

#[test]
fn killed_while_writing_to_sqlite() {
    if let Ok(address) = std::env::var(STORE) {
        return kit::run(deliver(&address));
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shop.db");
    let address = path.to_str().expect("plain text");
    kill_again_and_again("kill::killed_while_writing_to_sqlite", address, |_| {});
    kit::run(async {
        let one = sqlx::SqlitePool::connect(&format!("sqlite://{address}")).await.expect("the file opens");
        let check: String = sqlx::query_scalar("PRAGMA integrity_check").fetch_one(&one).await.expect("a check");
        assert_eq!(check, "ok");
    });
}

#[test]
fn killed_while_writing_to_postgres() {
    if let Ok(address) = std::env::var(STORE) {
        return kit::run(deliver(&address));
    }
    let server = OwnPostgres::start();
    let address = server.database("kill");
    // Now and then the database server falls too.
    kill_again_and_again("kill::killed_while_writing_to_postgres", &address, |kills| {
        if kills % 8 == 5 {
            server.crash_and_start_again();
        }
    });
}

fn who(tap: usize) -> Who {
    Who {
        shop: ShopId::new("shop-killed").expect("an id"),
        person: PersonId::new("person-killed").expect("an id"),
        // Several in one millisecond.
        at_ms: NOON_MS + (tap / 4) as i64,
    }
}

fn tap_id(tap: usize) -> String {
    // Ids that fall in another order than they were made.
    format!("tap-{:03}-{tap:04}", tap * 617 % 1000)
}

/// The program that is killed.
async fn deliver(address: &str) {
    let first: usize = std::env::var(FIRST).expect("both are set").parse().expect("a number");
    let db = store::open(address).await.expect("the store opens");
    if db.shops().await.expect("shops").is_empty() {
        let who = who(0);
        let credential = Credential {
            shop: who.shop.clone(),
            person: who.person.clone(),
            sign_in: "killed".into(),
            hash: "$x".into(),
            open: true,
        };
        let visit = kit::new_of(Kind::Visit, "visit", "dog", "2026-06-10", json!({"state": "at_table"}));
        db.found_shop(&who, &[visit], &credential).await.expect("a new shop");
    }
    for tap in first..TAPS {
        let entry: Write = kit::entry(&tap_id(tap), "visit", json!({"do": "note", "note": tap}));
        db.write(&who(tap), &[entry], &[]).await.expect("kept");
        let mut out = std::io::stdout().lock();
        writeln!(out, "\nkept {tap}").and_then(|()| out.flush()).expect("somebody listens");
    }
}

fn kill_again_and_again(test: &str, address: &str, mut after: impl FnMut(usize)) {
    let mut random = 0x5eed_u64;
    let mut below = |most: u64| {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 33) % most
    };
    let (mut acknowledged, mut kills) = (0, 0);
    while acknowledged < TAPS {
        let first = acknowledged.saturating_sub(AGAIN);
        let mut child = Command::new(std::env::current_exe().expect("this test"))
            .args(["--exact", test, "--nocapture"])
            .env(STORE, address)
            .env(FIRST, first.to_string())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it starts");
        let out = BufReader::new(child.stdout.take().expect("its output is read"));
        // One in six falls while it starts, the others after so many taps and a little.
        let wait_for = if below(6) == 0 { 0 } else { 1 + below(60) as usize };
        let pause = Duration::from_micros(if wait_for == 0 { below(60_000) } else { below(4_000) });
        let mut heard = 0;
        let mut was_killed = false;
        if wait_for == 0 {
            std::thread::sleep(pause);
            was_killed = kill(&mut child);
        }
        for line in out.lines() {
            // A line that was cut off by the kill acknowledges nothing, and ends with no number of ours.
            let Some(tap) = line.expect("text").strip_prefix("kept ").and_then(|n| n.parse::<usize>().ok()) else {
                continue;
            };
            heard += 1;
            acknowledged = acknowledged.max(tap + 1);
            if heard == wait_for && acknowledged < TAPS {
                std::thread::sleep(pause);
                was_killed = kill(&mut child);
            }
        }
        let ended = child.wait_with_output().expect("it ended");
        assert!(was_killed || ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
        kills += usize::from(was_killed);
        after(kills);
        kit::run(check(address, acknowledged));
    }
    assert!(kills >= 15, "killed {kills} times only");
    kit::run(async {
        let db = store::open(address).await.expect("the store opens");
        let shop = who(0).shop;
        let kept = db.of(&shop, Kind::Entry, &id("visit")).await.expect("entries");
        let notes: Vec<u64> = kept.iter().map(|r| r.body["note"].as_u64().expect("a number")).collect();
        assert_eq!(notes, (0..TAPS as u64).collect::<Vec<_>>(), "each once, in the order they were made");
        for entry in &kept {
            assert_eq!(db.revisions(&shop, Kind::Entry, &entry.id).await.expect("revisions").len(), 1);
        }
        db.close().await;
    });
}

/// Whether it was still there to be killed.
fn kill(child: &mut Child) -> bool {
    let ran = matches!(child.try_wait(), Ok(None));
    child.kill().expect("it can be killed");
    ran
}

/// What was acknowledged is there, once, with at most the one after it, of which nobody has heard.
async fn check(address: &str, acknowledged: usize) {
    let mut opened = store::open(address).await;
    for _ in 0..20 {
        if opened.is_ok() {
            break;
        }
        opened = store::open(address).await;
    }
    let db = opened.expect("the store opens");
    let kept = db.of(&who(0).shop, Kind::Entry, &id("visit")).await.expect("entries");
    let there: std::collections::BTreeSet<u64> = kept.iter().filter_map(|r| r.body["note"].as_u64()).collect();
    assert_eq!(there.len(), kept.len(), "one is there twice");
    assert!((0..acknowledged as u64).all(|tap| there.contains(&tap)), "an acknowledged one is lost");
    assert!(there.len() <= acknowledged + 1, "{} are there, {acknowledged} were acknowledged", there.len());
    db.close().await;
}
