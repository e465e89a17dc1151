//! The main use case: from a dog's file to its plan.

mod ladder;
mod late;
mod series;
mod walk;
mod ways;

pub use ladder::LADDER_D;
pub use late::LATE_D;
pub use series::coat_series;
pub(crate) use ways::{DOWN_WAY, EARLY_WAY, ROLL_WAY, WAIT_WAY};

use crate::cautions;
use crate::dog_file::{DogFile, EventKind, Fault, RHYTHM_D};
use crate::hands_off;
use crate::model;
use crate::report::{ObjectiveReport, PlanReport, Timing};
use coat::{Day, Dog, DogCoat, HistoryError, Zone};
use plan::{PlanError, Planner, Request, Solver};

/// Days that a plan looks ahead unless told otherwise: 26 weeks.
pub const HORIZON_D: i32 = 182;

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
    /// Days that matter after the last day of the plan.
    beyond: Vec<(Day, Option<String>)>,
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

pub(crate) fn history_failure(file: &DogFile, e: HistoryError) -> Failure {
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
        let (least, most) = RHYTHM_D;
        if !(least..=most).contains(&i64::from(rhythm)) {
            return Err(bad(
                format!("rhythm `{rhythm} d` is outside `{least}..={most} d`"),
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
        matter.retain(|d| d.0 >= today);
        // The same day given twice is one day, and keeps a name.
        matter.sort_by_key(|d| (d.0, d.1.is_none()));
        matter.dedup_by_key(|d| d.0);
        let beyond = matter.split_off(matter.partition_point(|d| d.0 <= until));
        let mut dog = model::dog(file, rhythm);
        hands_off::close(&mut dog, file, today);
        model::spare(&mut dog, file, today);
        let coat = coat_on(file, &dog, today)?;
        let visits = model::visit_days(today, until, rhythm, &options.not_on);
        Ok(Case { file, options, dog, rhythm, recommended, until, visits, matter, beyond, coat })
    }

    fn request(&self, visits: Vec<Day>) -> Request {
        Request {
            today: self.options.today,
            until: self.until,
            visits,
            matter: self.matter.iter().map(|d| d.0).collect(),
            table: model::table_on(self.file, &self.dog, self.options.max_min, self.options.today),
            weights: self.file.weights,
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
        let walk = self.walk(&self.coat, &plan, self.until);
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
}

fn is_jacket(zone: Zone) -> bool {
    zone.defaults().jacket
}
