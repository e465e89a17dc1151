//! What decides an amount: tried by taking the next larger step.

use crate::carding::Carding;
use crate::course::{Amounts, Eval, Outcome};
use crate::hand::{Amount, Bar, STEPS};
use crate::planner::Planner;
use crate::zone_model::{Closed, NOTHING};
use coat::{Mode, Zone};

/// The limit or the term of the cost that decides an amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// A limit stops the next larger step.
    Limit(Bar),
    /// Table time is used up.
    Minutes,
    /// The largest step there is.
    Largest,
    /// The next larger step costs more of this than it saves.
    Pays(Term),
    /// Nothing is ripe.
    NothingRipe,
}

/// A term of the cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Term {
    /// Cover would be thin.
    Cover,
    /// Ripe hair.
    Ripe,
    /// The layers would be less even.
    Evenness,
    /// The outline on a day that matters.
    Outline,
}

/// A plan in hand steps, and what it comes to.
pub(crate) struct InHand<'a> {
    pub(crate) carding: &'a Carding,
    /// By zone and visit.
    pub(crate) amounts: &'a [Vec<Amount>],
    pub(crate) outs: &'a [Outcome],
    /// By visit.
    pub(crate) minutes: &'a [f64],
}

/// The step above an amount, whether or not the cap allows it.
fn step_above(amount: Amount, mode: Mode) -> Option<Amount> {
    let next = STEPS.iter().position(|s| *s == amount).map(|p| p + 1)?;
    match STEPS.get(next) {
        Some(a) => Some(*a),
        None => (mode == Mode::Short).then_some(Amount::AllRipe),
    }
}

impl Eval<'_> {
    /// What these amounts come to when visits after `i` take less where a limit stops them;
    /// the limit where that does not help.
    fn with_later_less(&self, amounts: &mut [Amount], i: usize) -> Result<Outcome, (usize, Bar)> {
        let steps = self.steps();
        loop {
            let out = self.run(&Amounts::Hand(amounts));
            let Some((at, bar)) = out.barred else { return Ok(out) };
            let p = steps.iter().position(|s| *s == amounts[at]).unwrap_or(0);
            if at <= i || p == 0 {
                return Err((at, bar));
            }
            amounts[at] = steps[p - 1];
        }
    }
}

impl Planner<'_> {
    /// What decides the amount of zone z at visit i.
    pub(crate) fn why(&self, z: usize, i: usize, plan: &InHand<'_>) -> Why {
        let m = &self.zones[z];
        if let Some(&closed) = m.open.get(i)
            && closed != Closed::Open
        {
            return Why::Limit(Bar::Closed(closed));
        }
        let e = self.eval(z, plan.carding);
        let (amount, now) = (plan.amounts[z][i], &plan.outs[z]);
        if amount != Amount::Leave && now.share[i] >= now.ripe[i] - NOTHING {
            return Why::Limit(Bar::Pool);
        }
        if amount == Amount::AllRipe {
            let capped = now.share[i] >= m.setup.cap - 1e-6;
            return Why::Limit(if capped { Bar::Cap } else { Bar::Bare });
        }
        let Some(next) = step_above(amount, m.setup.mode) else {
            return if m.setup.cap <= 0.25 + 1e-6 { Why::Limit(Bar::Cap) } else { Why::Largest };
        };
        if let Amount::OneIn(n) = next
            && 1.0 / f64::from(n) > m.setup.cap + NOTHING
        {
            return Why::Limit(Bar::Cap);
        }
        let mut trial = plan.amounts[z].clone();
        trial[i] = next;
        let out = match e.with_later_less(&mut trial, i) {
            Ok(out) => out,
            Err((at, Bar::Pool)) if at == i && amount == Amount::Leave => return Why::NothingRipe,
            Err((_, bar)) => return Why::Limit(bar),
        };
        let cheaper = out.terms.sum() < now.terms.sum() - 1e-12;
        if let Some(max) = self.request.table.max_min.filter(|_| cheaper) {
            let table = &self.request.table;
            let over = |j: usize| {
                let more = e.minutes(table, out.share[j], j) - e.minutes(table, now.share[j], j);
                plan.minutes[j] + more > max + 1e-9
            };
            if over(i) || (i..plan.minutes.len()).any(over) {
                return Why::Minutes;
            }
        }
        let (a, b) = (&out.terms, &now.terms);
        let worse = [
            (a.cover - b.cover, Term::Cover),
            (a.evenness - b.evenness, Term::Evenness),
            (a.outline - b.outline, Term::Outline),
            (a.ripe - b.ripe, Term::Ripe),
        ];
        let most = worse.into_iter().max_by(|x, y| x.0.total_cmp(&y.0));
        most.map_or(Why::Largest, |(_, t)| Why::Pays(t))
    }

    /// The zone that ten more minutes at visit i would help most, with what they save.
    pub(crate) fn ten_more(&self, i: usize, plan: &InHand<'_>) -> Option<(Zone, f64)> {
        let max = self.request.table.max_min?;
        let table = &self.request.table;
        let mut best: Option<(Zone, f64)> = None;
        for z in 0..self.zones.len() {
            let e = self.eval(z, plan.carding);
            let now = &plan.outs[z];
            let steps = e.steps();
            let p = steps.iter().position(|s| *s == plan.amounts[z][i]).unwrap_or(0);
            for &a in &steps[(p + 1).min(steps.len())..] {
                let mut trial = plan.amounts[z].clone();
                trial[i] = a;
                let out = e.run(&Amounts::Hand(&trial));
                if out.barred.is_some() {
                    continue;
                }
                let more = e.minutes(table, out.share[i], i) - e.minutes(table, now.share[i], i);
                let gain = now.terms.sum() - out.terms.sum();
                let fits_only_then = plan.minutes[i] + more > max + 1e-9 && plan.minutes[i] + more <= max + 10.0;
                if fits_only_then && gain > 1e-9 && best.is_none_or(|b| gain > b.1) {
                    best = Some((self.zones[z].setup.zone, gain));
                }
            }
        }
        best
    }
}
