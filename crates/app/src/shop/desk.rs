//! The desk: where everything that is done in the shop is asked for.
//!
//! Its methods stand in the files beside this one, by what they are about. Each takes [`Who`] does it; where the day
//! matters, it comes in too.

use super::failure::{Held, Said, Saved, ShopFailure};
use super::heavy::Haste;
use super::ids::{Fresh, PersonId, RecordId};
use super::made::Making;
use super::memo::Memos;
use super::port::{Found, Store, StoreError, Who, Write};
use super::records::Body;
use plan::Solver;
use std::collections::HashMap;
use std::sync::Arc;

/// Rows asked of the store at a time where all are wanted.
pub(super) const PAGE: u32 = 1000;

/// The shop's use cases over a store.
#[derive(Clone)]
pub struct Desk {
    store: Arc<dyn Store>,
    fresh: Arc<dyn Fresh>,
    solver: Arc<dyn Solver + Send + Sync>,
    haste: Haste,
    making: Making,
    memos: Arc<Memos>,
}

impl Desk {
    /// A desk over a store; new ids come from `fresh`, plans from `solver`.
    pub fn new(store: Arc<dyn Store>, fresh: Arc<dyn Fresh>, solver: Arc<dyn Solver + Send + Sync>) -> Self {
        Desk { store, fresh, solver, haste: Haste::AtOnce, making: Making::default(), memos: Arc::default() }
    }

    /// The same desk for work that nobody waits for: what it computes gives way to all other.
    #[must_use]
    pub fn meanwhile(&self) -> Self {
        Desk { haste: Haste::Meanwhile, ..self.clone() }
    }

    pub(super) fn haste(&self) -> Haste {
        self.haste
    }

    /// What was put together before.
    pub(super) fn memos(&self) -> &Memos {
        &self.memos
    }

    /// What is being made just now.
    pub(super) fn making(&self) -> &Making {
        &self.making
    }

    /// The store, for what is no use case: sessions, ways to sign in, bytes of pictures.
    pub fn store(&self) -> &Arc<dyn Store> {
        &self.store
    }

    /// Where new ids come from.
    pub fn fresh(&self) -> &Arc<dyn Fresh> {
        &self.fresh
    }

    /// What plans are solved with.
    pub(super) fn solver(&self) -> Arc<dyn Solver + Send + Sync> {
        self.solver.clone()
    }

    /// A new id.
    pub(super) fn new_id(&self) -> Result<RecordId, ShopFailure> {
        RecordId::new(self.fresh.text()).map_err(|e| ShopFailure::Store(StoreError::Broken(e.to_string())))
    }

    /// The record as it stands; [`ShopFailure::NotFound`] when there is none in this shop.
    pub(super) async fn held<T: Body>(&self, who: &Who, id: &RecordId) -> Result<Held<T>, ShopFailure> {
        self.held_if_any(who, id).await?.ok_or_else(|| ShopFailure::NotFound { kind: T::KIND, id: id.clone() })
    }

    pub(super) async fn held_if_any<T: Body>(&self, who: &Who, id: &RecordId) -> Result<Option<Held<T>>, ShopFailure> {
        let record = self.store.read(&who.shop, T::KIND, id).await.map_err(ShopFailure::Store)?;
        record.map(Held::of).transpose()
    }

    /// All records of a kind that belong to one.
    pub(super) async fn held_of<T: Body>(&self, who: &Who, of: &RecordId) -> Result<Vec<Held<T>>, ShopFailure> {
        let records = self.store.of(&who.shop, T::KIND, of).await.map_err(ShopFailure::Store)?;
        records.into_iter().map(Held::of).collect()
    }

    /// Some records of a kind by their ids; those not there are left out.
    pub(super) async fn some_held<T: Body>(
        &self,
        who: &Who,
        ids: &[RecordId],
    ) -> Result<HashMap<RecordId, Held<T>>, ShopFailure> {
        let records = self.store.some(&who.shop, T::KIND, ids).await.map_err(ShopFailure::Store)?;
        records.into_iter().map(|r| Held::of(r).map(|h| (h.id.clone(), h))).collect()
    }

    /// All records of a kind that belong to some, by what they belong to.
    pub(super) async fn held_of_some<T: Body>(
        &self,
        who: &Who,
        of: &[RecordId],
    ) -> Result<HashMap<RecordId, Vec<Held<T>>>, ShopFailure> {
        let records = self.store.of_some(&who.shop, T::KIND, of).await.map_err(ShopFailure::Store)?;
        let mut out: HashMap<RecordId, Vec<Held<T>>> = HashMap::new();
        for record in records {
            let Some(of) = record.of.clone() else { continue };
            out.entry(of).or_default().push(Held::of(record)?);
        }
        Ok(out)
    }

    /// All records of a kind.
    pub(super) async fn all_held<T: Body>(&self, who: &Who) -> Result<Vec<Held<T>>, ShopFailure> {
        let mut out: Vec<Held<T>> = Vec::new();
        loop {
            let after = out.last().map(|h| h.id.clone());
            let page = self.store.all(&who.shop, T::KIND, after.as_ref(), PAGE).await.map_err(ShopFailure::Store)?;
            let full = page.len() >= PAGE as usize;
            for record in page {
                out.push(Held::of(record)?);
            }
            if !full {
                return Ok(out);
            }
        }
    }

    /// Writes, and says what stands where somebody else was first.
    pub(super) async fn write(&self, who: &Who, writes: &[Write], found: &[Found]) -> Result<(), ShopFailure> {
        self.store.write(who, writes, found).await.map_err(|e| refusal(e, writes))
    }
}

/// A conflict with what was to be written beside it; anything else as it is.
fn refusal(e: StoreError, writes: &[Write]) -> ShopFailure {
    match e {
        StoreError::Conflict { stands, .. } => {
            let mine = writes.iter().find(|w| w.kind == stands.kind && w.id == stands.id);
            let yours = Box::new(mine.map_or(serde_json::Value::Null, |w| w.body.clone()));
            ShopFailure::Conflict { stands, yours }
        }
        StoreError::Taken(name) => ShopFailure::refused(
            "sign_in",
            format!("the name `{name}` is taken"),
            "Choose another name to sign in with.",
        ),
        other => ShopFailure::Store(other),
    }
}

/// A revision to be written of a body.
pub(super) fn revision<T: Body>(
    id: &RecordId,
    of: Option<&RecordId>,
    day: Option<String>,
    seen: i64,
    body: &T,
) -> Result<Write, ShopFailure> {
    let unwritable = |e: serde_json::Error| ShopFailure::Store(StoreError::Broken(format!("cannot write: {e}")));
    let body = serde_json::to_value(body).map_err(unwritable)?;
    Ok(Write { kind: T::KIND, id: id.clone(), of: of.cloned(), day, seen, body, gone: false })
}

/// What a write came to.
pub(super) fn saved(write: &Write, warnings: Vec<Said>) -> Saved {
    Saved { id: write.id.clone(), revision: write.seen + 1, warnings }
}

/// A person's record has the person's id.
pub(super) fn record_of(person: &PersonId) -> Result<RecordId, ShopFailure> {
    RecordId::new(person.as_str()).map_err(|e| ShopFailure::Store(StoreError::Broken(e.to_string())))
}
