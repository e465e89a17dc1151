//! What was put together from a shop's records, held while nobody writes in the shop.
//!
//! Looking is far more common than writing: a page that is looked at again costs one question to the store, how often
//! the shop was written, instead of all its records.

use super::days::TableLine;
use super::desk::Desk;
use super::dogs::DogCard;
use super::failure::ShopFailure;
use super::ids::{RecordId, ShopId};
use super::plan::Stands;
use super::port::Who;
use coat::Day;
use lru::LruCache;
use std::hash::Hash;
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Dogs with all that belongs to them.
const CARDS: NonZeroUsize = at_most(256);
/// Plans; each takes some hundred kilobytes.
const PLANS: NonZeroUsize = at_most(128);
/// Days of the Table.
const DAYS: NonZeroUsize = at_most(16);

const fn at_most(n: usize) -> NonZeroUsize {
    NonZeroUsize::MIN.saturating_add(n.saturating_sub(1))
}

/// As of when something holds: how often the shop was written, and how often what its dogs taught moved the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct AsOf(i64, u64);

/// The last used of some things, each as of when it holds.
pub(super) struct Memo<K, V>(Mutex<LruCache<K, (AsOf, V)>>);

impl<K: Hash + Eq, V: Clone> Memo<K, V> {
    fn new(most: NonZeroUsize) -> Self {
        Memo(Mutex::new(LruCache::new(most)))
    }

    /// What is held under a key as of now, else what `make` puts together, held from now on; and whether it was held.
    pub(super) async fn find(
        &self,
        key: K,
        as_of: AsOf,
        make: impl Future<Output = Result<V, ShopFailure>>,
    ) -> Result<(V, bool), ShopFailure> {
        let held = self.held().get(&key).filter(|(then, _)| *then == as_of).map(|(_, v)| v.clone());
        if let Some(held) = held {
            return Ok((held, true));
        }
        let made = make.await?;
        self.held().put(key, (as_of, made.clone()));
        Ok((made, false))
    }

    fn held(&self) -> MutexGuard<'_, LruCache<K, (AsOf, V)>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// All that is held.
pub(super) struct Memos {
    /// Dogs, without their places in the list of coats, which are written beside the records.
    pub(super) cards: Memo<(ShopId, RecordId), Arc<DogCard>>,
    /// Plans as they stand, by dog and today.
    pub(super) plans: Memo<(ShopId, RecordId, Day), Arc<Stands>>,
    /// Days of the Table without what is in the list of coats, by day and today.
    pub(super) days: Memo<(ShopId, Day, Day), Arc<Vec<TableLine>>>,
    taught: AtomicU64,
}

impl Default for Memos {
    fn default() -> Self {
        Memos { cards: Memo::new(CARDS), plans: Memo::new(PLANS), days: Memo::new(DAYS), taught: AtomicU64::new(0) }
    }
}

impl Desk {
    /// As of when what is put together now holds. Asked for before the records are read: a write meanwhile makes what
    /// was put together too old, never too new.
    pub(super) async fn as_of(&self, who: &Who) -> Result<AsOf, ShopFailure> {
        let writes = self.store().writes(&who.shop).await.map_err(ShopFailure::Store)?;
        Ok(AsOf(writes, self.memos().taught.load(Ordering::Relaxed)))
    }

    /// What the shop's dogs taught moves the others' plans from now on.
    pub(super) fn taught_others(&self) {
        self.memos().taught.fetch_add(1, Ordering::Relaxed);
    }
}
