//! What can be made anew, kept: found again under its name while what it was made from is the same.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::learned::refused;
use super::port::Who;
use super::sheet::Sheet;
use crate::planning::Failure;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError, Weak};

/// What is being made just now, by digest of what and from what.
pub(super) type Making = Arc<Mutex<HashMap<String, Weak<async_lock::Mutex<()>>>>>;

/// SHA-256 of some parts, hex.
pub(super) fn digest(parts: &[&str]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

impl Desk {
    /// What was kept under a name if it was made from the same, else what `make` makes, kept; and whether it was kept.
    /// Whoever asks for it while it is made waits and finds it.
    pub(super) async fn once<T: Serialize + DeserializeOwned>(
        &self,
        who: &Who,
        of: &RecordId,
        name: &str,
        from: &str,
        make: impl Future<Output = Result<T, ShopFailure>>,
    ) -> Result<(T, bool), ShopFailure> {
        if let Some(kept) = self.made(who, of, name, from).await? {
            return Ok((kept, true));
        }
        let turn = self.turn(digest(&[who.shop.as_str(), of.as_str(), name, from]));
        let _mine = turn.lock().await;
        if let Some(kept) = self.made(who, of, name, from).await? {
            return Ok((kept, true));
        }
        let made = make.await?;
        self.keep_made(who, of, name, from, &made).await?;
        Ok((made, false))
    }

    /// The lock that whoever makes this holds.
    fn turn(&self, what: String) -> Arc<async_lock::Mutex<()>> {
        let mut making = self.making().lock().unwrap_or_else(PoisonError::into_inner);
        making.retain(|_, turn| turn.strong_count() > 0);
        if let Some(turn) = making.get(&what).and_then(Weak::upgrade) {
            return turn;
        }
        let turn = Arc::new(async_lock::Mutex::new(()));
        making.insert(what, Arc::downgrade(&turn));
        turn
    }

    /// What was kept under a name, if it was made from the same and this build can read it.
    pub(super) async fn made<T: DeserializeOwned>(
        &self,
        who: &Who,
        of: &RecordId,
        name: &str,
        from: &str,
    ) -> Result<Option<T>, ShopFailure> {
        let kept = self.store().made(&who.shop, of, name, from).await.map_err(ShopFailure::Store)?;
        Ok(kept.and_then(|bytes| serde_json::from_slice(&bytes).ok()))
    }

    /// Keeps it beside what it was made from. What cannot be written is made anew the next time.
    pub(super) async fn keep_made<T: Serialize>(
        &self,
        who: &Who,
        of: &RecordId,
        name: &str,
        from: &str,
        made: &T,
    ) -> Result<(), ShopFailure> {
        match serde_json::to_vec(made) {
            Ok(bytes) => self.store().keep_made(&who.shop, of, name, from, &bytes).await.map_err(ShopFailure::Store),
            Err(_) => Ok(()),
        }
    }

    /// What `work` makes of a dog's file, made once for the same.
    pub(super) async fn told<T: Serialize + DeserializeOwned + Send + 'static>(
        &self,
        who: &Who,
        id: &RecordId,
        name: &str,
        from: &str,
        sheet: &Sheet,
        work: impl FnOnce() -> Result<T, Failure> + Send + 'static,
    ) -> Result<T, ShopFailure> {
        let make = async {
            self.heavy(work).await?.map_err(|e| match e {
                Failure::Option { message, .. } => {
                    ShopFailure::refused("", message, "Until then the plan goes by the values of the coat type.")
                }
                other => refused(&other, sheet),
            })
        };
        Ok(self.once(who, id, name, from, make).await?.0)
    }
}
