//! The best hand steps of one zone, found from near the exact plan.

use crate::course::{Eval, Priced};
use crate::hand::Amount;
use crate::zone_model::Closed;

impl Eval<'_> {
    /// The best hand steps near an exact plan: rounded visit by visit, then improved
    /// by changing one or two visits at a time until nothing helps.
    pub(crate) fn search(&self, exact: &[f64]) -> Vec<Amount> {
        self.improve(self.near(exact))
    }

    /// The hand steps nearest to an exact plan that can be done, visit by visit.
    pub(crate) fn near(&self, exact: &[f64]) -> Vec<Amount> {
        let steps = self.steps();
        let visits = self.m.at.len();
        let mut now = vec![Amount::Leave; visits];
        if !self.m.setup.is_worked() {
            return now;
        }
        let value = |a: Amount| match a {
            Amount::Leave => 0.0,
            Amount::OneIn(n) => 1.0 / f64::from(n),
            Amount::AllRipe => 0.35,
        };
        // Visit by visit: the step nearest to the exact share that can be done.
        for i in 0..visits {
            if self.m.open[i] != Closed::Open || exact[i] < 0.02 {
                continue;
            }
            let mut near: Vec<Amount> = steps.clone();
            near.sort_by(|a, b| (value(*a) - exact[i]).abs().total_cmp(&(value(*b) - exact[i]).abs()));
            for a in near {
                now[i] = a;
                if self.cost(&now, None).is_some() {
                    break;
                }
                now[i] = Amount::Leave;
            }
        }
        now
    }

    /// Changes one visit at a time until nothing helps.
    pub(crate) fn improve_singly(&self, mut now: Vec<Amount>, priced: Option<Priced<'_>>) -> Vec<Amount> {
        if self.m.setup.is_worked() {
            let mut best = self.cost(&now, priced).unwrap_or(f64::INFINITY);
            self.change_singly(&mut now, &mut best, &self.steps(), priced);
        }
        now
    }

    /// Changes one or two visits at a time until nothing helps.
    fn improve(&self, mut now: Vec<Amount>) -> Vec<Amount> {
        if !self.m.setup.is_worked() {
            return now;
        }
        let steps = self.steps();
        let mut best = self.cost(&now, None).unwrap_or(f64::INFINITY);
        loop {
            self.change_singly(&mut now, &mut best, &steps, None);
            let start = best;
            self.change_two(&mut now, &mut best, &steps);
            if start - best < 1e-12 {
                return now;
            }
        }
    }

    fn change_singly(&self, now: &mut [Amount], best: &mut f64, steps: &[Amount], priced: Option<Priced<'_>>) {
        let mut start = f64::INFINITY;
        while start - *best >= 1e-12 {
            start = *best;
            self.change_one(now, best, steps, priced);
        }
    }

    /// Puts each visit in turn to its best step.
    fn change_one(&self, now: &mut [Amount], best: &mut f64, steps: &[Amount], priced: Option<Priced<'_>>) {
        let (mut course, mut trial) = (self.start(), self.start());
        for i in 0..now.len() {
            if self.m.open[i] == Closed::Open {
                let (was, mut keep) = (now[i], now[i]);
                let at = steps.iter().position(|s| *s == was).unwrap_or(0);
                // Where minutes cost, touching a zone at all is what counts: from a step to the steps beside it, or to none.
                let near = |k: usize| priced.is_none() || at == 0 || k == 0 || k.abs_diff(at) <= 1;
                for &a in steps.iter().enumerate().filter(|(k, _)| *k != at && near(*k)).map(|(_, a)| a) {
                    now[i] = a;
                    trial.go_back_to(&course);
                    if let Some(c) = self.cost_on(&mut trial, i, now, priced)
                        && c < *best - 1e-12
                    {
                        *best = c;
                        keep = a;
                    }
                }
                now[i] = keep;
            }
            if self.follow(&mut course, i, now[i], priced).is_none() {
                return;
            }
        }
    }

    /// Puts each visit, together with one that follows, to the best pair of steps.
    fn change_two(&self, now: &mut [Amount], best: &mut f64, steps: &[Amount]) {
        let visits = now.len();
        // With many visits only near ones, and near steps, make up for each other.
        let far = if visits <= 6 { visits } else { 3 };
        let reach = match visits {
            0..=4 => steps.len(),
            5..=6 => 3,
            _ => 1,
        };
        let near = |a: Amount| {
            let p = steps.iter().position(|s| *s == a).unwrap_or(0);
            steps[p.saturating_sub(reach)..(p + reach + 1).min(steps.len())].to_vec()
        };
        let (mut course, mut ahead, mut trial) = (self.start(), self.start(), self.start());
        for i in 0..visits {
            if self.m.open[i] == Closed::Open {
                let was = now[i];
                let mut keep = None;
                for a in near(was) {
                    now[i] = a;
                    ahead.go_back_to(&course);
                    if self.follow(&mut ahead, i, a, None).is_none() {
                        continue;
                    }
                    for j in i + 1..visits.min(i + far) {
                        let second = now[j];
                        if self.m.open[j] == Closed::Open {
                            for b in near(second) {
                                now[j] = b;
                                trial.go_back_to(&ahead);
                                if let Some(c) = self.cost_on(&mut trial, j, now, None)
                                    && c < *best - 1e-12
                                {
                                    *best = c;
                                    keep = Some((a, j, b));
                                }
                            }
                            now[j] = second;
                        }
                        if self.follow(&mut ahead, j, second, None).is_none() {
                            break;
                        }
                    }
                }
                now[i] = was;
                if let Some((a, j, b)) = keep {
                    (now[i], now[j]) = (a, b);
                }
            }
            if self.follow(&mut course, i, now[i], None).is_none() {
                return;
            }
        }
    }
}
