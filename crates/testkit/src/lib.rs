//! Simulated dogs for checks: coats of single follicles, readings off them as hands make them. And a PostgreSQL
//! server of a test's own.
//!
//! Shares no equation with the engine: every hair's life is drawn. Never a normal dependency.

mod follicles;
#[cfg(unix)]
pub mod postgres;
mod shop;

pub use follicles::{Follicles, Life};
pub use shop::{Answers, Luck, Prism, TrueDog, kinds};
