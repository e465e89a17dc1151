//! Work that takes the processor for long is done on the pool of threads, so that whoever waits for it can serve
//! others meanwhile.

use super::failure::ShopFailure;
use super::port::StoreError;
use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll, Waker};

struct Shared<T> {
    answer: Option<Result<T, ()>>,
    waker: Option<Waker>,
}

struct Waiting<T>(Arc<Mutex<Shared<T>>>);

impl<T> Future for Waiting<T> {
    type Output = Result<T, ()>;

    fn poll(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Self::Output> {
        let mut shared = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match shared.answer.take() {
            Some(answer) => Poll::Ready(answer),
            None => {
                shared.waker = Some(cx.waker().clone());
                Poll::Pending
            }
        }
    }
}

/// Does a piece of work on the pool and waits for it without holding a thread.
///
/// # Errors
/// [`ShopFailure::Store`] when the work broke off; what happened is in the log of the thread.
pub(super) async fn heavy<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, ShopFailure> {
    let shared = Arc::new(Mutex::new(Shared { answer: None, waker: None }));
    let there = shared.clone();
    rayon::spawn(move || {
        let answer = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)).map_err(|_| ());
        let mut shared = there.lock().unwrap_or_else(PoisonError::into_inner);
        shared.answer = Some(answer);
        if let Some(waker) = shared.waker.take() {
            waker.wake();
        }
    });
    let broken = || ShopFailure::Store(StoreError::Broken("a computation broke off".into()));
    Waiting(shared).await.map_err(|()| broken())
}
