//! The shop's store: SQLite in one file, or PostgreSQL. All SQL is here; nothing is decided here.
//!
//! [`open`] takes the path of a file or a `postgres://` address and gives a [`Db`], which is an
//! [`app::shop::Store`]. A write that was answered with `Ok` is on the disk.
//!
//! # Example
//! ```
//! # tokio::runtime::Runtime::new().expect("a runtime").block_on(async {
//! use app::shop::Store;
//! let folder = tempfile::tempdir().expect("a folder");
//! let path = folder.path().join("shop.db");
//! let db = store::open(path.to_str().expect("plain text")).await?;
//! assert!(db.shops().await?.is_empty());
//! db.close().await;
//! # Ok::<(), app::shop::StoreError>(()) }).expect("a new store");
//! ```

mod coats;
mod db;
mod fault;
mod keep;
mod people;
mod place;
mod port;
mod read;
mod schema;
mod sql;
mod tls;

pub use db::Db;
pub use place::Place;
pub use schema::{KNOWN, Upgrade};

use app::shop::StoreError;

/// Opens a store by the path of a file, `sqlite:PATH` or `postgres://…`, makes it when it is new, and brings an
/// older schema forward.
///
/// # Errors
/// [`StoreError::Newer`] when a newer build wrote it, [`StoreError::Unusable`] when its address or its TLS will not
/// do, [`StoreError::Broken`] when it cannot be reached or is something else. No text of an error holds a password.
pub async fn open(store: &str) -> Result<Db, StoreError> {
    Db::open(Place::parse(store)?).await
}
