//! What was learned, as other programs read it: `coatwright.learn/1`, written down in `docs/json.md`.

use super::words;
use super::{Worth, clocks, learned, worth};
use crate::cautions;
use crate::dog_file::DogFile;
use crate::model;
use crate::planning::Failure;
use crate::report::r9;
use coat::{Day, Dog, Mode, Zone};
use learn::{Available, Effort, Prior, UnusedWhy, ZoneSummary, pace};
use plan::Solver;
use serde::{Deserialize, Serialize};

/// What was learned of one dog.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LearnReport {
    /// `coatwright.learn/1`.
    pub schema: String,
    /// The dog's name.
    pub dog: String,
    /// The last day that was known.
    pub today: String,
    /// What was learned, in sentences.
    pub sentences: Vec<String>,
    /// When the next layers are ready, in sentences.
    pub window_sentences: Vec<String>,
    /// The worked zones, head first.
    pub zones: Vec<ZoneLearned>,
    /// The next layers, where one is on its way.
    pub windows: Vec<WindowReport>,
    /// Readings of the last visit that the visits before it did not foretell.
    pub surprises: Vec<SurpriseReport>,
    /// The one reading at the next visit that would teach most; null when it was not asked for or none would.
    pub next_reading: Option<NextReading>,
    /// Minutes at the table.
    pub pace: PaceReport,
    /// All readings, in file order.
    pub readings: Vec<ReadingReport>,
    /// How far the figures can be trusted.
    pub diagnostics: DiagnosticsReport,
    /// Cautions for the whole dog.
    pub cautions: Vec<String>,
}

/// One zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneLearned {
    /// Zone name.
    pub zone: String,
    /// The five values.
    pub values: Vec<ParamReport>,
    /// From pull to ripe.
    pub pull_to_ripe: RipeReport,
    /// From which readings: places in `readings`.
    pub from_readings: Vec<usize>,
}

/// One value of a zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ParamReport {
    /// `lag`, `grow`, `set`, `hold` or `growth`.
    pub value: String,
    /// `d` or `mm/d`.
    pub unit: String,
    /// Posterior mean.
    pub mean: f64,
    /// Lower end of the 80 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// The default.
    pub default: f64,
    /// Lower end of the prior's 80 % interval.
    pub prior_low: f64,
    /// Upper end.
    pub prior_high: f64,
    /// Posterior sd over prior sd.
    pub of_prior_sd: f64,
    /// Still only the default.
    pub only_default: bool,
}

/// Days from pull to ripe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RipeReport {
    /// Posterior mean, days.
    pub mean_d: f64,
    /// Lower end of the 80 % interval, days.
    pub low_d: f64,
    /// Upper end, days.
    pub high_d: f64,
    /// By the defaults, days.
    pub default_d: f64,
}

/// The window of a zone's next layer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WindowReport {
    /// Zone name.
    pub zone: String,
    /// When the layer was begun.
    pub begun: String,
    /// One in ten that it is ready by then.
    pub from: String,
    /// Even chance.
    pub middle: String,
    /// Nine in ten.
    pub until: String,
    /// By the defaults.
    pub default: String,
}

/// A surprise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SurpriseReport {
    /// Place in `readings`.
    pub reading: usize,
    /// Chance of an answer at most this one.
    pub below: f64,
    /// Chance of an answer at least this one.
    pub above: f64,
    /// Plain reasons that it may have.
    pub reasons: Vec<String>,
    /// What to do where health may be one.
    pub caution: Option<String>,
}

/// The reading that would teach most.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NextReading {
    /// The visit that it is asked for.
    pub date: String,
    /// In any of these zones.
    pub zones: Vec<String>,
    /// What to read.
    pub reading: String,
    /// Expected fall of the plan's cost, at least.
    pub fall: f64,
    /// As a share of the cost.
    pub of_cost: f64,
    /// The others, most worth first.
    pub others: Vec<OtherReading>,
}

/// Another reading and its worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OtherReading {
    /// In any of these zones.
    pub zones: Vec<String>,
    /// What to read.
    pub reading: String,
    /// Expected fall of the plan's cost, at least.
    pub fall: f64,
}

/// Minutes at the table over minutes reckoned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PaceReport {
    /// Mean; null when no clock was read.
    pub mean: Option<f64>,
    /// Lower end of the 80 % interval of the groomer's own part.
    pub groomer_low: f64,
    /// Upper end.
    pub groomer_high: f64,
    /// Lower end of the dog's own part.
    pub dog_low: f64,
    /// Upper end.
    pub dog_high: f64,
    /// Clock readings that counted.
    pub clocks: usize,
}

/// One reading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReadingReport {
    /// The day of the visit.
    pub date: String,
    /// Zones it was given for.
    pub zones: Vec<String>,
    /// What was read.
    pub reading: String,
    /// The answer.
    pub answer: String,
    /// Line of the file.
    pub line: usize,
    /// Why it says nothing; null when it counts.
    pub unused: Option<String>,
}

/// Diagnostics; null with the reason beside it where one is not available.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DiagnosticsReport {
    /// Draws.
    pub draws: usize,
    /// Smallest effective sample size.
    pub ess: Option<f64>,
    /// Largest split R-hat.
    pub r_hat: Option<f64>,
    /// Pareto shape of engine over interpolation.
    pub k_hat: Option<f64>,
    /// Spread of the logarithm of that ratio.
    pub ln_ratio_sd: Option<f64>,
    /// Replays of the engine.
    pub replays: usize,
    /// Groups of zones computed as one.
    pub patches: usize,
    /// Why those that are null are not available.
    pub not_available: Vec<String>,
}

const fn why_unused(why: UnusedWhy) -> &'static str {
    match why {
        UnusedWhy::Later => "it is of a later day",
        UnusedWhy::BeforeHistory => "the history begins after it",
        UnusedWhy::NeverWorked => "none of its zones is worked",
        UnusedWhy::NoLayer => "nothing had been pulled there before",
    }
}

fn names(zones: &[Zone]) -> Vec<String> {
    zones.iter().map(|z| z.word().to_owned()).collect()
}

/// The worked zones of a learned dog, head first.
fn summaries(dog: &Dog, l: &learn::Learned) -> Vec<ZoneSummary> {
    dog.zones.iter().filter(|s| s.mode != Mode::Never).filter_map(|s| l.zone(s.zone)).collect()
}

/// How long the zones of a learned dog take from pull to ripe, in sentences: what holds on any day.
pub fn in_short(file: &DogFile, l: &learn::Learned) -> Vec<String> {
    words::sentences(&summaries(&model::dog(file, file.rhythm_days.unwrap_or(21)), l))
}

/// Learns a file's dog and reports. `solver` and the rhythm are for the reading that would teach most;
/// without a solver it is left out.
///
/// # Errors
/// [`Failure`] when the day lies before the birth or the history contradicts itself.
pub fn report(
    file: &DogFile,
    today: Day,
    shop: Option<Prior>,
    seed: u64,
    effort: Effort,
    solver: Option<&(dyn Solver + Sync)>,
) -> Result<LearnReport, Failure> {
    if today < file.born {
        return Err(Failure::Option {
            message: format!("the day `{today}` lies before the dog was born, `{}`", file.born),
            hint: "Give `--on` a later day.".to_owned(),
        });
    }
    let (l, recorded) = learned(file, today, shop, seed, effort)?;
    let dog = model::dog(file, file.rhythm_days.unwrap_or(21));
    let zones = summaries(&dog, &l);
    let windows = l.windows();
    let work_before =
        |zone: Zone, day: Day| windows.iter().find(|w| w.zone == zone).map(|w| w.begun).filter(|b| *b < day);
    let far = l.last_visit().unwrap_or_default();
    let surprises = far
        .iter()
        .filter(|s| s.is_far())
        .map(|s| {
            let r = &recorded[s.index];
            let hairless = r.reading.zones.first().and_then(|z| work_before(*z, r.reading.day));
            let (reasons, caution) = words::reasons(r, s, words::since(hairless, r.reading.day));
            let reasons = reasons.into_iter().map(str::to_owned).collect();
            let caution = caution.map(str::to_owned);
            SurpriseReport { reading: s.index, below: r9(s.below), above: r9(s.above), reasons, caution }
        })
        .collect();
    let mut sentences = words::sentences(&zones);
    // A change that cannot be judged is none that can be told.
    if let Ok(Some(change)) = l.change()
        && change.is_told()
    {
        sentences.push(words::changed(change.since));
    }
    let next_reading = match solver {
        Some(solver) => best_reading(file, &l, next_visit(file, today), seed, solver)?,
        None => None,
    };
    let rows: Vec<_> = clocks(file, today).iter().map(|c| c.row(0, 0)).collect();
    let paces = pace(&rows, &[file.groomer.pace]);
    let (groomer, own) = (paces.groomers[0], paces.dogs[0]);
    let d = &l.diagnostics;
    let figures = [("ess", d.ess), ("r_hat", d.r_hat), ("k_hat", d.k_hat), ("ln_ratio_sd", d.ln_ratio_sd)];
    let not_available = figures
        .iter()
        .filter_map(|(name, a)| match a {
            Available::Not(why) => Some(format!("{name}: {why}")),
            Available::Is(_) => None,
        })
        .collect();
    let figure = |a: Available| a.value().map(r9);
    Ok(LearnReport {
        schema: "coatwright.learn/1".into(),
        dog: file.name.clone(),
        today: today.to_string(),
        sentences,
        window_sentences: words::window_sentences(&zones, &windows),
        zones: zones.iter().map(zone_report).collect(),
        windows: windows
            .iter()
            .map(|w| WindowReport {
                zone: w.zone.word().to_owned(),
                begun: w.begun.to_string(),
                from: w.from.to_string(),
                middle: w.middle.to_string(),
                until: w.until.to_string(),
                default: w.default.to_string(),
            })
            .collect(),
        surprises,
        next_reading,
        pace: PaceReport {
            mean: paces.visit.value().map(r9),
            groomer_low: r9(groomer.low),
            groomer_high: r9(groomer.high),
            dog_low: r9(own.low),
            dog_high: r9(own.high),
            clocks: paces.used,
        },
        readings: recorded
            .iter()
            .enumerate()
            .map(|(i, r)| ReadingReport {
                date: r.reading.day.to_string(),
                zones: names(&r.reading.zones),
                reading: r.reading.what.word().into(),
                answer: words::answer(&r.reading.what),
                line: r.line,
                unused: l.unused.iter().find(|u| u.index == i).map(|u| why_unused(u.why).into()),
            })
            .collect(),
        diagnostics: DiagnosticsReport {
            draws: d.draws,
            ess: figure(d.ess),
            r_hat: figure(d.r_hat),
            k_hat: figure(d.k_hat),
            ln_ratio_sd: figure(d.ln_ratio_sd),
            replays: d.replays,
            patches: d.patches,
            not_available,
        },
        cautions: cautions::for_dog(file, today),
    })
}

fn zone_report(z: &ZoneSummary) -> ZoneLearned {
    ZoneLearned {
        zone: z.zone.word().to_owned(),
        values: z
            .params
            .iter()
            .map(|p| ParamReport {
                value: p.param.word().into(),
                unit: p.param.unit().into(),
                mean: r9(p.mean),
                low: r9(p.low),
                high: r9(p.high),
                default: r9(p.default),
                prior_low: r9(p.prior_low),
                prior_high: r9(p.prior_high),
                of_prior_sd: r9(p.of_prior_sd),
                only_default: p.only_default,
            })
            .collect(),
        pull_to_ripe: RipeReport {
            mean_d: r9(z.pull_to_ripe_d.0),
            low_d: r9(z.pull_to_ripe_d.1),
            high_d: r9(z.pull_to_ripe_d.2),
            default_d: r9(z.default_pull_to_ripe_d),
        },
        from_readings: z.readings.clone(),
    }
}

/// The next visit: a rhythm after the last recorded one, not before tomorrow.
fn next_visit(file: &DogFile, today: Day) -> Day {
    let rhythm = file.rhythm_days.unwrap_or(21);
    let visit = |e: &&crate::dog_file::Event| e.date <= today && matches!(e.kind, crate::dog_file::EventKind::Visit(_));
    let last = file.history.iter().rev().find(visit).map_or(today, |e| e.date);
    (last + rhythm).max(today + 1)
}

/// The one reading at a visit on `date` that would teach most; none when none would.
///
/// # Errors
/// [`Failure`] when the history contradicts itself or the solver gives up.
pub fn next_reading(
    file: &DogFile,
    today: Day,
    date: Day,
    shop: Option<Prior>,
    seed: u64,
    effort: Effort,
    solver: &(dyn Solver + Sync),
) -> Result<Option<NextReading>, Failure> {
    let (l, _) = learned(file, today, shop, seed, effort)?;
    best_reading(file, &l, date, seed, solver)
}

fn best_reading(
    file: &DogFile,
    l: &learn::Learned,
    date: Day,
    seed: u64,
    solver: &(dyn Solver + Sync),
) -> Result<Option<NextReading>, Failure> {
    let all: Vec<Worth> = worth(file, l, date, seed, solver)?;
    let Some(first) = all.first().filter(|w| w.fall > 0.0) else { return Ok(None) };
    Ok(Some(NextReading {
        date: date.to_string(),
        zones: names(&first.zones),
        reading: first.kind.word().into(),
        fall: r9(first.fall),
        of_cost: r9(first.of_cost),
        others: all[1..]
            .iter()
            .take(5)
            .map(|w| OtherReading { zones: names(&w.zones), reading: w.kind.word().into(), fall: r9(w.fall) })
            .collect(),
    }))
}
