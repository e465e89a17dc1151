//! Has the coat changed? Readings before and after a visit as one dog, or as two.

use crate::posterior::{LearnError, Learned};
use crate::sampler::Target;
use coat::Day;

/// Visits with readings that each side must have.
const SIDE: usize = 2;
/// Newest visits at which a change is looked for.
const LOOKED_AT: usize = 8;

/// A day from which on the readings go better with another dog than with the one before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// The first visit of the other dog.
    pub since: Day,
    /// Logarithm of the evidence for two dogs over the evidence for one.
    pub ln_ratio: f64,
}

impl Change {
    /// Above this it is told. Chosen so that few dogs that do not change are suspected; see the report.
    pub const TOLD: f64 = 1.0;

    /// Whether it is worth telling.
    pub fn is_told(&self) -> bool {
        self.ln_ratio > Self::TOLD
    }
}

impl Learned {
    fn ln_evidence(&self, counts: &(dyn Fn(Day) -> bool + Sync)) -> Result<f64, LearnError> {
        let mode = self.mode(counts)?;
        Target::new(&self.patches, &self.prior, counts)
            .ln_evidence(&mode)
            .ok_or(LearnError::Numbers("the prior could not be factored"))
    }

    /// The likeliest change among the newest visits; none where there are too few.
    ///
    /// The values after a change are drawn from the prior anew. Hair on its way at the change is
    /// followed as if it had always lived as it does afterwards: a change is noticed, not measured.
    ///
    /// # Errors
    /// [`LearnError::Numbers`] when no mode is found.
    ///
    /// # Reference
    /// Evidence by Laplace's method: Tierney & Kadane 1986, JASA 81:82-86.
    pub fn change(&self) -> Result<Option<Change>, LearnError> {
        let days = self.visit_days();
        if days.len() < 2 * SIDE {
            return Ok(None);
        }
        let whole = self.ln_evidence(&|_| true)?;
        let mut best: Option<Change> = None;
        let first = SIDE.max(days.len().saturating_sub(LOOKED_AT));
        for &since in &days[first..=days.len() - SIDE] {
            let apart = self.ln_evidence(&move |d| d < since)? + self.ln_evidence(&move |d| d >= since)?;
            let ln_ratio = apart - whole;
            if best.is_none_or(|b| ln_ratio > b.ln_ratio) {
                best = Some(Change { since, ln_ratio });
            }
        }
        Ok(best)
    }
}
