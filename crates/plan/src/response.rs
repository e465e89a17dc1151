//! What taking one unit of ripe hair at a visit does to everything after it.
//!
//! The coat is linear in the amounts taken, so these responses are all that the
//! programme needs of the engine.

use coat::{Classes, Day, LagCalendar, Law, Population};
use std::sync::Arc;

/// Days between the classes older than the unit: there is nothing in them.
const RHYTHM_D: i32 = 21;

/// The response to one unit of ripe hair taken at a visit.
#[derive(Clone)]
pub(crate) struct Response {
    /// Change of cover, by days since the visit.
    pub(crate) cover: Vec<f64>,
    /// Change of the ripe share.
    pub(crate) ripe: Vec<f64>,
    /// Change of class shares at the k-th visit after this one, by class: index c is the
    /// class that ends at the c-th visit after this one.
    pub(crate) shares: Vec<Vec<f64>>,
    /// Change of the classes' ripe pools.
    pub(crate) pools: Vec<Vec<f64>>,
    /// New hair at a later day as (mm, share), from the unit emptied less that from the unit left.
    pub(crate) new_hair: Vec<(Day, Vec<(f64, f64)>)>,
}

/// The unit taken and the unit left at each visit from the response's own on, where lengths matter. Large: held only
/// while a law's zones are built.
pub(crate) type Marked = Vec<(Population, Population)>;

impl Response {
    /// The responses to a unit taken at each of `visits`, where neither seasons nor lengths matter: one course of hair
    /// serves all, and visits that are followed alike have one.
    pub(crate) fn plain(law: &Arc<Law>, visits: &[Day], until: Day) -> Vec<Arc<Response>> {
        // The days of visits after each visit; those that another's begin with are among its.
        let mut patterns: Vec<Vec<i32>> = Vec::new();
        let of: Vec<usize> = (0..visits.len())
            .map(|m| {
                let days: Vec<i32> = visits[m..].iter().map(|d| *d - visits[m]).collect();
                patterns.iter().position(|p| p.starts_with(&days)).unwrap_or_else(|| {
                    patterns.push(days);
                    patterns.len() - 1
                })
            })
            .collect();
        let Some(start) = visits.first().copied() else { return Vec::new() };
        let (mut taken, mut left) = unit(law, start, None);
        let n = (until - start).max(0) + 1;
        let none = Response { cover: vec![], ripe: vec![], shares: vec![], pools: vec![], new_hair: vec![] };
        let mut all = vec![none; patterns.len()];
        let (mut cover, mut ripe) = (Vec::with_capacity(n as usize), Vec::with_capacity(n as usize));
        for d in 0..n {
            let day = (start + d).days();
            taken.step_to(day);
            left.step_to(day);
            cover.push(taken.visible() - left.visible());
            ripe.push(taken.ripe() - left.ripe());
            for (pattern, r) in patterns.iter().zip(&mut all) {
                let k = r.shares.len();
                if pattern.get(k) == Some(&d) {
                    let marks = pattern[..=k].iter().rev().map(|mark| (start + *mark).days());
                    let before = (1..=2).map(|i| (start - i * RHYTHM_D).days());
                    let bounds: Vec<i32> = marks.chain(before).collect();
                    r.add_classes(&taken.classes_between(bounds.clone()), &left.classes_between(bounds));
                }
            }
        }
        for r in &mut all {
            r.cover.clone_from(&cover);
            r.ripe.clone_from(&ripe);
        }
        let all: Vec<Arc<Response>> = all.into_iter().map(Arc::new).collect();
        of.into_iter().map(|p| all[p].clone()).collect()
    }

    /// Adds the classes at one more visit, of the unit emptied and of the unit left.
    fn add_classes(&mut self, taken: &Classes, left: &Classes) {
        let k = self.shares.len();
        let diff = |x: &[f64], y: &[f64]| (0..=k).map(|c| x[k - c] - y[k - c]).collect::<Vec<f64>>();
        self.shares.push(diff(&taken.shares, &left.shares));
        self.pools.push(diff(&taken.pools, &left.pools));
    }

    /// Computes the response to a unit taken at `visits[0]`, up to `until`.
    pub(crate) fn new(
        law: &Arc<Law>,
        calendar: Option<&LagCalendar>,
        visits: &[Day],
        until: Day,
        lengths_on: &[Day],
    ) -> (Response, Marked) {
        let start = visits[0];
        let (mut taken, mut left) = unit(law, start, calendar);
        let n = (until - start).max(0) as usize + 1;
        let mut out = Response {
            cover: Vec::with_capacity(n),
            ripe: Vec::with_capacity(n),
            shares: Vec::new(),
            pools: Vec::new(),
            new_hair: Vec::new(),
        };
        let mut marked = Marked::new();
        let mut k = 0;
        for d in 0..n as i32 {
            let day = start + d;
            taken.step_to(day.days());
            left.step_to(day.days());
            out.cover.push(taken.visible() - left.visible());
            out.ripe.push(taken.ripe() - left.ripe());
            if visits.get(k) == Some(&day) {
                taken.mark_visit();
                left.mark_visit();
                out.add_classes(&taken.classes(k + 2), &left.classes(k + 2));
                if lengths_on.iter().any(|d| *d >= day) {
                    marked.push((taken.clone(), left.clone()));
                }
                k += 1;
            }
            if lengths_on.contains(&day) {
                let mut hair: Vec<(f64, f64)> = taken.hair_by_length().into_iter().map(|h| (h.0, h.1)).collect();
                // The unit itself, as long as it lingers, has the length it had: not counted here.
                let mut still = left.clone();
                still.forget_old();
                hair.extend(still.hair_by_length().into_iter().map(|h| (h.0, -h.1)));
                out.new_hair.push((day, hair));
            }
        }
        (out, marked)
    }
}

/// A unit of ripe hair on its day: emptied, and left.
fn unit(law: &Arc<Law>, start: Day, calendar: Option<&LagCalendar>) -> (Population, Population) {
    let mut taken = Population::ripe_alone(law.clone(), start.days(), 1.0, RHYTHM_D);
    taken.set_calendar(calendar.cloned());
    let mut left = taken.clone();
    taken.visit(&coat::Take::LongestFirst(1.0));
    left.mark_visit();
    (taken, left)
}
