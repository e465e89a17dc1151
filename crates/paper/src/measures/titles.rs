//! Titles that say what to see, made from the numbers.

use super::{Group, Measure, series};
use crate::dates;
use crate::options::Units;
use app::report::PlanReport;

/// The one sentence over the picture.
pub fn headline(report: &PlanReport) -> String {
    let m = &report.milestones;
    let even = series(report, Group::Jacket, Measure::Evenness);
    let first = report.visits.first().map_or(&report.today, |v| &v.date);
    match &m.rolling {
        Some(d) if d == first => "The jacket rolls and keeps rolling".to_owned(),
        Some(d) => format!("The jacket rolls from {}", dates::spoken(d)),
        None => match (even.first(), even.last()) {
            (Some(a), Some(b)) if b.value > a.value + 0.02 => format!(
                "The jacket evens out from {} to {} of 100, and does not roll before {}",
                percent(a.value),
                percent(b.value),
                dates::spoken(&report.until)
            ),
            _ => format!("The jacket does not roll before {}", dates::spoken(&report.until)),
        },
    }
}

fn percent(x: f64) -> String {
    format!("{:.0}", 100.0 * x)
}

/// What to see in one row.
pub fn row_title(report: &PlanReport, measure: Measure, units: Units) -> String {
    let points = series(report, Group::Jacket, measure);
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return format!("{}: nothing to show", capital(measure.word()));
    };
    let low = points.iter().min_by(|a, b| a.value.total_cmp(&b.value)).unwrap_or(first);
    let (a, b) = (first.value, last.value);
    let moved = |up: &str, down: &str, level: &str, unit: &str| {
        if (b - a).abs() <= 0.02 {
            format!("{level} near {}{unit}", percent(b))
        } else {
            format!("{} from {} to {}{unit}", if b > a { up } else { down }, percent(a), percent(b))
        }
    };
    match measure {
        Measure::Evenness => {
            format!("Evenness: the jacket's layers {}", moved("fill in", "drift apart", "stay", " of 100"))
        }
        Measure::Cover => format!(
            "Cover: the jacket is thinnest on {} with {} % of the skin covered",
            dates::spoken(&low.day.to_string()),
            percent(low.value)
        ),
        Measure::Ripe => format!("Ripe: dead hair in the jacket {}", moved("rises", "falls", "stays", " %")),
        Measure::Hard => format!("Hard: harsh hair in the jacket {}", moved("rises", "falls", "stays", " %")),
        Measure::Top if (b - a).abs() < 1.0 => format!("Top length: the jacket stays near {}", units.length(b)),
        Measure::Top => {
            let goes = if b > a { "grows" } else { "comes down" };
            format!("Top length: the jacket {goes} from {} to {}", units.length(a), units.length(b))
        }
    }
}

pub(super) fn capital(word: &str) -> String {
    let mut c = word.chars();
    c.next().map_or_else(String::new, |f| f.to_uppercase().chain(c).collect())
}
