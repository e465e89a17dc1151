//! Which zones are carded at which visit: by the rule, as far as hands and minutes allow.

use crate::programme::Days;
use crate::weights::{TOUCH_MIN_DM2, Table, Weights};
use crate::zone_model::{Closed, ZoneModel};
use coat::{Day, Population, Take, WOOL_LIMIT};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What is carded when, and the wool that stays.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Carding {
    /// By zone and visit.
    pub(crate) carded: Vec<Vec<bool>>,
    /// By zone: wool above its limit, summed over weighted days.
    pub(crate) wool_sum: Vec<f64>,
}

/// Undercoats followed from visit to visit, once for every choice of cardings that was asked for. Zones whose
/// undercoats stand on one state are followed together.
pub(crate) struct Undercoats {
    /// By zone, where it begins; nothing where carding is none of its works.
    first: Vec<Option<usize>>,
    known: Mutex<Vec<Stop>>,
}

/// An undercoat before the work of a visit, or after the last day.
struct Stop {
    under: Population,
    wool: f64,
    /// Wool above its limit, summed over the weighted days up to here.
    sum: f64,
    /// The stop that follows: left alone, carded.
    next: [Option<usize>; 2],
}

impl Undercoats {
    /// The undercoats of zones, today; nothing where carding is none of the zone's works.
    pub(crate) fn new(unders: Vec<Option<Population>>, today: Day, at: &[usize], days: &Days) -> Undercoats {
        let mut roots: Vec<Population> = Vec::new();
        let mut root = |p: Population| {
            roots.iter().position(|known| known.is_same(&p)).unwrap_or_else(|| {
                roots.push(p);
                roots.len() - 1
            })
        };
        let first = unders.into_iter().map(|p| p.map(&mut root)).collect();
        let to = at.first().copied().unwrap_or(days.w.len());
        let known = roots.into_iter().map(|p| Stop::new(p, 0.0, 0, to, today, days)).collect();
        Undercoats { first, known: Mutex::new(known) }
    }
}

impl Stop {
    /// Follows an undercoat on from day `from` to day `to`.
    fn new(mut under: Population, mut sum: f64, from: usize, to: usize, today: Day, days: &Days) -> Stop {
        let day = |t: usize| (today + t as i32).days();
        for t in from..to {
            under.step_to(day(t));
            sum += days.w[t] * (under.ripe() - WOOL_LIMIT).max(0.0);
        }
        if to < days.w.len() {
            under.step_to(day(to));
        }
        Stop { wool: under.ripe(), under, sum, next: [None; 2] }
    }
}

/// What carding is worked out from.
#[derive(Clone, Copy)]
pub(crate) struct Combs<'a> {
    pub(crate) today: Day,
    pub(crate) zones: &'a [ZoneModel],
    pub(crate) undercoats: &'a Undercoats,
    pub(crate) days: &'a Days,
    pub(crate) table: &'a Table,
}

impl Combs<'_> {
    /// Cards every zone with wool above the limit whose turn is `allowed`, except where hands stay
    /// off; within `max_min`, if any, the zones with the most wool first.
    pub(crate) fn card(&self, allowed: Option<&[Vec<bool>]>, max_min: Option<f64>) -> Carding {
        let visits = self.zones.first().map_or(0, |m| m.at.len());
        let none = || vec![vec![false; visits]; self.zones.len()];
        let mut out = Carding { carded: none(), wool_sum: vec![0.0; self.zones.len()] };
        let mut known = self.known();
        let mut stands: Vec<(usize, usize)> =
            self.undercoats.first.iter().enumerate().filter_map(|(z, first)| Some((z, (*first)?))).collect();
        for i in 0..visits {
            let mut wish: Vec<(f64, usize)> = stands
                .iter()
                .filter(|(z, stop)| self.wants(*z, i, &known[*stop]) && allowed.is_none_or(|a| a[*z][i]))
                .map(|(z, stop)| (known[*stop].wool, *z))
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
            for (z, stop) in &mut stands {
                *stop = self.next(&mut known, *z, i, *stop, out.carded[*z][i]);
            }
        }
        for (z, stop) in stands {
            out.wool_sum[z] = known[stop].sum;
        }
        out
    }

    /// One zone, minutes without a limit: whether it is carded at each visit, and its wool above the limit.
    fn card_alone(&self, z: usize, first: usize, allowed: &[bool]) -> (Vec<bool>, f64) {
        let mut known = self.known();
        let mut stop = first;
        let mut carded = vec![false; allowed.len()];
        for (i, carded) in carded.iter_mut().enumerate() {
            *carded = self.wants(z, i, &known[stop]) && allowed[i];
            stop = self.next(&mut known, z, i, stop, *carded);
        }
        (carded, known[stop].sum)
    }

    fn known(&self) -> MutexGuard<'_, Vec<Stop>> {
        self.undercoats.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where a zone's undercoat stands before visit i + 1, from where it stood before visit i.
    fn next(&self, known: &mut Vec<Stop>, z: usize, i: usize, from: usize, carded: bool) -> usize {
        if let Some(next) = known[from].next[usize::from(carded)] {
            return next;
        }
        let at = &self.zones[z].at;
        let Stop { under, wool, sum, .. } = &known[from];
        let (mut under, sum) = (under.clone(), *sum);
        if carded {
            under.visit(&Take::LongestFirst(*wool));
        }
        let to = at.get(i + 1).copied().unwrap_or(self.days.w.len());
        let next = known.len();
        known.push(Stop::new(under, sum, at[i], to, self.today, self.days));
        known[from].next[usize::from(carded)] = Some(next);
        next
    }

    /// Whether visit i finds wool above the limit where hands may card it.
    fn wants(&self, z: usize, i: usize, stop: &Stop) -> bool {
        stop.wool > WOOL_LIMIT && !matches!(self.zones[z].open[i], Closed::HandsOff | Closed::NotWorked)
    }

    /// Minutes of carding a zone that is not pulled.
    pub(crate) fn touch_min(&self, z: usize) -> f64 {
        let setup = &self.zones[z].setup;
        setup.zone.defaults().area * self.table.unit(setup.tender) * TOUCH_MIN_DM2
    }

    /// The turns of carding that are worth their minutes at this price, given the shares of the
    /// visible hair that are pulled: a zone that is pulled is touched anyhow.
    pub(crate) fn worth(&self, weights: &Weights, price: &[f64], share: &[Vec<f64>]) -> Vec<Vec<bool>> {
        let one = |z: usize, first: usize| {
            let m = &self.zones[z];
            let cost = |(carded, wool_sum): &(Vec<bool>, f64)| {
                let wool = m.area / self.days.sum * weights.wool * wool_sum;
                let paid =
                    |i: usize| price[i] * self.touch_min(z) * (1.0 - (share[z][i] / m.setup.cap.max(0.01)).min(1.0));
                wool + (0..price.len()).filter(|i| carded[*i]).map(paid).sum::<f64>()
            };
            let mut allowed = vec![true; price.len()];
            let mut now = self.card_alone(z, first, &allowed);
            let mut best = cost(&now);
            for i in 0..price.len() {
                if !now.0[i] || price[i] <= 0.0 {
                    continue;
                }
                allowed[i] = false;
                let without = self.card_alone(z, first, &allowed);
                let c = cost(&without);
                if c < best - 1e-12 {
                    (now, best) = (without, c);
                } else {
                    allowed[i] = true;
                }
            }
            allowed
        };
        let first = self.undercoats.first.iter().enumerate();
        first.map(|(z, first)| first.map_or_else(|| vec![false; price.len()], |first| one(z, first))).collect()
    }
}
