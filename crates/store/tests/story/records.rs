//! Records: revisions, conflicts, entries, order.

use crate::kit::{NOON_MS, conflict, entry, id, names, new_of, shop, write};
use app::shop::{Kind, PersonId, Store, StoreError, Who, Write};
use serde_json::json;
use store::Db;

pub async fn revisions_are_kept(db: &Db) {
    let who = shop(db, "revisions").await;
    let later = Who { person: PersonId::new("person-colleague").unwrap(), at_ms: who.at_ms + 5, ..who.clone() };
    db.write(&who, &[write(Kind::Owner, "ash", 0, json!({"name": "Ash"}))], &[]).await.unwrap();
    db.write(&later, &[write(Kind::Owner, "ash", 1, json!({"name": "Ash Invented"}))], &[]).await.unwrap();

    let stands = db.read(&who.shop, Kind::Owner, &id("ash")).await.unwrap().unwrap();
    assert_eq!((stands.revision, &stands.by, stands.at_ms), (2, &later.person, later.at_ms));
    assert_eq!(stands.body, json!({"name": "Ash Invented"}));
    assert_eq!((stands.of.as_ref(), stands.day.as_deref(), stands.gone), (None, None, false));

    let away = Write { gone: true, ..write(Kind::Owner, "ash", 2, json!({"why": "asked for"})) };
    db.write(&who, &[away], &[]).await.unwrap();
    assert_eq!(db.read(&who.shop, Kind::Owner, &id("ash")).await.unwrap(), None);
    assert!(db.all(&who.shop, Kind::Owner, None, 10).await.unwrap().is_empty());
    let all = db.revisions(&who.shop, Kind::Owner, &id("ash")).await.unwrap();
    assert_eq!(all.iter().map(|r| (r.revision, r.gone)).collect::<Vec<_>>(), [(1, false), (2, false), (3, true)]);
    assert_eq!(all[0].body, json!({"name": "Ash"}));
    assert_eq!(all[1], stands);

    // It can be brought back by who saw that it is gone.
    db.write(&who, &[write(Kind::Owner, "ash", 3, json!({"name": "Ash"}))], &[]).await.unwrap();
    assert_eq!(db.read(&who.shop, Kind::Owner, &id("ash")).await.unwrap().unwrap().revision, 4);

    // Every write that kept something is counted; one that was refused is not.
    let counted = db.writes(&who.shop).await.unwrap();
    assert!(db.write(&who, &[write(Kind::Owner, "ash", 1, json!({}))], &[]).await.is_err());
    assert_eq!(db.writes(&who.shop).await.unwrap(), counted);
    db.write(&who, &[write(Kind::Owner, "elm", 0, json!({})), write(Kind::Owner, "fir", 0, json!({}))], &[])
        .await
        .unwrap();
    assert_eq!(db.writes(&who.shop).await.unwrap(), counted + 1);
    db.place(&who.shop, &[]).await.unwrap();
    assert_eq!(db.writes(&who.shop).await.unwrap(), counted + 1);

    // Several at once, as one by one.
    let some = db.some(&who.shop, Kind::Owner, &[id("fir"), id("ash"), id("none")]).await.unwrap();
    assert_eq!(names(&some).len(), 2);
    assert!(db.some(&who.shop, Kind::Owner, &[]).await.unwrap().is_empty());

    // The same id as another kind is another record.
    assert_eq!(db.read(&who.shop, Kind::Dog, &id("ash")).await.unwrap(), None);
    assert!(db.revisions(&who.shop, Kind::Dog, &id("ash")).await.unwrap().is_empty());
    let house = db.all(&who.shop, Kind::House, None, 10).await.unwrap();
    assert_eq!(names(&house), ["house"]);
}

pub async fn the_second_is_told(db: &Db) {
    let who = shop(db, "second").await;
    let other = Who { person: PersonId::new("person-colleague").unwrap(), ..who.clone() };
    db.write(&who, &[write(Kind::Owner, "ash", 0, json!({"phone": "1"}))], &[]).await.unwrap();
    db.write(&other, &[write(Kind::Owner, "ash", 1, json!({"phone": "2"}))], &[]).await.unwrap();

    let (stands, seen) = conflict(db.write(&who, &[write(Kind::Owner, "ash", 1, json!({"phone": "3"}))], &[]).await);
    assert_eq!((stands.revision, &stands.by, seen), (2, &other.person, 1));
    assert_eq!(stands.body, json!({"phone": "2"}));
    let (stands, seen) = conflict(db.write(&who, &[write(Kind::Owner, "ash", 0, json!({"phone": "3"}))], &[]).await);
    assert_eq!((stands.revision, seen), (2, 0));
    let (stands, seen) = conflict(db.write(&who, &[write(Kind::Owner, "ash", 7, json!({"phone": "3"}))], &[]).await);
    assert_eq!((stands.revision, seen), (2, 7));
    assert_eq!(db.revisions(&who.shop, Kind::Owner, &id("ash")).await.unwrap().len(), 2);

    // What is not there cannot have been seen.
    let told = db.write(&who, &[write(Kind::Owner, "nobody", 1, json!({}))], &[]).await;
    assert!(matches!(&told, Err(StoreError::Broken(text)) if text.contains("nobody")), "{told:?}");
    let told = db.write(&who, &[write(Kind::Owner, "nobody", i64::MAX, json!({}))], &[]).await;
    assert!(told.is_err());
    let told = db.write(&who, &[write(Kind::Owner, "nobody", -1, json!({}))], &[]).await;
    assert!(told.is_err());
    assert!(db.revisions(&who.shop, Kind::Owner, &id("nobody")).await.unwrap().is_empty());
}

pub async fn all_or_nothing(db: &Db) {
    let who = shop(db, "nothing").await;
    db.write(&who, &[write(Kind::Owner, "ash", 0, json!(1))], &[]).await.unwrap();
    let both = [write(Kind::Owner, "beech", 0, json!(1)), write(Kind::Owner, "ash", 0, json!(2))];
    conflict(db.write(&who, &both, &[]).await);
    assert_eq!(db.read(&who.shop, Kind::Owner, &id("beech")).await.unwrap(), None);
    assert!(db.revisions(&who.shop, Kind::Owner, &id("beech")).await.unwrap().is_empty());

    // Two revisions of one record in one batch follow each other.
    let both = [write(Kind::Owner, "beech", 0, json!(1)), write(Kind::Owner, "beech", 1, json!(2))];
    db.write(&who, &both, &[]).await.unwrap();
    assert_eq!(db.read(&who.shop, Kind::Owner, &id("beech")).await.unwrap().unwrap().body, json!(2));

    // A shop that was never founded takes nothing.
    let nowhere = Who { shop: app::shop::ShopId::new("shop-nowhere").unwrap(), ..who };
    assert!(db.write(&nowhere, &[write(Kind::Owner, "ash", 0, json!(1))], &[]).await.is_err());
}

pub async fn entries_are_kept_once(db: &Db) {
    let who = shop(db, "entries").await;
    let first = entry("tap-1", "visit-1", json!({"do": "as_planned"}));
    db.write(&who, std::slice::from_ref(&first), &[]).await.unwrap();
    // Again, alone, with others, twice in one delivery, with other contents and as if it had been seen.
    db.write(&who, std::slice::from_ref(&first), &[]).await.unwrap();
    let second = entry("tap-2", "visit-1", json!({"do": "left"}));
    db.write(&who, &[second.clone(), first.clone(), second.clone()], &[]).await.unwrap();
    let changed = Write { body: json!({"do": "all_ripe"}), ..first.clone() };
    db.write(&who, std::slice::from_ref(&changed), &[]).await.unwrap();
    db.write(&who, &[Write { seen: 1, gone: true, ..changed }], &[]).await.unwrap();

    let taps = db.of(&who.shop, Kind::Entry, &id("visit-1")).await.unwrap();
    assert_eq!(names(&taps), ["tap-1", "tap-2"]);
    assert_eq!(taps[0].body, json!({"do": "as_planned"}));
    assert_eq!(db.revisions(&who.shop, Kind::Entry, &id("tap-1")).await.unwrap().len(), 1);

    // The same id for another visit is another's entry, and nothing of the delivery is kept.
    let elsewhere = [entry("tap-3", "visit-2", json!(1)), entry("tap-1", "visit-2", json!(1))];
    let (stands, _) = conflict(db.write(&who, &elsewhere, &[]).await);
    assert_eq!(stands.of, Some(id("visit-1")));
    assert!(db.of(&who.shop, Kind::Entry, &id("visit-2")).await.unwrap().is_empty());
}

pub async fn what_belongs_and_when(db: &Db) {
    let who = shop(db, "belongs").await;
    let event = |name: &str, day: &str| new_of(Kind::Event, name, "ruffo", day, json!({"event": name}));
    // Ids fall while time goes on, so that an order by id would show.
    for (n, batch) in [
        vec![event("zz-rolled", "2026-03-01")],
        vec![event("yy-flat", "2025-10-01"), event("xx-clipped", "2026-03-01"), event("ww-left", "2026-03-01")],
        vec![event("vv-missed", "2026-03-01")],
    ]
    .into_iter()
    .enumerate()
    {
        // The last two batches come in the same millisecond.
        let at = Who { at_ms: NOON_MS + (n as i64).min(1), ..who.clone() };
        db.write(&at, &batch, &[]).await.unwrap();
    }
    let in_order = ["yy-flat", "zz-rolled", "xx-clipped", "ww-left", "vv-missed"];
    assert_eq!(names(&db.of(&who.shop, Kind::Event, &id("ruffo")).await.unwrap()), in_order);

    // A correction keeps its place in the day; a change of day or of dog moves it.
    let again = Write { seen: 1, ..event("xx-clipped", "2026-03-01") };
    let moved = Write { seen: 1, ..event("zz-rolled", "2026-05-01") };
    let given = Write { seen: 1, ..new_of(Kind::Event, "ww-left", "sorrel", "2026-03-01", json!(1)) };
    let gone = Write { seen: 1, gone: true, ..event("yy-flat", "2025-10-01") };
    let at = Who { at_ms: NOON_MS + 99, ..who.clone() };
    db.write(&at, &[again, moved, given, gone], &[]).await.unwrap();
    let of = db.of(&who.shop, Kind::Event, &id("ruffo")).await.unwrap();
    assert_eq!(names(&of), ["xx-clipped", "vv-missed", "zz-rolled"]);
    assert_eq!(of[2].day.as_deref(), Some("2026-05-01"));
    assert_eq!(names(&db.of(&who.shop, Kind::Event, &id("sorrel")).await.unwrap()), ["ww-left"]);
    assert!(db.of(&who.shop, Kind::Visit, &id("ruffo")).await.unwrap().is_empty());
    // Of both at once.
    let mut both = db.of_some(&who.shop, Kind::Event, &[id("sorrel"), id("ruffo"), id("none")]).await.unwrap();
    both.sort_by_key(|r| r.of.clone());
    assert_eq!(names(&both), ["xx-clipped", "vv-missed", "zz-rolled", "ww-left"]);

    // Between two days, both of them counted.
    let between = db.between(&who.shop, Kind::Event, "2026-03-01", "2026-05-01").await.unwrap();
    assert_eq!(names(&between), ["xx-clipped", "ww-left", "vv-missed", "zz-rolled"]);
    assert!(db.between(&who.shop, Kind::Event, "2026-03-02", "2026-04-30").await.unwrap().is_empty());
    assert!(db.between(&who.shop, Kind::Event, "2026-05-01", "2026-03-01").await.unwrap().is_empty());

    // Those without a day come before those with one.
    let dayless = Write { day: None, ..event("aa-dayless", "") };
    db.write(&at, &[dayless], &[]).await.unwrap();
    assert_eq!(names(&db.of(&who.shop, Kind::Event, &id("ruffo")).await.unwrap())[0], "aa-dayless");

    // All of a kind, page by page.
    let mut seen = Vec::new();
    let mut after = None;
    loop {
        let page = db.all(&who.shop, Kind::Event, after.as_ref(), 2).await.unwrap();
        assert!(page.len() <= 2);
        let Some(last) = page.last() else { break };
        after = Some(last.id.clone());
        seen.extend(page.iter().map(|r| r.id.clone()));
    }
    let mut sorted = seen.clone();
    sorted.sort();
    sorted.dedup();
    assert_eq!((seen.len(), &seen), (5, &sorted));
}

pub async fn odd_texts_come_back(db: &Db) {
    let who = shop(db, "odd").await;
    let body = json!({
        "name": "Ånkan 🐕 \u{0} \u{7f} \\ \" ' -- ; DROP TABLE shop; <script>alert(1)</script>",
        "long": "x".repeat(200_000),
        "numbers": [0, -1, 9_007_199_254_740_993_i64, 0.25, 1e300, null, true],
        "z": 1, "a": {"b": []},
    });
    db.write(&who, &[write(Kind::Owner, "odd", 0, body.clone())], &[]).await.unwrap();
    assert_eq!(db.read(&who.shop, Kind::Owner, &id("odd")).await.unwrap().unwrap().body, body);
}
