//! Amounts that a hand can do, and the best of them zone by zone.

use crate::programme::Days;
use crate::weights::{Table, Weights};
use crate::zone_model::{Closed, NOTHING, ZoneModel};
use coat::Mode;

/// An amount in hand terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Amount {
    /// Nothing.
    Leave,
    /// One hair in so many of those one sees.
    OneIn(u8),
    /// All that is ripe.
    AllRipe,
}

/// The hand steps, smallest first.
pub const STEPS: [Amount; 9] = [
    Amount::Leave,
    Amount::OneIn(20),
    Amount::OneIn(15),
    Amount::OneIn(12),
    Amount::OneIn(10),
    Amount::OneIn(8),
    Amount::OneIn(6),
    Amount::OneIn(5),
    Amount::OneIn(4),
];

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Amount::Leave => f.write_str("leave"),
            Amount::OneIn(n) => write!(f, "1 in {n}"),
            Amount::AllRipe => f.write_str("all ripe"),
        }
    }
}

/// The share of the next smaller step.
fn step_below(n: u8) -> f64 {
    let at = STEPS.iter().position(|s| *s == Amount::OneIn(n)).unwrap_or(0);
    match STEPS.get(at.wrapping_sub(1)) {
        Some(Amount::OneIn(k)) => 1.0 / f64::from(*k),
        // The smallest step asks for half of itself at least.
        _ => 0.5 / f64::from(n),
    }
}

/// The cost of a zone's plan, by term.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Terms {
    /// Thin cover.
    pub cover: f64,
    /// Ripe hair left.
    pub ripe: f64,
    /// Unevenness.
    pub evenness: f64,
    /// Wool.
    pub wool: f64,
    /// Outline on days that matter.
    pub outline: f64,
    /// Order of layers.
    pub order: f64,
}

impl Terms {
    /// The whole cost.
    pub fn sum(&self) -> f64 {
        self.cover + self.ripe + self.evenness + self.wool + self.outline + self.order
    }
}

/// What one zone's amounts come to.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    pub(crate) terms: Terms,
    /// Share of the visible hair taken at each visit.
    pub(crate) share: Vec<f64>,
    /// Evenness after each visit.
    pub(crate) evenness: Vec<f64>,
    /// Why an amount could not be done as it stands, by visit.
    pub(crate) barred: Option<(usize, Bar)>,
}

/// The limit that stops an amount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bar {
    /// Not so much is ripe.
    Pool,
    /// More than the zone's cap.
    Cap,
    /// Cover would fall to the bare limit.
    Bare,
    /// Nothing may be taken.
    Closed(Closed),
}

/// How the amounts of a zone are given.
pub(crate) enum Amounts<'a> {
    Hand(&'a [Amount]),
    /// By class, oldest first (the exact plan).
    Exact(&'a [Vec<f64>]),
}

/// One zone's evaluation against days and weights.
pub(crate) struct Eval<'a> {
    pub(crate) m: &'a ZoneModel,
    pub(crate) days: &'a Days,
    pub(crate) w: &'a Weights,
}

impl Eval<'_> {
    pub(crate) fn run(&self, amounts: &Amounts<'_>) -> Outcome {
        let (m, w, days) = (self.m, self.w, self.days);
        let visits = m.at.len();
        let n = days.w.len();
        let unit = m.area / days.sum;
        let mut out =
            Outcome { terms: Terms::default(), share: vec![0.0; visits], evenness: vec![1.0; visits], barred: None };
        if !m.setup.is_worked() {
            return out;
        }
        let mut cover = m.cover.clone();
        let mut y = vec![0.0; visits];
        let mut takes: Vec<Vec<f64>> = Vec::with_capacity(visits);
        let rate = unit * w.evenness;
        if m.is_layered() {
            let first = m.at.first().copied().unwrap_or(n);
            out.terms.evenness += rate * (1.0 - m.first_evenness) * days.w[..first.min(n)].iter().sum::<f64>();
        }
        let mut ripe_change = 0.0;
        for i in 0..visits {
            let o = m.at[i];
            let classes = m.classes_at(i);
            let visible = cover[o];
            let wants = match amounts {
                Amounts::Hand(a) => a[i] != Amount::Leave,
                Amounts::Exact(t) => t[i].iter().any(|x| *x > NOTHING),
            };
            let mut take = Vec::new();
            if wants {
                let pools: Vec<f64> = (0..classes)
                    .map(|c| {
                        let mut r = m.pools[i][c];
                        for k in 0..i {
                            if y[k] > 0.0 {
                                r += y[k] * m.class_response(&m.responses[k].pools, k, i, c);
                                if let Some(x) = takes[k].get(c) {
                                    r -= x * m.delta.powi((o - m.at[k]) as i32);
                                }
                            }
                        }
                        r.max(0.0)
                    })
                    .collect();
                let pool: f64 = pools.iter().sum();
                let room = (visible - (m.setup.floor - 0.15)).max(0.0);
                match amounts {
                    Amounts::Exact(t) => take.clone_from(&t[i]),
                    Amounts::Hand(a) => {
                        let want = match a[i] {
                            // A step that is not quite there is all that is ripe, as long as that is
                            // more than the step below.
                            Amount::OneIn(k) if pool > visible * step_below(k) + NOTHING => {
                                pool.min(visible / f64::from(k))
                            }
                            Amount::OneIn(k) => visible / f64::from(k),
                            _ => pool.min(m.setup.cap * visible).min(room),
                        };
                        let bar = if m.open[i] != Closed::Open {
                            Some(Bar::Closed(m.open[i]))
                        } else if want > pool + NOTHING {
                            Some(Bar::Pool)
                        } else if want > m.setup.cap * visible + NOTHING {
                            Some(Bar::Cap)
                        } else if want > room + NOTHING {
                            Some(Bar::Bare)
                        } else {
                            None
                        };
                        if let Some(bar) = bar {
                            out.barred = Some((i, bar));
                            return out;
                        }
                        // The longest first.
                        let mut left = want;
                        take = pools
                            .iter()
                            .map(|r| {
                                let x = left.min(*r);
                                left -= x;
                                x
                            })
                            .collect();
                    }
                }
                for (c, x) in take.iter().enumerate() {
                    y[i] += x;
                    out.terms.order += w.order * m.area * c as f64 * x;
                }
                out.share[i] = if visible > 0.0 { y[i] / visible } else { 0.0 };
                let r = &m.responses[i];
                for (c, a) in cover[o..].iter_mut().zip(&r.cover) {
                    *c += y[i] * a;
                }
                ripe_change += y[i] * r.ripe.iter().zip(&days.w[o..]).map(|(a, d)| a * d).sum::<f64>();
            }
            takes.push(take);
            if m.is_layered() {
                let mut short = 0.0;
                for c in 0..classes {
                    let ideal = m.ideal[i][c];
                    if ideal <= 0.0 {
                        continue;
                    }
                    let mut share = m.shares[i][c];
                    for k in 0..=i {
                        if y[k] > 0.0 {
                            share += y[k] * m.class_response(&m.responses[k].shares, k, i, c);
                            if let Some(x) = takes[k].get(c) {
                                share -= x * m.delta.powi((o - m.at[k]) as i32);
                            }
                        }
                    }
                    short += (ideal - share).max(0.0);
                }
                out.evenness[i] = 1.0 - short;
                let next = m.at.get(i + 1).copied().unwrap_or(n).min(n);
                out.terms.evenness += rate * short * days.w[o.min(n)..next].iter().sum::<f64>();
            }
        }
        let ripe: f64 = m.ripe.iter().zip(&days.w).map(|(r, d)| r * d).sum();
        out.terms.ripe = unit * m.ripe_weight(w) * (ripe + ripe_change);
        let thin: f64 = cover.iter().zip(&days.w).map(|(c, d)| d * (m.setup.floor - c).max(0.0)).sum();
        out.terms.cover = unit * w.cover * thin;
        if m.setup.is_carded() {
            out.terms.wool =
                unit * w.wool * m.wool.iter().zip(&days.w).map(|(x, d)| d * (x - 0.15).max(0.0)).sum::<f64>();
        }
        for line in &m.outlines {
            let add = |base: f64, by: &[f64]| base + by.iter().zip(&y).map(|(a, b)| a * b).sum::<f64>();
            let error = add(line.over, &line.over_by) + add(line.short, &line.short_by).max(0.0);
            out.terms.outline += unit * w.outline * days.w[line.t] * error;
        }
        out
    }

    fn cost(&self, amounts: &[Amount], priced: Option<(&Table, &[f64])>) -> Option<f64> {
        let out = self.run(&Amounts::Hand(amounts));
        if out.barred.is_some() {
            return None;
        }
        let mut cost = out.terms.sum();
        if let Some((table, price)) = priced {
            for (i, p) in price.iter().enumerate() {
                if *p > 0.0 {
                    cost += p * self.minutes(table, out.share[i], i);
                }
            }
        }
        Some(cost)
    }

    pub(crate) fn minutes(&self, table: &Table, share: f64, i: usize) -> f64 {
        let z = self.m.setup.zone.defaults();
        table.zone_min(z.area, self.m.setup.tender, share, self.m.carded[i])
    }

    /// The amounts open to the zone, smallest first.
    pub(crate) fn steps(&self) -> Vec<Amount> {
        let mut s: Vec<Amount> = STEPS
            .into_iter()
            .filter(|a| match a {
                Amount::OneIn(n) => 1.0 / f64::from(*n) <= self.m.setup.cap + NOTHING,
                _ => true,
            })
            .collect();
        if self.m.setup.mode == Mode::Short {
            s.push(Amount::AllRipe);
        }
        s
    }

    /// The best hand steps near an exact plan: rounded visit by visit, then improved
    /// by changing one or two visits at a time until nothing helps.
    pub(crate) fn search(&self, exact: &[f64], priced: Option<(&Table, &[f64])>) -> Vec<Amount> {
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
        let mut best = self.cost(&now, priced).unwrap_or(f64::INFINITY);
        loop {
            let start = best;
            for i in (0..visits).filter(|i| self.m.open[*i] == Closed::Open) {
                self.change(&mut now, &mut best, &[i], &steps, priced);
            }
            if start - best < 1e-12 {
                // Pairs: one visit any step, the other a neighbour or two away.
                for i in 0..visits {
                    // With many visits only near ones make up for each other.
                    let far = if visits <= 6 { visits } else { i + 3 };
                    for j in i + 1..visits.min(far) {
                        if self.m.open[i] == Closed::Open && self.m.open[j] == Closed::Open {
                            self.change(&mut now, &mut best, &[i, j], &steps, priced);
                        }
                    }
                }
            }
            if start - best < 1e-12 {
                return now;
            }
        }
    }

    fn change(
        &self,
        now: &mut [Amount],
        best: &mut f64,
        visits: &[usize],
        steps: &[Amount],
        priced: Option<(&Table, &[f64])>,
    ) {
        let place = |a: Amount| steps.iter().position(|s| *s == a).unwrap_or(0);
        let was: Vec<Amount> = visits.iter().map(|i| now[*i]).collect();
        let reach = match (visits.len(), now.len()) {
            (1, _) | (_, ..=4) => steps.len(),
            (_, ..=6) => 3,
            _ => 1,
        };
        let near = |a: Amount| {
            let p = place(a);
            (p.saturating_sub(reach)..(p + reach + 1).min(steps.len())).collect::<Vec<usize>>()
        };
        let mut keep = was.clone();
        let second: Vec<usize> = if visits.len() == 2 { near(was[1]) } else { vec![0] };
        for a in near(was[0]) {
            now[visits[0]] = steps[a];
            for &b in &second {
                if visits.len() == 2 {
                    now[visits[1]] = steps[b];
                }
                if let Some(c) = self.cost(now, priced)
                    && c < *best - 1e-12
                {
                    *best = c;
                    keep = visits.iter().map(|i| now[*i]).collect();
                }
            }
        }
        for (i, a) in visits.iter().zip(keep) {
            now[*i] = a;
        }
    }
}
