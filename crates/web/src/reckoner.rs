//! Keeps the list of coats reckoned for today, dog by dog, and the plans of the dogs that come next, beside everything
//! else.

use crate::state::State;
use app::shop::{PersonId, ShopFailure, StoreError, Who};
use coat::Day;
use std::time::Duration;

/// Dogs reckoned before the next look at the clock.
const AT_ONCE: u32 = 8;
/// Between two looks when nothing is left to do.
const REST: Duration = Duration::from_secs(20);
/// Between two looks when the store did not answer.
const AFTER_FAULT: Duration = Duration::from_secs(60);

/// Every shop with its today. What is done for them is nobody's act: no revision is written, so no person is named.
async fn shops(state: &State) -> Result<Vec<(Who, Day)>, ShopFailure> {
    let mut out = Vec::new();
    for shop in state.store().shops().await.map_err(ShopFailure::Store)? {
        let person =
            PersonId::new("the-reckoner").map_err(|e| ShopFailure::Store(StoreError::Broken(e.to_string())))?;
        let who = Who { shop, person, at_ms: state.clock().now_ms() };
        let house = state.desk().house(&who).await?;
        out.push((who, state.clock().today(&house.body.time_zone)));
    }
    Ok(out)
}

/// Reckons what is stale in every shop; how many dogs it did.
///
/// # Errors
/// [`ShopFailure`] of the store.
pub async fn reckon_stale(state: &State) -> Result<usize, ShopFailure> {
    let mut done = 0;
    for (who, today) in shops(state).await? {
        done += state.desk().meanwhile().reckon_stale(&who, today, AT_ONCE).await?;
    }
    Ok(done)
}

/// Makes the plans of today's dogs and tomorrow's in every shop.
async fn prepare(state: &State) -> Result<(), ShopFailure> {
    for (who, today) in shops(state).await? {
        for day in [today, today + 1] {
            state.desk().meanwhile().prepare(&who, today, day).await?;
        }
    }
    Ok(())
}

/// Does so for as long as the program runs.
pub async fn keep_reckoned(state: State) {
    // Whatever changes a plan makes its dog stale first.
    let mut prepared = false;
    loop {
        let done = match reckon_stale(&state).await {
            Ok(0) if !prepared => prepare(&state).await.map(|()| 0),
            other => other,
        };
        let rest = match done {
            Ok(0) => {
                prepared = true;
                REST
            }
            Ok(_) => {
                prepared = false;
                Duration::ZERO
            }
            Err(e) => {
                tracing::error!("the coats cannot be reckoned: {e}");
                AFTER_FAULT
            }
        };
        tokio::time::sleep(rest).await;
    }
}
