//! What a late next visit costs.

use super::{Case, Failure};
use crate::model;
use crate::report::{LateReport, r9};
use coat::Day;
use plan::{Planner, Request, Solver};
use rayon::prelude::*;

/// Days late at which a late next visit is priced: finer where a groomer would still hesitate.
pub const LATE_D: [i32; 7] = [1, 3, 7, 14, 21, 28, 42];

/// Visits that the price of a late one looks ahead.
const LATE_VISITS: usize = 10;

impl Case<'_> {
    /// What a late next visit costs: the same programme with the next visit later.
    pub(super) fn late(&self, planner: &Planner<'_>, solver: &dyn Solver) -> Result<Vec<LateReport>, Failure> {
        let today = self.options.today;
        let Some(next) = self.visits.iter().position(|v| *v > today) else { return Ok(Vec::new()) };
        // With many visits the near ones tell: the same programme, ten visits long.
        let until = self.visits.get(LATE_VISITS).map_or(self.until, |v| *v - 1);
        let near = Request { until, ..self.request(self.visits.iter().copied().filter(|v| *v <= until).collect()) };
        let shorter = if until == self.until { None } else { Some(Planner::new(&self.dog, &self.coat, &near)?) };
        let base = shorter.as_ref().unwrap_or(planner);
        let (value, even) = base.value_at_once(solver)?;
        // A rise over fewer days is less of the whole plan's mean.
        let part = base.weight_d() / planner.weight_d();
        let even_on = |day: Day| self.visits.iter().rposition(|v| *v <= day).and_then(|i| even.get(i)).copied();
        let rows: Result<Vec<LateReport>, Failure> = self
            .late_days(self.visits[next], until)
            .into_par_iter()
            .map(|day| {
                let mut visits = self.visits[..next].to_vec();
                visits.extend(model::visit_days(day, until, self.rhythm, &self.options.not_on));
                let request = Request { until, ..self.request(visits) };
                let p = Planner::new(&self.dog, &self.coat, &request)?;
                let (late_value, late_even) = p.value_at_once(solver)?;
                // The last visit is left out: so near the plan's end nothing pays for evenness any more.
                let judged = request.visits.len().saturating_sub(1).max(next);
                let behind = request.visits[next..judged]
                    .iter()
                    .zip(&late_even[next..judged])
                    .rposition(|(day, e)| even_on(*day).is_some_and(|b| *e < b - 0.02));
                let planned = judged - next;
                let recover = behind.map_or(0, |i| i as u32 + 1);
                Ok(LateReport {
                    days_late: day - self.visits[next],
                    cost: r9(part * (late_value - value)),
                    visits_to_recover: (planned > 0 && (recover as usize) < planned).then_some(recover),
                    until: until.to_string(),
                })
            })
            .collect();
        rows
    }

    /// The days on which a late next visit may be, from the grid of lateness: the first that is possible.
    fn late_days(&self, next: Day, until: Day) -> Vec<Day> {
        let free = |d: &Day| !self.options.not_on.iter().any(|(a, b)| a <= d && d <= b);
        let mut days: Vec<Day> =
            LATE_D.iter().filter_map(|late| (*late..=until - next).map(|d| next + d).find(|d| free(d))).collect();
        days.dedup();
        days
    }
}
