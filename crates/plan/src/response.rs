//! What taking one unit of ripe hair at a visit does to everything after it.
//!
//! The coat is linear in the amounts taken, so these responses are all that the
//! programme needs of the engine.

use coat::{Classes, Day, LagCalendar, Law, Population};
use std::sync::Arc;

/// Days between the classes older than the unit: there is nothing in them.
const RHYTHM_D: i32 = 21;

/// The response to one unit of ripe hair taken at a visit.
#[derive(Clone, Default)]
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
        let Some(start) = visits.first() else { return Vec::new() };
        // The days of visits after each visit; those that another's begin with are among its.
        let mut patterns: Vec<Vec<i32>> = Vec::new();
        let of: Vec<usize> = (0..visits.len())
            .map(|m| {
                let days = days_after(&visits[m..]);
                patterns.iter().position(|p| p.starts_with(&days)).unwrap_or_else(|| {
                    patterns.push(days);
                    patterns.len() - 1
                })
            })
            .collect();
        let (all, _) = follow(law, None, *start, &patterns, until, &[]);
        let all: Vec<Arc<Response>> = all.into_iter().map(Arc::new).collect();
        of.into_iter().map(|p| all[p].clone()).collect()
    }

    /// Computes the response to a unit taken at `visits[0]`, up to `until`.
    pub(crate) fn new(
        law: &Arc<Law>,
        calendar: Option<&LagCalendar>,
        visits: &[Day],
        until: Day,
        lengths_on: &[Day],
    ) -> (Response, Marked) {
        let (mut all, marked) = follow(law, calendar, visits[0], &[days_after(visits)], until, lengths_on);
        (all.swap_remove(0), marked)
    }

    /// Adds the classes at one more visit, of the unit emptied and of the unit left.
    fn add_classes(&mut self, taken: &Classes, left: &Classes) {
        let k = self.shares.len();
        let diff = |x: &[f64], y: &[f64]| (0..=k).map(|c| x[k - c] - y[k - c]).collect::<Vec<f64>>();
        self.shares.push(diff(&taken.shares, &left.shares));
        self.pools.push(diff(&taken.pools, &left.pools));
    }
}

/// Days from the first of some visits to each.
fn days_after(visits: &[Day]) -> Vec<i32> {
    visits.iter().map(|d| *d - visits[0]).collect()
}

/// Follows a unit emptied on `start` and a unit left, and gives the response for each pattern of visits; the units are
/// marked at the visits of all patterns.
fn follow(
    law: &Arc<Law>,
    calendar: Option<&LagCalendar>,
    start: Day,
    patterns: &[Vec<i32>],
    until: Day,
    lengths_on: &[Day],
) -> (Vec<Response>, Marked) {
    let mut left = Population::ripe_alone(law.clone(), start.days(), 1.0, RHYTHM_D);
    left.set_calendar(calendar.cloned());
    let mut taken = left.clone();
    taken.visit(&coat::Take::LongestFirst(1.0));
    let mut all = vec![Response::default(); patterns.len()];
    let mut marked = Marked::new();
    for d in 0..=(until - start).max(0) {
        let day = start + d;
        taken.step_to(day.days());
        left.step_to(day.days());
        let (cover, ripe) = (taken.visible() - left.visible(), taken.ripe() - left.ripe());
        let mut visit = false;
        for (pattern, r) in patterns.iter().zip(&mut all) {
            r.cover.push(cover);
            r.ripe.push(ripe);
            let k = r.shares.len();
            if pattern.get(k) == Some(&d) {
                visit = true;
                let marks = pattern[..=k].iter().rev().map(|mark| (start + *mark).days());
                let before = (1..=2).map(|i| (start - i * RHYTHM_D).days());
                let bounds: Vec<i32> = marks.chain(before).collect();
                r.add_classes(&taken.classes_between(bounds.clone()), &left.classes_between(bounds));
            }
        }
        if visit {
            taken.mark_visit();
            left.mark_visit();
            if lengths_on.iter().any(|d| *d >= day) {
                marked.push((taken.clone(), left.clone()));
            }
        }
        if lengths_on.contains(&day) {
            let mut hair: Vec<(f64, f64)> = taken.hair_by_length().into_iter().map(|h| (h.0, h.1)).collect();
            // The unit itself, as long as it lingers, has the length it had: not counted here.
            let mut still = left.clone();
            still.forget_old();
            hair.extend(still.hair_by_length().into_iter().map(|h| (h.0, -h.1)));
            all.iter_mut().for_each(|r| r.new_hair.push((day, hair.clone())));
        }
    }
    (all, marked)
}
