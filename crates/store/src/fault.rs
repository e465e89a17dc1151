//! What can go wrong in a database, and how it is told. No value and no password gets into a text.

use app::shop::StoreError;

/// A fault inside this crate.
#[derive(Debug)]
pub(crate) enum Fault {
    /// The database said so.
    Sql(sqlx::Error),
    /// Already in the port's words.
    Store(StoreError),
}

impl From<sqlx::Error> for Fault {
    fn from(e: sqlx::Error) -> Self {
        Fault::Sql(e)
    }
}

impl From<StoreError> for Fault {
    fn from(e: StoreError) -> Self {
        Fault::Store(e)
    }
}

/// A fault that a text describes.
pub(crate) fn broken(text: impl Into<String>) -> Fault {
    Fault::Store(StoreError::Broken(text.into()))
}

impl Fault {
    /// Two transactions wanted the same rows in another order, and this one was undone: it can be done again.
    pub(crate) fn can_be_tried_again(&self) -> bool {
        let Fault::Sql(sqlx::Error::Database(e)) = self else { return false };
        matches!(e.code().as_deref(), Some("40001" | "40P01"))
    }

    /// A value that should be the only one is there already.
    pub(crate) fn is_taken(&self) -> bool {
        matches!(self, Fault::Sql(sqlx::Error::Database(e)) if e.is_unique_violation())
    }
}

impl From<Fault> for StoreError {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Store(e) => e,
            Fault::Sql(e) => StoreError::Broken(told(&e)),
        }
    }
}

fn told(e: &sqlx::Error) -> String {
    match e {
        // The message alone: details of PostgreSQL repeat the values.
        sqlx::Error::Database(e) => match e.code() {
            Some(code) => format!("{} (`{code}`)", e.message()),
            None => e.message().to_owned(),
        },
        sqlx::Error::PoolTimedOut => "no connection became free in time".into(),
        other => other.to_string(),
    }
}
