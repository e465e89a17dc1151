//! The report on learning: every number and picture of `learning-report.md`, computed anew.
//!
//! `write` makes the page and its pictures; the program of the same name calls it. A quick size runs in the
//! tests, so that the command cannot rot.

mod apart;
mod calibration;
mod change;
mod chart;
mod coverage;
mod demo;
mod page;
mod record;
mod shops;
mod times;

pub use page::{Size, write};
