//! People: how they sign in, their sessions, and the walls between shops.

use crate::kit::{dog, entry, found, id, new_of, shop, write};
use app::shop::{Credential, Filter, Kind, PersonId, Search, Session, ShopId, Store, StoreError, Who};
use serde_json::json;
use store::Db;

fn person(name: &str) -> PersonId {
    PersonId::new(format!("person-{name:0>8}")).unwrap()
}

pub async fn credentials(db: &Db) {
    let who = shop(db, "sign-in").await;
    let credential = |name: &str, sign_in: &str| Credential {
        shop: who.shop.clone(),
        person: person(name),
        sign_in: sign_in.into(),
        hash: "$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA".into(),
        open: true,
    };
    let ash = credential("ash", "ash");
    assert_eq!(db.credential("ash").await.unwrap(), None);
    db.set_credential(&who, &ash).await.unwrap();
    assert_eq!(db.credential("ash").await.unwrap().as_ref(), Some(&ash));

    // The name is taken, in this shop and in any other; the person may change it.
    let taken = db.set_credential(&who, &credential("beech", "ash")).await;
    assert!(matches!(&taken, Err(StoreError::Taken(name)) if name == "ash"), "{taken:?}");
    let other = shop(db, "sign-in-other").await;
    let elsewhere = Credential { shop: other.shop.clone(), ..credential("cedar", "ash") };
    assert!(matches!(db.set_credential(&other, &elsewhere).await, Err(StoreError::Taken(_))));
    assert_eq!(db.credential("ash").await.unwrap().as_ref(), Some(&ash));
    let renamed = Credential { sign_in: "ash wood".into(), open: false, hash: "$other".into(), ..ash.clone() };
    db.set_credential(&who, &renamed).await.unwrap();
    assert_eq!(db.credential("ash").await.unwrap(), None);
    assert_eq!(db.credential("ash wood").await.unwrap(), Some(renamed.clone()));
    db.set_credential(&who, &credential("beech", "ash")).await.unwrap();

    // Nobody changes how somebody of another shop signs in.
    assert!(db.set_credential(&other, &Credential { hash: "$mine".into(), ..renamed.clone() }).await.is_err());
    assert_eq!(db.credential("ash wood").await.unwrap(), Some(renamed));
    for odd in ["", "ash\0", "' OR '1'='1", "%"] {
        assert_eq!(db.credential(odd).await.unwrap(), None, "{odd:?}");
    }
}

pub async fn sessions(db: &Db) {
    let who = shop(db, "sessions").await;
    let session = |token: &str, name: &str, began_ms: i64| Session {
        token_hash: format!("{token:f<64}"),
        shop: who.shop.clone(),
        person: person(name),
        began_ms,
        used_ms: began_ms,
    };
    let all = [
        session("a1", "s-ash", 1000),
        session("a2", "s-ash", 2000),
        session("a3", "s-ash", 3000),
        session("b1", "s-bo", 4000),
    ];
    for one in &all {
        db.begin_session(one).await.unwrap();
    }
    assert!(db.begin_session(&all[0]).await.is_err(), "a token is never given twice");
    assert_eq!(db.session(&all[0].token_hash).await.unwrap().as_ref(), Some(&all[0]));
    assert_eq!(db.session("unknown").await.unwrap(), None);

    db.touch_session(&all[0].token_hash, 9000).await.unwrap();
    db.touch_session(&all[0].token_hash, 8000).await.unwrap();
    db.touch_session("unknown", 9000).await.unwrap();
    let used = db.session(&all[0].token_hash).await.unwrap().unwrap();
    assert_eq!((used.began_ms, used.used_ms), (1000, 9000));

    let left = async || {
        let mut left = Vec::new();
        for one in &all {
            if db.session(&one.token_hash).await.unwrap().is_some() {
                left.push(one.token_hash[..2].to_owned());
            }
        }
        left
    };
    // All of a person's but the one in use; another's stay.
    db.end_sessions(Some(&person("s-ash")), Some(&all[2].token_hash), 0, 0).await.unwrap();
    assert_eq!(left().await, ["a3", "b1"]);
    db.begin_session(&all[0]).await.unwrap();
    db.touch_session(&all[0].token_hash, 9000).await.unwrap();
    // Begun too long ago, whoever's it is; then not used for too long.
    db.end_sessions(None, None, 3000, 0).await.unwrap();
    assert_eq!(left().await, ["a3", "b1"]);
    db.end_sessions(None, None, 0, 3001).await.unwrap();
    assert_eq!(left().await, ["b1"]);
    db.end_session(&all[3].token_hash).await.unwrap();
    db.end_session(&all[3].token_hash).await.unwrap();
    db.begin_session(&all[1]).await.unwrap();
    db.end_sessions(Some(&person("s-ash")), None, 0, 0).await.unwrap();
    assert!(left().await.is_empty());
}

pub async fn founding_is_all_or_nothing(db: &Db) {
    let who = shop(db, "founded").await;
    let before = db.shops().await.unwrap();
    assert_eq!(before.last(), Some(&who.shop), "oldest first");
    let again = Credential {
        shop: who.shop.clone(),
        person: person("again"),
        sign_in: "again".into(),
        hash: "$x".into(),
        open: true,
    };
    assert!(db.found_shop(&who, &[], &again).await.is_err(), "founded before");
    let new = Who { shop: ShopId::new("shop-never-founded").unwrap(), ..who.clone() };
    let house = write(Kind::House, "house", 0, json!({}));
    let taken = Credential { shop: new.shop.clone(), sign_in: "first of founded".into(), ..again.clone() };
    let told = db.found_shop(&new, std::slice::from_ref(&house), &taken).await;
    assert!(matches!(told, Err(StoreError::Taken(_))), "{told:?}");
    let mine = Credential { shop: who.shop.clone(), sign_in: "new name".into(), ..again };
    assert!(db.found_shop(&new, &[house], &mine).await.is_err(), "the first person is of the new shop");
    assert_eq!(db.shops().await.unwrap(), before);
    assert_eq!(db.credential("new name").await.unwrap(), None);
}

pub async fn another_shop_sees_nothing(db: &Db) {
    let (mine, theirs) = (shop(db, "wall-mine").await, shop(db, "wall-theirs").await);
    let digest = "cd".repeat(32);
    dog(db, &mine, found("wall-dog", "Wall", "wall")).await;
    db.write(
        &mine,
        &[
            new_of(Kind::Visit, "wall-visit", "wall-dog", "2026-06-10", json!(1)),
            entry("wall-tap", "wall-visit", json!({"do": "left"})),
        ],
        &[],
    )
    .await
    .unwrap();
    db.keep_made(&mine.shop, &id("wall-dog"), "plan", "from", b"mine").await.unwrap();
    db.keep_bytes(&mine.shop, &digest, b"mine").await.unwrap();

    let s = &theirs.shop;
    assert_eq!(db.read(s, Kind::Dog, &id("wall-dog")).await.unwrap(), None);
    assert!(db.revisions(s, Kind::Dog, &id("wall-dog")).await.unwrap().is_empty());
    assert!(db.of(s, Kind::Visit, &id("wall-dog")).await.unwrap().is_empty());
    assert!(db.between(s, Kind::Visit, "", "9999").await.unwrap().is_empty());
    assert!(db.all(s, Kind::Dog, None, 10).await.unwrap().is_empty());
    let all = Search {
        words: Vec::new(),
        filter: Filter::All,
        today: String::new(),
        in_a_week: String::new(),
        after: None,
        most: 10,
    };
    assert!(db.find(s, &all).await.unwrap().is_empty());
    assert_eq!(db.count(s, &all).await.unwrap(), 0);
    assert!(db.found(s, &[id("wall-dog")]).await.unwrap().is_empty());
    assert!(db.stale(s, "2026-06-10", 10).await.unwrap().is_empty());
    assert_eq!(db.made(s, &id("wall-dog"), "plan", "from").await.unwrap(), None);
    assert!(db.all_made(s, "plan", ("from", "from"), 10).await.unwrap().is_empty());
    assert_eq!(db.bytes(s, &digest).await.unwrap(), None);

    // Writing with another's ids changes nothing of theirs: it is refused, or is a record of its own.
    assert!(db.write(&theirs, &[write(Kind::Dog, "wall-dog", 1, json!("theirs"))], &[]).await.is_err());
    db.place(s, &[found("wall-dog", "Theirs", "theirs")]).await.unwrap();
    db.write(&theirs, &[entry("wall-tap", "wall-visit", json!("theirs"))], &[]).await.unwrap();
    db.write(&theirs, &[write(Kind::Dog, "wall-dog", 0, json!("theirs"))], &[]).await.unwrap();
    db.keep_made(s, &id("wall-dog"), "plan", "from", b"theirs").await.unwrap();
    db.keep_bytes(s, &digest, b"theirs").await.unwrap();
    assert_eq!(db.read(&mine.shop, Kind::Dog, &id("wall-dog")).await.unwrap().unwrap().body, json!({"name": "Wall"}));
    assert_eq!(db.of(&mine.shop, Kind::Entry, &id("wall-visit")).await.unwrap()[0].body, json!({"do": "left"}));
    assert_eq!(db.of(&mine.shop, Kind::Entry, &id("wall-visit")).await.unwrap().len(), 1);
    assert_eq!(db.found(&mine.shop, &[id("wall-dog")]).await.unwrap()[0].name, "Wall");
    assert_eq!(db.made(&mine.shop, &id("wall-dog"), "plan", "from").await.unwrap().as_deref(), Some(&b"mine"[..]));
    assert_eq!(db.bytes(&mine.shop, &digest).await.unwrap().as_deref(), Some(&b"mine"[..]));
}
