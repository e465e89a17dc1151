//! What can be made anew, kept: found again under its name while what it was made from is the same.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::heavy::heavy;
use super::ids::RecordId;
use super::learned::refused;
use super::port::Who;
use super::sheet::Sheet;
use crate::planning::Failure;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

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

    /// What was kept under a name if it was made from the same, else what `work` makes, kept.
    pub(super) async fn once<T: Serialize + DeserializeOwned + Send + 'static>(
        &self,
        who: &Who,
        id: &RecordId,
        name: &str,
        from: &str,
        sheet: &Sheet,
        work: impl FnOnce() -> Result<T, Failure> + Send + 'static,
    ) -> Result<T, ShopFailure> {
        if let Some(kept) = self.made(who, id, name, from).await? {
            return Ok(kept);
        }
        let made = heavy(work).await?.map_err(|e| match e {
            Failure::Option { message, .. } => {
                ShopFailure::refused("", message, "Until then the plan goes by the values of the coat type.")
            }
            other => refused(&other, sheet),
        })?;
        self.keep_made(who, id, name, from, &made).await?;
        Ok(made)
    }
}
