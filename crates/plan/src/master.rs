//! The small programme over plans that are known: which mix of them fits the minutes, and what a minute is worth.
//!
//! It is Dantzig and Wolfe's master in its dual form, Kelley's cutting planes (1960, Journal of the Society for
//! Industrial and Applied Mathematics 8:703-712): the unknowns are the prices of minutes, every plan is one row, and
//! the shares of the mix are the shadow prices of the rows. A new plan adds a row, and the solver goes on from where
//! it stood.

use crate::solver::{Column, Programme, Row, Session, Solver, SolverError};

/// A plan of one part: which it is, its cost, and its minutes at each visit.
pub(crate) struct Known {
    pub(crate) part: usize,
    pub(crate) plan: usize,
    pub(crate) cost: f64,
    pub(crate) min: Vec<f64>,
}

/// The best mix of the plans known.
pub(crate) struct Mixed {
    pub(crate) value: f64,
    /// The plans that it uses.
    pub(crate) used: Vec<Used>,
    /// Cost saved per minute more, by visit.
    pub(crate) price: Vec<f64>,
}

/// A plan in a mix, and its share in its part.
pub(crate) struct Used {
    pub(crate) part: usize,
    pub(crate) plan: usize,
    pub(crate) share: f64,
}

/// The programme, open in the solver.
pub(crate) struct Master {
    session: Box<dyn Session>,
    visits: usize,
    /// By row, part and plan.
    plans: Vec<(usize, usize)>,
}

impl Master {
    /// Opens it for this room at each visit. Minutes over it are possible at the price `dearest`; where that is
    /// infinite, the plans known must have a mix that fits.
    pub(crate) fn open(
        room: &[f64],
        parts: usize,
        dearest: f64,
        known: impl Iterator<Item = Known>,
        solver: &dyn Solver,
    ) -> Result<Master, SolverError> {
        let mut p = Programme::default();
        for minutes in room {
            p.columns.push(Column { cost: *minutes, low: 0.0, high: dearest });
        }
        // The least priced cost of each part, to be raised as far as its plans allow.
        for _ in 0..parts {
            p.column(-1.0, f64::NEG_INFINITY, f64::INFINITY);
        }
        let mut plans = Vec::new();
        for k in known {
            p.rows.push(row(room.len(), &k));
            plans.push((k.part, k.plan));
        }
        Ok(Master { session: solver.open(p)?, visits: room.len(), plans })
    }

    pub(crate) fn add(&mut self, known: &Known) -> Result<(), SolverError> {
        self.plans.push((known.part, known.plan));
        self.session.add_row(row(self.visits, known))
    }

    pub(crate) fn mix(&mut self) -> Result<Mixed, SolverError> {
        let s = self.session.minimise()?;
        let shares =
            self.plans.iter().zip(&s.price).map(|((part, plan), p)| Used { part: *part, plan: *plan, share: -p });
        Ok(Mixed {
            value: -s.value,
            used: shares.filter(|used| used.share > 0.0).collect(),
            price: s.x[..self.visits].iter().map(|p| p.max(0.0)).collect(),
        })
    }
}

/// The least priced cost of a part is at most that of each of its plans.
fn row(visits: usize, known: &Known) -> Row {
    let minutes = known.min.iter().enumerate().filter(|(_, m)| **m > 0.0).map(|(i, m)| (i, -m));
    Row { low: f64::NEG_INFINITY, high: known.cost, terms: minutes.chain([(visits + known.part, 1.0)]).collect() }
}
