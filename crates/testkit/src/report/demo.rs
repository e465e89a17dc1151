//! Leave-one-visit-out on the demonstration shop: its dogs are played by simple rules, not by the engine.

use super::shops::LeftOut;
use crate::memory::{Counted, Memory, ready};
use app::dog_file::DogFile;
use app::learning::{SEED, learned, recorded};
use app::shop::{Asked, Desk, Filter, ShopFailure, Who, demo};
use coat::Day;
use learn::Effort;
use rayon::prelude::*;
use std::sync::Arc;

/// A dog counts when it has so many visits with readings.
const LEAST_VISITS: usize = 6;
/// Of each dog the newest visits are left out, each in turn.
const NEWEST: usize = 6;

/// The files of the demonstration shop's dogs on a day.
///
/// # Errors
/// [`ShopFailure`] when the shop cannot be founded.
fn files(today: Day) -> Result<Vec<DogFile>, ShopFailure> {
    let desk = Desk::new(Arc::new(Memory::default()), Arc::new(Counted::default()), Arc::new(plan::Highs));
    let founded = ready(demo::found(&desk, 1_000, today, "$argon2id$invented".into()))?;
    let who = Who { shop: founded.shop, person: founded.person, at_ms: 2_000 };
    let asked = Asked { words: String::new(), filter: Filter::All, after: None, most: 200 };
    let found = ready(desk.search(&who, today, &asked))?.found;
    found.iter().map(|f| Ok(ready(desk.dog_file(&who, &f.dog))?.0)).collect()
}

/// Days on which something was read of a dog.
fn visits(file: &DogFile, today: Day) -> usize {
    let mut days: Vec<Day> = recorded(file, today).iter().map(|r| r.reading.day).collect();
    days.dedup();
    days.len()
}

/// What was foretold of every visit left out, of `most` dogs at most; and how many dogs these are.
pub fn demo_left_out(today: Day, most: usize) -> (usize, Vec<LeftOut>) {
    let files = files(today).unwrap_or_default();
    let read: Vec<&DogFile> = files.iter().filter(|f| visits(f, today) >= LEAST_VISITS).take(most).collect();
    let of = |file: &&DogFile| -> Option<Vec<LeftOut>> {
        let (l, recorded) = learned(file, today, None, SEED, Effort::VISIT).ok()?;
        let days = l.visit_days();
        let newest = &days[days.len().saturating_sub(NEWEST)..];
        let found = newest.iter().flat_map(|day| l.without_visit(*day).unwrap_or_default());
        Some(found.map(|f| LeftOut::new(recorded[f.index].reading.what.word(), f.below, f.above)).collect())
    };
    let found: Vec<Vec<LeftOut>> = read.par_iter().filter_map(of).collect();
    (found.len(), found.into_iter().flatten().collect())
}
