//! One zone over the plan's days as linear data: base course and responses.

use crate::outline::{Contents, Outline, Weights2, parts};
use crate::programme::Days;
use crate::response::{Marked, Response};
use crate::weights::Weights;
use coat::{Day, LagCalendar, Mode, ZoneCoat, ZoneSetup};
use std::rc::Rc;
use std::sync::Arc;

/// A pool, cover or length below this is nothing.
pub(crate) const NOTHING: f64 = 1e-9;

/// All that the programme and the hand steps need of one zone.
#[derive(Clone)]
pub(crate) struct ZoneModel {
    pub(crate) setup: ZoneSetup,
    /// Share of the worked skin.
    pub(crate) area: f64,
    /// Day indices of the visits.
    pub(crate) at: Vec<usize>,
    /// Cover and ripe by day with no visits.
    pub(crate) cover: Vec<f64>,
    pub(crate) ripe: Vec<f64>,
    pub(crate) responses: Vec<Arc<Response>>,
    /// Share of the ripe hair left at the visit before that is still there, by visit.
    pub(crate) stay: Vec<f64>,
    /// Ripe hair with no visits, summed over weighted days.
    pub(crate) ripe_sum: f64,
    /// Change of it per unit taken at each visit.
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
    pub(crate) contents: Contents,
}

/// Why nothing can be taken at a visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closed {
    /// Something can.
    Open,
    /// The zone is not worked.
    NotWorked,
    /// Pulling is none of the zone's works.
    NotPulled,
    /// Hands off (sore, surgery, fresh treatment).
    HandsOff,
    /// Cover is below the bare limit already.
    Bare,
}

/// The responses to each visit, and where lengths matter the hair marked.
type Responses = (Vec<Arc<Response>>, Vec<Rc<Marked>>);

/// Builds the models of all zones of a dog.
pub(crate) struct Builder<'a> {
    pub(crate) today: Day,
    pub(crate) until: Day,
    pub(crate) visits: &'a [Day],
    pub(crate) matter: &'a [Day],
    pub(crate) calendar: Option<LagCalendar>,
    pub(crate) worked_area: f64,
    pub(crate) days: &'a Days,
    /// By law, what was worked out.
    known: Vec<(*const coat::Law, Responses)>,
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
        Builder { today, until, visits, matter, calendar, worked_area, days, known: Vec::new() }
    }

    fn responses(&mut self, law: &Arc<coat::Law>) -> Responses {
        let key = Arc::as_ptr(law);
        if let Some((_, known)) = self.known.iter().find(|(l, _)| *l == key) {
            return known.clone();
        }
        let (visits, until) = (self.visits, self.until);
        let out = if self.calendar.is_none() && self.matter.is_empty() {
            (Response::plain(law, visits, until), vec![Rc::default(); visits.len()])
        } else {
            let one = |m: usize| Response::new(law, self.calendar.as_ref(), &visits[m..], until, self.matter);
            (0..visits.len()).map(one).map(|(r, marked)| (Arc::new(r), Rc::new(marked))).unzip()
        };
        self.known.push((key, out.clone()));
        out
    }

    pub(crate) fn zone(&mut self, coat: &ZoneCoat) -> ZoneModel {
        let days = (self.until - self.today).max(0) as usize;
        let setup = coat.setup.clone();
        let at: Vec<usize> = self.visits.iter().map(|v| (*v - self.today).max(0) as usize).collect();
        let mut top = coat.top.clone();
        let mut model = ZoneModel {
            area: setup.zone.defaults().area / self.worked_area,
            at,
            cover: Vec::with_capacity(days + 1),
            ripe: Vec::with_capacity(days + 1),
            responses: Vec::new(),
            stay: Vec::new(),
            ripe_sum: 0.0,
            ripe_rate: Vec::new(),
            first_classes: 0,
            shares: Vec::new(),
            pools: Vec::new(),
            ideal: Vec::new(),
            first_evenness: if setup.mode == Mode::Layered { coat.top.evenness().0 } else { 1.0 },
            delta: 1.0 - 1.0 / setup.cycle.hold_d,
            open: Vec::new(),
            outlines: Vec::new(),
            contents: Contents::default(),
            setup,
        };
        if !model.setup.is_worked() {
            model.open = vec![Closed::NotWorked; self.visits.len()];
            return model;
        }
        let marked: Vec<Rc<Marked>>;
        (model.responses, marked) = self.responses(coat.top.law());
        let since = |i: usize| i.checked_sub(1).map_or(0, |before| model.at[i] - model.at[before]);
        model.stay = (0..model.at.len()).map(|i| model.delta.powi(since(i) as i32)).collect();
        let w = &self.days.w;
        model.ripe_rate = model
            .responses
            .iter()
            .zip(&model.at)
            .map(|(r, o)| r.ripe.iter().zip(&w[*o..]).map(|(r, d)| r * d).sum())
            .collect();
        let bare = model.setup.floor - 0.15;
        let pulled = model.setup.zone.defaults().works.iter().any(|w| w.verb.starts_with("pull"));
        let last = self.matter.iter().filter(|d| **d <= self.until).max().copied();
        let target = last.and(model.setup.target_mm).map(|mm| Weights2::new(coat.top.law(), mm));
        for t in 0..=days {
            let day = self.today + t as i32;
            top.step_to(day.days());
            if let Some(i) = model.at.iter().position(|o| *o == t) {
                top.mark_visit();
                if i == 0 {
                    model.first_classes = top.class_count();
                }
                let n = model.first_classes + i;
                let c = top.classes(n);
                let flip = |v: Vec<f64>| v.into_iter().rev().collect::<Vec<f64>>();
                model.ideal.push(flip(top.ideal_shares(&c.bounds, n)));
                model.shares.push(flip(c.shares));
                model.pools.push(flip(c.pools));
                let closed = match model.setup.hands_off_until {
                    Some(d) if day < d => Closed::HandsOff,
                    _ if !pulled => Closed::NotPulled,
                    _ if top.visible() < bare => Closed::Bare,
                    _ => Closed::Open,
                };
                model.open.push(closed);
                if let Some(weights) = target.as_ref().filter(|_| last.is_some_and(|l| day <= l)) {
                    model.contents.base.push(weights.classes(&top, n).into_iter().rev().collect());
                }
            }
            model.cover.push(top.visible());
            model.ripe.push(top.ripe());
            if self.matter.contains(&day)
                && let Some(target) = model.setup.target_mm
            {
                let base = parts(top.hair_by_length().into_iter().map(|h| (h.0, h.1)), target);
                let by = model.responses.iter().zip(&model.at).map(|(r, o)| {
                    let new = r.new_hair.iter().find(|h| *o <= t && h.0 == day).map_or(&[][..], |h| &h.1[..]);
                    parts(new.iter().copied(), target)
                });
                model.outlines.push(Outline { t, base, by: by.collect() });
            }
        }
        if let Some(weights) = &target {
            model.contents.fed = weights.fed(&marked, model.contents.base.len());
        }
        model.ripe_sum = model.ripe.iter().zip(w).map(|(x, d)| x * d).sum();
        model
    }
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
            && self.cover == other.cover
            && self.ripe == other.ripe
            && self.pools == other.pools
            && self.shares == other.shares
            && self.open == other.open
    }

    /// Adds to the classes of visit i, the oldest first, what grew where earlier visits took these shares, by this
    /// table of the responses.
    pub(crate) fn add_later(
        &self,
        classes: &mut [f64],
        taken: &[f64],
        i: usize,
        table: impl Fn(&Response) -> &Vec<Vec<f64>>,
    ) {
        // The class that ends at visit k is the oldest that what visit k took can feed.
        let born = self.first_classes - 1;
        for (k, y) in taken.iter().enumerate().filter(|(_, y)| **y != 0.0) {
            if let Some(fed) = table(&self.responses[k]).get(i - k) {
                for (class, by) in classes[born + k..].iter_mut().zip(fed) {
                    *class += y * by;
                }
            }
        }
    }

    /// Cover on day t when the visits before it took these shares of follicles.
    pub(crate) fn cover_on(&self, t: usize, taken: &[f64]) -> f64 {
        let mut cover = [0.0];
        self.cover_from(t, &mut cover, taken);
        cover[0]
    }

    /// The same on as many days from `from` on as there are to be filled.
    pub(crate) fn cover_from(&self, from: usize, cover: &mut [f64], taken: &[f64]) {
        cover.copy_from_slice(&self.cover[from..from + cover.len()]);
        for ((y, at), r) in taken.iter().zip(&self.at).zip(&self.responses).filter(|((y, _), _)| **y != 0.0) {
            let first = from.max(*at);
            for (c, r) in cover.iter_mut().skip(first - from).zip(&r.cover[first - at..]) {
                *c += y * r;
            }
        }
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
