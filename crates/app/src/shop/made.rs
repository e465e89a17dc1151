//! What can be made anew, kept: found again under its name while what it was made from is the same.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::ids::RecordId;
use super::port::Who;
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
}
