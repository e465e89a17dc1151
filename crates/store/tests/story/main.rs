//! One story on both stores: whatever holds on SQLite holds on PostgreSQL.
//!
//! PostgreSQL is a server of the test's own; where its programs are missing, the tests fail and say what to install.

#![expect(clippy::unwrap_used, reason = "a chapter that cannot go on falls where it stands")]

mod coats;
mod kill;
mod kit;
mod people;
mod records;
mod schemas;
mod tls;
mod together;

use testkit::postgres::{OwnPostgres, PASSWORD};

/// The whole story. Every chapter has a shop of its own.
async fn story(address: &str) {
    let db = store::open(address).await.expect("a new store opens");
    assert_eq!(db.upgraded(), None, "a new store has nothing to bring forward");
    records::revisions_are_kept(&db).await;
    records::the_second_is_told(&db).await;
    records::all_or_nothing(&db).await;
    records::entries_are_kept_once(&db).await;
    records::what_belongs_and_when(&db).await;
    records::odd_texts_come_back(&db).await;
    coats::dogs_are_found(&db).await;
    coats::pages_follow(&db).await;
    coats::filters(&db).await;
    coats::places_are_kept_fresh(&db).await;
    coats::bytes_once(&db).await;
    coats::pooled_shops(&db).await;
    people::credentials(&db).await;
    people::sessions(&db).await;
    people::founding_is_all_or_nothing(&db).await;
    people::another_shop_sees_nothing(&db).await;
    together::writers_at_once(&db).await;
    together::two_programs(address).await;
    let shops = app::shop::Store::shops(&db).await.expect("shops");
    db.close().await;
    let again = store::open(address).await.expect("it opens again");
    assert_eq!(app::shop::Store::shops(&again).await.expect("shops"), shops);
    again.close().await;
}

#[test]
fn the_story_on_sqlite() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("new folder").join("shop.db");
    kit::run(story(path.to_str().expect("plain text")));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |p: &std::path::Path| std::fs::metadata(p).expect("it is there").permissions().mode() & 0o777;
        assert_eq!(mode(&path), 0o600);
        assert_eq!(mode(path.parent().expect("a folder")), 0o700);
    }
}

#[test]
fn the_story_on_postgres() {
    let server = OwnPostgres::start();
    let address = server.database("story");
    kit::run(async {
        story(&address).await;
        together::a_server_that_crashed(&address, &server).await;
        for wrong in [
            server.address("story", &format!("{PASSWORD}-wrong")),
            server.address("nowhere", PASSWORD),
            address.replace("groomer:", "nobody:"),
            address.replace("host=", "host=/nowhere"),
        ] {
            let told = store::open(&wrong).await.expect_err("it cannot be opened");
            let told = format!("{told} {told:?}");
            assert!(!told.contains("terrier"), "{told}");
        }
        let db = store::open(&address).await.expect("it opens");
        assert!(!format!("{db:?}").contains("terrier"), "{db:?}");
    });
}
