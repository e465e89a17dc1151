//! What Coatwright puts on paper and screens as pictures.
//!
//! Every picture is a pure function of a report and options: no clock, no file, no chance. SVG comes
//! first; [`convert`] makes PNG and PDF of it.

pub mod convert;
pub mod dates;
pub mod drawing;
#[cfg(test)]
mod fixture;
pub mod fonts;
pub mod measures;
pub mod options;
mod page;
mod pixels;
pub mod section;
pub mod sheet;
pub mod theme;

pub use options::{Options, Paper, Units, Width};
