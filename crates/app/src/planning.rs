//! The main use case: from a dog's file to its plan.

use crate::cautions;
use crate::dog_file::{DogFile, EventKind, Fault};
use crate::model;
use crate::report::{
    CoatReport, CoatSeries, Delays, LateReport, MatterReport, Milestones, ObjectiveReport, PlanReport, Rung, Timing,
    VisitReport, WayReport, ZoneReport, r9,
};
use crate::words;
use coat::{Day, Dog, DogCoat, HistoryError, Mode, Take, Zone, ZoneCoat, ZoneWork, steady_share, steady_state};
use plan::{Amount, DogPlan, PlanError, Planner, Request, Solver};
use rayon::prelude::*;

/// Days that a plan looks ahead unless told otherwise: 26 weeks.
pub const HORIZON_D: i32 = 182;
/// The ladder of rhythms, days.
pub const LADDER_D: [i32; 5] = [7, 10, 14, 21, 28];
/// Days late at which a late next visit is priced.
pub const LATE_D: [i32; 7] = [1, 3, 7, 14, 21, 28, 42];

/// Visits that the price of a late one looks ahead.
const LATE_VISITS: usize = 10;

/// What to plan, beside the dog's file.
#[derive(Clone, Debug)]
pub struct Options {
    /// The day of the plan.
    pub today: Day,
    /// Days between visits; by the file or the rule when absent.
    pub rhythm_days: Option<i32>,
    /// Last day; 26 weeks on when absent.
    pub until: Option<Day>,
    /// More days that matter.
    pub matter: Vec<(Day, Option<String>)>,
    /// Days on which no visit is possible, first and last.
    pub not_on: Vec<(Day, Day)>,
    /// Most minutes of a visit; the file's when absent.
    pub max_min: Option<f64>,
}

impl Options {
    /// The plan of a day, all else by the file.
    pub fn on(today: Day) -> Self {
        Options { today, rhythm_days: None, until: None, matter: vec![], not_on: vec![], max_min: None }
    }
}

/// Why there is no plan or no coat.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A line of the file does not fit the rest.
    #[error("{}", crate::dog_file::check_fault_display(std::slice::from_ref(.0)))]
    Fault(Fault),
    /// The limits contradict each other.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// An option is out of range.
    #[error("{message}")]
    Option {
        /// What is wrong.
        message: String,
        /// What would be right.
        hint: String,
    },
}

impl Failure {
    /// What to do, in a whole sentence.
    pub fn hint(&self) -> String {
        match self {
            Failure::Fault(_) => String::new(),
            Failure::Option { hint, .. } => hint.clone(),
            Failure::Plan(PlanError::NoVisit { .. }) => {
                "Leave a day free between the days given with `--not-on`, or plan further ahead with `--until`.".into()
            }
            Failure::Plan(PlanError::TooShort { .. }) => {
                "Allow more table time (`--max-min`, or `table_max_min` in the file): look over, brush, pads and feet \
                 come before any hair is pulled."
                    .into()
            }
            Failure::Plan(PlanError::Solver(_)) => {
                "Run `coatwright check` on the file; if it is clean, this is our fault.".into()
            }
        }
    }
}

/// A dog ready to be planned.
pub struct Case<'a> {
    file: &'a DogFile,
    options: &'a Options,
    /// The dog as the model sees it.
    pub dog: Dog,
    rhythm: i32,
    recommended: i32,
    until: Day,
    visits: Vec<Day>,
    matter: Vec<(Day, Option<String>)>,
    /// The coat today before any visit.
    pub coat: DogCoat,
}

/// The coat of a file's dog on a day.
///
/// # Errors
/// [`Failure::Fault`] when the history contradicts itself there.
pub fn coat_on(file: &DogFile, dog: &Dog, day: Day) -> Result<DogCoat, Failure> {
    let late = file.history.iter().find(|e| e.date > day && matches!(e.kind, EventKind::Visit(_) | EventKind::Flat));
    if let Some(e) = late.filter(|_| file.history.first().is_some_and(|f| f.date > day)) {
        return Err(Failure::Fault(file.source.fault_at(
            e.line,
            format!("the coat on `{day}` is asked for, the history begins on `{}`", e.date),
            "Ask for a later day with `--on`, or write down what the coat was before.",
        )));
    }
    dog.coat_on(day).map_err(|e| history_failure(file, e))
}

fn history_failure(file: &DogFile, e: HistoryError) -> Failure {
    let (line, hint) = match &e {
        HistoryError::MoreThanVisible { day, .. } => (
            file.history.iter().find(|h| h.date == *day).map_or(1, |h| h.line),
            "Give shares of the hair one sees, 0 to 1.",
        ),
        HistoryError::BeforeHistory { .. } => {
            (file.history.first().map_or(1, |h| h.line), "Ask for a later day with `--on`.")
        }
        HistoryError::Quantity(_) => (1, "Give the zone's own values within their ranges."),
    };
    Failure::Fault(file.source.fault_at(line, e.to_string(), hint))
}

impl<'a> Case<'a> {
    /// Prepares a case: rhythm, visits, and the coat today.
    ///
    /// # Errors
    /// [`Failure`] when an option is out of range or the history contradicts itself.
    pub fn new(file: &'a DogFile, options: &'a Options) -> Result<Self, Failure> {
        let bad = |message: String, hint: &str| Failure::Option { message, hint: hint.to_owned() };
        let today = options.today;
        let probe = model::dog(file, 21);
        let recommended = model::recommended_rhythm(file, &probe);
        let rhythm = options.rhythm_days.or(file.rhythm_days).unwrap_or(recommended);
        if !(1..=120).contains(&rhythm) {
            return Err(bad(
                format!("rhythm `{rhythm} d` is outside `1..=120 d`"),
                "Three weeks is the longest gap that keeps a coat rolling.",
            ));
        }
        let until = options.until.unwrap_or(today + HORIZON_D);
        if until <= today || until - today > 730 {
            return Err(bad(
                format!("the last day `{until}` is not within two years after `{today}`"),
                "Give `--until` a day after `--on`, at most 730 days on.",
            ));
        }
        if today < file.born {
            return Err(bad(
                format!("the day `{today}` lies before the dog was born, `{}`", file.born),
                "Give `--on` a later day.",
            ));
        }
        let mut matter: Vec<(Day, Option<String>)> = file
            .days_that_matter
            .iter()
            .map(|d| (d.date, d.name.clone()))
            .chain(options.matter.iter().cloned())
            .collect();
        if let Some(d) = options.matter.iter().find(|d| d.0 < today) {
            return Err(bad(
                format!("the day that matters `{}` lies before `{today}`", d.0),
                "Give a day from today on.",
            ));
        }
        matter.retain(|d| d.0 >= today && d.0 <= until);
        matter.sort();
        matter.dedup_by_key(|d| d.0);
        let dog = model::dog(file, rhythm);
        let coat = coat_on(file, &dog, today)?;
        let visits = model::visit_days(today, until, rhythm, &options.not_on);
        Ok(Case { file, options, dog, rhythm, recommended, until, visits, matter, coat })
    }

    fn request(&self, visits: Vec<Day>) -> Request {
        Request {
            today: self.options.today,
            until: self.until,
            visits,
            matter: self.matter.iter().map(|d| d.0).collect(),
            table: model::table(self.file, &self.dog, self.options.max_min),
            weights: model::weights(self.file),
        }
    }

    /// The whole programme as one, in free MPS.
    ///
    /// # Errors
    /// [`Failure::Plan`] when there is no plan.
    pub fn programme_mps(&self, solver: &dyn Solver) -> Result<String, Failure> {
        let request = self.request(self.visits.clone());
        let planner = Planner::new(&self.dog, &self.coat, &request)?;
        Ok(planner.programme(solver)?.to_mps())
    }

    /// The plan and all that goes with it. `clock_ms` reads elapsed milliseconds, if times are wanted.
    ///
    /// # Errors
    /// [`Failure::Plan`] when there is no plan.
    pub fn report(&self, solver: &dyn Solver, clock_ms: Option<&dyn Fn() -> f64>) -> Result<PlanReport, Failure> {
        let request = self.request(self.visits.clone());
        let planner = Planner::new(&self.dog, &self.coat, &request)?;
        let plan = planner.plan(solver)?;
        let solve_ms = clock_ms.map(|c| c());
        let walk = self.walk(&self.coat, &plan);
        let late = self.late(&planner, solver)?;
        let ways = self.ways(&plan, &walk, solver)?;
        let milestones = self.milestones(&walk);
        let delays = self.delays(&milestones);
        let (ladder, ladder_reason) = self.ladder();
        let o = plan.objective;
        Ok(PlanReport {
            schema: "coatwright.plan/1",
            dog: self.file.name.clone(),
            today: self.options.today.to_string(),
            until: self.until.to_string(),
            rhythm_days: self.rhythm,
            days_that_matter: self.matter_reports(&walk),
            cautions: cautions::for_dog(self.file, self.options.today),
            visits: walk.visits,
            forecast: walk.forecast,
            milestones,
            delays,
            ways,
            ladder,
            ladder_reason,
            late,
            objective: ObjectiveReport {
                lp_value: o.lp_value,
                bound: o.bound,
                gap: o.gap,
                rounded_value: o.rounded_value,
            },
            timing: solve_ms.map(|s| Timing { solve_ms: s, total_ms: clock_ms.map_or(s, |c| c()) }),
        })
    }

    /// Plays a plan through the coat, from the coat's own day: visits as they will be, and the coat along the way.
    fn walk(&self, coat: &DogCoat, plan: &DogPlan) -> Walk {
        let mut coat = coat.clone();
        let today = coat.day;
        let mut walk = Walk { visits: Vec::new(), forecast: Vec::new(), jacket: Vec::new(), legs: Vec::new() };
        let mut matter: Vec<Day> = self.matter.iter().map(|d| d.0).collect();
        matter.dedup();
        for d in 0..=(self.until - today) {
            let day = today + d;
            let visit = plan.visits.iter().position(|v| v.day == day);
            let weekly = d % 7 == 0;
            if visit.is_none() && !weekly && !matter.contains(&day) {
                continue;
            }
            coat.day = day;
            if let Some(i) = visit {
                let mut reports: Vec<(Option<ZoneReport>, coat::ZoneMeasures, coat::ZoneMeasures)> = coat
                    .zones
                    .par_iter_mut()
                    .map(|z| {
                        z.step_to(day);
                        let before = z.measures();
                        let planned = plan.visits[i].zones.iter().find(|p| p.zone == z.setup.zone);
                        let report = planned.map(|p| self.work(z, p, day));
                        (report, before, z.measures())
                    })
                    .collect();
                let before: Vec<_> = reports.iter().map(|r| r.1).collect();
                let after: Vec<_> = reports.iter().map(|r| r.2).collect();
                walk.push(day, "before", &before);
                walk.push(day, "after", &after);
                let mut zones: Vec<ZoneReport> = reports.iter_mut().filter_map(|r| r.0.take()).collect();
                zones.sort_by_key(|z| Zone::WORKING_ORDER.iter().position(|w| w.word() == z.zone));
                let v = &plan.visits[i];
                walk.visits.push(VisitReport {
                    date: day.to_string(),
                    min: r9(v.min),
                    ten_more_min: v.ten_more.map(|(zone, _)| {
                        format!("Ten more minutes would let the {} be worked further today.", zone.label())
                    }),
                    zones,
                });
                if weekly {
                    walk.push(day, "day", &after);
                }
            } else {
                let measures: Vec<_> = coat
                    .zones
                    .par_iter_mut()
                    .map(|z| {
                        z.step_to(day);
                        z.measures()
                    })
                    .collect();
                walk.push(day, "day", &measures);
            }
        }
        walk
    }

    fn work(&self, z: &mut ZoneCoat, p: &plan::PlannedZone, day: Day) -> ZoneReport {
        let visible = z.top.visible();
        let amount = (p.share * visible).min(z.top.ripe());
        let moments = |c: &ZoneCoat| {
            let hair = c.top.hair_by_length();
            hair.iter().filter(|h| h.2).fold((0.0, 0.0), |a, h| (a.0 + h.1, a.1 + h.1 * h.0))
        };
        let capped = p.amount == Amount::AllRipe && amount < z.top.ripe() - 1e-6;
        let before = (amount > 0.0).then(|| moments(z));
        let taken = z.work(&ZoneWork { take: Take::LongestFirst(amount), unripe: None, card: p.carded });
        let layer_mm = before.and_then(|b| {
            let a = moments(z);
            (b.0 - a.0 > 1e-9).then(|| r9((b.1 - a.1) / (b.0 - a.0)))
        });
        let d = z.setup.zone.defaults();
        let working = p.amount != Amount::Leave || p.carded;
        let works = d
            .works
            .iter()
            .filter(|w| if w.verb == "card" { p.carded } else { working && (p.amount != Amount::Leave) })
            .map(|w| if w.tool.is_empty() { w.verb.to_owned() } else { format!("{} ({})", w.verb, w.tool) })
            .collect::<Vec<_>>();
        let hands_off = self
            .file
            .zone(z.setup.zone)
            .and_then(|s| s.hands_off.as_ref())
            .map(|h| h.reason.as_ref().map_or_else(|| h.until.to_string(), |r| format!("{} ({r})", h.until)));
        let mut cautions = cautions::for_zone(self.file, z.setup.zone, z.setup.tender, day);
        if p.carded {
            cautions.push("Card lightly, all that comes, never twice over bare skin.".to_owned());
        }
        ZoneReport {
            zone: z.setup.zone.word(),
            works: if z.setup.mode == Mode::Never { vec!["look only".to_owned()] } else { works },
            amount: p.amount.to_string(),
            share: r9(p.share),
            of_follicles: r9(taken),
            layer_mm,
            leave: d.leave,
            min: r9(p.min),
            reason: if capped { words::capped(p.share) } else { words::reason(&z.setup, p.amount, p.why, hands_off) },
            cautions,
        }
    }

    fn milestones(&self, walk: &Walk) -> Milestones {
        let stays = |ok: fn(f64) -> bool, values: &[(Day, Option<f64>)]| {
            let last_bad = values.iter().rposition(|v| !v.1.is_some_and(ok));
            values.get(last_bad.map_or(0, |i| i + 1)).map(|v| v.0.to_string())
        };
        let even: Vec<_> = walk.jacket.iter().filter(|j| j.at == "after").map(|j| (j.day, j.evenness)).collect();
        let hard = walk.jacket.iter().find(|j| j.hard.is_some_and(|h| h >= 0.9)).map(|j| j.day.to_string());
        let furnishings = walk.legs.iter().find(|l| l.1).map(|l| l.0.to_string());
        Milestones { rolling: stays(|e| e >= 0.85, &even), furnishings, hard }
    }

    fn delays(&self, m: &Milestones) -> Delays {
        let say = |date: &Option<String>, what: &str, cause: &str| match date {
            Some(d) => format!("{what} from {d}. {cause}"),
            None => format!("Not before {}. {cause}", self.until),
        };
        Delays {
            rolling: say(
                &m.rolling,
                "Rolling",
                "A missed or late visit delays it, and so does taking more than one in five to hurry it.",
            ),
            furnishings: say(
                &m.furnishings,
                "Legs at length and covered",
                "Clipping or scissoring the legs, or taking the young coat, puts them back by months.",
            ),
            hard: say(
                &m.hard,
                "Jacket nine tenths hard",
                "Any clip starts it again; hair must be pulled to come back hard.",
            ),
        }
    }

    /// The ladder of rhythms at their steady state, and why one is recommended.
    pub fn ladder(&self) -> (Vec<Rung>, String) {
        let mut rungs: Vec<i32> = LADDER_D.to_vec();
        for extra in [self.recommended, self.rhythm] {
            if !rungs.contains(&extra) {
                rungs.push(extra);
            }
        }
        rungs.sort_unstable();
        let table = model::table(self.file, &self.dog, None);
        let growth = model::outline_growth(&self.dog);
        let hard = self.dog.coat.defaults().start_hard;
        let back = self.coat.zone(Zone::Back).or_else(|| self.coat.zones.first());
        let ladder: Vec<Rung> = rungs
            .into_par_iter()
            .filter_map(|every| {
                let s = steady_state(back?.top.law(), every, hard);
                let pulled: f64 = self
                    .coat
                    .zones
                    .iter()
                    .filter(|z| z.setup.is_worked())
                    .map(|z| {
                        let share = steady_share(z.top.law(), every).min(z.setup.cap);
                        table.zone_min(z.setup.zone.defaults().area, z.setup.tender, share, false)
                    })
                    .sum();
                let min = table.base_min() + pulled;
                let visits = 365.25 / f64::from(every);
                Some(Rung {
                    rhythm_days: every,
                    share: r9(s.share),
                    cover: r9(s.cover),
                    evenness: r9(s.evenness),
                    outline_mm: r9(growth * f64::from(every)),
                    visits_per_year: r9(visits),
                    min_per_visit: r9(min),
                    min_per_year: r9(min * visits),
                    price_per_year: self.file.groomer.price_per_hour.map(|p| r9(p * min * visits / 60.0)),
                    recommended: every == self.recommended,
                })
            })
            .collect();
        let reason = format!(
            "The outline may grow {:.1} mm between visits for this look; the coat grows {:.2} mm a day at density {:.1}, \
             so {} days, never under 7 nor over 21: three weeks is the longest gap that keeps a coat rolling.",
            self.file.look.tolerance_mm(),
            growth,
            self.file.density,
            self.recommended
        );
        (ladder, reason)
    }

    /// What a late next visit costs: the same programme with the next visit later.
    fn late(&self, planner: &Planner<'_>, solver: &dyn Solver) -> Result<Vec<LateReport>, Failure> {
        let today = self.options.today;
        let Some(next) = self.visits.iter().position(|v| *v > today) else { return Ok(Vec::new()) };
        // With many visits the near ones tell: the same programme, ten visits long.
        let until = self.visits.get(LATE_VISITS).map_or(self.until, |v| *v - 1);
        let near = Request { until, ..self.request(self.visits.iter().copied().filter(|v| *v <= until).collect()) };
        let (base, even) = if until == self.until {
            planner.exact_value(solver)?
        } else {
            Planner::new(&self.dog, &self.coat, &near)?.exact_value(solver)?
        };
        let even_on = |day: Day| self.visits.iter().rposition(|v| *v <= day).and_then(|i| even.get(i)).copied();
        let rows: Result<Vec<LateReport>, Failure> = LATE_D
            .into_par_iter()
            .map(|late| {
                let mut visits = self.visits[..next].to_vec();
                visits.extend(model::visit_days(self.visits[next] + late, until, self.rhythm, &self.options.not_on));
                if visits.is_empty() {
                    return Ok(LateReport { days_late: late, cost: 0.0, visits_to_recover: None });
                }
                let request = Request { until, ..self.request(visits) };
                let p = Planner::new(&self.dog, &self.coat, &request)?;
                let (value, late_even) = p.exact_value(solver)?;
                // The last visit is left out: so near the plan's end nothing pays for evenness any more.
                let judged = request.visits.len().saturating_sub(1).max(next);
                let behind = request.visits[next..judged]
                    .iter()
                    .zip(&late_even[next..judged])
                    .rposition(|(day, e)| even_on(*day).is_some_and(|b| *e < b - 0.02));
                let planned = judged - next;
                let recover = behind.map_or(0, |i| i as u32 + 1);
                Ok(LateReport {
                    days_late: late,
                    cost: r9(value - base),
                    visits_to_recover: (planned > 0 && (recover as usize) < planned).then_some(recover),
                })
            })
            .collect();
        let mut rows = rows?;
        rows.sort_by_key(|r| r.days_late);
        Ok(rows)
    }

    fn ripe_of_visible(&self) -> f64 {
        let (mut ripe, mut visible) = (0.0, 0.0);
        for z in self.coat.zones.iter().filter(|z| z.setup.is_worked()) {
            let a = z.setup.zone.defaults().area;
            ripe += a * z.top.ripe();
            visible += a * z.top.visible();
        }
        if visible > 0.0 { ripe / visible } else { 0.0 }
    }

    fn flat_days(&self) -> Option<i32> {
        self.file
            .history
            .iter()
            .rev()
            .find(|e| e.date <= self.options.today && e.kind == EventKind::Flat)
            .map(|e| self.options.today - e.date)
    }

    /// The ways to begin, where there is more than one.
    fn ways(&self, plan: &DogPlan, walk: &Walk, solver: &dyn Solver) -> Result<Vec<WayReport>, Failure> {
        let today = self.options.today;
        if self.ripe_of_visible() > 0.5 {
            let roll = self.way("roll from today", plan, walk, 0.0, 0.0, ROLL_NOTE.to_owned(), Vec::new());
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
            let way =
                self.way("take it down, then roll", &down, &down_walk, flat_min, 0.0, DOWN_NOTE.to_owned(), cautions);
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
        let wait = self.way("wait until it is ripe", plan, walk, 0.0, 0.0, wait_note, Vec::new());
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
            "start early, before it is ripe",
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
    fn way(
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

    fn matter_reports(&self, walk: &Walk) -> Vec<MatterReport> {
        self.matter
            .iter()
            .map(|(day, name)| {
                let jacket = walk.jacket.iter().rev().find(|j| j.day == *day);
                let coat = jacket.map_or_else(String::new, |j| {
                    let p = |x: Option<f64>| x.map_or("none".to_owned(), |v| format!("{:.0} %", 100.0 * v));
                    format!(
                        "Jacket: cover {}, evenness {}, hard {}, top length {} mm.",
                        p(j.cover),
                        p(j.evenness),
                        p(j.hard),
                        j.top_mm.map_or("none".to_owned(), |t| format!("{t:.0}"))
                    )
                });
                MatterReport { date: day.to_string(), name: name.clone(), coat }
            })
            .collect()
    }
}

const EARLY_MIN_MM: f64 = 8.0;
const ROLL_NOTE: &str = "Never bare; the dead hair comes out layer by layer over the visits.";
const DOWN_NOTE: &str = "All visible hair comes out today, except beard, brows and feet; nothing to take for about \
                         twelve weeks, then layers are begun in hair of one age.";

fn is_jacket(zone: Zone) -> bool {
    zone.defaults().jacket
}

/// A plan played through the coat.
struct Walk {
    visits: Vec<VisitReport>,
    forecast: Vec<CoatReport>,
    jacket: Vec<JacketOn>,
    /// Whether the legs are at length and covered, by day.
    legs: Vec<(Day, bool)>,
}

/// The jacket on a day, area-weighted.
struct JacketOn {
    day: Day,
    at: &'static str,
    cover: Option<f64>,
    evenness: Option<f64>,
    hard: Option<f64>,
    top_mm: Option<f64>,
}

impl Walk {
    fn push(&mut self, day: Day, at: &'static str, zones: &[coat::ZoneMeasures]) {
        let jacket: Vec<coat::ZoneMeasures> = zones.iter().filter(|z| is_jacket(z.zone)).copied().collect();
        let d = coat::dog_measures(&jacket);
        let area: f64 = jacket.iter().filter(|z| z.top_mm.is_some()).map(|z| z.zone.defaults().area).sum();
        let top: f64 = jacket.iter().filter_map(|z| Some(z.top_mm? * z.zone.defaults().area)).sum();
        self.jacket.push(JacketOn {
            day,
            at,
            cover: d.cover,
            evenness: d.evenness,
            hard: d.hard,
            top_mm: (area > 0.0).then(|| top / area),
        });
        let leg = |zone: Zone| {
            zones.iter().find(|z| z.zone == zone).is_some_and(|z| {
                let target = zone.defaults().target_mm.unwrap_or(0.0);
                z.top_mm.is_some_and(|t| t >= 0.9 * target) && z.cover.is_some_and(|c| c >= 0.7)
            })
        };
        self.legs.push((day, leg(Zone::Forelegs) && leg(Zone::HindLegs)));
        self.forecast.push(CoatReport::new(day, at, coat::dog_measures(zones), zones));
    }
}

/// The coat over days, with the history's visits as they were.
///
/// # Errors
/// [`Failure`] when the history contradicts itself or the days are out of order.
pub fn coat_series(file: &DogFile, from: Day, to: Day, step_d: i32) -> Result<CoatSeries, Failure> {
    if to < from || step_d < 1 || to - from > 4000 {
        return Err(Failure::Option {
            message: format!("the days from `{from}` to `{to}` in steps of `{step_d} d` are no series"),
            hint: "Give `--from` a day not after `--to`, at most 4000 days apart, and `--step` at least 1.".to_owned(),
        });
    }
    let rhythm = file.rhythm_days.unwrap_or_else(|| model::recommended_rhythm(file, &model::dog(file, 21)));
    let dog = model::dog(file, rhythm);
    let mut series = Vec::new();
    // Recorded events change the coat, so each stretch between them starts from a replay.
    let mut day = from;
    let mut coat: Option<DogCoat> = None;
    while day <= to {
        let event = file.history.iter().any(|e| e.date == day);
        let since = coat.as_ref().is_none_or(|c| file.history.iter().any(|e| e.date > c.day && e.date <= day));
        if event {
            let mut before = dog.clone();
            before.history.retain(|h| h.0 < day);
            if !before.history.is_empty() || dog.history.first().is_some_and(|h| day < h.0) {
                let (d, z) = coat_on(file, &before, day)?.measures();
                series.push(CoatReport::new(day, "before", d, &z));
            }
        }
        let mut now = match coat.take() {
            Some(c) if !since => c,
            _ => coat_on(file, &dog, day)?,
        };
        now.step_to(day);
        let (d, z) = now.measures();
        series.push(CoatReport::new(day, if event { "after" } else { "day" }, d, &z));
        coat = Some(now);
        day = day + step_d;
    }
    Ok(CoatSeries { schema: "coatwright.coat/1", dog: file.name.clone(), series })
}
