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

/// A zone's plan followed up to a visit.
#[derive(Clone)]
struct Course {
    cover: Vec<f64>,
    /// Shares of follicles taken at each visit so far.
    y: Vec<f64>,
    /// Of each class, what earlier visits took and would still be there.
    gone: Vec<f64>,
    evenness: f64,
    order: f64,
    ripe_change: f64,
    /// Minutes so far, at their price.
    paid: f64,
}

/// The table, and the price of a minute at each visit.
pub(crate) type Priced<'a> = (&'a Table, &'a [f64]);

/// What is taken at a visit.
enum Wish<'a> {
    Hand(Amount),
    Exact(&'a [f64]),
}

/// What a visit came to.
struct Step {
    share: f64,
    evenness: f64,
}

impl Eval<'_> {
    pub(crate) fn run(&self, amounts: &Amounts<'_>) -> Outcome {
        let visits = self.m.at.len();
        let mut out =
            Outcome { terms: Terms::default(), share: vec![0.0; visits], evenness: vec![1.0; visits], barred: None };
        if !self.m.setup.is_worked() {
            return out;
        }
        let mut course = self.start();
        for i in 0..visits {
            let wish = match amounts {
                Amounts::Hand(a) => Wish::Hand(a[i]),
                Amounts::Exact(t) => Wish::Exact(&t[i]),
            };
            match self.step(&mut course, i, &wish) {
                Ok(s) => (out.share[i], out.evenness[i]) = (s.share, s.evenness),
                Err(bar) => {
                    out.barred = Some((i, bar));
                    return out;
                }
            }
        }
        out.terms = self.terms(&course);
        out
    }

    fn start(&self) -> Course {
        let m = self.m;
        let mut evenness = 0.0;
        if m.is_layered() {
            let first = m.at.first().copied().unwrap_or(self.days.w.len());
            evenness = (1.0 - m.first_evenness) * self.days.between(0, first);
        }
        Course {
            cover: m.cover.clone(),
            y: Vec::with_capacity(m.at.len()),
            gone: Vec::with_capacity(m.first_classes + m.at.len()),
            evenness,
            order: 0.0,
            ripe_change: 0.0,
            paid: 0.0,
        }
    }

    /// Works one visit; tells the limit that stops it, and then leaves the course unusable.
    fn step(&self, course: &mut Course, i: usize, wish: &Wish<'_>) -> Result<Step, Bar> {
        let m = self.m;
        let o = m.at[i];
        let classes = m.classes_at(i);
        // The class that ends at visit v.
        let born = m.first_classes - 1;
        course.gone.resize(classes, 0.0);
        for g in &mut course.gone {
            *g *= m.flows.stay[i];
        }
        let visible = course.cover[o];
        let wants = match wish {
            Wish::Hand(a) => *a != Amount::Leave,
            Wish::Exact(t) => t.iter().any(|x| *x > NOTHING),
        };
        let mut taken = 0.0;
        if wants {
            let pool_of = |c: usize, course: &Course| {
                let fed = if c < born { 0.0 } else { dot(&m.flows.pools[i][c - born], &course.y) };
                (m.pools[i][c] - course.gone[c] + fed).max(0.0)
            };
            match wish {
                Wish::Exact(t) => {
                    for (c, x) in t.iter().enumerate() {
                        taken += x;
                        course.order += c as f64 * x;
                        course.gone[c] += x;
                    }
                }
                Wish::Hand(a) => {
                    let pools: Vec<f64> = (0..classes).map(|c| pool_of(c, course)).collect();
                    let pool: f64 = pools.iter().sum();
                    let mut left = self.wanted(*a, i, visible, pool)?;
                    taken = left;
                    // The longest first.
                    for (c, r) in pools.iter().enumerate() {
                        let x = left.min(*r);
                        left -= x;
                        course.order += c as f64 * x;
                        course.gone[c] += x;
                        if left <= 0.0 {
                            break;
                        }
                    }
                    taken -= left.max(0.0);
                }
            }
            for (c, a) in course.cover[o..].iter_mut().zip(&m.responses[i].cover) {
                *c += taken * a;
            }
            course.ripe_change += taken * m.ripe_rate[i];
        }
        course.y.push(taken);
        let mut evenness = 1.0;
        if m.is_layered() {
            let mut short = 0.0;
            for (c, (ideal, share)) in m.ideal[i].iter().zip(&m.shares[i]).enumerate() {
                if *ideal > 0.0 {
                    let fed = if c < born { 0.0 } else { dot(&m.flows.shares[i][c - born], &course.y) };
                    short += (ideal - share + course.gone[c] - fed).max(0.0);
                }
            }
            evenness = 1.0 - short;
            let next = m.at.get(i + 1).copied().unwrap_or(self.days.w.len());
            course.evenness += short * self.days.between(o, next);
        }
        Ok(Step { share: if visible > 0.0 { taken / visible } else { 0.0 }, evenness })
    }

    /// The share of follicles that an amount asks for at visit i, or the limit against it.
    fn wanted(&self, amount: Amount, i: usize, visible: f64, pool: f64) -> Result<f64, Bar> {
        let m = self.m;
        let room = (visible - (m.setup.floor - 0.15)).max(0.0);
        let want = match amount {
            // A step that is not quite there is all that is ripe, as long as that is
            // more than the step below.
            Amount::OneIn(k) if pool > visible * step_below(k) + NOTHING => pool.min(visible / f64::from(k)),
            Amount::OneIn(k) => visible / f64::from(k),
            _ => pool.min(m.setup.cap * visible).min(room),
        };
        if m.open[i] != Closed::Open {
            Err(Bar::Closed(m.open[i]))
        } else if want > pool + NOTHING {
            Err(Bar::Pool)
        } else if want > m.setup.cap * visible + NOTHING {
            Err(Bar::Cap)
        } else if want > room + NOTHING {
            Err(Bar::Bare)
        } else {
            Ok(want)
        }
    }

    /// The cost of a course followed to its end.
    fn terms(&self, course: &Course) -> Terms {
        let (m, w, days) = (self.m, self.w, self.days);
        let unit = m.area / days.sum;
        let thin: f64 = course.cover.iter().zip(&days.w).map(|(c, d)| d * (m.setup.floor - c).max(0.0)).sum();
        let mut terms = Terms {
            cover: unit * w.cover * thin,
            ripe: unit * m.ripe_weight(w) * (m.ripe_sum + course.ripe_change),
            evenness: unit * w.evenness * course.evenness,
            wool: unit * w.wool * m.wool_sum,
            outline: 0.0,
            order: w.order * m.area * course.order,
        };
        for line in &m.outlines {
            let add = |base: f64, by: &[f64]| base + dot(by, &course.y);
            let error = add(line.over, &line.over_by) + add(line.short, &line.short_by).max(0.0);
            terms.outline += unit * w.outline * days.w[line.t] * error;
        }
        terms
    }

    /// Cost of these amounts, minutes at their price included; none where a limit stops one.
    fn cost(&self, amounts: &[Amount], priced: Option<Priced<'_>>) -> Option<f64> {
        self.cost_from(self.start(), 0, amounts, priced)
    }

    /// The same, following a course on from visit `from`.
    fn cost_from(
        &self,
        mut course: Course,
        from: usize,
        amounts: &[Amount],
        priced: Option<Priced<'_>>,
    ) -> Option<f64> {
        for (i, a) in amounts.iter().enumerate().skip(from) {
            self.follow(&mut course, i, *a, priced)?;
        }
        Some(self.terms(&course).sum() + course.paid)
    }

    /// One visit on; none where a limit stops the amount.
    fn follow(&self, course: &mut Course, i: usize, amount: Amount, priced: Option<Priced<'_>>) -> Option<()> {
        let step = self.step(course, i, &Wish::Hand(amount)).ok()?;
        if let Some((table, price)) = priced
            && price[i] > 0.0
        {
            course.paid += price[i] * self.minutes(table, step.share, i);
        }
        Some(())
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
    pub(crate) fn search(&self, exact: &[f64], priced: Option<Priced<'_>>) -> Vec<Amount> {
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
            self.change_one(&mut now, &mut best, &steps, priced);
            if start - best < 1e-12 {
                self.change_two(&mut now, &mut best, &steps, priced);
            }
            if start - best < 1e-12 {
                return now;
            }
        }
    }

    /// Puts each visit in turn to its best step.
    fn change_one(&self, now: &mut [Amount], best: &mut f64, steps: &[Amount], priced: Option<Priced<'_>>) {
        let mut course = self.start();
        for i in 0..now.len() {
            if self.m.open[i] == Closed::Open {
                let (was, mut keep) = (now[i], now[i]);
                for &a in steps.iter().filter(|a| **a != was) {
                    now[i] = a;
                    if let Some(c) = self.cost_from(course.clone(), i, now, priced)
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
    fn change_two(&self, now: &mut [Amount], best: &mut f64, steps: &[Amount], priced: Option<Priced<'_>>) {
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
            &steps[p.saturating_sub(reach)..(p + reach + 1).min(steps.len())]
        };
        let mut course = self.start();
        for i in 0..visits {
            if self.m.open[i] == Closed::Open {
                let was = now[i];
                let mut keep = None;
                for &a in near(was) {
                    let mut ahead = course.clone();
                    now[i] = a;
                    if self.follow(&mut ahead, i, a, priced).is_none() {
                        continue;
                    }
                    for j in i + 1..visits.min(i + far) {
                        let second = now[j];
                        if self.m.open[j] == Closed::Open {
                            for &b in near(second) {
                                now[j] = b;
                                if let Some(c) = self.cost_from(ahead.clone(), j, now, priced)
                                    && c < *best - 1e-12
                                {
                                    *best = c;
                                    keep = Some((a, j, b));
                                }
                            }
                            now[j] = second;
                        }
                        if self.follow(&mut ahead, j, second, priced).is_none() {
                            break;
                        }
                    }
                }
                now[i] = was;
                if let Some((a, j, b)) = keep {
                    (now[i], now[j]) = (a, b);
                }
            }
            if self.follow(&mut course, i, now[i], priced).is_none() {
                return;
            }
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
