//! What every page needs, made once by the program.

use crate::access::Tries;
use crate::clock::Clock;
use crate::door::{FoundingCode, Link};
use crate::limits::{HASHES_AT_ONCE, HASHES_WAITING};
use app::shop::{Desk, Fresh, Store};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use tokio::sync::Semaphore;

/// How visitors reach the site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entrance {
    /// Plain HTTP on this machine only.
    Loopback,
    /// HTTPS with the shop's own certificate.
    Tls,
    /// Plain HTTP from a proxy that speaks HTTPS and tells the visitor's address in `X-Forwarded-For`.
    BehindProxy,
}

impl Entrance {
    /// Visitors speak HTTPS, so cookies are for HTTPS only.
    pub(crate) const fn secure(self) -> bool {
        matches!(self, Entrance::Tls | Entrance::BehindProxy)
    }
}

/// What a site is made of.
pub struct Parts {
    /// The store, for sessions and ways to sign in.
    pub store: Arc<dyn Store>,
    /// The use cases.
    pub desk: Arc<Desk>,
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Makes ids.
    pub fresh: Arc<dyn Fresh>,
    /// How visitors reach it.
    pub entrance: Entrance,
    /// Lets somebody who is not at this machine found the shop.
    pub founding: Option<FoundingCode>,
}

pub(crate) struct Inner {
    pub(crate) parts: Parts,
    pub(crate) tries: Mutex<Tries>,
    pub(crate) link: Mutex<Option<Link>>,
    pub(crate) hashes: Semaphore,
    pub(crate) waiting: Semaphore,
    founded: AtomicBool,
}

/// What every page needs.
#[derive(Clone)]
pub struct State(pub(crate) Arc<Inner>);

impl State {
    /// Puts the parts together.
    pub fn new(parts: Parts) -> Self {
        State(Arc::new(Inner {
            parts,
            tries: Mutex::new(Tries::default()),
            link: Mutex::new(None),
            hashes: Semaphore::new(HASHES_AT_ONCE),
            waiting: Semaphore::new(HASHES_AT_ONCE + HASHES_WAITING),
            founded: AtomicBool::new(false),
        }))
    }

    /// The use cases.
    pub(crate) fn desk(&self) -> &Desk {
        &self.0.parts.desk
    }

    pub(crate) fn store(&self) -> &dyn Store {
        self.0.parts.store.as_ref()
    }

    pub(crate) fn clock(&self) -> &dyn Clock {
        self.0.parts.clock.as_ref()
    }

    /// Makes ids.
    pub fn fresh(&self) -> &dyn Fresh {
        self.0.parts.fresh.as_ref()
    }

    pub(crate) fn entrance(&self) -> Entrance {
        self.0.parts.entrance
    }

    /// Whether there is a shop; asked of the store until there is one.
    pub(crate) async fn founded(&self) -> Result<bool, app::shop::StoreError> {
        if self.0.founded.load(Ordering::Relaxed) {
            return Ok(true);
        }
        let any = !self.store().shops().await?.is_empty();
        self.0.founded.store(any, Ordering::Relaxed);
        Ok(any)
    }
}
