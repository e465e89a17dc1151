//! Ways to begin, side by side.

use super::walk::Walk;
use super::{Case, Failure, is_jacket};
use crate::cautions;
use crate::dog_file::EventKind;
use crate::model;
use crate::report::{WayReport, r9};
use crate::words;
use coat::{Day, DogCoat, Mode, Take, ZoneCoat};
use plan::{Amount, DogPlan, Planner, Request, Solver};

const EARLY_MIN_MM: f64 = 8.0;
/// Names of the ways.
pub(crate) const ROLL_WAY: &str = "roll from today";
pub(crate) const DOWN_WAY: &str = "take it down, then roll";
pub(crate) const WAIT_WAY: &str = "wait until it is ripe";
pub(crate) const EARLY_WAY: &str = "start early, before it is ripe";

/// After a flat strip nothing of the jacket is ripe for so long, days; visits before that are left out.
const NOTHING_D: i32 = 56;
/// After a flat strip the first layer is ripe in about so many days: from then on there is nothing to wait for.
const RIPE_D: i32 = 84;
/// Visits that a way is followed for beyond that, and days in all.
const FAR_VISITS: usize = 18;
const FAR_D: i32 = 364;
const ROLL_NOTE: &str = "Never bare; the dead hair comes out layer by layer over the visits.";
const DOWN_NOTE: &str = "All visible hair comes out, except beard, brows and feet; nothing to take for about \
                         twelve weeks, then layers are begun in hair of one age.";

/// What a way needs beside its plan.
struct Beside {
    /// Minutes before the plan begins, and of the first visit where it is one of them.
    before_min: f64,
    first_min: Option<f64>,
    unripe: f64,
    note: String,
    cautions: Vec<String>,
}

impl Case<'_> {
    pub(super) fn ripe_of_visible(&self) -> f64 {
        let (mut ripe, mut visible) = (0.0, 0.0);
        for z in self.coat.zones.iter().filter(|z| z.setup.is_worked()) {
            let a = z.setup.zone.defaults().area;
            ripe += a * z.top.ripe();
            visible += a * z.top.visible();
        }
        if visible > 0.0 { ripe / visible } else { 0.0 }
    }

    pub(super) fn flat_days(&self) -> Option<i32> {
        self.file
            .history
            .iter()
            .rev()
            .find(|e| e.date <= self.options.today && e.kind == EventKind::Flat)
            .map(|e| self.options.today - e.date)
    }

    /// The ways to begin, where there is more than one. A puppy is never taken down and never pulled
    /// before its time.
    pub(super) fn ways(&self, plan: &DogPlan, walk: &Walk, solver: &dyn Solver) -> Result<Vec<WayReport>, Failure> {
        if model::puppy(self.file, self.options.today) {
            return Ok(Vec::new());
        }
        if self.ripe_of_visible() > 0.5 {
            return self.roll_or_down(plan, walk, solver);
        }
        match self.flat_days().filter(|d| *d < RIPE_D) {
            Some(since) => self.wait_or_early(since, plan, walk, solver),
            None => Ok(Vec::new()),
        }
    }

    fn off_today(&self, z: &ZoneCoat) -> bool {
        z.setup.hands_off_until.is_some_and(|d| self.options.today < d)
    }

    /// Roll from today, or take it down first: as far as hands may, within the table's minutes.
    fn roll_or_down(&self, plan: &DogPlan, walk: &Walk, solver: &dyn Solver) -> Result<Vec<WayReport>, Failure> {
        let today = self.options.today;
        let beside =
            Beside { before_min: 0.0, first_min: None, unripe: 0.0, note: ROLL_NOTE.to_owned(), cautions: Vec::new() };
        let mut roll = self.way(ROLL_WAY, plan, walk, beside);
        if roll.rolling.is_none() {
            roll.rolling = self.rolling_later(&self.coat, today, solver)?;
        }
        let mut bare = self.coat.clone();
        let table = self.request(Vec::new()).table;
        let (mut work_min, mut kept) = (0.0, Vec::new());
        for z in bare.zones.iter_mut().filter(|z| z.setup.is_worked() && z.setup.mode != Mode::Shaped) {
            if self.off_today(z) {
                kept.push(z.setup.zone.label());
                continue;
            }
            work_min += table.zone_min(z.setup.zone.defaults().area, z.setup.tender, 1.0, true);
            z.top.strip_flat();
            let wool = z.under.ripe();
            z.under.visit(&Take::LongestFirst(wool));
        }
        let room_min = table.max_min.map_or(f64::INFINITY, |max| max - table.base_min());
        if work_min <= 0.0 || room_min < 1.0 {
            return Ok(Vec::new());
        }
        let sittings = (work_min / room_min).ceil().max(1.0);
        let mut note = DOWN_NOTE.to_owned();
        if sittings > 1.0 {
            note.push_str(&format!(" It takes {sittings:.0} sittings within the table time, a few days apart."));
        }
        if !kept.is_empty() {
            note.push_str(&format!(" Hands stay off the {} today.", kept.join(", ")));
        }
        let beside = Beside {
            before_min: work_min + sittings * table.base_min(),
            first_min: Some(table.base_min() + work_min.min(room_min)),
            unripe: 0.0,
            note,
            cautions: cautions::AFTER_FLAT.iter().map(|s| (*s).to_owned()).collect(),
        };
        let first = today + NOTHING_D;
        let (visits, until) = self.far_visits(first);
        if visits.is_empty() {
            return Ok(Vec::new());
        }
        let request = Request { until, ..self.request(visits) };
        let down = Planner::new(&self.dog, &bare, &request)?.plan_plain(solver)?;
        let down = self.way(DOWN_WAY, &down, &self.walk(&bare, &down, until), beside);
        let mut ways = vec![roll, down];
        for w in &mut ways {
            self.say_rolling(w, until);
        }
        Ok(ways)
    }

    /// The visits from a day on, as far ahead as a way is followed, and the last day of that.
    fn far_visits(&self, from: Day) -> (Vec<Day>, Day) {
        let far = self.until.max(self.options.today + FAR_D);
        let all = model::visit_days(self.options.today, far, self.rhythm, &self.options.not_on);
        let visits: Vec<Day> = all.into_iter().filter(|v| *v >= from).take(FAR_VISITS).collect();
        let until = visits.last().map_or(self.until, |v| *v + self.rhythm - 1).min(far).max(self.until);
        (visits, until)
    }

    /// The day of rolling where it lies beyond the plan's last day.
    fn rolling_later(&self, coat: &DogCoat, from: Day, solver: &dyn Solver) -> Result<Option<String>, Failure> {
        let (visits, until) = self.far_visits(from);
        if visits.is_empty() || until <= self.until {
            return Ok(None);
        }
        let request = Request { until, ..self.request(visits) };
        let plan = Planner::new(&self.dog, coat, &request)?.plan_plain(solver)?;
        Ok(self.milestones(&self.walk(coat, &plan, until)).rolling)
    }

    /// Adds to a way's note when it rolls, if not within the plan.
    fn say_rolling(&self, way: &mut WayReport, until: Day) {
        let today = self.options.today;
        way.weeks_to_rolling = way.rolling.as_deref().and_then(Day::parse).map(|d| r9(f64::from(d - today) / 7.0));
        if way.rolling.is_none() {
            way.note.push_str(&format!(" Not rolling before {until}."));
        }
    }

    /// Wait until the first layer is ripe, or start before that.
    fn wait_or_early(
        &self,
        since: i32,
        plan: &DogPlan,
        walk: &Walk,
        solver: &dyn Solver,
    ) -> Result<Vec<WayReport>, Failure> {
        let today = self.options.today;
        let first = plan.visits.iter().find(|v| v.zones.iter().any(|z| is_jacket(z.zone) && z.amount != Amount::Leave));
        let when = match first {
            Some(v) if v.day == today => "the plan takes the first of it today".to_owned(),
            Some(v) => format!("the plan takes the first of it on {}", v.day),
            None => format!("the plan takes none of it before {}", self.until),
        };
        let wait_note = format!(
            "Stripped flat {} ago: there is nothing ripe in the jacket until about week 12; {when}.",
            words::weeks(since)
        );
        let beside = Beside { before_min: 0.0, first_min: None, unripe: 0.0, note: wait_note, cautions: Vec::new() };
        let wait = self.way(WAIT_WAY, plan, walk, beside);
        // The early start: one in five of set and long growing hair at the visits from week 8 to 12.
        let mut coat = self.coat.clone();
        let mut unripe = 0.0;
        let mut early_min = 0.0;
        let mut first_min = None;
        let table = self.request(Vec::new()).table;
        let jacket: f64 =
            coat.zones.iter().map(|z| z.setup.zone).filter(|z| is_jacket(*z)).map(|z| z.defaults().area).sum();
        let flat = today - since;
        let early: Vec<Day> =
            self.visits.iter().copied().filter(|v| (NOTHING_D..RIPE_D).contains(&(*v - flat))).collect();
        for v in &early {
            let mut min = table.base_min();
            for z in coat.zones.iter_mut() {
                z.step_to(*v);
                z.top.mark_visit();
                let takes = table.zone_min(z.setup.zone.defaults().area, z.setup.tender, 0.2, false);
                let off = z.setup.hands_off_until.is_some_and(|d| *v < d) || !z.setup.is_worked();
                if !is_jacket(z.setup.zone) || off || table.max_min.is_some_and(|max| min + takes > max) {
                    continue;
                }
                let taken = z.top.pull_unripe(z.top.visible() / 5.0, EARLY_MIN_MM);
                if taken > 0.0 {
                    unripe += taken * z.setup.zone.defaults().area / jacket;
                    min += takes;
                }
            }
            first_min = first_min.or(Some(min));
            early_min += min;
        }
        let Some(last) = early.last().copied().filter(|_| unripe > 0.0) else { return Ok(vec![wait]) };
        coat.day = last;
        let visits: Vec<Day> = self.visits.iter().copied().filter(|v| *v > last).collect();
        if visits.is_empty() {
            return Ok(vec![wait]);
        }
        let request = Request { today: last, ..self.request(visits) };
        let after = Planner::new(&self.dog, &coat, &request)?.plan_plain(solver)?;
        let early_walk = self.walk(&coat, &after, self.until);
        let note = format!(
            "One in five of the set and long growing jacket hair from week 8 ({}): the layers start weeks earlier. \
             This hair is still firm; it hurts and can break coat, so stop at the first objection.",
            early.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
        );
        let cautions = vec![
            "Unripe hair holds firm: fingers only, a few at a time, and only if the dog does not mind.".to_owned(),
        ];
        let beside = Beside { before_min: early_min, first_min, unripe, note, cautions };
        Ok(vec![wait, self.way(EARLY_WAY, &after, &early_walk, beside)])
    }

    fn way(&self, name: &'static str, plan: &DogPlan, walk: &Walk, beside: Beside) -> WayReport {
        let m = self.milestones(walk);
        let today = self.options.today;
        let floor = Mode::Layered.floor();
        let within = |day: Day| day <= self.until;
        let thin = |j: &&super::walk::JacketOn| j.at == "day" && within(j.day) && j.cover.is_some_and(|c| c < floor);
        let later = plan.visits.iter().filter(|v| within(v.day)).map(|v| v.min);
        WayReport {
            way: name,
            weeks_to_rolling: m.rolling.as_deref().and_then(Day::parse).map(|d| r9(f64::from(d - today) / 7.0)),
            rolling: m.rolling,
            weeks_bare: walk.jacket.iter().filter(thin).count() as f64,
            first_min: r9(beside.first_min.or(plan.visits.first().map(|v| v.min)).unwrap_or(0.0)),
            min: r9(beside.before_min + later.sum::<f64>()),
            unripe: r9(beside.unripe),
            note: beside.note,
            cautions: beside.cautions,
        }
    }
}
