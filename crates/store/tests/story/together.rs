//! Many at once, two programs on one store, a server that crashed.

use crate::kit::{conflict, entry, id, shop, write};
use app::shop::{Kind, Store, StoreError, Write};
use serde_json::json;
use std::collections::BTreeSet;
use store::Db;
use testkit::postgres::OwnPostgres;

/// Each of these adds one to a number, as people do: read, add, write, and again when somebody was first.
const WRITERS: i64 = 8;
const TIMES: i64 = 12;

async fn add_one(db: &Db, who: &app::shop::Who, name: &str) {
    for _ in 0..TIMES {
        loop {
            let stands = db.read(&who.shop, Kind::Owner, &id(name)).await.unwrap().unwrap();
            let next = json!(stands.body.as_i64().unwrap() + 1);
            match db.write(who, &[write(Kind::Owner, name, stands.revision, next)], &[]).await {
                Ok(()) => break,
                Err(StoreError::Conflict { stands: first, seen }) => assert!(first.revision > seen),
                Err(other) => panic!("{other}"),
            }
        }
    }
}

pub async fn writers_at_once(db: &Db) {
    let who = shop(db, "at-once").await;
    db.write(&who, &[write(Kind::Owner, "sum", 0, json!(0))], &[]).await.unwrap();
    tokio_scope(WRITERS, |_| add_one(db, &who, "sum")).await;
    let stands = db.read(&who.shop, Kind::Owner, &id("sum")).await.unwrap().unwrap();
    assert_eq!((stands.body, stands.revision), (json!(WRITERS * TIMES), WRITERS * TIMES + 1));
    assert_eq!(db.revisions(&who.shop, Kind::Owner, &id("sum")).await.unwrap().len() as i64, WRITERS * TIMES + 1);

    // The same taps delivered by all at once, each in another order.
    let taps: Vec<Write> = (0..40).map(|n| entry(&format!("tap-{n:02}"), "visit", json!(n))).collect();
    tokio_scope(WRITERS, |n| {
        let mut mine = taps.clone();
        mine.rotate_left(n as usize * 5);
        let who = &who;
        async move { db.write(who, &mine, &[]).await.unwrap() }
    })
    .await;
    let kept = db.of(&who.shop, Kind::Entry, &id("visit")).await.unwrap();
    let once: BTreeSet<&str> = kept.iter().map(|r| r.id.as_str()).collect();
    assert_eq!((kept.len(), once.len()), (40, 40));

    // Two records changed in opposite orders: nobody waits for ever, everybody gets an answer.
    db.write(&who, &[write(Kind::Owner, "left", 0, json!(0)), write(Kind::Owner, "right", 0, json!(0))], &[])
        .await
        .unwrap();
    tokio_scope(WRITERS, |n| {
        let who = &who;
        async move {
            for _ in 0..TIMES {
                loop {
                    let mut pair = Vec::new();
                    for name in ["left", "right"] {
                        let stands = db.read(&who.shop, Kind::Owner, &id(name)).await.unwrap().unwrap();
                        pair.push(write(Kind::Owner, name, stands.revision, json!(stands.revision)));
                    }
                    if n % 2 == 0 {
                        pair.reverse();
                    }
                    match db.write(who, &pair, &[]).await {
                        Ok(()) => break,
                        Err(StoreError::Conflict { .. }) => {}
                        Err(other) => panic!("{other}"),
                    }
                }
            }
        }
    })
    .await;
    for name in ["left", "right"] {
        let stands = db.read(&who.shop, Kind::Owner, &id(name)).await.unwrap().unwrap();
        assert_eq!(stands.revision, WRITERS * TIMES + 1, "{name}");
    }
}

/// Runs so many at once and waits for all.
async fn tokio_scope<F: Future<Output = ()>>(number: i64, make: impl Fn(i64) -> F) {
    let mut waiting: Vec<_> = (0..number).map(|n| Box::pin(make(n))).collect();
    std::future::poll_fn(|context| {
        waiting.retain_mut(|one| one.as_mut().poll(context).is_pending());
        if waiting.is_empty() { std::task::Poll::Ready(()) } else { std::task::Poll::Pending }
    })
    .await;
}

pub async fn two_programs(address: &str) {
    let (one, two) = (store::open(address).await.unwrap(), store::open(address).await.unwrap());
    let who = shop(&one, "programs").await;
    one.write(&who, &[write(Kind::Owner, "sum", 0, json!(0))], &[]).await.unwrap();
    tokio_scope(4, |n| add_one(if n % 2 == 0 { &one } else { &two }, &who, "sum")).await;
    let stands = two.read(&who.shop, Kind::Owner, &id("sum")).await.unwrap().unwrap();
    assert_eq!(stands.body, json!(4 * TIMES));
    let (stands, _) = conflict(two.write(&who, &[write(Kind::Owner, "sum", 1, json!(0))], &[]).await);
    assert_eq!(stands.body, json!(4 * TIMES));
    one.close().await;
    two.close().await;
}

/// What was answered before the server crashed is there after, and the store goes on with new connections.
pub async fn a_server_that_crashed(address: &str, server: &OwnPostgres) {
    let db = store::open(address).await.unwrap();
    let who = shop(&db, "crash").await;
    for n in 0..20 {
        db.write(&who, &[entry(&format!("tap-{n:02}"), "visit", json!(n))], &[]).await.unwrap();
    }
    server.crash_and_start_again();
    let mut kept = Err(StoreError::Broken("not tried".into()));
    for _ in 0..20 {
        // Connections that died with the server are found out one by one.
        kept = db.of(&who.shop, Kind::Entry, &id("visit")).await;
        if kept.is_ok() {
            break;
        }
    }
    assert_eq!(kept.unwrap().len(), 20);
    db.write(&who, &[entry("tap-20", "visit", json!(20))], &[]).await.unwrap();
    db.close().await;
}
