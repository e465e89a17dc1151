//! Clones that do the same work do it once.
//!
//! Zones of one dog often have the same law, the same history and the same visits. Their
//! populations stand on one state; the first that takes a step leaves word of where it came to,
//! and the others follow. Nothing is kept for longer than some population stands on it.

use super::state::State;
use super::{Population, Take};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, Weak};

/// A change of state, with all that it depends on.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Step {
    To(i32),
    Mark,
    Visit(Take),
    Work(Take, Option<(f64, f64)>, f64),
    Unripe(f64, f64),
    Flat,
    Clip(f64),
    Soften(f64),
}

/// Where changes from a state led, and the share of follicles that each emptied.
#[derive(Default)]
pub(super) struct Next(Mutex<Vec<(Step, Weak<State>, f64)>>);

/// A copy has gone nowhere yet.
impl Clone for Next {
    fn clone(&self) -> Self {
        Next::default()
    }
}

impl Next {
    fn find(&self, step: &Step) -> Option<(Arc<State>, f64)> {
        let next = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        next.iter().filter(|n| n.0 == *step).find_map(|(_, state, share)| Some((state.upgrade()?, *share)))
    }

    fn note(&self, step: &Step, state: &Arc<State>, share: f64) {
        let mut next = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        next.retain(|n| n.1.strong_count() > 0);
        next.push((step.clone(), Arc::downgrade(state), share));
    }
}

/// Measures that were read off a state.
#[derive(Default)]
pub(super) struct Seen {
    pub(super) top_mm: OnceLock<Option<f64>>,
    pub(super) hard: OnceLock<Option<f64>>,
    pub(super) evenness: OnceLock<(f64, u32)>,
}

/// A copy is about to change: what was read does not hold for it.
impl Clone for Seen {
    fn clone(&self) -> Self {
        Seen::default()
    }
}

impl From<State> for Population {
    fn from(state: State) -> Self {
        Population(Arc::new(state))
    }
}

impl Population {
    /// Whether both stand on one state: then whatever is done to both alike has one outcome.
    pub fn is_same(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }

    /// The state, to be changed: a copy if other populations stand on it.
    pub(super) fn state_mut(&mut self) -> &mut State {
        let state = Arc::make_mut(&mut self.0);
        state.next = Next::default();
        state.seen = Seen::default();
        state
    }

    /// Takes a step, or follows a population that took it from the same state.
    pub(super) fn together(&mut self, step: &Step, change: impl FnOnce(&mut State) -> f64) -> f64 {
        if let Some((state, share)) = self.0.next.find(step) {
            self.0 = state;
            return share;
        }
        if Arc::strong_count(&self.0) == 1 {
            return change(self.state_mut());
        }
        let before = Arc::clone(&self.0);
        let share = change(self.state_mut());
        before.next.note(step, &self.0, share);
        share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{CoatType, Law, Zone, ZoneSetup};

    fn back() -> Population {
        let law = Law::new(ZoneSetup::defaults(Zone::Back, CoatType::Wire).cycle).unwrap();
        Population::left_alone(Arc::new(law), 0, 0.6, 21)
    }

    fn work(p: &mut Population, day: i32, share: f64) -> f64 {
        p.step_to(day);
        p.visit(&Take::LongestFirst(share)).share
    }

    #[test]
    fn clones_that_do_the_same_stand_on_one_state() {
        let start = back();
        let (mut a, mut b) = (start.clone(), start.clone());
        for day in [0, 21, 42] {
            assert_eq!(work(&mut a, day, 0.1), 0.1);
            assert_eq!(work(&mut b, day, 0.1), 0.1);
        }
        let mut alone = back();
        for day in [0, 21, 42] {
            work(&mut alone, day, 0.1);
        }
        for p in [&b, &alone] {
            assert_eq!(a.hair_by_length(), p.hair_by_length());
            assert_eq!((a.ripe(), a.hard(), a.evenness()), (p.ripe(), p.hard(), p.evenness()));
        }
        // Step by step they do stand on one.
        let (mut a, mut b) = (start.clone(), start.clone());
        for p in [&mut a, &mut b] {
            p.step_to(7);
        }
        assert!(Arc::ptr_eq(&a.0, &b.0));
        for p in [&mut a, &mut b] {
            assert_eq!(p.visit(&Take::LongestFirst(0.1)).share, 0.1);
        }
        assert!(Arc::ptr_eq(&a.0, &b.0));
    }

    #[test]
    fn a_clone_that_does_something_else_goes_its_own_way() {
        let start = back();
        let (mut a, mut b, mut c) = (start.clone(), start.clone(), start.clone());
        let seen = start.top_mm();
        work(&mut a, 7, 0.1);
        work(&mut b, 7, 0.2);
        assert!(a.ripe() > b.ripe() + 0.05);
        let before = (a.visible(), a.top_mm());
        a.step_to(30);
        // What `a` came to was changed in place: `c` must not find it.
        work(&mut c, 7, 0.1);
        assert_eq!((c.today(), c.visible(), c.top_mm()), (7, before.0, before.1));
        assert_eq!((start.today(), start.top_mm()), (0, seen));
    }

    #[test]
    fn nothing_outlives_the_populations_that_stand_on_it() {
        let start = back();
        let mut a = start.clone();
        a.step_to(7);
        assert!(start.0.next.find(&Step::To(7)).is_some());
        drop(a);
        assert!(start.0.next.find(&Step::To(7)).is_none());
    }
}
