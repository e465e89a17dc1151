//! How unsure a forecast is: the plan's visits done to coats that fit what was read of the dog.
//!
//! Draws of the posterior are replayed through the engine, the record first and then the plan as it would be carried
//! out by hands: a share of the hair one sees, or all that is ripe. A dog of which nothing was read is drawn from its
//! prior.

use crate::dog_file::DogFile;
use crate::hands_off;
use crate::measures::{Group, Measure, measured};
use crate::model;
use crate::planning::{Failure, coat_on};
use crate::report::{CoatReport, PlanReport};
use coat::{Day, Dog, ZoneSetup};
use learn::{Learned, quantile};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Coats that are followed.
const DRAWS: usize = 40;
/// The middle 8 in 10.
const ENDS: [f64; 2] = [0.1, 0.9];

/// Where 8 in 10 of the coats lie that fit what is known, for each moment of a plan's forecast.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bands(Vec<Band>);

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Band {
    group: Group,
    measure: Measure,
    /// Lower and upper end at each moment of the forecast; none where the measure is not defined.
    ends: Vec<Option<[f64; 2]>>,
}

/// A band at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Within {
    /// Day.
    pub day: Day,
    /// Lower end: a share, or mm.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Bands {
    /// From lower and upper ends at each moment of a forecast, for every group and measure.
    pub fn from_ends(ends: impl Fn(Group, Measure) -> Vec<Option<[f64; 2]>>) -> Self {
        let each = Group::ALL.into_iter().flat_map(|g| Measure::ALL.map(|m| (g, m)));
        Bands(each.map(|(group, measure)| Band { group, measure, ends: ends(group, measure) }).collect())
    }

    /// The band of a measure of a group over the moments of the plan that it was made for.
    pub fn of(&self, report: &PlanReport, group: Group, measure: Measure) -> Vec<Within> {
        let ends = self.0.iter().filter(|b| b.group == group && b.measure == measure).flat_map(|b| &b.ends);
        let within = |(coat, ends): (&CoatReport, &Option<[f64; 2]>)| {
            let ([low, high], day) = ((*ends)?, Day::parse(&coat.date)?);
            Some(Within { day, low, high })
        };
        report.forecast.iter().zip(ends).filter_map(within).collect()
    }
}

/// The bands of a plan's forecast, from what was learned of the dog by its day. `file` is the dog's file without learned
/// values, `counted` the one that the plan was made from.
///
/// # Errors
/// [`Failure`] when the history contradicts itself.
pub fn bands(file: &DogFile, l: &Learned, counted: &DogFile, report: &PlanReport) -> Result<Bands, Failure> {
    let today = l.today();
    let n = l.draw_count();
    let draws: Vec<usize> = (0..DRAWS.min(n)).map(|i| i * n / DRAWS.min(n)).collect();
    let dogs = l.dogs_at(&model::dog(file, report.rhythm_days), &draws);
    let mut planned = model::dog(counted, report.rhythm_days);
    hands_off::close(&mut planned, counted, today);
    model::spare(&mut planned, counted, today);
    let followed: Vec<Vec<CoatReport>> =
        dogs.par_iter().map(|d| follow(counted, with_cycles(&planned, d), report, today)).collect::<Result<_, _>>()?;
    Ok(Bands::from_ends(|group, measure| {
        let at = |i: usize| {
            let all: Vec<f64> = followed.iter().filter_map(|f| measured(&f[i], group, measure)).collect();
            (2 * all.len() > followed.len()).then(|| ENDS.map(|q| rounded(quantile(&all, q))))
        };
        (0..report.forecast.len()).map(at).collect()
    }))
}

/// A picture shows no more, and what is kept stays small.
fn rounded(x: f64) -> f64 {
    (x * 1e5).round() / 1e5
}

/// The dog as planned, with the cycles of a draw.
fn with_cycles(planned: &Dog, drawn: &Dog) -> Dog {
    let mut out = planned.clone();
    let cycle = |s: &ZoneSetup| drawn.zones.iter().find(|d| d.zone == s.zone).map_or(s.cycle, |d| d.cycle);
    out.zones = planned.zones.iter().map(|s| ZoneSetup { cycle: cycle(s), ..s.clone() }).collect();
    out
}

/// One dog through its record and the plan, at the moments of the plan's forecast.
fn follow(file: &DogFile, dog: Dog, report: &PlanReport, today: Day) -> Result<Vec<CoatReport>, Failure> {
    let mut coat = coat_on(file, &dog, today)?;
    let moments = report.forecast.iter().map(|moment| {
        let day = Day::parse(&moment.date).unwrap_or(coat.day).max(coat.day);
        coat.step_to(day);
        if moment.at == "after"
            && let Some(visit) = report.visits.iter().find(|v| v.date == moment.date)
        {
            for zone in &mut coat.zones {
                let work = visit.told_on(zone);
                zone.work(&work);
            }
        }
        let (dog, zones) = coat.measures();
        CoatReport::new(day, moment.at, dog, &zones)
    });
    Ok(moments.collect())
}
