//! What is asked of a plan, and what it answers.

use crate::carding::Carding;
use crate::hand::{Amount, Terms};
use crate::reasons::Why;
use crate::solver::SolverError;
use crate::weights::{Table, Weights};
use coat::{Day, Zone};

/// What to plan.
#[derive(Clone, Debug)]
pub struct Request {
    /// The first day of the plan; the coat is given as it stands that day before any visit.
    pub today: Day,
    /// The last day.
    pub until: Day,
    /// Days of visits, ascending, from today on.
    pub visits: Vec<Day>,
    /// Days that matter.
    pub matter: Vec<Day>,
    /// Table and hands.
    pub table: Table,
    /// Weights of the cost.
    pub weights: Weights,
}

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// No visit is possible before the last day.
    #[error("no plan meets every limit: between `{from}` and `{until}` no day is left for a visit")]
    NoVisit {
        /// First day.
        from: Day,
        /// Last day.
        until: Day,
    },
    /// A visit is too short for the work that every visit needs.
    #[error("no plan meets every limit: `{day}` needs {}", apart(*needs_min, *offers_min))]
    TooShort {
        /// The visit.
        day: Day,
        /// Least minutes.
        needs_min: f64,
        /// Limit.
        offers_min: f64,
    },
    /// The solver gave up.
    #[error("the plan could not be computed: {0}")]
    Solver(#[from] SolverError),
}

/// Two minutes that differ, with as many digits as show it.
fn apart(needs: f64, offers: f64) -> String {
    let digits = (0..6).find(|d| format!("{needs:.d$}") != format!("{offers:.d$}")).unwrap_or(6);
    format!("`{needs:.digits$} min` and offers `{offers:.digits$} min`")
}

/// The answer of the exact programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Objective {
    /// Cost of the exact plan.
    pub lp_value: f64,
    /// Proven lower bound.
    pub bound: f64,
    /// (value - bound) / max(value, 1e-9).
    pub gap: f64,
    /// Cost in hand steps.
    pub rounded_value: f64,
}

#[derive(Clone, Debug, PartialEq)]
/// One zone at one visit.
pub struct PlannedZone {
    /// Which zone.
    pub zone: Zone,
    /// How much, in hand terms.
    pub amount: Amount,
    /// Share of the visible hair.
    pub share: f64,
    /// Of the visible hair, what was ripe where some is taken.
    pub ripe: f64,
    /// Minutes.
    pub min: f64,
    /// Whether it is carded.
    pub carded: bool,
    /// What decides the amount.
    pub why: Why,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedVisit {
    /// The day.
    pub day: Day,
    /// Minutes in all.
    pub min: f64,
    /// The zones, in working order.
    pub zones: Vec<PlannedZone>,
    /// What ten more minutes would let start or grow, and by how much the cost falls.
    pub ten_more: Option<(Zone, f64)>,
}

/// The plan of a dog.
#[derive(Clone, Debug)]
pub struct DogPlan {
    /// The visits.
    pub visits: Vec<PlannedVisit>,
    /// What it costs and how good that is.
    pub objective: Objective,
    /// Cost of the hand plan by term.
    pub terms: Terms,
    /// The exact plan: zone, then visit, then class (newest first), shares of follicles.
    pub exact: Vec<(Zone, Vec<Vec<f64>>)>,
    /// Area-weighted evenness of the layered zones after each visit, exact plan.
    pub exact_evenness: Vec<f64>,
    /// What is carded, and the wool that stays.
    pub(crate) carding: Carding,
}
