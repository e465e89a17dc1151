//! The measures of a plan by group of zones and day.

use crate::report::{CoatReport, PlanReport, ZoneCoatReport};
use coat::{Day, Zone};
use serde::{Deserialize, Serialize};

/// A group of zones that are looked at together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Group {
    /// Head and throat.
    Head,
    /// The rolling coat of the trunk.
    Jacket,
    /// Legs and feet.
    Legs,
    /// All other zones.
    Rest,
}

impl Group {
    /// All groups, in the order of the columns.
    pub const ALL: [Group; 4] = [Group::Head, Group::Jacket, Group::Legs, Group::Rest];

    /// The name as spoken.
    pub const fn word(self) -> &'static str {
        match self {
            Group::Head => "head",
            Group::Jacket => "jacket",
            Group::Legs => "legs",
            Group::Rest => "rest",
        }
    }

    /// The group of a zone.
    pub fn of(zone: Zone) -> Group {
        use Zone::{Beard, Brows, Cheeks, Ears, Feet, Foreface, Forelegs, HindLegs, Skull, Throat};
        match zone {
            _ if zone.defaults().jacket => Group::Jacket,
            Skull | Foreface | Brows | Cheeks | Ears | Beard | Throat => Group::Head,
            Forelegs | HindLegs | Feet => Group::Legs,
            _ => Group::Rest,
        }
    }
}

/// A measure of a coat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Measure {
    /// Visible share of follicles.
    Cover,
    /// Ripe share of follicles.
    Ripe,
    /// Closeness to an even coat.
    Evenness,
    /// Hard share of the visible hair.
    Hard,
    /// 90th percentile of the length.
    Top,
}

impl Measure {
    /// All measures, in the order of the rows.
    pub const ALL: [Measure; 5] = [Measure::Evenness, Measure::Cover, Measure::Ripe, Measure::Hard, Measure::Top];

    /// The name as spoken.
    pub const fn word(self) -> &'static str {
        match self {
            Measure::Cover => "cover",
            Measure::Ripe => "ripe",
            Measure::Evenness => "evenness",
            Measure::Hard => "hard",
            Measure::Top => "top length",
        }
    }

    fn read(self, z: &ZoneCoatReport) -> Option<f64> {
        match self {
            Measure::Cover => z.cover,
            Measure::Ripe => z.ripe,
            Measure::Evenness => z.evenness,
            Measure::Hard => z.hard,
            Measure::Top => z.top_mm,
        }
    }
}

/// One moment of one measure of one group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Day.
    pub day: Day,
    /// Area-weighted mean over the zones where it is defined: a share, or mm.
    pub value: f64,
}

/// A measure of a group over the days of the plan, before and after visits.
pub fn series(report: &PlanReport, group: Group, measure: Measure) -> Vec<Point> {
    // The zones of a plan are the same from day to day, in one order.
    let order: Vec<Option<Zone>> =
        report.forecast.first().map_or_else(Vec::new, |c| c.zones.iter().map(|z| Zone::parse(z.zone)).collect());
    let dated = report.forecast.iter().filter_map(|coat| Some((Day::parse(&coat.date)?, coat)));
    dated.filter_map(|(day, coat)| Some(Point { day, value: mean(coat, &order, group, measure)? })).collect()
}

/// A measure of a group at one moment; none where no zone of the group has it.
pub fn measured(coat: &CoatReport, group: Group, measure: Measure) -> Option<f64> {
    mean(coat, &[], group, measure)
}

/// The mean over a group's zones, which probably come in this order.
fn mean(coat: &CoatReport, order: &[Option<Zone>], group: Group, measure: Measure) -> Option<f64> {
    let (mut sum, mut area) = (0.0, 0.0);
    for (i, z) in coat.zones.iter().enumerate() {
        let expected = order.get(i).copied().flatten().filter(|x| x.word() == z.zone);
        let Some(zone) = expected.or_else(|| Zone::parse(z.zone)) else { continue };
        if Group::of(zone) == group
            && let Some(x) = measure.read(z).filter(|x| x.is_finite())
        {
            let a = zone.defaults().area;
            sum += a * x;
            area += a;
        }
    }
    (area > 0.0).then(|| sum / area)
}
