//! Which zones are carded at which visit: by the rule, as far as hands and minutes allow.

use crate::programme::Days;
use crate::weights::{TOUCH_MIN_DM2, Table, Weights};
use crate::zone_model::{Closed, ZoneModel};
use coat::{Day, Population, Take, WOOL_LIMIT};

/// What is carded when, and the wool that stays.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Carding {
    /// By zone and visit.
    pub(crate) carded: Vec<Vec<bool>>,
    /// By zone: wool above its limit, summed over weighted days.
    pub(crate) wool_sum: Vec<f64>,
}

/// What carding is worked out from.
#[derive(Clone, Copy)]
pub(crate) struct Combs<'a> {
    pub(crate) today: Day,
    pub(crate) zones: &'a [ZoneModel],
    pub(crate) days: &'a Days,
    pub(crate) table: &'a Table,
}

impl Combs<'_> {
    /// Cards every zone with wool above the limit whose turn is `allowed`, except where hands stay
    /// off; within `max_min`, if any, the zones with the most wool first.
    pub(crate) fn card(&self, allowed: Option<&[Vec<bool>]>, max_min: Option<f64>) -> Carding {
        let (zones, w) = (self.zones, &self.days.w);
        let visits = zones.first().map_or(0, |m| m.at.len());
        let mut out = Carding { carded: vec![vec![false; visits]; zones.len()], wool_sum: vec![0.0; zones.len()] };
        let mut coats: Vec<(usize, Population)> =
            zones.iter().enumerate().filter_map(|(z, m)| Some((z, m.under.clone()?))).collect();
        let mut next = 0;
        for i in 0..=visits {
            let at = zones.first().and_then(|m| m.at.get(i)).copied().unwrap_or(w.len());
            for (z, under) in &mut coats {
                for (t, d) in w.iter().enumerate().take(at).skip(next) {
                    under.step_to((self.today + t as i32).days());
                    out.wool_sum[*z] += d * (under.ripe() - WOOL_LIMIT).max(0.0);
                }
                if i < visits {
                    under.step_to((self.today + at as i32).days());
                }
            }
            next = at;
            if i == visits {
                break;
            }
            let mut wish: Vec<(f64, usize)> = coats
                .iter()
                .filter(|(z, under)| under.ripe() > WOOL_LIMIT && self.may(*z, i, allowed))
                .map(|(z, under)| (under.ripe(), *z))
                .collect();
            wish.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let mut room = max_min.map_or(f64::INFINITY, |max| max - self.table.base_min());
            for (_, z) in wish {
                let min = self.touch_min(z);
                if min <= room + 1e-9 {
                    room -= min;
                    out.carded[z][i] = true;
                }
            }
            for (z, under) in coats.iter_mut().filter(|c| out.carded[c.0][i]) {
                let wool = under.ripe();
                under.visit(&Take::LongestFirst(wool));
                debug_assert!(zones[*z].setup.is_carded());
            }
        }
        out
    }

    fn may(&self, z: usize, i: usize, allowed: Option<&[Vec<bool>]>) -> bool {
        !matches!(self.zones[z].open[i], Closed::HandsOff | Closed::NotWorked) && allowed.is_none_or(|a| a[z][i])
    }

    /// Minutes of carding a zone that is not pulled.
    pub(crate) fn touch_min(&self, z: usize) -> f64 {
        let setup = &self.zones[z].setup;
        setup.zone.defaults().area * self.table.unit(setup.tender) * TOUCH_MIN_DM2
    }

    /// The turns of carding that are worth their minutes at this price, given the shares of the
    /// visible hair that are pulled: a zone that is pulled is touched anyhow.
    pub(crate) fn worth(&self, weights: &Weights, price: &[f64], share: &[Vec<f64>]) -> Vec<Vec<bool>> {
        let one = |z: usize| {
            let m = &self.zones[z];
            let alone = Combs { zones: std::slice::from_ref(m), ..*self };
            let cost = |c: &Carding| {
                let wool = m.area / self.days.sum * weights.wool * c.wool_sum[0];
                let paid =
                    |i: usize| price[i] * self.touch_min(z) * (1.0 - (share[z][i] / m.setup.cap.max(0.01)).min(1.0));
                wool + (0..price.len()).filter(|i| c.carded[0][*i]).map(paid).sum::<f64>()
            };
            let mut allowed = vec![vec![true; price.len()]];
            let mut now = alone.card(Some(&allowed), None);
            let mut best = cost(&now);
            for i in 0..price.len() {
                if !now.carded[0][i] || price[i] <= 0.0 {
                    continue;
                }
                allowed[0][i] = false;
                let without = alone.card(Some(&allowed), None);
                let c = cost(&without);
                if c < best - 1e-12 {
                    (now, best) = (without, c);
                } else {
                    allowed[0][i] = true;
                }
            }
            allowed.remove(0)
        };
        (0..self.zones.len())
            .map(|z| if self.zones[z].under.is_some() { one(z) } else { vec![false; price.len()] })
            .collect()
    }
}
