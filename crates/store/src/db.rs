//! The two databases behind one type, and the few macros with which every statement is written once.

use crate::fault::{Fault, broken};
use crate::place::Place;
use crate::schema::{self, Upgrade};
use crate::sql;
use crate::tls;
use app::shop::{ShopId, StoreError};
use sqlx::postgres::PgPoolOptions;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{PgPool, Postgres, Sqlite, SqlitePool, Transaction};
use std::path::Path;
use std::time::Duration;

/// How long a connection, or the one writer of a file, is waited for.
const PATIENCE: Duration = Duration::from_secs(15);
/// Connections that read a file at once.
const READERS: u32 = 4;
/// Connections to PostgreSQL.
const CONNECTIONS: u32 = 8;

/// A store that is open.
#[derive(Debug)]
pub struct Db {
    pub(crate) pools: Pools,
    place: Place,
    upgraded: Option<Upgrade>,
}

#[derive(Debug)]
pub(crate) enum Pools {
    /// A file has many readers and one writer: who wants to write queues here and not at the file's lock.
    Sqlite {
        read: SqlitePool,
        write: SqlitePool,
    },
    Postgres(PgPool),
}

/// A transaction that writes.
pub(crate) enum Tx {
    Sqlite(Transaction<'static, Sqlite>),
    Postgres(Transaction<'static, Postgres>),
}

/// Runs the same expression on either database, where it reads.
macro_rules! reading {
    ($db:expr, |$e:ident| $body:expr) => {
        match &$db.pools {
            $crate::db::Pools::Sqlite { read: $e, .. } => $body,
            $crate::db::Pools::Postgres($e) => $body,
        }
    };
}

/// The same where it writes, one statement that stands for itself.
macro_rules! writing {
    ($db:expr, |$e:ident| $body:expr) => {
        match &$db.pools {
            $crate::db::Pools::Sqlite { write: $e, .. } => $body,
            $crate::db::Pools::Postgres($e) => $body,
        }
    };
}

/// The same in a transaction.
macro_rules! within {
    ($tx:expr, |$e:ident| $body:expr) => {
        match $tx {
            $crate::db::Tx::Sqlite(t) => {
                let $e = &mut **t;
                $body
            }
            $crate::db::Tx::Postgres(t) => {
                let $e = &mut **t;
                $body
            }
        }
    };
}

pub(crate) use {reading, within, writing};

impl Db {
    /// Opens a store, makes it when it is new, and brings an older schema forward.
    ///
    /// # Errors
    /// [`StoreError::Newer`] when a newer build wrote it, [`StoreError::Unusable`] when its address or its TLS will
    /// not do, [`StoreError::Broken`] when it cannot be reached or is something else.
    pub async fn open(place: Place) -> Result<Db, StoreError> {
        let opened = match &place {
            Place::File(path) => open_file(path).await,
            Place::Postgres(server) => {
                if let Some(root) = &server.root {
                    tls::look_into(root)?;
                }
                open_postgres(server.options.clone()).await
            }
        };
        if let Err(Fault::Sql(why)) = &opened
            && let Some(told) = tls::told(why, &place)
        {
            return Err(told);
        }
        let cannot = |why: StoreError| match why {
            StoreError::Broken(why) => StoreError::Broken(format!("cannot open `{place}`: {why}")),
            other => other,
        };
        let pools = opened.map_err(|fault| cannot(fault.into()))?;
        let mut db = Db { pools, place: place.clone(), upgraded: None };
        match schema::bring_forward(&db, schema::STEPS).await {
            Ok(upgraded) => {
                db.upgraded = upgraded;
                Ok(db)
            }
            Err(fault) => {
                db.close().await;
                Err(cannot(fault.into()))
            }
        }
    }

    /// Where it is; shown without a password.
    pub fn kept_at(&self) -> &Place {
        &self.place
    }

    /// What opening it brought forward; none when its schema was this build's already, or it was new.
    pub fn upgraded(&self) -> Option<&Upgrade> {
        self.upgraded.as_ref()
    }

    /// Lets what is running end, and closes the file or the connections.
    pub async fn close(&self) {
        match &self.pools {
            Pools::Sqlite { read, write } => {
                read.close().await;
                write.close().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }

    /// Begins a transaction that writes.
    pub(crate) async fn begin(&self) -> Result<Tx, Fault> {
        Ok(match &self.pools {
            // Takes the file's lock at once. A transaction that read first could lose it to another program.
            Pools::Sqlite { write, .. } => Tx::Sqlite(write.begin_with("BEGIN IMMEDIATE").await?),
            Pools::Postgres(pool) => Tx::Postgres(pool.begin().await?),
        })
    }

    /// Begins a transaction that writes a shop's records.
    pub(crate) async fn begin_in(&self, shop: &ShopId) -> Result<Tx, Fault> {
        let mut tx = self.begin().await?;
        if let Tx::Postgres(t) = &mut tx {
            sqlx::query(sql::QUEUE).bind(shop.as_str()).execute(&mut **t).await?;
        }
        Ok(tx)
    }
}

impl Tx {
    /// Keeps what was written; when this answers `Ok`, it is on the disk.
    pub(crate) async fn commit(self) -> Result<(), Fault> {
        match self {
            Tx::Sqlite(t) => t.commit().await?,
            Tx::Postgres(t) => t.commit().await?,
        }
        Ok(())
    }
}

async fn open_file(path: &Path) -> Result<Pools, Fault> {
    make_file(path).map_err(|e| broken(e.to_string()))?;
    schema::refuse_other_file(path).await?;
    let options = SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(false)
        .foreign_keys(true)
        .journal_mode(SqliteJournalMode::Wal)
        // With a write-ahead log anything less loses the last writes when the power goes.
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(PATIENCE)
        .pragma("cache_size", "-8000")
        .pragma("temp_store", "memory")
        .pragma("journal_size_limit", "67108864");
    let write = SqlitePoolOptions::new()
        .max_connections(1)
        .acquire_timeout(PATIENCE)
        .connect_with(options.clone().optimize_on_close(true, None))
        .await?;
    let read = SqlitePoolOptions::new()
        .max_connections(READERS)
        .acquire_timeout(PATIENCE)
        .connect_with(options.pragma("query_only", "on"))
        .await?;
    Ok(Pools::Sqlite { read, write })
}

/// Makes the file, and the folders above it, for the owner alone. SQLite gives its other files the same rights.
fn make_file(path: &Path) -> std::io::Result<()> {
    if path.exists() {
        return Ok(());
    }
    if let Some(folder) = path.parent() {
        let mut builder = std::fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(folder)?;
    }
    new_file(path)
}

/// Makes an empty file that only its owner can read.
pub(crate) fn new_file(path: &Path) -> std::io::Result<()> {
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Err(e) if e.kind() != std::io::ErrorKind::AlreadyExists => Err(e),
        _ => Ok(()),
    }
}

async fn open_postgres(options: sqlx::postgres::PgConnectOptions) -> Result<Pools, Fault> {
    let pool = PgPoolOptions::new()
        .max_connections(CONNECTIONS)
        .acquire_timeout(PATIENCE)
        .after_connect(|connection, _| {
            Box::pin(async move {
                // A server may be set to answer before a write is on the disk. What the shop was told is kept, is kept.
                sqlx::query(
                    "SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'",
                )
                .execute(&mut *connection)
                .await?;
                sqlx::query("SET lock_timeout = '15s'").execute(&mut *connection).await?;
                Ok(())
            })
        })
        .connect_with(options)
        .await?;
    let encoding: String = sqlx::query_scalar("SHOW server_encoding").fetch_one(&pool).await?;
    if encoding != "UTF8" {
        return Err(broken(format!("the database's encoding is `{encoding}`, it should be `UTF8`")));
    }
    Ok(Pools::Postgres(pool))
}
