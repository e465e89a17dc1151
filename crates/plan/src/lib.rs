//! The plan for one dog: what to take at which visit, zone by zone.
//!
//! A linear programme over all zones with a proven bound, then amounts that a
//! hand can do, each with its reason. Knows neither store nor web nor clock.

mod dog_plan;
mod flows;
mod hand;
mod minutes;
mod programme;
mod response;
mod solver;
mod weights;
mod zone_model;

pub use dog_plan::{DogPlan, Objective, PlanError, PlannedVisit, PlannedZone, Planner, Request, Term, Why};
pub use hand::{Amount, Bar, STEPS, Terms};
pub use solver::{Column, Highs, Optimum, Programme, Row, Session, Solver, SolverError};
pub use weights::{BASE_MIN, PULL_MIN_DM2, TOUCH_MIN_DM2, Table, Weights};
pub use zone_model::Closed;
