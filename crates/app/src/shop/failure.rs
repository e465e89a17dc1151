//! What the use cases give back: what was saved, what was wrong with it, what failed.

use super::ids::RecordId;
use super::port::{Kind, Record, StoreError};
use super::records::Body;
use serde_json::Value;

/// Something wrong, or odd, with one field of what was handed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// The field: `born`, `zones.back.target_mm`, `history.2.zones.0.longest_mm`; empty for the whole.
    pub field: String,
    /// What is wrong, lower case, without a final stop.
    pub message: String,
    /// What to do, in whole sentences.
    pub hint: String,
}

impl Said {
    /// A fault or warning of a field.
    pub fn new(field: impl Into<String>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Said { field: field.into(), message: message.into(), hint: hint.into() }
    }
}

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The record.
    pub id: RecordId,
    /// Its revision now.
    pub revision: i64,
    /// What looks wrong and was saved all the same.
    pub warnings: Vec<Said>,
}

/// A record as it stands, with its body read.
#[derive(Clone, Debug, PartialEq)]
pub struct Held<T> {
    /// Its id.
    pub id: RecordId,
    /// What it belongs to.
    pub of: Option<RecordId>,
    /// The revision, to be handed back with a change.
    pub revision: i64,
    /// What it says.
    pub body: T,
    /// Who wrote this revision.
    pub by: super::ids::PersonId,
    /// When, ms since 1970-01-01 00:00 UTC.
    pub at_ms: i64,
}

impl<T: Body> Held<T> {
    /// Reads the body of a record.
    ///
    /// # Errors
    /// [`ShopFailure::Store`] when the store holds something else than such a body.
    pub fn of(record: Record) -> Result<Self, ShopFailure> {
        let unreadable = |e: serde_json::Error| {
            let what = format!("{} `{}`, revision {}", record.kind.word(), record.id, record.revision);
            ShopFailure::Store(StoreError::Broken(format!("cannot read {what}: {e}")))
        };
        let body = serde_json::from_value(record.body.clone()).map_err(unreadable)?;
        Ok(Held { id: record.id, of: record.of, revision: record.revision, body, by: record.by, at_ms: record.at_ms })
    }
}

/// Why a use case did not do it. Nothing was kept.
#[derive(Debug, thiserror::Error)]
pub enum ShopFailure {
    /// There is no such record in this shop, or it was taken away.
    #[error("there is no {} `{id}` here", .kind.word())]
    NotFound {
        /// What was asked for.
        kind: Kind,
        /// Its id.
        id: RecordId,
    },
    /// Somebody else changed it first; both are shown.
    #[error("the {} was changed meanwhile", .stands.kind.word())]
    Conflict {
        /// What stands now.
        stands: Box<Record>,
        /// What was to be written.
        yours: Box<Value>,
    },
    /// What was handed in cannot be; every fault with its field.
    #[error("{}", .0.iter().map(|s| s.message.as_str()).collect::<Vec<_>>().join("; "))]
    Refused(Vec<Said>),
    /// The store did not do it.
    #[error(transparent)]
    Store(StoreError),
}

impl ShopFailure {
    /// One fault of one field.
    pub fn refused(field: &str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        ShopFailure::Refused(vec![Said::new(field, message, hint)])
    }

    /// What to do, in whole sentences.
    pub fn hint(&self) -> String {
        match self {
            ShopFailure::NotFound { .. } => "Go back to the list; it may have been taken away meanwhile.".into(),
            ShopFailure::Conflict { .. } => {
                "Compare the two and save again what should stand; nothing of yours was kept.".into()
            }
            ShopFailure::Refused(said) => said.first().map_or_else(String::new, |s| s.hint.clone()),
            ShopFailure::Store(StoreError::Newer { .. }) => {
                "Use a newer build, or restore the copy made before the upgrade.".into()
            }
            ShopFailure::Store(_) => "Try again in a moment; what was on this page is still there.".into(),
        }
    }
}

/// A list of faults as a result.
pub(super) fn clean(faults: Vec<Said>) -> Result<(), ShopFailure> {
    if faults.is_empty() { Ok(()) } else { Err(ShopFailure::Refused(faults)) }
}
