//! Ripe hair weighed by its length, class by class.

use super::Population;
use super::state::State;
use crate::law::{Law, linger_at};

/// What a hair of each length weighs, made ready for one law.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// Weight of the ripe hair of a unit, by days since it came through.
    through: Vec<f64>,
    /// The same by days since it was emptied.
    emptied: Vec<f64>,
    /// Mean weight of ripe hair older than the arrays.
    old: f64,
}

impl Law {
    /// Makes a weight of lengths, `of` in mm, ready to weigh ripe hair.
    pub fn weigh(&self, of: &dyn Fn(f64) -> f64) -> Weighed {
        let mm = self.cycle().growth_mm_d;
        let by: Vec<f64> = (0..self.p_grow.len().max(self.p_old.len())).map(|g| of(g as f64 * mm)).collect();
        let grown: Vec<f64> = self.p_grow.iter().zip(&by).map(|(p, w)| p * w).collect();
        // Ripens, then lingers: as far as the last may still ripen.
        let through = convolve_lingering(&grown, &self.h_set, self.delta);
        let emptied = convolve_lingering(&self.p_lag, &through, self.delta);
        Weighed { through, emptied, old: self.p_old.iter().zip(&by).map(|(p, w)| p * w).sum() }
    }
}

/// `a` convolved with a kernel that goes on geometrically; the result does too past its end.
fn convolve_lingering(a: &[f64], kernel: &[f64], delta: f64) -> Vec<f64> {
    let n = a.len() + kernel.len();
    let mut out = vec![0.0; n];
    for (i, x) in a.iter().enumerate().filter(|(_, x)| **x != 0.0) {
        let mut last = 0.0;
        for (j, o) in out[i..].iter_mut().enumerate() {
            last = kernel.get(j).copied().unwrap_or(last * delta);
            *o += x * last;
        }
    }
    out
}

impl State {
    fn ripe_weighed(&self, classes: usize, by: &Weighed) -> Vec<f64> {
        let (t, delta) = (self.t(), self.law.delta);
        let of_unit = |i: usize, day: usize| {
            if self.rows.contains_key(&i) {
                self.row_sum(i, day, |k| linger_at(&by.through, delta, k))
            } else {
                linger_at(&by.emptied, delta, (day - i) as i32)
            }
        };
        let mut each: Vec<f64> = (0..=t)
            .map(|i| if self.b[i] != 0.0 && i >= self.spent { self.b[i] * of_unit(i, t) } else { 0.0 })
            .collect();
        for rem in &self.removed {
            let (day, stay) = (self.idx(rem.day), self.law.stay(self.today - rem.day));
            for (k, w) in rem.w.iter().enumerate().filter(|(_, w)| **w != 0.0) {
                let i = rem.lo + k;
                if i >= self.spent && i <= day {
                    each[i] -= stay * w * of_unit(i, day);
                }
            }
        }
        let bounds = self.class_bounds(classes);
        let class = |j: usize| {
            let last = j + 1 == classes;
            let (lo, hi) = self.class_range(&bounds, j, last);
            each[lo..hi].iter().sum::<f64>() + if last { self.old.ripe * by.old } else { 0.0 }
        };
        (0..classes).map(class).collect()
    }
}

impl Population {
    /// The ripe hair of each class (newest first, last = all older), weighed by its length as `by` says:
    /// with weight 1 for every length, the pools of [`Population::classes`].
    ///
    /// None for a coat that met a clip: its hair is not as long as it grew.
    pub fn ripe_weighed(&self, classes: usize, by: &Weighed) -> Option<Vec<f64>> {
        self.0.clips.is_empty().then(|| self.0.ripe_weighed(classes, by))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dog::ZoneSetup;
    use crate::population::Take;
    use crate::zone::{CoatType, Zone};
    use std::sync::Arc;

    /// Weighed with 1 they are the pools; weighed by length they sum to what the lengths say.
    #[test]
    fn classes_weighed_are_pools_and_lengths() {
        let law = Arc::new(Law::new(ZoneSetup::defaults(Zone::Back, CoatType::Wire).cycle).expect("a law"));
        let (one, over) = (law.weigh(&|_| 1.0), law.weigh(&|mm| (mm - 23.0).max(0.0)));
        let mut p = Population::rolled(law, 0, 0.6, 21, false);
        for visit in 1..6 {
            p.step_to(17 * visit);
            p.mark_visit();
            let n = p.class_count();
            let pools = p.classes(n).pools;
            for (a, b) in p.ripe_weighed(n, &one).expect("never clipped").iter().zip(&pools) {
                assert!((a - b).abs() < 1e-9, "{a} {b}");
            }
            let all: f64 = p.ripe_weighed(n, &over).expect("never clipped").iter().sum();
            let hair = p.hair_by_length();
            let slow: f64 = hair.iter().filter(|h| h.2).map(|h| h.1 * (h.0 - 23.0).max(0.0)).sum();
            assert!((all - slow).abs() < 1e-9, "{all} {slow}");
            p.visit(&Take::LongestFirst(0.1));
        }
    }
}
