//! The schema, and how a store is brought forward from every schema that ever landed.
//!
//! Steps are files of `migrations/`, numbered from 1. All that are missing are done in one transaction, so that a
//! store has either schema and never half of one. A copy of a file is kept before.

use crate::db::{Db, Pools, Tx, new_file, reading, within};
use crate::fault::{Fault, broken};
use app::shop::StoreError;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection};
use std::path::{Path, PathBuf};

/// A step of the schema.
#[derive(Clone, Copy)]
pub(crate) enum Step {
    /// One text for both databases.
    Both(&'static str),
    /// What only a file needs; PostgreSQL counts the step and does nothing.
    File(&'static str),
}

/// Every step, in order.
pub(crate) const STEPS: &[Step] = &[
    Step::Both(include_str!("../migrations/0001_shop.sql")),
    Step::Both(include_str!("../migrations/0002_made_by_name.sql")),
    Step::Both(include_str!("../migrations/0003_writes.sql")),
    Step::File(include_str!("../migrations/0004_search_in_a_file.sql")),
];

/// The newest schema that this build knows.
pub const KNOWN: i64 = STEPS.len() as i64;

/// What PostgreSQL needs before the first step, so that the steps have one text.
const POSTGRES_TYPES: &str = "CREATE DOMAIN plain_text AS text COLLATE \"C\"; CREATE DOMAIN blob AS bytea;";

/// Which steps a store has gone.
const STEP_TABLE: &str = "CREATE TABLE schema_step (number BIGINT PRIMARY KEY)";

const STEP_TABLE_IN_FILE: &str = "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = 'schema_step'";

/// A store that was brought forward.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Upgrade {
    /// Its schema before.
    pub from: i64,
    /// Its schema now.
    pub to: i64,
    /// The copy of the file as it was; none on PostgreSQL, whose own tools make one.
    pub copy: Option<PathBuf>,
}

/// Brings a store forward; none when there was nothing to do or it was new.
pub(crate) async fn bring_forward(db: &Db, steps: &[Step]) -> Result<Option<Upgrade>, Fault> {
    let known = steps.len() as i64;
    let found = found(db).await?;
    refuse_newer(db, found, known)?;
    if found == known {
        return Ok(None);
    }
    let copy = match (&db.pools, db.kept_at()) {
        (Pools::Sqlite { .. }, crate::Place::File(path)) if found > 0 => Some(keep_copy(db, path, found).await?),
        _ => None,
    };
    let mut tx = db.begin().await?;
    // Another program may be at the same: one goes on, the other finds it done.
    let from = lock_and_find(&mut tx).await?;
    refuse_newer(db, from, known)?;
    let missing = steps.iter().enumerate().skip(usize::try_from(from).unwrap_or(usize::MAX));
    for (n, step) in missing {
        match (step, &mut tx) {
            (Step::Both(sql), tx) => within!(tx, |e| sqlx::raw_sql(*sql).execute(e).await.map(|_| ()))?,
            (Step::File(sql), Tx::Sqlite(t)) => sqlx::raw_sql(*sql).execute(&mut **t).await.map(|_| ())?,
            (Step::File(_), Tx::Postgres(_)) => {}
        }
        let number = n as i64 + 1;
        within!(&mut tx, |e| sqlx::query("INSERT INTO schema_step (number) VALUES ($1)")
            .bind(number)
            .execute(e)
            .await
            .map(|_| ()))?;
    }
    tx.commit().await?;
    Ok((found > 0).then_some(Upgrade { from: found, to: known, copy }))
}

/// Refuses a file of something else, before anything in it is touched.
pub(crate) async fn refuse_other_file(path: &Path) -> Result<(), Fault> {
    let mut file = SqliteConnectOptions::new().filename(path).create_if_missing(false).connect().await?;
    let tables: i64 = sqlx::query_scalar("SELECT COUNT(*) FROM sqlite_master").fetch_one(&mut file).await?;
    let ours: i64 = sqlx::query_scalar(STEP_TABLE_IN_FILE).fetch_one(&mut file).await?;
    file.close().await?;
    if tables > 0 && ours == 0 {
        return Err(broken("it is an SQLite file of something else, not a shop's store"));
    }
    Ok(())
}

fn refuse_newer(db: &Db, found: i64, known: i64) -> Result<(), Fault> {
    if found <= known {
        return Ok(());
    }
    Err(StoreError::Newer { store: db.kept_at().to_string(), found, known }.into())
}

/// The store's schema; 0 when it is new.
async fn found(db: &Db) -> Result<i64, Fault> {
    let tables: i64 = match &db.pools {
        Pools::Sqlite { read, .. } => sqlx::query_scalar(STEP_TABLE_IN_FILE).fetch_one(read).await?,
        Pools::Postgres(pool) => sqlx::query_scalar("SELECT COUNT(to_regclass('schema_step'))").fetch_one(pool).await?,
    };
    if tables == 0 {
        return Ok(0);
    }
    Ok(reading!(db, |e| sqlx::query_scalar("SELECT COALESCE(MAX(number), 0) FROM schema_step").fetch_one(e).await)?)
}

/// Sees to it that nobody else changes the schema until the transaction ends, and says where it stands.
async fn lock_and_find(tx: &mut Tx) -> Result<i64, Fault> {
    let is_there: i64 = match tx {
        Tx::Sqlite(t) => sqlx::query_scalar(STEP_TABLE_IN_FILE).fetch_one(&mut **t).await?,
        Tx::Postgres(t) => {
            sqlx::query("SELECT pg_advisory_xact_lock(7203418190447)").execute(&mut **t).await?;
            let is_there: i64 =
                sqlx::query_scalar("SELECT COUNT(to_regclass('schema_step'))").fetch_one(&mut **t).await?;
            if is_there == 0 {
                sqlx::raw_sql(POSTGRES_TYPES).execute(&mut **t).await?;
            }
            is_there
        }
    };
    if is_there == 0 {
        within!(tx, |e| sqlx::raw_sql(STEP_TABLE).execute(e).await.map(|_| ()))?;
        return Ok(0);
    }
    Ok(within!(tx, |e| sqlx::query_scalar("SELECT COALESCE(MAX(number), 0) FROM schema_step").fetch_one(e).await)?)
}

/// Keeps a copy of the file beside it, as it was before the upgrade.
async fn keep_copy(db: &Db, path: &Path, schema: i64) -> Result<PathBuf, Fault> {
    let Pools::Sqlite { write, .. } = &db.pools else { return Err(broken("a copy is kept of files only")) };
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let copy = (1..)
        .map(|n| {
            path.with_file_name(format!(
                "{name}.schema-{schema}{}",
                if n == 1 { String::new() } else { format!("-{n}") }
            ))
        })
        .find(|p| !p.exists())
        .ok_or_else(|| broken("no name is free for the copy"))?;
    let cannot = |e: String| broken(format!("a copy before the upgrade cannot be kept at `{}`: {e}", copy.display()));
    new_file(&copy).map_err(|e| cannot(e.to_string()))?;
    let done = sqlx::query("VACUUM INTO $1").bind(copy.to_string_lossy().into_owned()).execute(write).await;
    let done = done
        .map_err(|e| e.to_string())
        .and_then(|_| std::fs::File::open(&copy).and_then(|file| file.sync_all()).map_err(|e| e.to_string()));
    match done {
        Ok(()) => Ok(copy),
        Err(e) => {
            // Half a copy is none.
            let _ = std::fs::remove_file(&copy);
            Err(cannot(e))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Place;

    fn run(test: impl Future<Output = ()>) {
        tokio::runtime::Runtime::new().unwrap().block_on(test);
    }

    async fn shop(db: &Db) -> i64 {
        reading!(db, |e| sqlx::query_scalar("SELECT COUNT(*) FROM shop").fetch_one(e).await).unwrap()
    }

    #[test]
    fn a_file_is_copied_and_brought_forward() {
        run(async {
            let folder = tempfile::tempdir().unwrap();
            let place = Place::File(folder.path().join("shop.db"));
            let db = Db::open(place.clone()).await.unwrap();
            assert_eq!(db.upgraded(), None);
            crate::db::writing!(db, |e| sqlx::query("INSERT INTO shop (id, founded_ms) VALUES ('shop-0001', 1)")
                .execute(e)
                .await
                .map(|_| ()))
            .unwrap();
            let mut steps = STEPS.to_vec();
            steps.push(Step::Both("ALTER TABLE shop ADD COLUMN tried BIGINT; CREATE INDEX shop_tried ON shop (tried)"));
            let upgrade = bring_forward(&db, &steps).await.unwrap().unwrap();
            assert_eq!((upgrade.from, upgrade.to), (KNOWN, KNOWN + 1));
            assert_eq!(shop(&db).await, 1);
            let tried: Option<i64> =
                reading!(db, |e| sqlx::query_scalar("SELECT tried FROM shop").fetch_one(e).await).unwrap();
            assert_eq!(tried, None);
            let copy = upgrade.copy.unwrap();
            assert_eq!(copy.file_name().unwrap().to_string_lossy(), format!("shop.db.schema-{KNOWN}"));
            #[cfg(unix)]
            {
                use std::os::unix::fs::PermissionsExt;
                assert_eq!(std::fs::metadata(&copy).unwrap().permissions().mode() & 0o777, 0o600);
            }
            // This build refuses what a newer one wrote, and opens the copy made before.
            db.close().await;
            let refused = Db::open(place).await.unwrap_err();
            assert_eq!(
                refused.to_string(),
                format!(
                    "cannot open `{}`: its schema is `{}`, this build reads up to `{KNOWN}`",
                    folder.path().join("shop.db").display(),
                    KNOWN + 1
                )
            );
            let before = Db::open(Place::File(copy)).await.unwrap();
            assert_eq!(shop(&before).await, 1);
        });
    }

    #[test]
    fn a_step_that_fails_leaves_the_store_as_it_was() {
        run(async {
            let folder = tempfile::tempdir().unwrap();
            let place = Place::File(folder.path().join("shop.db"));
            let db = Db::open(place.clone()).await.unwrap();
            let mut steps = STEPS.to_vec();
            steps.push(Step::Both("ALTER TABLE shop ADD COLUMN tried BIGINT"));
            steps.push(Step::Both("ALTER TABLE nowhere ADD COLUMN tried BIGINT"));
            assert!(bring_forward(&db, &steps).await.is_err());
            assert_eq!(found(&db).await.unwrap(), KNOWN);
            let column =
                reading!(db, |e| sqlx::query_scalar::<_, i64>("SELECT tried FROM shop").fetch_optional(e).await);
            assert!(column.is_err(), "the first of the two steps was kept");
            db.close().await;
            assert!(Db::open(place).await.is_ok());
        });
    }

    #[test]
    fn a_file_of_something_else_is_left_alone() {
        run(async {
            let folder = tempfile::tempdir().unwrap();
            let text = folder.path().join("letter.txt");
            std::fs::write(&text, "A letter, and no store at all.\n".repeat(100)).unwrap();
            let refused = Db::open(Place::File(text.clone())).await.unwrap_err().to_string();
            assert!(refused.contains("letter.txt"), "{refused}");
            assert!(std::fs::read_to_string(&text).unwrap().starts_with("A letter"));

            let other = folder.path().join("other.db");
            let db = Db::open(Place::File(other.clone())).await.unwrap();
            crate::db::writing!(db, |e| sqlx::raw_sql("DROP TABLE schema_step").execute(e).await.map(|_| ())).unwrap();
            db.close().await;
            let refused = Db::open(Place::File(other)).await.unwrap_err().to_string();
            assert!(refused.contains("not a shop's store"), "{refused}");
            assert!(Db::open(Place::File(folder.path().to_owned())).await.is_err(), "a folder is no file");
        });
    }
}
