//! Every schema that ever landed opens, with what was in it. `fixtures/schema-N.sql` is a store of schema N as it
//! was: such a file never changes. A new step of the schema brings a new file. What a schema has in a file only stands in
//! `fixtures/schema-N-file.sql`.

use crate::kit;
use app::shop::{Filter, Found, Kind, RecordId, Search, ShopId, Store};
use serde_json::json;
use sqlx::{AssertSqlSafe, PgPool, SqlitePool};
use testkit::postgres::OwnPostgres;

const FIXTURES: &[&str] = &[
    include_str!("fixtures/schema-1.sql"),
    include_str!("fixtures/schema-2.sql"),
    include_str!("fixtures/schema-3.sql"),
    include_str!("fixtures/schema-4.sql"),
];

/// By schema, what it has in a file only.
const IN_A_FILE: [(usize, &str); 1] = [(4, include_str!("fixtures/schema-4-file.sql"))];

/// What PostgreSQL has before the first step.
const TYPES: &str = "CREATE DOMAIN plain_text AS text COLLATE \"C\"; CREATE DOMAIN blob AS bytea;";

#[test]
fn every_landed_schema_opens() {
    assert_eq!(FIXTURES.len() as i64, store::KNOWN, "every schema has its fixture");
    let folder = tempfile::tempdir().expect("a folder");
    let server = OwnPostgres::start();
    kit::run(async {
        let path = |name: &str| folder.path().join(format!("{name}.db")).to_str().expect("plain text").to_owned();
        let (new_file, new_database) = (path("new"), server.database("new"));
        for address in [&new_file, &new_database] {
            store::open(address).await.expect("a new store opens").close().await;
        }
        for (n, fixture) in FIXTURES.iter().enumerate() {
            let schema = n as i64 + 1;
            let file = path(&format!("schema-{schema}"));
            let pool = SqlitePool::connect(&format!("sqlite://{file}?mode=rwc")).await.expect("a new file");
            sqlx::raw_sql(AssertSqlSafe(*fixture)).execute(&pool).await.expect("the fixture");
            for (_, sql) in IN_A_FILE.iter().filter(|(of, _)| *of == n + 1) {
                sqlx::raw_sql(AssertSqlSafe(*sql)).execute(&pool).await.expect("what a file has");
            }
            pool.close().await;
            opens(&file, schema, &folder).await;
            assert_eq!(shape_of_file(&file).await, shape_of_file(&new_file).await, "schema {schema}");

            let database = server.database(&format!("schema_{schema}"));
            let pool = PgPool::connect(&database).await.expect("a new database");
            sqlx::raw_sql(TYPES).execute(&pool).await.expect("types");
            sqlx::raw_sql(AssertSqlSafe(*fixture)).execute(&pool).await.expect("the fixture");
            pool.close().await;
            opens(&database, schema, &folder).await;
            assert_eq!(shape_of_database(&database).await, shape_of_database(&new_database).await, "schema {schema}");
        }
    });
}

#[test]
fn a_newer_schema_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("shop.db");
    let server = OwnPostgres::start();
    kit::run(async {
        let (file, database) = (path.to_str().expect("plain text").to_owned(), server.database("newer"));
        for address in [&file, &database] {
            store::open(address).await.expect("a new store opens").close().await;
        }
        const NEWER: &str = "INSERT INTO schema_step (number) VALUES (99)";
        let pool = SqlitePool::connect(&format!("sqlite://{file}")).await.expect("the file");
        sqlx::raw_sql(NEWER).execute(&pool).await.expect("a newer schema");
        pool.close().await;
        let pool = PgPool::connect(&database).await.expect("the database");
        sqlx::raw_sql(NEWER).execute(&pool).await.expect("a newer schema");
        pool.close().await;
        for address in [&file, &database] {
            let told = store::open(address).await.expect_err("it is refused").to_string();
            let wanted = format!("`: its schema is `99`, this build reads up to `{}`", store::KNOWN);
            assert!(told.starts_with("cannot open `") && told.ends_with(&wanted), "{told}");
            assert!(!told.contains("terrier"), "{told}");
        }
    });
}

/// Whatever its schema was, this is in it.
async fn opens(address: &str, schema: i64, folder: &tempfile::TempDir) {
    let db = store::open(address).await.expect("it opens");
    let upgrade = db.upgraded();
    assert_eq!(upgrade.map(|u| (u.from, u.to)), (schema < store::KNOWN).then_some((schema, store::KNOWN)));
    if let Some(copy) = upgrade.and_then(|u| u.copy.as_ref()) {
        assert!(copy.starts_with(folder.path()) && copy.is_file());
    }
    let shop = ShopId::new("shop-of-old").expect("an id");
    let id = |text: &str| RecordId::new(text).expect("an id");
    assert_eq!(db.shops().await.expect("shops"), std::slice::from_ref(&shop));
    let dog = db.read(&shop, Kind::Dog, &id("dog-ruffo")).await.expect("a dog").expect("it is there");
    assert_eq!((dog.revision, dog.at_ms, dog.by.as_str()), (2, 1_780_000_001_000, "person-ash"));
    assert_eq!(dog.body, json!({"name": "Ruffo", "mass_kg": 8.5}));
    assert_eq!(dog.of, Some(id("owner-ash")));
    let before = db.revisions(&shop, Kind::Dog, &dog.id).await.expect("revisions");
    assert_eq!(before[0].body, json!({"name": "Rufo", "mass_kg": 8.5}));
    let visits = db.between(&shop, Kind::Visit, "2026-06-10", "2026-06-10").await.expect("visits");
    assert_eq!(visits.len(), 1);
    let taps = db.of(&shop, Kind::Entry, &visits[0].id).await.expect("entries");
    assert_eq!(taps.iter().map(|t| t.id.as_str()).collect::<Vec<_>>(), ["tap-00002", "tap-00001"]);
    let asked = Search {
        words: vec!["ruf".into()],
        filter: Filter::ReadyThisWeek,
        today: "2026-06-10".into(),
        in_a_week: "2026-06-17".into(),
        after: None,
        most: 10,
    };
    let found: Vec<Found> = db.find(&shop, &asked).await.expect("a search");
    assert_eq!((found.len(), found[0].work_min, found[0].hard), (1, Some(45.5), true));
    let made = db.made(&shop, &dog.id, "plan", "digest").await.expect("a plan");
    assert_eq!(made.as_deref(), Some(&b"a plan"[..]));
    assert_eq!(db.bytes(&shop, "abcd").await.expect("bytes").as_deref(), Some(&b"a picture"[..]));
    let credential = db.credential("ash").await.expect("a credential").expect("it is there");
    assert_eq!((credential.person.as_str(), credential.open), ("person-ash", true));
    assert_eq!(db.session("0123").await.expect("a session").expect("it is there").used_ms, 1_780_000_002_000);
    db.close().await;
}

async fn shape_of_file(path: &str) -> Vec<String> {
    let pool = SqlitePool::connect(&format!("sqlite://{path}")).await.expect("the file");
    let shape: Vec<String> =
        sqlx::query_scalar("SELECT name || ': ' || COALESCE(sql, '') FROM sqlite_master ORDER BY name")
            .fetch_all(&pool)
            .await
            .expect("its shape");
    pool.close().await;
    // Comments and white space are not part of it.
    let plain = |sql: &String| {
        let lines = sql.lines().map(|line| line.split("--").next().unwrap_or_default());
        lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
    };
    shape.iter().map(plain).filter(|s| !s.starts_with("sqlite_stat")).collect()
}

async fn shape_of_database(address: &str) -> Vec<String> {
    let pool = PgPool::connect(address).await.expect("the database");
    let shape = sqlx::query_scalar(
        "SELECT table_name || '.' || column_name || ' ' || COALESCE(domain_name, data_type) || ' ' || is_nullable \
         FROM information_schema.columns WHERE table_schema = 'public' \
         UNION ALL SELECT indexdef FROM pg_indexes WHERE schemaname = 'public' \
         UNION ALL SELECT conrelid::regclass || ' ' || pg_get_constraintdef(oid) FROM pg_constraint \
         WHERE connamespace = 'public'::regnamespace ORDER BY 1",
    )
    .fetch_all(&pool)
    .await
    .expect("its shape");
    pool.close().await;
    shape
}
