//! A shop's store in memory, for tests: what the port promises and nothing more. Loses everything.

use app::shop::{
    Credential, Filter, Found, Fresh, Kind, PersonId, Record, RecordId, Search, Session, ShopId, Store, StoreError,
    Who, Write,
};
use std::collections::BTreeMap;
use std::future::Future;
use std::pin::pin;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, Wake, Waker};

/// Ids counted up: the same tests, the same ids.
#[derive(Debug, Default)]
pub struct Counted(AtomicU64);

impl Fresh for Counted {
    fn text(&self) -> String {
        format!("counted-{:08}", self.0.fetch_add(1, Ordering::Relaxed))
    }
}

/// Waits for a future on this thread, for tests without a runtime.
pub fn ready<T>(future: impl Future<Output = T>) -> T {
    struct Unpark(std::thread::Thread);
    impl Wake for Unpark {
        fn wake(self: Arc<Self>) {
            self.0.unpark();
        }
    }
    let waker = Waker::from(Arc::new(Unpark(std::thread::current())));
    let mut cx = Context::from_waker(&waker);
    let mut future = pin!(future);
    loop {
        match future.as_mut().poll(&mut cx) {
            Poll::Ready(answer) => return answer,
            Poll::Pending => std::thread::park(),
        }
    }
}

type Key = (ShopId, Kind, RecordId);

#[derive(Default)]
struct Rows {
    /// Revisions of each record, oldest first, in the order in which records first came.
    records: Vec<(Key, Vec<Record>)>,
    index: BTreeMap<(ShopId, &'static str, RecordId), usize>,
    found: BTreeMap<(ShopId, RecordId), Found>,
    made: BTreeMap<(ShopId, RecordId, String), (String, Vec<u8>)>,
    bytes: BTreeMap<(ShopId, String), Vec<u8>>,
    credentials: Vec<Credential>,
    sessions: Vec<Session>,
    shops: Vec<ShopId>,
    writes: BTreeMap<ShopId, i64>,
}

impl Rows {
    fn revisions(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> &[Record] {
        let at = self.index.get(&(shop.clone(), kind.word(), id.clone()));
        at.and_then(|i| self.records.get(*i)).map_or(&[], |r| &r.1)
    }

    fn newest<'a>(&'a self, shop: &'a ShopId, kind: Kind) -> impl Iterator<Item = &'a Record> {
        let of_kind = self.records.iter().filter(move |r| r.0.0 == *shop && r.0.1 == kind);
        of_kind.filter_map(|r| r.1.last()).filter(|r| !r.gone)
    }

    fn push(&mut self, who: &Who, w: &Write) {
        let record = Record {
            kind: w.kind,
            id: w.id.clone(),
            of: w.of.clone(),
            day: w.day.clone(),
            revision: w.seen + 1,
            body: w.body.clone(),
            gone: w.gone,
            by: who.person.clone(),
            at_ms: who.at_ms,
        };
        let key = (who.shop.clone(), w.kind.word(), w.id.clone());
        match self.index.get(&key) {
            Some(i) => self.records[*i].1.push(record),
            None => {
                self.index.insert(key, self.records.len());
                self.records.push(((who.shop.clone(), w.kind, w.id.clone()), vec![record]));
            }
        }
    }

    fn write(&mut self, who: &Who, writes: &[Write], found: &[Found]) -> Result<(), StoreError> {
        let mut skip = Vec::new();
        for (i, w) in writes.iter().enumerate() {
            let last = self.revisions(&who.shop, w.kind, &w.id).last();
            if w.kind == Kind::Entry && w.seen == 0 && last.is_some_and(|r| r.of == w.of) {
                skip.push(i);
            } else if last.map_or(0, |r| r.revision) != w.seen {
                let stands = last.cloned().ok_or_else(|| StoreError::Broken("no such record".into()))?;
                return Err(StoreError::Conflict { stands: Box::new(stands), seen: w.seen });
            }
        }
        if !writes.is_empty() {
            *self.writes.entry(who.shop.clone()).or_default() += 1;
        }
        for (_, w) in writes.iter().enumerate().filter(|(i, _)| !skip.contains(i)) {
            self.push(who, w);
        }
        for f in found {
            self.found.insert((who.shop.clone(), f.dog.clone()), f.clone());
        }
        Ok(())
    }

    fn matching(&self, shop: &ShopId, s: &Search) -> Vec<Found> {
        let mut out: Vec<Found> = self
            .found
            .iter()
            .filter(|((in_shop, _), f)| {
                let past = f.due.as_ref().is_some_and(|d| *d < s.today);
                in_shop == shop
                    && s.words.iter().all(|w| f.text.contains(w.as_str()))
                    && match s.filter {
                        Filter::All => true,
                        Filter::ReadyThisWeek => f.ready.as_ref().is_some_and(|r| *r <= s.in_a_week) && !past,
                        Filter::PastItsDay => past,
                        Filter::Rolling => f.rolling,
                        Filter::Hard => f.hard,
                        Filter::Resting => f.resting,
                    }
            })
            .map(|(_, f)| f.clone())
            .collect();
        out.sort_by(|a, b| (&a.name, &a.dog).cmp(&(&b.name, &b.dog)));
        out
    }
}

/// The store.
#[derive(Clone, Default)]
pub struct Memory(Arc<Mutex<Rows>>);

impl Memory {
    fn rows(&self) -> MutexGuard<'_, Rows> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[async_trait::async_trait]
impl Store for Memory {
    async fn write(&self, who: &Who, writes: &[Write], found: &[Found]) -> Result<(), StoreError> {
        self.rows().write(who, writes, found)
    }

    async fn writes(&self, shop: &ShopId) -> Result<i64, StoreError> {
        Ok(self.rows().writes.get(shop).copied().unwrap_or(0))
    }

    async fn read(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Option<Record>, StoreError> {
        Ok(self.rows().revisions(shop, kind, id).last().filter(|r| !r.gone).cloned())
    }

    async fn of(&self, shop: &ShopId, kind: Kind, of: &RecordId) -> Result<Vec<Record>, StoreError> {
        let rows = self.rows();
        let mut out: Vec<Record> = rows.newest(shop, kind).filter(|r| r.of.as_ref() == Some(of)).cloned().collect();
        out.sort_by(|a, b| a.day.cmp(&b.day));
        Ok(out)
    }

    async fn some(&self, shop: &ShopId, kind: Kind, ids: &[RecordId]) -> Result<Vec<Record>, StoreError> {
        Ok(self.rows().newest(shop, kind).filter(|r| ids.contains(&r.id)).cloned().collect())
    }

    async fn of_some(&self, shop: &ShopId, kind: Kind, of: &[RecordId]) -> Result<Vec<Record>, StoreError> {
        let mut out = Vec::new();
        for of in of {
            out.extend(self.of(shop, kind, of).await?);
        }
        Ok(out)
    }

    async fn between(&self, shop: &ShopId, kind: Kind, from: &str, until: &str) -> Result<Vec<Record>, StoreError> {
        let rows = self.rows();
        let within = |r: &&Record| r.day.as_deref().is_some_and(|d| from <= d && d <= until);
        let mut out: Vec<Record> = rows.newest(shop, kind).filter(within).cloned().collect();
        out.sort_by(|a, b| a.day.cmp(&b.day));
        Ok(out)
    }

    async fn all(
        &self,
        shop: &ShopId,
        kind: Kind,
        after: Option<&RecordId>,
        most: u32,
    ) -> Result<Vec<Record>, StoreError> {
        let rows = self.rows();
        let mut out: Vec<Record> =
            rows.newest(shop, kind).filter(|r| after.is_none_or(|a| r.id > *a)).cloned().collect();
        out.sort_by(|a, b| a.id.cmp(&b.id));
        out.truncate(most as usize);
        Ok(out)
    }

    async fn revisions(&self, shop: &ShopId, kind: Kind, id: &RecordId) -> Result<Vec<Record>, StoreError> {
        Ok(self.rows().revisions(shop, kind, id).to_vec())
    }

    async fn find(&self, shop: &ShopId, search: &Search) -> Result<Vec<Found>, StoreError> {
        let mut out = self.rows().matching(shop, search);
        if let Some(after) = &search.after {
            out.retain(|f| (&f.name, &f.dog) > (&after.0, &after.1));
        }
        out.truncate(search.most as usize);
        Ok(out)
    }

    async fn count(&self, shop: &ShopId, search: &Search) -> Result<u64, StoreError> {
        Ok(self.rows().matching(shop, search).len() as u64)
    }

    async fn found(&self, shop: &ShopId, dogs: &[RecordId]) -> Result<Vec<Found>, StoreError> {
        let rows = self.rows();
        Ok(dogs.iter().filter_map(|d| rows.found.get(&(shop.clone(), d.clone())).cloned()).collect())
    }

    async fn stale(&self, shop: &ShopId, today: &str, most: u32) -> Result<Vec<RecordId>, StoreError> {
        let rows = self.rows();
        let stale = rows.found.iter().filter(|(k, f)| k.0 == *shop && f.reckoned != today);
        Ok(stale.map(|(k, _)| k.1.clone()).take(most as usize).collect())
    }

    async fn place(&self, shop: &ShopId, found: &[Found]) -> Result<(), StoreError> {
        let mut rows = self.rows();
        for f in found {
            rows.found.insert((shop.clone(), f.dog.clone()), f.clone());
        }
        Ok(())
    }

    async fn keep_made(
        &self,
        shop: &ShopId,
        of: &RecordId,
        name: &str,
        from: &str,
        bytes: &[u8],
    ) -> Result<(), StoreError> {
        self.rows().made.insert((shop.clone(), of.clone(), name.to_owned()), (from.to_owned(), bytes.to_vec()));
        Ok(())
    }

    async fn made(&self, shop: &ShopId, of: &RecordId, name: &str, from: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let rows = self.rows();
        let kept = rows.made.get(&(shop.clone(), of.clone(), name.to_owned()));
        Ok(kept.filter(|k| k.0 == from).map(|k| k.1.clone()))
    }

    async fn all_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<(RecordId, Vec<u8>)>, StoreError> {
        let rows = self.rows();
        let between = |f: &str| from.0 <= f && f <= from.1;
        let of = rows.made.iter().filter(|((s, _, n), (f, _))| s == shop && n == name && between(f));
        Ok(of.take(most as usize).map(|((_, of, _), (_, bytes))| (of.clone(), bytes.clone())).collect())
    }

    async fn count_made(&self, shop: &ShopId, name: &str, from: (&str, &str)) -> Result<u64, StoreError> {
        Ok(self.all_made(shop, name, from, u32::MAX).await?.len() as u64)
    }

    async fn pooled_made(
        &self,
        shop: &ShopId,
        name: &str,
        from: (&str, &str),
        most: u32,
    ) -> Result<Vec<Vec<Vec<u8>>>, StoreError> {
        let mut pooled = Vec::new();
        for s in self.shops().await? {
            let id = RecordId::new(s.as_str()).map_err(|e| StoreError::Broken(e.to_string()))?;
            let house = self.read(&s, Kind::House, &id).await?;
            if house.is_some_and(|h| !h.gone && h.body["pooled"] == true) {
                pooled.push(s);
            }
        }
        if !pooled.contains(shop) {
            return Ok(Vec::new());
        }
        let mut all = Vec::new();
        for s in pooled.iter().filter(|s| *s != shop) {
            all.push(self.all_made(s, name, from, most).await?.into_iter().map(|(_, bytes)| bytes).collect::<Vec<_>>());
        }
        // One of each in turn.
        let (mut left, mut take) = (most as usize, vec![0; all.len()]);
        for round in 0..all.iter().map(Vec::len).max().unwrap_or(0) {
            for i in (0..all.len()).filter(|i| all[*i].len() > round) {
                if left > 0 {
                    (left, take[i]) = (left - 1, round + 1);
                }
            }
        }
        for (of, n) in all.iter_mut().zip(take) {
            of.truncate(n);
        }
        all.retain(|of| !of.is_empty());
        Ok(all)
    }

    async fn keep_bytes(&self, shop: &ShopId, sha256: &str, bytes: &[u8]) -> Result<(), StoreError> {
        self.rows().bytes.entry((shop.clone(), sha256.to_owned())).or_insert_with(|| bytes.to_vec());
        Ok(())
    }

    async fn bytes(&self, shop: &ShopId, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.rows().bytes.get(&(shop.clone(), sha256.to_owned())).cloned())
    }

    async fn shops(&self) -> Result<Vec<ShopId>, StoreError> {
        Ok(self.rows().shops.clone())
    }

    async fn found_shop(&self, who: &Who, writes: &[Write], credential: &Credential) -> Result<(), StoreError> {
        let mut rows = self.rows();
        if rows.credentials.iter().any(|c| c.sign_in == credential.sign_in) {
            return Err(StoreError::Taken(credential.sign_in.clone()));
        }
        rows.write(who, writes, &[])?;
        rows.credentials.push(credential.clone());
        rows.shops.push(who.shop.clone());
        Ok(())
    }

    async fn set_credential(&self, _who: &Who, credential: &Credential) -> Result<(), StoreError> {
        let mut rows = self.rows();
        let own = |c: &Credential| c.shop == credential.shop && c.person == credential.person;
        if rows.credentials.iter().any(|c| c.sign_in == credential.sign_in && !own(c)) {
            return Err(StoreError::Taken(credential.sign_in.clone()));
        }
        rows.credentials.retain(|c| !own(c));
        rows.credentials.push(credential.clone());
        Ok(())
    }

    async fn credential(&self, sign_in: &str) -> Result<Option<Credential>, StoreError> {
        Ok(self.rows().credentials.iter().find(|c| c.sign_in == sign_in).cloned())
    }

    async fn begin_session(&self, session: &Session) -> Result<(), StoreError> {
        self.rows().sessions.push(session.clone());
        Ok(())
    }

    async fn session(&self, token_hash: &str) -> Result<Option<Session>, StoreError> {
        Ok(self.rows().sessions.iter().find(|s| s.token_hash == token_hash).cloned())
    }

    async fn touch_session(&self, token_hash: &str, used_ms: i64) -> Result<(), StoreError> {
        for s in self.rows().sessions.iter_mut().filter(|s| s.token_hash == token_hash) {
            s.used_ms = used_ms;
        }
        Ok(())
    }

    async fn end_session(&self, token_hash: &str) -> Result<(), StoreError> {
        self.rows().sessions.retain(|s| s.token_hash != token_hash);
        Ok(())
    }

    async fn end_sessions(
        &self,
        person: Option<&PersonId>,
        but: Option<&str>,
        began_before_ms: i64,
        used_before_ms: i64,
    ) -> Result<(), StoreError> {
        self.rows().sessions.retain(|s| {
            let theirs = person.is_some_and(|p| *p == s.person) && but != Some(s.token_hash.as_str());
            !(theirs || s.began_ms < began_before_ms || s.used_ms < used_before_ms)
        });
        Ok(())
    }
}
