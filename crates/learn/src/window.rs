//! When the next layer is ready, 8 in 10.

use crate::chance::halton_normal;
use crate::diagnostics::{mean_sd, quantile};
use crate::params::{DIM, Logs, scaled};
use crate::patch::layer_days;
use crate::posterior::Learned;
use crate::surface::Surface;
use coat::{Cycle, Day, Law, Mode, Population, Zone};
use std::sync::Arc;

/// The next layer of a zone: half of what one work emptied is ripe again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LayerWindow {
    /// The zone.
    pub zone: Zone,
    /// When the layer was begun.
    pub begun: Day,
    /// Chance 0.1 that it is ready by this day.
    pub from: Day,
    /// Even chance.
    pub middle: Day,
    /// Chance 0.9.
    pub until: Day,
    /// By the defaults.
    pub default: Day,
}

/// Laws worked out for the windows of zones that are alike.
const POINTS: usize = 26;
/// A layer is waited for no longer than this, days.
const LONGEST_D: i32 = 1200;

impl Learned {
    /// Days from `begun` until half of that layer is ripe again.
    fn half_ripe(&self, cycle: &Cycle, begun: Day) -> Option<f64> {
        let Some(calendar) = &self.calendar else { return Some(Law::new(*cycle).ok()?.half_ripe_d()) };
        // Ripe hair that is counted must not shed meanwhile.
        let law = Arc::new(Law::new(Cycle { hold_d: 3000.0, ..*cycle }).ok()?);
        let mut p = Population::emptied_under(law, begun.days(), 1.0, 21, Some(calendar.clone()));
        let mut before = 0.0;
        for d in 1..LONGEST_D {
            p.step_to(begun.days() + d);
            let now = p.ripe();
            if now >= 0.5 {
                return Some(f64::from(d) + 0.5 - (now - 0.5) / (now - before).max(1e-12));
            }
            before = now;
        }
        None
    }

    /// The window of the next layer in each worked zone that has one.
    pub fn windows(&self) -> Vec<LayerWindow> {
        let mut known: Vec<(Cycle, Day, Surface)> = Vec::new();
        let mut out = Vec::new();
        for setup in self.dog.zones.iter().filter(|s| s.mode != Mode::Never) {
            let mean = scaled(&setup.cycle, &self.zone_mean(setup.zone));
            let days = layer_days(&self.dog, setup.zone, self.today + 1);
            let next = days
                .iter()
                .rev()
                .find(|d| self.half_ripe(&mean, **d).is_some_and(|k| **d + k.floor() as i32 > self.today));
            let Some(&begun) = next else { continue };
            let draws = self.zone_draws(setup.zone);
            let found = known.iter().position(|k| k.0 == setup.cycle && k.1 == begun);
            let i = match found {
                Some(i) => i,
                None => {
                    let Some(s) = self.half_ripe_surface(&setup.cycle, begun) else { continue };
                    known.push((setup.cycle, begun, s));
                    known.len() - 1
                }
            };
            let mut room = Vec::new();
            let waits: Vec<f64> = draws
                .iter()
                .map(|x| {
                    known[i].2.at(x, &mut room);
                    room[0].exp()
                })
                .collect();
            let day = |q: f64| begun + quantile(&waits, q).round() as i32;
            let Some(by_default) = self.half_ripe(&setup.cycle, begun) else { continue };
            out.push(LayerWindow {
                zone: setup.zone,
                begun,
                from: day(0.1).max(self.today),
                middle: day(0.5).max(self.today),
                until: day(0.9).max(self.today),
                default: begun + by_default.round() as i32,
            });
        }
        out
    }

    /// Logarithm of the wait over the logarithms of lag, grow and set, around the posterior of the dog.
    fn half_ripe_surface(&self, base: &Cycle, begun: Day) -> Option<Surface> {
        let of = |k: usize| mean_sd(&self.dog_draws.iter().map(|d| d[k]).collect::<Vec<f64>>());
        let centre: Logs = std::array::from_fn(|k| of(k).0);
        let sd: Logs = std::array::from_fn(|k| of(k).1.hypot(self.prior.zone_sd[k]));
        let x: Vec<Logs> = (0..POINTS)
            .map(|i| {
                let h = halton_normal(i, 3);
                let mut x = [0.0; DIM];
                for k in 0..3 {
                    x[k] = centre[k] + 1.3 * sd[k] * h[k];
                }
                x
            })
            .collect();
        let mut y = Vec::with_capacity(x.len());
        for p in &x {
            y.push(vec![self.half_ripe(&scaled(base, p), begun)?.ln()]);
        }
        Surface::through(&x, &y, 3, &centre, &sd)
    }
}
