//! What a plan can be held against: its own data, the rule of one in five, every hand plan of a zone.

use crate::course::Amounts;
use crate::hand::{Amount, STEPS};
use crate::outcome::{DogPlan, PlanError};
use crate::planner::Planner;
use crate::solver::{Programme, Solver};
use coat::Zone;

impl Planner<'_> {
    /// The whole programme as one, minutes and lengths counted as in the plan's objective.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn programme(&self, solver: &dyn Solver) -> Result<Programme, PlanError> {
        let s = self.settle(solver)?.exact;
        Ok(self.ground(&s.means).build_whole(&s.carding, s.counted.as_ref()))
    }

    /// Value of the exact plan alone, and its evenness after each visit.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn exact_value(&self, solver: &dyn Solver) -> Result<(f64, Vec<f64>), PlanError> {
        let s = self.solve(solver)?;
        Ok((s.value, self.evenness(&s.takes)))
    }

    /// The same, minutes counted once, at the cover of the plan without their limit and touching
    /// spread over all that the cap allows: for plans that are only held against each other.
    ///
    /// # Errors
    /// [`PlanError::Solver`] when the solver gives up.
    pub fn value_at_once(&self, solver: &dyn Solver) -> Result<(f64, Vec<f64>), PlanError> {
        let s = self.solve_counting(0, solver)?;
        Ok((s.value, self.evenness(&s.takes)))
    }

    /// Days of the plan, a day that matters counted by its weight: what the cost is a mean over.
    pub fn weight_d(&self) -> f64 {
        self.days.sum
    }

    /// Cost of these takes by the linear data (for checks: equals the programme's value).
    pub fn cost_of_exact(&self, plan: &DogPlan) -> f64 {
        let one = |(z, (_, takes)): (usize, &(Zone, Vec<Vec<f64>>))| {
            let oldest_first: Vec<Vec<f64>> = takes.iter().map(|t| t.iter().rev().copied().collect()).collect();
            self.eval(z, &plan.carding).run(&Amounts::Exact(&oldest_first)).terms.sum()
        };
        plan.exact.iter().enumerate().map(one).sum()
    }

    /// Cost of these hand amounts (zone order of the dog), carded by the rule; none where one cannot be done.
    pub fn cost_of_hand(&self, amounts: &[Vec<Amount>]) -> Option<f64> {
        let mut sum = 0.0;
        for (z, a) in amounts.iter().enumerate() {
            let out = self.eval(z, &self.rule).run(&Amounts::Hand(a));
            if out.barred.is_some() {
                return None;
            }
            sum += out.terms.sum();
        }
        Some(sum)
    }

    /// The best hand steps of one zone by trying all of them, with their cost.
    ///
    /// Only for few visits: the work is 10 to the power of visits.
    pub fn enumerate(&self, zone: Zone) -> Option<(Vec<Amount>, f64)> {
        let z = self.zones.iter().position(|m| m.setup.zone == zone)?;
        let e = self.eval(z, &self.rule);
        let steps = e.steps();
        let n = self.request.visits.len();
        let mut place = vec![0; n];
        let mut best: Option<(Vec<Amount>, f64)> = None;
        loop {
            let a: Vec<Amount> = place.iter().map(|p| steps[*p]).collect();
            let out = e.run(&Amounts::Hand(&a));
            let skip = out.barred.map_or(n - 1, |b| b.0);
            if out.barred.is_none() && best.as_ref().is_none_or(|b| out.terms.sum() < b.1) {
                best = Some((a, out.terms.sum()));
            }
            // Odometer; a barred visit skips all that follows it.
            let mut i = skip;
            for p in &mut place[skip + 1..] {
                *p = 0;
            }
            loop {
                place[i] += 1;
                if place[i] < steps.len() {
                    break;
                }
                place[i] = 0;
                if i == 0 {
                    return best;
                }
                i -= 1;
            }
        }
    }

    /// Cost of the rule of one in five: a fifth of the visible hair, or what the limits leave of it.
    pub fn rule_cost(&self) -> f64 {
        (0..self.zones.len())
            .map(|z| {
                let e = self.eval(z, &self.rule);
                let mut a = vec![Amount::Leave; self.request.visits.len()];
                for i in 0..a.len() {
                    for step in STEPS.iter().rev().filter(|s| **s != Amount::OneIn(4)) {
                        a[i] = *step;
                        if e.run(&Amounts::Hand(&a)).barred.is_none() {
                            break;
                        }
                    }
                }
                e.run(&Amounts::Hand(&a)).terms.sum()
            })
            .sum()
    }
}
