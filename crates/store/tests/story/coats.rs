//! The list of coats, and what is kept beside the records.

use crate::kit::{dog, dogs, found, id, shop, write};
use app::shop::{Filter, Found, Kind, RecordId, Search, ShopId, Store, Who, Write};
use serde_json::{Value, json};
use store::Db;

fn search(words: &[&str], filter: Filter) -> Search {
    Search {
        words: words.iter().map(|w| (*w).to_owned()).collect(),
        filter,
        today: "2026-06-10".into(),
        in_a_week: "2026-06-17".into(),
        after: None,
        most: 50,
    }
}

async fn finds(db: &Db, shop: &ShopId, search: &Search) -> Vec<String> {
    let found = db.find(shop, search).await.unwrap();
    assert_eq!(db.count(shop, search).await.unwrap(), found.len() as u64, "{search:?}");
    dogs(&found).into_iter().map(str::to_owned).collect()
}

pub async fn dogs_are_found(db: &Db) {
    let who = shop(db, "found").await;
    let full = Found {
        ready: Some("2026-06-12".into()),
        due: Some("2026-06-20".into()),
        reckoned: "2026-06-10".into(),
        rolling: true,
        hard: true,
        work_min: Some(47.25),
        line: "jacket and head".into(),
        ..found("d-arla", "Ärla", "arla granholm terrier 941000012345678 0855512345")
    };
    dog(db, &who, full.clone()).await;
    dog(db, &who, found("d-ruffo", "ruffo", "ruffo granholm schnauzer 50% o_k")).await;
    dog(db, &who, found("d-sorrel", "Sorrel", r"sorrel ash terrier back\slash")).await;

    for (words, expected) in [
        (&[][..], &["d-ruffo", "d-sorrel", "d-arla"][..]),
        (&["granholm"], &["d-ruffo", "d-arla"]),
        (&["ranhol", "rrier"], &["d-arla"]),
        (&["arla"], &["d-arla"]),
        (&["1234567"], &["d-arla"]),
        (&["nobody"], &[]),
        (&["granholm", "nobody"], &[]),
        (&["%"], &["d-ruffo"]),
        (&["0% o"], &["d-ruffo"]),
        (&["o_k"], &["d-ruffo"]),
        (&["o_o"], &[]),
        (&["_"], &["d-ruffo"]),
        (&[r"\"], &["d-sorrel"]),
        (&[r"k\s"], &["d-sorrel"]),
        (&["'", "; DROP TABLE coats; --"], &[]),
        (&["a\0b"], &[]),
        (&[""], &["d-ruffo", "d-sorrel", "d-arla"]),
    ] {
        assert_eq!(finds(db, &who.shop, &search(words, Filter::All)).await, expected, "{words:?}");
    }
    let many = vec!["s"; 200];
    assert_eq!(finds(db, &who.shop, &search(&many, Filter::All)).await, ["d-ruffo", "d-sorrel"]);

    // As it was placed, in the order asked for, once for each time it was asked for.
    let asked = [id("d-sorrel"), id("d-nobody"), id("d-arla"), id("d-sorrel")];
    let there = db.found(&who.shop, &asked).await.unwrap();
    assert_eq!(dogs(&there), ["d-sorrel", "d-arla", "d-sorrel"]);
    assert_eq!(there[1], full);
    assert!(db.found(&who.shop, &[]).await.unwrap().is_empty());
    let thousand: Vec<RecordId> = (0..1200).map(|n| id(&n.to_string())).chain([id("d-ruffo")]).collect();
    assert_eq!(dogs(&db.found(&who.shop, &thousand).await.unwrap()), ["d-ruffo"]);

    // A sign that PostgreSQL cannot keep is shown as one that stands for what cannot be shown.
    dog(db, &who, found("d-nul", "Nul\0", "nul\0")).await;
    assert_eq!(db.found(&who.shop, &[id("d-nul")]).await.unwrap()[0].name, "Nul\u{fffd}");
}

pub async fn pages_follow(db: &Db) {
    let who = shop(db, "pages").await;
    // Many of one name, so that pages end among them.
    let mut all = Vec::new();
    for n in 0..25 {
        let name = ["Åke", "bo", "Bo", "BO", "Cilla"][n % 5];
        all.push(found(&format!("d-{n:02}"), name, if n % 2 == 0 { "even" } else { "odd" }));
    }
    let writes: Vec<Write> =
        all.iter().map(|f| Write { id: f.dog.clone(), ..write(Kind::Dog, "any", 0, json!(1)) }).collect();
    db.write(&who, &writes, &all).await.unwrap();
    for (words, total) in [(&[][..], 25), (&["even"], 13)] {
        let whole = db.find(&who.shop, &search(words, Filter::All)).await.unwrap();
        assert_eq!(whole.len(), total);
        let mut pages = Vec::new();
        let mut after = None;
        loop {
            let asked = Search { after, most: 4, ..search(words, Filter::All) };
            let page = db.find(&who.shop, &asked).await.unwrap();
            let Some(last) = page.last() else { break };
            after = Some((last.name.clone(), last.dog.clone()));
            pages.extend(page);
        }
        assert_eq!(pages, whole, "{words:?}");
        let capitals: Vec<String> = whole.iter().map(|f| f.name.to_lowercase()).collect();
        assert!(capitals.is_sorted(), "{capitals:?}");
    }
}

pub async fn filters(db: &Db) {
    let who = shop(db, "filters").await;
    let with = |dog: &str, ready: &str, due: &str| Found {
        ready: (!ready.is_empty()).then(|| ready.to_owned()),
        due: (!due.is_empty()).then(|| due.to_owned()),
        ..found(dog, dog, "filters")
    };
    for place in [
        with("a-ready", "2026-06-17", "2026-06-30"),
        with("b-ready-long", "2026-05-01", ""),
        with("c-ready-due-today", "2026-06-01", "2026-06-10"),
        with("d-past", "2026-05-20", "2026-06-09"),
        with("e-next-week", "2026-06-18", "2026-07-01"),
        with("f-unknown", "", ""),
        Found { rolling: true, ..with("g-rolling", "", "") },
        Found { hard: true, ..with("h-hard", "", "") },
        Found { resting: true, ..with("i-resting", "", "") },
    ] {
        dog(db, &who, place).await;
    }
    for (filter, expected) in [
        (Filter::ReadyThisWeek, &["a-ready", "b-ready-long", "c-ready-due-today"][..]),
        (Filter::PastItsDay, &["d-past"]),
        (Filter::Rolling, &["g-rolling"]),
        (Filter::Hard, &["h-hard"]),
        (Filter::Resting, &["i-resting"]),
    ] {
        assert_eq!(finds(db, &who.shop, &search(&["filters"], filter)).await, expected, "{filter:?}");
    }
    assert_eq!(finds(db, &who.shop, &search(&["filters"], Filter::All)).await.len(), 9);
    assert!(finds(db, &who.shop, &search(&["nothing"], Filter::Rolling)).await.is_empty());
}

pub async fn places_are_kept_fresh(db: &Db) {
    let who = shop(db, "fresh").await;
    for name in ["ruffo", "sorrel", "tansy"] {
        dog(db, &who, found(name, name, name)).await;
    }
    let stale = async |today: &str, most| {
        let dogs = db.stale(&who.shop, today, most).await.unwrap();
        dogs.iter().map(|d| d.as_str().trim_start_matches('0').to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(stale("2026-06-10", 10).await, ["ruffo", "tansy", "sorrel"]);
    assert_eq!(stale("2026-06-10", 2).await.len(), 2);
    let reckoned = |name: &str, day: &str| Found { reckoned: day.into(), ..found(name, name, name) };
    let places = [reckoned("ruffo", "2026-06-10"), reckoned("sorrel", "2026-06-10"), reckoned("tansy", "2026-06-09")];
    db.place(&who.shop, &places).await.unwrap();
    assert_eq!(stale("2026-06-10", 10).await, ["tansy"]);
    assert_eq!(stale("2026-06-11", 10).await.len(), 3);

    // A dog that is gone leaves the list, and no reckoning that was under way brings it back.
    let gone = Write { gone: true, ..write(Kind::Dog, "tansy", 1, json!(1)) };
    db.write(&who, &[gone], &[reckoned("tansy", "2026-06-10")]).await.unwrap();
    db.place(&who.shop, &[reckoned("tansy", "2026-06-10"), reckoned("never-there", "2026-06-10")]).await.unwrap();
    assert_eq!(finds(db, &who.shop, &search(&[], Filter::All)).await, ["ruffo", "sorrel"]);
    let back = write(Kind::Dog, "tansy", 2, json!(1));
    db.write(&who, &[back], &[reckoned("tansy", "2026-06-10")]).await.unwrap();
    assert_eq!(finds(db, &who.shop, &search(&[], Filter::All)).await.len(), 3);

    // A write that fails leaves the list as it was.
    let late = write(Kind::Dog, "ruffo", 0, json!(1));
    let renamed = found("ruffo", "renamed", "renamed");
    assert!(db.write(&who, &[late], &[renamed]).await.is_err());
    assert!(finds(db, &who.shop, &search(&["renamed"], Filter::All)).await.is_empty());
}

pub async fn bytes_once(db: &Db) {
    let who = shop(db, "bytes").await;
    let (of, digest) = (id("ruffo"), "ab".repeat(32));
    assert_eq!(db.made(&who.shop, &of, "plan", "from-1").await.unwrap(), None);
    db.keep_made(&who.shop, &of, "plan", "from-1", b"{}").await.unwrap();
    db.keep_made(&who.shop, &of, "small", "from-1", &[0, 255, 10]).await.unwrap();
    assert_eq!(db.made(&who.shop, &of, "plan", "from-1").await.unwrap().as_deref(), Some(&b"{}"[..]));
    assert_eq!(db.made(&who.shop, &of, "plan", "from-2").await.unwrap(), None);
    db.keep_made(&who.shop, &of, "plan", "from-2", b"").await.unwrap();
    assert_eq!(db.made(&who.shop, &of, "plan", "from-1").await.unwrap(), None);
    assert_eq!(db.made(&who.shop, &of, "plan", "from-2").await.unwrap().as_deref(), Some(&b""[..]));
    assert_eq!(db.made(&who.shop, &of, "small", "from-1").await.unwrap().as_deref(), Some(&[0, 255, 10][..]));
    assert_eq!(db.made(&who.shop, &id("sorrel"), "small", "from-1").await.unwrap(), None);
    // All of one name, from the same, in order and no more than asked for.
    db.keep_made(&who.shop, &id("sorrel"), "small", "from-1", b"s").await.unwrap();
    db.keep_made(&who.shop, &id("tansy"), "small", "from-2", b"t").await.unwrap();
    let mut small = vec![(of.clone(), vec![0, 255, 10]), (id("sorrel"), b"s".to_vec())];
    small.sort();
    assert_eq!(db.all_made(&who.shop, "small", ("from-1", "from-1"), 10).await.unwrap(), small);
    assert_eq!(db.all_made(&who.shop, "small", ("from-1", "from-1"), 1).await.unwrap(), small[..1]);
    assert_eq!(db.count_made(&who.shop, "small", ("from-1", "from-1")).await.unwrap(), 2);
    assert_eq!(db.count_made(&who.shop, "small", ("from-1", "from-2")).await.unwrap(), 3);
    assert_eq!(db.all_made(&who.shop, "large", ("from-1", "from-1"), 10).await.unwrap(), []);

    let picture: Vec<u8> = (0..3_000_000_u32).map(|n| (n % 251) as u8).collect();
    assert_eq!(db.bytes(&who.shop, &digest).await.unwrap(), None);
    db.keep_bytes(&who.shop, &digest, &picture).await.unwrap();
    db.keep_bytes(&who.shop, &digest, b"something else under the same digest").await.unwrap();
    assert!(db.bytes(&who.shop, &digest).await.unwrap().as_ref() == Some(&picture));
}

pub async fn pooled_shops(db: &Db) {
    let shops =
        [shop(db, "pool-a").await, shop(db, "pool-b").await, shop(db, "pool-c").await, shop(db, "pool-d").await];
    let house = |who: &Who, seen: i64, body: Value| write(Kind::House, who.shop.as_str(), seen, body);
    let set = async |who: &Who, seen: i64, body: Value| db.write(who, &[house(who, seen, body)], &[]).await.unwrap();
    let given =
        async |who: &Who| db.pooled_made(&who.shop, "part", ("wire 1 ", "wire 1 2026-06-10"), 10).await.unwrap();
    for (i, who) in shops.iter().enumerate() {
        for (dog, day) in [("ruffo", "2026-06-01"), ("sorrel", "2026-06-10"), ("tansy", "2026-06-11")] {
            let bytes = format!("{i} {day}");
            db.keep_made(&who.shop, &id(dog), "part", &format!("wire 1 {day}"), bytes.as_bytes()).await.unwrap();
        }
        db.keep_made(&who.shop, &id("wall"), "part", "pin wire 1 2026-06-01", b"another type").await.unwrap();
        db.keep_made(&who.shop, &id("ruffo"), "plan", "wire 1 2026-06-01", b"another name").await.unwrap();
    }
    // Nobody said anything: nothing is given.
    assert!(given(&shops[0]).await.is_empty());
    // One alone has nobody to learn from, and gives to nobody who is not in it.
    set(&shops[0], 0, json!({"name": "A", "pooled": true})).await;
    set(&shops[1], 0, json!({"name": "B", "pooled": false})).await;
    // What is written in a name switches nothing on.
    set(&shops[2], 0, json!({"name": "\"pooled\":true", "place": "pooled\":true"})).await;
    for who in &shops {
        assert!(given(who).await.is_empty(), "{who:?}");
    }
    // Two give each other what they know by the day, and nothing that names a shop, a dog or a day.
    set(&shops[1], 1, json!({"name": "B", "pooled": true})).await;
    let of = |i: usize| vec![format!("{i} 2026-06-01").into_bytes(), format!("{i} 2026-06-10").into_bytes()];
    assert_eq!(given(&shops[0]).await, [of(1)]);
    assert_eq!(given(&shops[1]).await, [of(0)]);
    assert!(given(&shops[2]).await.is_empty() && given(&shops[3]).await.is_empty());
    // As evenly as there are.
    set(&shops[3], 0, json!({"name": "D", "pooled": true})).await;
    let few = db.pooled_made(&shops[0].shop, "part", ("wire 1 ", "wire 1 2026-06-10"), 3).await.unwrap();
    assert_eq!(few.iter().map(Vec::len).sum::<usize>(), 3);
    assert_eq!(few.len(), 2);
    // Switched off, nothing is given either way.
    set(&shops[1], 2, json!({"name": "B", "pooled": false})).await;
    set(&shops[3], 1, json!({"name": "D"})).await;
    for who in &shops {
        assert!(given(who).await.is_empty(), "{who:?}");
    }
}
