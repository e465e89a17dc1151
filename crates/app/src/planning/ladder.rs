//! The ladder of rhythms at their steady state.

use super::Case;
use crate::model;
use crate::report::{Rung, r9};
use coat::{Zone, steady_share, steady_state};
use rayon::prelude::*;

/// The ladder of rhythms, days.
pub const LADDER_D: [i32; 5] = [7, 10, 14, 21, 28];

impl Case<'_> {
    /// The ladder of rhythms at their steady state, and why one is recommended.
    pub fn ladder(&self) -> (Vec<Rung>, String) {
        let mut rungs: Vec<i32> = LADDER_D.to_vec();
        for extra in [self.recommended, self.rhythm] {
            if !rungs.contains(&extra) {
                rungs.push(extra);
            }
        }
        rungs.sort_unstable();
        let table = model::table(self.file, &self.dog, None);
        let growth = model::outline_growth(&self.dog);
        let hard = self.dog.coat.defaults().start_hard;
        let back = self.coat.zone(Zone::Back).or_else(|| self.coat.zones.first());
        let ladder: Vec<Rung> = rungs
            .into_par_iter()
            .filter_map(|every| {
                let s = steady_state(back?.top.law(), every, hard);
                let pulled: f64 = self
                    .coat
                    .zones
                    .iter()
                    .filter(|z| {
                        z.setup.is_worked() && z.setup.zone.defaults().works.iter().any(|w| w.verb.starts_with("pull"))
                    })
                    .map(|z| {
                        let share = steady_share(z.top.law(), every).min(z.setup.cap);
                        table.zone_min(z.setup.zone.defaults().area, z.setup.tender, share, false)
                    })
                    .sum();
                let min = table.base_min() + pulled;
                let visits = 365.25 / f64::from(every);
                Some(Rung {
                    rhythm_days: every,
                    share: r9(s.share),
                    cover: r9(s.cover),
                    evenness: r9(s.evenness),
                    outline_mm: r9(growth * f64::from(every)),
                    visits_per_year: r9(visits),
                    min_per_visit: r9(min),
                    min_per_year: r9(min * visits),
                    price_per_year: self.file.groomer.price_per_hour.map(|p| r9(p * min * visits / 60.0)),
                    currency: self.file.groomer.currency.clone(),
                    recommended: every == self.recommended,
                })
            })
            .collect();
        let reason = format!(
            "The outline may grow {:.1} mm between visits for this look; the coat grows {:.2} mm a day at density {:.1}, \
             so {} days, never under 7 nor over 21: three weeks is the longest gap that keeps a coat rolling.",
            self.file.look.tolerance_mm(),
            growth,
            self.file.density,
            self.recommended
        );
        (ladder, reason)
    }
}
