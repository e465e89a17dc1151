//! Ways to begin, side by side.

use super::walk::Walk;
use super::{Case, Failure, is_jacket};
use crate::cautions;
use crate::dog_file::EventKind;
use crate::model;
use crate::report::{WayReport, r9};
use crate::words;
use coat::{Day, Mode, Take};
use plan::{Amount, DogPlan, Planner, Request, Solver};

const EARLY_MIN_MM: f64 = 8.0;
/// Names of the ways.
pub(crate) const ROLL_WAY: &str = "roll from today";
pub(crate) const DOWN_WAY: &str = "take it down, then roll";
pub(crate) const WAIT_WAY: &str = "wait until it is ripe";
pub(crate) const EARLY_WAY: &str = "start early, before it is ripe";

const ROLL_NOTE: &str = "Never bare; the dead hair comes out layer by layer over the visits.";
const DOWN_NOTE: &str = "All visible hair comes out today, except beard, brows and feet; nothing to take for about \
                         twelve weeks, then layers are begun in hair of one age.";

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

    /// The ways to begin, where there is more than one.
    pub(super) fn ways(&self, plan: &DogPlan, walk: &Walk, solver: &dyn Solver) -> Result<Vec<WayReport>, Failure> {
        let today = self.options.today;
        if self.ripe_of_visible() > 0.5 {
            let roll = self.way(ROLL_WAY, plan, walk, 0.0, 0.0, ROLL_NOTE.to_owned(), Vec::new());
            let mut bare = self.coat.clone();
            let table = model::table(self.file, &self.dog, None);
            let mut flat_min = table.base_min();
            for z in bare.zones.iter_mut().filter(|z| z.setup.is_worked() && z.setup.mode != Mode::Shaped) {
                if z.setup.hands_off_until.is_some_and(|d| today < d) {
                    continue;
                }
                let share = 1.0;
                flat_min += table.zone_min(z.setup.zone.defaults().area, z.setup.tender, share, true);
                z.top.strip_flat();
                let wool = z.under.ripe();
                z.under.visit(&Take::LongestFirst(wool));
            }
            let visits: Vec<Day> = self.visits.iter().copied().filter(|v| *v > today).collect();
            let request =
                Request { table: plan::Table { max_min: None, ..self.request(vec![]).table }, ..self.request(visits) };
            let planner = Planner::new(&self.dog, &bare, &request)?;
            let down = planner.plan(solver)?;
            let down_walk = self.walk(&bare, &down);
            let cautions = cautions::AFTER_FLAT.iter().map(|s| (*s).to_owned()).collect();
            let way = self.way(DOWN_WAY, &down, &down_walk, flat_min, 0.0, DOWN_NOTE.to_owned(), cautions);
            return Ok(vec![roll, way]);
        }
        let Some(since) = self.flat_days().filter(|d| *d < 16 * 7) else { return Ok(Vec::new()) };
        let first = plan.visits.iter().find(|v| v.zones.iter().any(|z| is_jacket(z.zone) && z.amount != Amount::Leave));
        let wait_note = match first {
            Some(v) => format!(
                "Stripped flat {} ago: there is nothing ripe in the jacket until about week 12; the plan takes the first of it on {}.",
                words::weeks(since),
                v.day
            ),
            None => "There is nothing ripe in the jacket until about week 12.".to_owned(),
        };
        let wait = self.way(WAIT_WAY, plan, walk, 0.0, 0.0, wait_note, Vec::new());
        // The early start: one in five of set and long growing hair at the visits from week 8 to 12.
        let mut coat = self.coat.clone();
        let mut unripe = 0.0;
        let mut early_min = 0.0;
        let table = model::table(self.file, &self.dog, None);
        let flat = today - since;
        let early: Vec<Day> = self.visits.iter().copied().filter(|v| (56..84).contains(&(*v - flat))).collect();
        for v in &early {
            early_min += table.base_min();
            for z in coat.zones.iter_mut() {
                z.step_to(*v);
                z.top.mark_visit();
                if !is_jacket(z.setup.zone) {
                    continue;
                }
                let amount = z.top.visible() / 5.0;
                let taken = z.top.pull_unripe(amount, EARLY_MIN_MM);
                if taken > 0.0 {
                    unripe += taken * z.setup.zone.defaults().area / 0.57;
                    early_min += table.zone_min(z.setup.zone.defaults().area, z.setup.tender, 0.2, false);
                }
            }
        }
        let Some(last) = early.last().copied().filter(|_| unripe > 0.0) else { return Ok(vec![wait]) };
        coat.day = last;
        let visits: Vec<Day> = self.visits.iter().copied().filter(|v| *v > last).collect();
        let request = Request { today: last, ..self.request(visits) };
        let planner = Planner::new(&self.dog, &coat, &request)?;
        let after = planner.plan(solver)?;
        let early_walk = self.walk(&coat, &after);
        let note = format!(
            "One in five of the set and long growing jacket hair from week 8 ({}): the layers start weeks earlier. \
             This hair is still firm; it hurts and can break coat, so stop at the first objection.",
            early.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
        );
        let way = self.way(
            EARLY_WAY,
            &after,
            &early_walk,
            early_min,
            unripe,
            note,
            vec![
                "Unripe hair holds firm: fingers only, a few at a time, and only if the dog does not mind.".to_owned(),
            ],
        );
        Ok(vec![wait, way])
    }

    #[expect(clippy::too_many_arguments, reason = "one row of a table, made in one place")]
    pub(super) fn way(
        &self,
        name: &'static str,
        plan: &DogPlan,
        walk: &Walk,
        extra_min: f64,
        unripe: f64,
        note: String,
        cautions: Vec<String>,
    ) -> WayReport {
        let m = self.milestones(walk);
        let today = self.options.today;
        let floor = Mode::Layered.floor();
        let bare = walk.jacket.iter().filter(|j| j.at == "day" && j.cover.is_some_and(|c| c < floor)).count();
        WayReport {
            way: name,
            weeks_to_rolling: m.rolling.as_deref().and_then(Day::parse).map(|d| r9(f64::from(d - today) / 7.0)),
            rolling: m.rolling,
            weeks_bare: bare as f64,
            first_min: r9(if extra_min > 0.0 && unripe == 0.0 {
                extra_min
            } else {
                plan.visits.first().map_or(0.0, |v| v.min)
            }),
            min: r9(extra_min + plan.visits.iter().map(|v| v.min).sum::<f64>()),
            unripe: r9(unripe),
            note,
            cautions,
        }
    }
}
