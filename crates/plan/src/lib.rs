//! The plan for one dog: what to take at which visit, zone by zone.
//!
//! A linear programme over all zones with a proven bound, then amounts that a
//! hand can do, each with its reason. Knows neither store nor web nor clock.

mod carding;
mod course;
mod hand;
mod master;
mod minutes;
mod outcome;
mod outline;
mod planner;
mod programme;
mod proofs;
mod reasons;
mod response;
mod search;
mod solver;
mod together;
mod weights;
mod zone_model;

pub use hand::{Amount, Bar, STEPS, Terms};
pub use outcome::{DogPlan, Objective, PlanError, PlannedVisit, PlannedZone, Request};
pub use planner::Planner;
pub use reasons::{Term, Why};
pub use solver::{Column, Highs, Optimum, Programme, Row, Session, Solver, SolverError};
pub use weights::{BASE_MIN, PULL_MIN_DM2, TOUCH_MIN_DM2, Table, Weights};
pub use zone_model::Closed;
