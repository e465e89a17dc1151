//! Keeps the list of coats reckoned for today, dog by dog, beside everything else.

use crate::state::State;
use app::shop::{PersonId, ShopFailure, StoreError, Who};
use std::time::Duration;

/// Dogs reckoned before the next look at the clock.
const AT_ONCE: u32 = 8;
/// Between two looks when nothing is left to do.
const REST: Duration = Duration::from_secs(20);
/// Between two looks when the store did not answer.
const AFTER_FAULT: Duration = Duration::from_secs(60);

/// Reckons what is stale in every shop; how many dogs it did.
///
/// # Errors
/// [`ShopFailure`] of the store.
pub async fn reckon_stale(state: &State) -> Result<usize, ShopFailure> {
    let mut done = 0;
    for shop in state.store().shops().await.map_err(ShopFailure::Store)? {
        // Reckoning is nobody's act: no revision is written, so no person is named.
        let person =
            PersonId::new("the-reckoner").map_err(|e| ShopFailure::Store(StoreError::Broken(e.to_string())))?;
        let who = Who { shop, person, at_ms: state.clock().now_ms() };
        let house = state.desk().house(&who).await?;
        let today = state.clock().today(&house.body.time_zone);
        done += state.desk().reckon_stale(&who, today, AT_ONCE).await?;
    }
    Ok(done)
}

/// Does so for as long as the program runs.
pub async fn keep_reckoned(state: State) {
    loop {
        let rest = match reckon_stale(&state).await {
            Ok(0) => REST,
            Ok(_) => Duration::ZERO,
            Err(e) => {
                tracing::error!("the coats cannot be reckoned: {e}");
                AFTER_FAULT
            }
        };
        tokio::time::sleep(rest).await;
    }
}
