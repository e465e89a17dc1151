//! The port, method by method.

use crate::db::Db;
use crate::keep::{self, Batch};
use crate::{coats, people, read};
use app::shop::{
    Credential, Found, Kind, PersonId, Record, RecordId, Search, Session, ShopId, Store, StoreError, Who, Write,
};

#[async_trait::async_trait]
impl Store for Db {
    async fn write(&self, who: &Who, writes: &[Write], found: &[Found]) -> Result<(), StoreError> {
        keep::keep(self, &Batch { who, writes, found, founding: None }).await
    }

    async fn writes(&self, shop: &ShopId) -> Result<i64, StoreError> {
        Ok(people::writes(self, shop).await?)
    }

    async fn read(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Option<Record>, StoreError> {
        Ok(read::read(self, shop, kind, id).await?)
    }

    async fn of(&self, shop: &ShopId, kind: Kind, of: &RecordId) -> Result<Vec<Record>, StoreError> {
        Ok(read::of(self, shop, kind, of).await?)
    }

    async fn some(&self, shop: &ShopId, kind: Kind, ids: &[RecordId]) -> Result<Vec<Record>, StoreError> {
        Ok(read::some(self, shop, kind, ids).await?)
    }

    async fn of_some(&self, shop: &ShopId, kind: Kind, of: &[RecordId]) -> Result<Vec<Record>, StoreError> {
        Ok(read::of_some(self, shop, kind, of).await?)
    }

    async fn between(&self, shop: &ShopId, kind: Kind, from: &str, until: &str) -> Result<Vec<Record>, StoreError> {
        Ok(read::between(self, shop, kind, from, until).await?)
    }

    async fn all(
        &self,
        shop: &ShopId,
        kind: Kind,
        after: Option<&RecordId>,
        most: u32,
    ) -> Result<Vec<Record>, StoreError> {
        Ok(read::all(self, shop, kind, after, most).await?)
    }

    async fn revisions(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Vec<Record>, StoreError> {
        Ok(read::revisions(self, shop, kind, id).await?)
    }

    async fn find(&self, shop: &ShopId, search: &Search) -> Result<Vec<Found>, StoreError> {
        Ok(coats::find(self, shop, search).await?)
    }

    async fn count(&self, shop: &ShopId, search: &Search) -> Result<u64, StoreError> {
        Ok(coats::count(self, shop, search).await?)
    }

    async fn found(&self, shop: &ShopId, dogs: &[RecordId]) -> Result<Vec<Found>, StoreError> {
        Ok(coats::found(self, shop, dogs).await?)
    }

    async fn stale(&self, shop: &ShopId, today: &str, most: u32) -> Result<Vec<RecordId>, StoreError> {
        Ok(coats::stale(self, shop, today, most).await?)
    }

    async fn place(&self, shop: &ShopId, found: &[Found]) -> Result<(), StoreError> {
        keep::place(self, shop, found).await
    }

    async fn keep_made(
        &self,
        shop: &ShopId,
        of: &RecordId,
        name: &str,
        from: &str,
        bytes: &[u8],
    ) -> Result<(), StoreError> {
        Ok(coats::keep_made(self, shop, of, name, from, bytes).await?)
    }

    async fn made(&self, shop: &ShopId, of: &RecordId, name: &str, from: &str) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(coats::made(self, shop, of, name, from).await?)
    }

    async fn all_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<(RecordId, Vec<u8>)>, StoreError> {
        Ok(coats::all_made(self, shop, name, from, most).await?)
    }

    async fn count_made(&self, shop: &ShopId, name: &str, from: (&str, &str)) -> Result<u64, StoreError> {
        Ok(coats::count_made(self, shop, name, from).await?)
    }

    async fn pooled_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<Vec<Vec<u8>>>, StoreError> {
        Ok(coats::pooled_made(self, shop, name, from, most).await?)
    }

    async fn keep_bytes(&self, shop: &ShopId, sha256: &str, bytes: &[u8]) -> Result<(), StoreError> {
        Ok(coats::keep_bytes(self, shop, sha256, bytes).await?)
    }

    async fn bytes(&self, shop: &ShopId, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(coats::bytes(self, shop, sha256).await?)
    }

    async fn shops(&self) -> Result<Vec<ShopId>, StoreError> {
        Ok(people::shops(self).await?)
    }

    async fn found_shop(&self, who: &Who, writes: &[Write], credential: &Credential) -> Result<(), StoreError> {
        keep::keep(self, &Batch { who, writes, found: &[], founding: Some(credential) }).await
    }

    async fn set_credential(&self, who: &Who, credential: &Credential) -> Result<(), StoreError> {
        Ok(people::set_credential(self, who, credential).await?)
    }

    async fn credential(&self, sign_in: &str) -> Result<Option<Credential>, StoreError> {
        Ok(people::credential(self, sign_in).await?)
    }

    async fn begin_session(&self, session: &Session) -> Result<(), StoreError> {
        Ok(people::begin_session(self, session).await?)
    }

    async fn session(&self, token_hash: &str) -> Result<Option<Session>, StoreError> {
        Ok(people::session(self, token_hash).await?)
    }

    async fn touch_session(&self, token_hash: &str, used_ms: i64) -> Result<(), StoreError> {
        Ok(people::touch_session(self, token_hash, used_ms).await?)
    }

    async fn end_session(&self, token_hash: &str) -> Result<(), StoreError> {
        Ok(people::end_session(self, token_hash).await?)
    }

    async fn end_sessions(
        &self,
        person: Option<&PersonId>,
        but: Option<&str>,
        began_before_ms: i64,
        used_before_ms: i64,
    ) -> Result<(), StoreError> {
        Ok(people::end_sessions(self, person, but, began_before_ms, used_before_ms).await?)
    }
}
