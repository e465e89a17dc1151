//! What taking one unit of ripe hair at a visit does to everything after it.
//!
//! The coat is linear in the amounts taken, so these responses are all that the
//! programme needs of the engine.

use coat::{Day, LagCalendar, Law, Population};
use std::sync::Arc;

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
    /// Computes the response to a unit taken at `visits[0]`, up to `until`.
    pub(crate) fn new(
        law: &Arc<Law>,
        calendar: Option<&LagCalendar>,
        visits: &[Day],
        until: Day,
        lengths_on: &[Day],
    ) -> (Response, Marked) {
        let start = visits[0];
        let mut taken = Population::ripe_alone(law.clone(), start.days(), 1.0, 21);
        taken.set_calendar(calendar.cloned());
        taken.visit(&coat::Take::LongestFirst(1.0));
        let mut left = Population::ripe_alone(law.clone(), start.days(), 1.0, 21);
        left.set_calendar(calendar.cloned());
        left.mark_visit();
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
                let (a, b) = (taken.classes(k + 2), left.classes(k + 2));
                let diff = |x: &[f64], y: &[f64]| (0..=k).map(|c| x[k - c] - y[k - c]).collect::<Vec<f64>>();
                out.shares.push(diff(&a.shares, &b.shares));
                out.pools.push(diff(&a.pools, &b.pools));
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
