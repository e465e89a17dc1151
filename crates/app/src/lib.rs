//! Use cases of Coatwright: the dog's file read and checked, the coat, the plan, what was learned.
//!
//! Knows no database, no page and no clock: today comes in as an argument.

pub mod cautions;
pub mod dog_file;
pub mod hands_off;
pub mod learning;
pub mod measures;
pub mod model;
pub mod planning;
pub mod report;
pub mod shop;
mod words;
