//! One zone's hairs as an expected population.
//!
//! Kept is the mass emptied on each day (a *cohort*), the mass coming through
//! on each day, and what visits took from each cohort's ripe pool. Everything
//! else follows by inner products with the kernels of the [`Law`], so that the
//! state is exact and small. Order within a day: shed, ripen, visit, measure.

mod class;
mod content;
mod cut;
mod length;
mod rows;
mod share;
mod start;
mod state;
mod step;
mod unripe;
mod visit;

pub use class::Classes;
pub use content::Weighed;
pub use start::steady_share;
pub(crate) use state::State;

use crate::law::Law;
use crate::layers::Layer;
use share::Step;
use std::sync::Arc;

/// How the clock of empty follicles runs on a day: speed of the lag, chance multiplier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagClock {
    /// Days of lag that pass on the day: 1 usually, 1/3 under a steroid course.
    pub speed: f64,
    /// Multiplies the day's chance of coming through: 1 usually, less in winter outdoors.
    pub chance: f64,
}

impl LagClock {
    /// The usual clock.
    pub const PLAIN: LagClock = LagClock { speed: 1.0, chance: 1.0 };
}

/// Gives the lag clock of a day (days since 1970-01-01).
pub type LagCalendar = Arc<dyn Fn(i32) -> LagClock + Send + Sync>;

/// The order in which ripe hair is taken.
#[derive(Clone, Debug, PartialEq)]
pub enum Take {
    /// This share of all follicles, earliest emptied first.
    LongestFirst(f64),
    /// This share of follicles from each class of the given boundaries, newest
    /// class first, evenly within a class.
    FromClasses(Vec<f64>),
}

/// What a visit did to one population.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Taken {
    /// Share of follicles emptied by hand.
    pub share: f64,
    /// Of these, ripe.
    pub ripe: f64,
    /// Of these, not yet ripe.
    pub unripe: f64,
    /// Mean length of the hair taken, mm; 0 when none was.
    pub mean_mm: f64,
}

/// Shares of follicles by phase.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phases {
    /// Empty follicles.
    pub empty: f64,
    /// Growing hair.
    pub growing: f64,
    /// Full length, firm.
    pub set: f64,
    /// Ripe.
    pub ripe: f64,
}

/// The expected population of one zone.
///
/// A clone is cheap: clones stand on one state until they come to differ, and what one of them
/// has worked out (a step, a visit, a measure) the others take over when they do the same.
#[derive(Clone)]
pub struct Population(Arc<State>);

impl Population {
    /// A coat left alone until `today`: the stationary renewal state.
    pub fn left_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        State::left_alone(law, today, start_hard, rhythm_d).into()
    }

    /// All follicles emptied `today`.
    pub fn emptied(law: Arc<Law>, today: i32, start_hard: f64, hard: f64, rhythm_d: i32) -> Self {
        State::emptied(law, today, start_hard, hard, rhythm_d).into()
    }

    /// All follicles emptied `today`, under a calendar of the lag clock from that day on.
    pub fn emptied_under(
        law: Arc<Law>,
        today: i32,
        start_hard: f64,
        rhythm_d: i32,
        calendar: Option<LagCalendar>,
    ) -> Self {
        State::emptied_under(law, today, start_hard, rhythm_d, calendar).into()
    }

    /// One unit of ripe hair and nothing else: what would happen to it if it were left.
    pub fn ripe_alone(law: Arc<Law>, today: i32, start_hard: f64, rhythm_d: i32) -> Self {
        State::ripe_alone(law, today, start_hard, rhythm_d).into()
    }

    /// Shares empty, visible but not ripe, and ripe as given (they should sum to 1),
    /// the waits within each as in a stationary coat.
    pub fn by_phases(law: Arc<Law>, today: i32, start_hard: f64, shares: [f64; 3], rhythm_d: i32) -> Self {
        State::by_phases(law, today, start_hard, shares, rhythm_d).into()
    }

    /// The state that repeats itself when the coat is rolled every `every_d` days: the steady
    /// share of the visible hair each time, or, `sparingly`, at most a tenth of it.
    pub fn rolled(law: Arc<Law>, today: i32, start_hard: f64, every_d: i32, sparingly: bool) -> Self {
        State::rolled(law, today, start_hard, every_d, sparingly).into()
    }

    /// Leaves out the hair of follicles emptied before the first day computed.
    pub fn forget_old(&mut self) {
        self.state_mut().forget_old();
    }

    /// Sets the calendar of the lag clock for follicles emptied from now on.
    pub fn set_calendar(&mut self, calendar: Option<LagCalendar>) {
        if calendar.is_some() || self.0.calendar.is_some() {
            self.state_mut().set_calendar(calendar);
        }
    }

    /// The calendar of the lag clock, where one is set.
    pub(crate) fn calendar(&self) -> Option<LagCalendar> {
        self.0.calendar.clone()
    }

    /// Steps on to `day`, without visits.
    pub fn step_to(&mut self, day: i32) {
        if day > self.0.today {
            self.together(&Step::To(day), |s| s.step_to(day));
        }
    }

    /// Marks a visit today: class boundaries follow the visits.
    pub fn mark_visit(&mut self) {
        if self.0.visits.last() != Some(&self.0.today) {
            self.together(&Step::Mark, State::mark_visit);
        }
    }

    /// A visit today that takes ripe hair.
    ///
    /// Takes at most what is ripe.
    pub fn visit(&mut self, take: &Take) -> Taken {
        State::taken(self.together(&Step::Visit(take.clone()), |s| s.visit(take)))
    }

    /// A visit as one step: ripe hair, then unripe (share, shortest mm), then what the works cut.
    pub(crate) fn work(&mut self, take: &Take, unripe: Option<(f64, f64)>, cut_share: f64) -> f64 {
        self.together(&Step::Work(take.clone(), unripe, cut_share), |s| {
            let mut taken = s.visit(take);
            if let Some((amount, min_mm)) = unripe
                && amount > 0.0
            {
                taken += s.pull_unripe(amount, min_mm);
            }
            if taken > 0.0 && cut_share > 0.0 {
                s.soften(cut_share);
            }
            taken
        })
    }

    /// Pulls this share of follicles from hair that is not yet ripe, oldest cohorts
    /// first, only where the hair is on average at least `min_mm` long.
    ///
    /// Returns what was found and taken.
    pub fn pull_unripe(&mut self, amount: f64, min_mm: f64) -> f64 {
        self.together(&Step::Unripe(amount, min_mm), |s| s.pull_unripe(amount, min_mm))
    }

    /// Pulls all visible hair today (a flat strip).
    pub fn strip_flat(&mut self) -> f64 {
        self.together(&Step::Flat, State::strip_flat)
    }

    /// Cuts every hair longer than `len_mm` to that length today; cut hair is soft.
    pub fn clip(&mut self, len_mm: f64) {
        self.together(&Step::Clip(len_mm), |s| s.clip(len_mm));
    }

    /// Cuts the ends of this share of the visible hair (blending, scissoring): soft from now on.
    pub fn soften(&mut self, share: f64) {
        self.together(&Step::Soften(share), |s| s.soften(share));
    }

    /// The day up to which the coat is computed (days since 1970-01-01).
    pub fn today(&self) -> i32 {
        self.0.today
    }

    /// The law of the zone.
    pub fn law(&self) -> &Arc<Law> {
        &self.0.law
    }

    /// Hardness of hair grown after natural shedding.
    pub fn start_hard(&self) -> f64 {
        self.0.start_hard
    }

    /// Days of visits to the zone, ascending.
    pub fn visits(&self) -> &[i32] {
        &self.0.visits
    }

    /// Visible share of follicles.
    pub fn visible(&self) -> f64 {
        self.0.visible()
    }

    /// Ripe share of follicles.
    pub fn ripe(&self) -> f64 {
        self.0.ripe
    }

    /// Shares by phase.
    pub fn phases(&self) -> Phases {
        self.0.phases()
    }

    /// Empty share, counted from the cohorts themselves (not as one minus the rest).
    pub fn empty(&self) -> f64 {
        self.0.empty()
    }

    /// The total of all phases; 1 up to rounding.
    pub fn total(&self) -> f64 {
        self.visible() + self.empty()
    }

    /// 90th percentile of the visible hair's length, mm; none when too little is visible.
    pub fn top_mm(&self) -> Option<f64> {
        *self.0.seen.top_mm.get_or_init(|| self.quantile_mm(0.9))
    }

    /// Share of follicles with growing hair that came through within the last `days` days, today included.
    pub fn young(&self, days: i32) -> f64 {
        let (s, law) = (&self.0, self.law());
        let come = s.e[..=s.t()].iter().rev().take(days.max(0) as usize);
        come.zip(&law.s_grow).map(|(e, g)| e * g).sum()
    }

    /// A quantile of the visible hair's length, mm; none when less than 0.02 is visible.
    pub fn quantile_mm(&self, q: f64) -> Option<f64> {
        Some(self.0.quantile_d(q)? * self.0.law.cycle().growth_mm_d)
    }

    /// Visible hair by length: (mm, share of follicles, ripe).
    pub fn hair_by_length(&self) -> Vec<(f64, f64, bool)> {
        self.0.hair_by_length()
    }

    /// Hard share of the visible hair; none when nothing is visible.
    pub fn hard(&self) -> Option<f64> {
        *self.0.seen.hard.get_or_init(|| self.0.hard())
    }

    /// How many classes can hold hair that is not surely ripe, plus one for all older.
    pub fn class_count(&self) -> usize {
        self.0.class_count()
    }

    /// Shares of follicles by class (newest first, last = all older), and their ripe pools.
    pub fn classes(&self, classes: usize) -> Classes {
        self.classes_between(self.0.class_bounds(classes))
    }

    /// The same by bounding days of one's own, newest first, one more than there are classes.
    pub fn classes_between(&self, bounds: Vec<i32>) -> Classes {
        self.0.classes_between(bounds)
    }

    /// Evenness (0 to 1) and number of layers.
    pub fn evenness(&self) -> (f64, u32) {
        *self.0.seen.evenness.get_or_init(|| self.0.evenness())
    }

    /// The shares of a perfectly rolling coat for these class bounds.
    pub fn ideal_shares(&self, bounds: &[i32], classes: usize) -> Vec<f64> {
        self.0.ideal_shares(bounds, classes)
    }

    /// The coat by age classes, newest first; the last holds all older hair.
    ///
    /// `classes` as for [`Population::classes`], of which this is the finer picture.
    pub fn layers(&self, classes: usize) -> Vec<Layer> {
        self.0.layers(classes)
    }
}
