//! Work that takes the processor for long is done on a pool of threads, so that whoever waits for it can serve others
//! meanwhile.

use super::desk::Desk;
use super::failure::ShopFailure;
use super::port::StoreError;
use async_lock::Semaphore;
use futures_channel::oneshot;
use rayon::ThreadPool;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::LazyLock;

/// Whether somebody waits for what is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Haste {
    /// Somebody does.
    AtOnce,
    /// Nobody does: it gives way to whatever else the machine has to do.
    Meanwhile,
}

/// So many works for somebody who waits are under way at a time. More would not end sooner, and each holds what it needs:
/// a thread that waits for a part of one work takes up the next.
static AT_ONCE: LazyLock<Semaphore> =
    LazyLock::new(|| Semaphore::new(std::thread::available_parallelism().map_or(1, std::num::NonZero::get)));

/// One work at a time that nobody waits for.
static ONE_MEANWHILE: Semaphore = Semaphore::new(1);

/// Threads that give way; none where the system does not give any.
static MEANWHILE: LazyLock<Option<ThreadPool>> = LazyLock::new(|| {
    rayon::ThreadPoolBuilder::new().thread_name(|n| format!("meanwhile-{n}")).start_handler(|_| give_way()).build().ok()
});

/// A tenth of the usual weight for this thread; on Linux each thread has its own.
fn give_way() {
    // Refused, the work goes on at the usual weight.
    #[cfg(target_os = "linux")]
    let _ = rustix::process::setpriority_process(None, 10);
}

impl Desk {
    /// Does a piece of work on the pool and waits for it without holding a thread.
    ///
    /// # Errors
    /// [`ShopFailure::Store`] when the work broke off; what happened is in the log of the thread.
    pub(super) async fn heavy<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, ShopFailure> {
        let broken = || ShopFailure::Store(StoreError::Broken("a computation broke off".into()));
        let (turns, pool) = match self.haste() {
            Haste::AtOnce => (&*AT_ONCE, None),
            Haste::Meanwhile => (&ONE_MEANWHILE, MEANWHILE.as_ref()),
        };
        let turn = turns.acquire().await;
        let (put, answer) = oneshot::channel();
        let work = move || {
            if let Ok(done) = catch_unwind(AssertUnwindSafe(work)) {
                // Whoever asked may be gone.
                let _ = put.send(done);
            }
            drop(turn);
        };
        match pool {
            Some(pool) => pool.spawn(work),
            None => rayon::spawn(work),
        }
        answer.await.map_err(|_| broken())
    }
}
