//! One zone over the plan's days as linear data: base course and responses.

use crate::flows::Flows;
use crate::programme::Days;
use crate::response::Response;
use crate::weights::Weights;
use coat::{Day, LagCalendar, Mode, Population, Take, WOOL_LIMIT, ZoneCoat, ZoneSetup};
use std::sync::Arc;

/// A pool, cover or length below this is nothing.
pub(crate) const NOTHING: f64 = 1e-9;

/// The outline of a zone on a day that matters, linear in what is taken.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outline {
    /// Day index of the day that matters.
    pub(crate) t: usize,
    /// Excess over the target (10 mm units times share) with no visits.
    pub(crate) over: f64,
    /// Change of the excess per unit taken at each visit.
    pub(crate) over_by: Vec<f64>,
    /// 0.15 of the visible less the hair near the target, with no visits.
    pub(crate) short: f64,
    /// Change of that per unit taken at each visit.
    pub(crate) short_by: Vec<f64>,
}

/// All that the programme and the hand steps need of one zone.
#[derive(Clone, Debug)]
pub(crate) struct ZoneModel {
    pub(crate) setup: ZoneSetup,
    /// Share of the worked skin.
    pub(crate) area: f64,
    /// Day indices of the visits.
    pub(crate) at: Vec<usize>,
    /// Cover and ripe by day with no visits.
    pub(crate) cover: Vec<f64>,
    pub(crate) ripe: Vec<f64>,
    /// Wool by day, carded by the rule.
    pub(crate) wool: Vec<f64>,
    /// Visits at which the rule cards.
    pub(crate) carded: Vec<bool>,
    pub(crate) responses: Vec<Arc<Response>>,
    pub(crate) flows: Arc<Flows>,
    /// Ripe hair with no visits, and wool above its limit, summed over weighted days.
    pub(crate) ripe_sum: f64,
    pub(crate) wool_sum: f64,
    /// Change of the first per unit taken at each visit.
    pub(crate) ripe_rate: Vec<f64>,
    /// Classes at the first visit (all older included).
    pub(crate) first_classes: usize,
    /// By visit: class shares, pools and ideal shares, oldest class first.
    pub(crate) shares: Vec<Vec<f64>>,
    pub(crate) pools: Vec<Vec<f64>>,
    pub(crate) ideal: Vec<Vec<f64>>,
    /// Evenness before the first visit.
    pub(crate) first_evenness: f64,
    /// Share of a day's ripe hair still there the next.
    pub(crate) delta: f64,
    /// Whether anything may be taken at each visit.
    pub(crate) open: Vec<Closed>,
    pub(crate) outlines: Vec<Outline>,
}

/// Why nothing can be taken at a visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    /// Something can.
    Open,
    /// The zone is not worked.
    NotWorked,
    /// Hands off (sore, surgery, fresh treatment).
    HandsOff,
    /// Cover is below the bare limit already.
    Bare,
}

/// Flows already laid out, by their responses.
type KnownFlows = Vec<(Vec<*const Response>, Arc<Flows>)>;

/// Responses already computed, by law and pattern of visits.
type Memo = Vec<(*const coat::Law, Vec<i32>, Arc<Response>)>;

/// Builds the models of all zones of a dog.
pub(crate) struct Builder<'a> {
    pub(crate) today: Day,
    pub(crate) until: Day,
    pub(crate) visits: &'a [Day],
    pub(crate) matter: &'a [Day],
    pub(crate) calendar: Option<LagCalendar>,
    pub(crate) worked_area: f64,
    pub(crate) days: &'a Days,
    memo: Memo,
    known_flows: KnownFlows,
}

impl<'a> Builder<'a> {
    pub(crate) fn new(
        today: Day,
        until: Day,
        visits: &'a [Day],
        matter: &'a [Day],
        calendar: Option<LagCalendar>,
        worked_area: f64,
        days: &'a Days,
    ) -> Self {
        let (memo, known_flows) = (Vec::new(), Vec::new());
        Builder { today, until, visits, matter, calendar, worked_area, days, memo, known_flows }
    }

    fn response(&mut self, top: &Population, m: usize) -> Arc<Response> {
        let law = top.law();
        let mut pattern: Vec<i32> = self.visits[m..].iter().map(|d| *d - self.visits[m]).collect();
        if self.calendar.is_some() || self.matter.iter().any(|d| *d >= self.visits[m]) {
            pattern.push(self.visits[m].days());
        }
        let key = Arc::as_ptr(law);
        // A regular rhythm makes one response serve all visits: the longest contains the others.
        let plain = self.calendar.is_none() && self.matter.is_empty();
        let known = self.memo.iter().find(|(l, p, _)| {
            *l == key
                && if plain { p.len() >= pattern.len() && p[..pattern.len()] == pattern[..] } else { *p == pattern }
        });
        if let Some((_, _, r)) = known {
            return r.clone();
        }
        let r = Arc::new(Response::new(law, self.calendar.as_ref(), &self.visits[m..], self.until, self.matter));
        self.memo.push((key, pattern, r.clone()));
        r
    }

    fn flows(&mut self, m: &ZoneModel) -> Arc<Flows> {
        // A law has its own hold, so the same responses go with the same delta.
        let key: Vec<*const Response> = m.responses.iter().map(Arc::as_ptr).collect();
        if let Some((_, f)) = self.known_flows.iter().find(|k| k.0 == key) {
            return f.clone();
        }
        let flows = Arc::new(Flows::new(&m.responses, &m.at, m.delta));
        self.known_flows.push((key, flows.clone()));
        flows
    }

    pub(crate) fn zone(&mut self, coat: &ZoneCoat) -> ZoneModel {
        let days = (self.until - self.today).max(0) as usize;
        let setup = coat.setup.clone();
        let at: Vec<usize> = self.visits.iter().map(|v| (*v - self.today).max(0) as usize).collect();
        let mut z = coat.clone();
        let mut model = ZoneModel {
            area: setup.zone.defaults().area / self.worked_area,
            at,
            cover: Vec::with_capacity(days + 1),
            ripe: Vec::with_capacity(days + 1),
            wool: Vec::with_capacity(days + 1),
            carded: vec![false; self.visits.len()],
            responses: Vec::new(),
            flows: Arc::default(),
            ripe_sum: 0.0,
            wool_sum: 0.0,
            ripe_rate: Vec::new(),
            first_classes: 0,
            shares: Vec::new(),
            pools: Vec::new(),
            ideal: Vec::new(),
            first_evenness: if setup.mode == Mode::Layered { coat.top.evenness().0 } else { 1.0 },
            delta: 1.0 - 1.0 / setup.cycle.hold_d,
            open: Vec::new(),
            outlines: Vec::new(),
            setup,
        };
        if !model.setup.is_worked() {
            model.open = vec![Closed::NotWorked; self.visits.len()];
            return model;
        }
        model.responses = (0..self.visits.len()).map(|m| self.response(&coat.top, m)).collect();
        model.flows = self.flows(&model);
        let w = &self.days.w;
        model.ripe_rate = model
            .responses
            .iter()
            .zip(&model.at)
            .map(|(r, o)| r.ripe.iter().zip(&w[*o..]).map(|(r, d)| r * d).sum())
            .collect();
        let bare = model.setup.floor - 0.15;
        let mut ripe_lengths: Vec<Vec<(f64, f64)>> = Vec::new();
        for t in 0..=days {
            let day = self.today + t as i32;
            z.step_to(day);
            if let Some(i) = model.at.iter().position(|o| *o == t) {
                if z.wants_carding() {
                    model.carded[i] = true;
                    let wool = z.wool();
                    z.under.visit(&Take::LongestFirst(wool));
                }
                z.top.mark_visit();
                if i == 0 {
                    model.first_classes = z.top.class_count();
                }
                let n = model.first_classes + i;
                let c = z.top.classes(n);
                let flip = |v: Vec<f64>| v.into_iter().rev().collect::<Vec<f64>>();
                model.ideal.push(flip(z.top.ideal_shares(&c.bounds, n)));
                model.shares.push(flip(c.shares));
                model.pools.push(flip(c.pools));
                let closed = match model.setup.hands_off_until {
                    Some(d) if day < d => Closed::HandsOff,
                    _ if z.top.visible() < bare => Closed::Bare,
                    _ => Closed::Open,
                };
                model.open.push(closed);
                if !self.matter.is_empty() {
                    let hair = z.top.hair_by_length();
                    ripe_lengths.push(hair.into_iter().filter(|h| h.2 && h.1 > 0.0).map(|h| (h.0, h.1)).collect());
                }
            }
            model.cover.push(z.top.visible());
            model.ripe.push(z.top.ripe());
            model.wool.push(z.wool());
            if self.matter.contains(&day)
                && let Some(target) = model.setup.target_mm
            {
                let hair: Vec<(f64, f64)> = z.top.hair_by_length().into_iter().map(|h| (h.0, h.1)).collect();
                let o = self.outline(&model, t, target, &hair, &ripe_lengths);
                model.outlines.push(o);
            }
        }
        let sum = |v: &[f64]| v.iter().zip(w).map(|(x, d)| x * d).sum::<f64>();
        model.ripe_sum = sum(&model.ripe);
        if model.setup.is_carded() {
            model.wool_sum = sum(&model.wool.iter().map(|x| (x - WOOL_LIMIT).max(0.0)).collect::<Vec<f64>>());
        }
        model
    }

    fn outline(&self, m: &ZoneModel, t: usize, target: f64, hair: &[(f64, f64)], ripe: &[Vec<(f64, f64)>]) -> Outline {
        let (over, short) = outline_parts(hair, target);
        let mut o = Outline { t, over, over_by: Vec::new(), short, short_by: Vec::new() };
        for (i, r) in m.responses.iter().enumerate() {
            if m.at[i] > t {
                o.over_by.push(0.0);
                o.short_by.push(0.0);
                continue;
            }
            let day = self.today + t as i32;
            let new = r.new_hair.iter().find(|h| h.0 == day).map_or(&[][..], |h| &h.1[..]);
            let (new_over, new_short) = outline_parts(new, target);
            let pool: f64 = ripe[i].iter().map(|h| h.1).sum();
            let (mut old_over, mut old_short) = outline_parts(&ripe[i], target);
            let stay = m.delta.powi((t - m.at[i]) as i32);
            if pool > NOTHING {
                old_over /= pool;
                old_short /= pool;
            }
            o.over_by.push(new_over - stay * old_over);
            o.short_by.push(new_short - stay * old_short);
        }
        o
    }
}

/// (excess over target + 3 mm in units of 10 mm times share, 0.15 visible - share within 5 mm).
fn outline_parts(hair: &[(f64, f64)], target: f64) -> (f64, f64) {
    let mut over = 0.0;
    let mut short = 0.0;
    for &(mm, share) in hair {
        over += share * (mm - target - 3.0).max(0.0) / 10.0;
        short += share * (0.15 - f64::from((mm - target).abs() <= 5.0));
    }
    (over, short)
}

impl ZoneModel {
    /// Weight of each day: 1, more on days that matter.
    pub(crate) fn ripe_weight(&self, w: &Weights) -> f64 {
        if self.setup.mode == Mode::Layered { w.ripe } else { w.ripe_short }
    }

    pub(crate) fn is_layered(&self) -> bool {
        self.setup.mode == Mode::Layered
    }

    /// Whether another zone has the same programme but for its area.
    pub(crate) fn is_like(&self, other: &ZoneModel) -> bool {
        let (a, b) = (&self.setup, &other.setup);
        let same_setup = (a.mode, a.tender, a.floor, a.cap, a.hands_off_until, a.is_carded())
            == (b.mode, b.tender, b.floor, b.cap, b.hands_off_until, b.is_carded());
        let same_cycle = (a.cycle.lag, a.cycle.grow, a.cycle.set, a.cycle.hold_d)
            == (b.cycle.lag, b.cycle.grow, b.cycle.set, b.cycle.hold_d);
        same_setup
            && same_cycle
            && self.outlines == other.outlines
            && self.carded == other.carded
            && self.cover == other.cover
            && self.ripe == other.ripe
            && self.wool == other.wool
            && self.pools == other.pools
            && self.shares == other.shares
    }

    /// Classes present at visit i.
    pub(crate) fn classes_at(&self, i: usize) -> usize {
        self.first_classes + i
    }

    /// The first visit that feeds class c: its own end (new classes only).
    pub(crate) fn class_visit(&self, c: usize) -> Option<usize> {
        (c + 1).checked_sub(self.first_classes)
    }

    /// Change of class c's share (or pool) at visit i per unit taken at visit m < i or = i.
    pub(crate) fn class_response(&self, table: &[Vec<f64>], m: usize, i: usize, c: usize) -> f64 {
        match self.class_visit(c) {
            Some(v) if v >= m => table.get(i - m).and_then(|row| row.get(v - m)).copied().unwrap_or(0.0),
            _ => 0.0,
        }
    }
}
