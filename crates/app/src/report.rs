//! What a plan comes to, as other programs read it: `coatwright.plan/1` and `coatwright.coat/1`.
//!
//! The schema is written down in `docs/json.md`, which a test compares with this file.

use coat::{Day, DogMeasures, Take, Zone, ZoneCoat, ZoneMeasures, ZoneWork};
use serde::{Deserialize, Deserializer, Serialize, de};

/// A word out of a fixed list.
///
/// An alias, so that reading one back goes through [`known`] and borrows nothing.
pub type Word = &'static str;

/// The words that reports hold beside zones and what is left in them.
const WORDS: [&str; 11] = [
    "coatwright.plan/1",
    "coatwright.coat/1",
    "before",
    "after",
    "day",
    "",
    crate::planning::ROLL_WAY,
    crate::planning::DOWN_WAY,
    crate::planning::WAIT_WAY,
    crate::planning::EARLY_WAY,
    crate::words::YOUNGER,
];

/// Reads a word that a report holds; an error for any other.
fn known<'de, D: Deserializer<'de>>(from: D) -> Result<Word, D::Error> {
    let text = String::deserialize(from)?;
    let zones = Zone::ALL.into_iter().flat_map(|z| [z.word(), z.defaults().leave]);
    let found = WORDS.into_iter().chain(zones).find(|w| *w == text);
    found.ok_or_else(|| de::Error::custom(format!("unknown word `{text}`")))
}

/// Rounds to 9 decimals, so that output does not depend on the last bit.
pub(crate) fn r9(x: f64) -> f64 {
    (x * 1e9).round() / 1e9
}

/// The plan of one dog.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PlanReport {
    /// `coatwright.plan/1`.
    #[serde(deserialize_with = "known")]
    pub schema: Word,
    /// The dog's name.
    pub dog: String,
    /// The day of the plan.
    pub today: String,
    /// The last day of the plan.
    pub until: String,
    /// Days between visits.
    pub rhythm_days: i32,
    /// The visits.
    pub visits: Vec<VisitReport>,
    /// The coat, weekly and around each visit.
    pub forecast: Vec<CoatReport>,
    /// Milestones.
    pub milestones: Milestones,
    /// What would delay each milestone, in words.
    pub delays: Delays,
    /// Ways to begin, side by side; empty when there is only one.
    pub ways: Vec<WayReport>,
    /// The ladder of rhythms.
    pub ladder: Vec<Rung>,
    /// Why the recommended rhythm is recommended.
    pub ladder_reason: String,
    /// What a late next visit costs.
    pub late: Vec<LateReport>,
    /// Days that matter.
    pub days_that_matter: Vec<MatterReport>,
    /// Cautions for the whole dog.
    pub cautions: Vec<String>,
    /// How good the plan is.
    pub objective: ObjectiveReport,
    /// Times, unless left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub timing: Option<Timing>,
}

/// Evenness from which a coat rolls.
pub const ROLLING: f64 = 0.85;
/// Hard share of the jacket from which it is hard.
pub const HARD: f64 = 0.9;

impl PlanReport {
    /// The first visit after which a zone stays even; none when it does not within the plan or has no layers.
    ///
    /// The milestone says the same of the jacket as a whole.
    pub fn rolling_from(&self, zone: Zone) -> Option<&str> {
        let even = |c: &CoatReport| {
            let found = c.zones.iter().find(|z| z.zone == zone.word()).and_then(|z| z.evenness);
            found.is_some_and(|e| e >= ROLLING)
        };
        let after: Vec<&CoatReport> = self.forecast.iter().filter(|c| c.at == "after").collect();
        let from = after.iter().rposition(|c| !even(c)).map_or(0, |last| last + 1);
        after.get(from).map(|c| c.date.as_str())
    }
}

/// One visit.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct VisitReport {
    /// Date.
    pub date: String,
    /// Minutes.
    pub min: f64,
    /// What ten more minutes would do, in words.
    pub ten_more_min: Option<String>,
    /// Zones in working order.
    pub zones: Vec<ZoneReport>,
}

impl VisitReport {
    /// What the visit does to a zone's coat as it stands on its day: the oldest of the ripe hair first.
    pub fn work_on(&self, coat: &ZoneCoat) -> ZoneWork {
        self.work_of(coat, |z| z.of_follicles)
    }

    /// What hands that follow the sheet do to a coat that may not be the one foretold: the share told of the hair one
    /// sees, or all that is ripe up to the zone's cap.
    pub fn told_on(&self, coat: &ZoneCoat) -> ZoneWork {
        let all_ripe = plan::Amount::AllRipe.to_string();
        self.work_of(coat, |z| coat.top.visible() * if z.amount == all_ripe { coat.setup.cap } else { z.share })
    }

    /// Takes so much of all follicles where the zone is planned, of what is ripe.
    fn work_of(&self, coat: &ZoneCoat, amount: impl Fn(&ZoneReport) -> f64) -> ZoneWork {
        let planned = self.zones.iter().find(|z| z.zone == coat.setup.zone.word());
        let amount = planned.map_or(0.0, amount).min(coat.top.ripe());
        let card = planned.is_some_and(|z| z.works.iter().any(|w| w.starts_with("card")));
        ZoneWork { take: Take::LongestFirst(amount), unripe: None, card }
    }
}

/// One zone at one visit.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ZoneReport {
    /// Zone name.
    #[serde(deserialize_with = "known")]
    pub zone: Word,
    /// Works in order, with their kind of tool.
    pub works: Vec<String>,
    /// `1 in 5`, `all ripe` or `leave`.
    pub amount: String,
    /// The same as one says it, with what stops the hand before it.
    pub amount_words: String,
    /// Share of the visible hair.
    pub share: f64,
    /// Share of all follicles.
    pub of_follicles: f64,
    /// Mean length of the hair to be taken, mm.
    pub layer_mm: Option<f64>,
    /// What to leave.
    #[serde(deserialize_with = "known")]
    pub leave: Word,
    /// Minutes.
    pub min: f64,
    /// Why so much.
    pub reason: String,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// The coat at one moment.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct CoatReport {
    /// Date.
    pub date: String,
    /// `before` or `after` a visit, or `day`.
    #[serde(deserialize_with = "known")]
    pub at: Word,
    /// The dog.
    pub dog: DogCoatReport,
    /// The zones.
    pub zones: Vec<ZoneCoatReport>,
}

/// Measures of the dog.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct DogCoatReport {
    /// Cover.
    pub cover: Option<f64>,
    /// Ripe.
    pub ripe: Option<f64>,
    /// Evenness.
    pub evenness: Option<f64>,
    /// Hard.
    pub hard: Option<f64>,
}

/// Measures of a zone.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct ZoneCoatReport {
    /// Zone name.
    #[serde(deserialize_with = "known")]
    pub zone: Word,
    /// Cover.
    pub cover: Option<f64>,
    /// Ripe.
    pub ripe: Option<f64>,
    /// Top length, mm.
    pub top_mm: Option<f64>,
    /// Layers.
    pub layers: Option<u32>,
    /// Evenness.
    pub evenness: Option<f64>,
    /// Hard.
    pub hard: Option<f64>,
    /// Wool.
    pub wool: Option<f64>,
}

impl CoatReport {
    /// A report of measures taken on a day.
    pub fn new(day: Day, at: &'static str, dog: DogMeasures, zones: &[ZoneMeasures]) -> Self {
        let r = |x: Option<f64>| x.map(r9);
        CoatReport {
            date: day.to_string(),
            at,
            dog: DogCoatReport { cover: r(dog.cover), ripe: r(dog.ripe), evenness: r(dog.evenness), hard: r(dog.hard) },
            zones: zones
                .iter()
                .map(|z| ZoneCoatReport {
                    zone: z.zone.word(),
                    cover: r(z.cover),
                    ripe: r(z.ripe),
                    top_mm: r(z.top_mm),
                    layers: z.layers,
                    evenness: r(z.evenness),
                    hard: r(z.hard),
                    wool: r(z.wool),
                })
                .collect(),
        }
    }
}

/// Dates of the milestones; none if not before the plan's last day.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Milestones {
    /// First visit after which the jacket stays even.
    pub rolling: Option<String>,
    /// Legs at length and covered.
    pub furnishings: Option<String>,
    /// Jacket nine tenths hard.
    pub hard: Option<String>,
}

/// What would delay the milestones.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Delays {
    /// Rolling.
    pub rolling: String,
    /// Furnishings.
    pub furnishings: String,
    /// Hard.
    pub hard: String,
}

/// One way to begin.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WayReport {
    /// Its name.
    #[serde(deserialize_with = "known")]
    pub way: Word,
    /// First visit with the rolling milestone.
    pub rolling: Option<String>,
    /// Weeks until then.
    pub weeks_to_rolling: Option<f64>,
    /// Weeks with the jacket's cover below its floor.
    pub weeks_bare: f64,
    /// Minutes of the first visit.
    pub first_min: f64,
    /// Minutes until the plan's last day.
    pub min: f64,
    /// Share of hair pulled before it was ripe, summed over visits (comfort).
    pub unripe: f64,
    /// What it means, in words.
    pub note: String,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// One rhythm at its steady state.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Rung {
    /// Days between visits.
    pub rhythm_days: i32,
    /// Share of the visible jacket hair taken each time.
    pub share: f64,
    /// Mean cover of the jacket.
    pub cover: f64,
    /// Evenness of the jacket after a visit.
    pub evenness: f64,
    /// Growth of the outline between visits, mm.
    pub outline_mm: f64,
    /// Visits a year.
    pub visits_per_year: f64,
    /// Minutes a visit.
    pub min_per_visit: f64,
    /// Minutes a year.
    pub min_per_year: f64,
    /// Price a year, where a price is set.
    pub price_per_year: Option<f64>,
    /// Currency of the price.
    pub currency: Option<String>,
    /// The rule's choice.
    pub recommended: bool,
}

/// What a late next visit costs.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct LateReport {
    /// Days late.
    pub days_late: i32,
    /// Rise of the plan's cost.
    pub cost: f64,
    /// Visits until evenness is within 0.02 of the plan in time.
    pub visits_to_recover: Option<u32>,
    /// How far ahead was looked.
    pub until: String,
}

/// The coat on a day that matters.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct MatterReport {
    /// Date.
    pub date: String,
    /// Its name.
    pub name: Option<String>,
    /// In words.
    pub coat: String,
}

/// The exact plan's value, its bound, and what hand steps cost.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct ObjectiveReport {
    /// Cost of the exact plan.
    pub lp_value: f64,
    /// Proven lower bound.
    pub bound: f64,
    /// Relative gap.
    pub gap: f64,
    /// Cost in hand steps.
    pub rounded_value: f64,
}

impl ObjectiveReport {
    /// A cost as a share of the exact plan's.
    pub fn share(&self, cost: f64) -> f64 {
        cost / self.lp_value.max(1e-9)
    }
}

/// How long it took.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Timing {
    /// Building and solving the plan, ms.
    pub solve_ms: f64,
    /// All of it, ms.
    pub total_ms: f64,
}

/// The coat over days.
#[derive(Clone, Debug, Serialize)]
pub struct CoatSeries {
    /// `coatwright.coat/1`.
    pub schema: &'static str,
    /// The dog's name.
    pub dog: String,
    /// The days.
    pub series: Vec<CoatReport>,
}
