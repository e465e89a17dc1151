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

/// Makes the plans of today's dogs and tomorrow's where that was not done for today, then reckons some of what is stale
/// in every shop; how many dogs it did.
async fn round(state: &State, prepared: &mut Option<Vec<Day>>) -> Result<usize, ShopFailure> {
    let (desk, shops) = (state.desk().meanwhile(), shops(state).await?);
    let days: Vec<Day> = shops.iter().map(|s| s.1).collect();
    if prepared.as_ref() != Some(&days) {
        for (who, today) in &shops {
            for day in [*today, *today + 1] {
                desk.prepare(who, *today, day).await?;
            }
        }
        *prepared = Some(days);
    }
    let mut done = 0;
    for (who, today) in &shops {
        done += desk.reckon_stale(who, *today, AT_ONCE).await?;
    }
    Ok(done)
}

/// Does so for as long as the program runs.
pub async fn keep_reckoned(state: State) {
    // The plans that are asked for first come first, and once more when all else is done: whatever changes a plan
    // makes its dog stale.
    let (mut prepared, mut busy) = (None, false);
    loop {
        let rest = match round(&state, &mut prepared).await {
            Ok(0) if busy => {
                (prepared, busy) = (None, false);
                Duration::ZERO
            }
            Ok(0) => REST,
            Ok(_) => {
                busy = true;
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
