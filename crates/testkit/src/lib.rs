//! Simulated dogs for checks: coats of single follicles, readings off them as hands make them. And a PostgreSQL
//! server of a test's own.
//!
//! Shares no equation with the engine: every hair's life is drawn. Never a normal dependency. Beside them a store of
//! a shop in memory, with counted ids.

#[cfg(unix)]
pub mod certificate;
mod follicles;
mod memory;
#[cfg(unix)]
pub mod postgres;
pub mod report;
mod shop;
pub mod study;

pub use follicles::{Follicles, Life};
pub use memory::{Counted, Memory, ready};
pub use shop::{Answers, Luck, Prism, TrueDog, kinds};
