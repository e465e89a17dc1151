//! The values learned, zones that fare alike together.

use super::{listed, readings};
use crate::access::SignedIn;
use crate::dog::plan::table;
use crate::ui::capital;
use crate::words::{in_units, unit};
use app::learning::{LearnReport, ParamReport, ZoneLearned};
use app::shop::{RestsOn, Units};
use maud::{Markup, html};

/// What a value is, in words.
fn spoken(value: &str) -> &str {
    match value {
        "lag" => "Bare before it grows",
        "grow" => "Grows",
        "set" => "Sits firm until ripe",
        "hold" => "Ripe until it falls",
        "growth" => "Growth in a week",
        other => other,
    }
}

/// A way to write one row's numbers: days, or weeks where they are long; millimetres or inches in a week.
struct Scale {
    each: f64,
    word: &'static str,
    units: Option<Units>,
}

impl Scale {
    fn days(longest_d: f64) -> Scale {
        if longest_d < 70.0 {
            Scale { each: 1.0, word: "days", units: None }
        } else {
            Scale { each: 7.0, word: "weeks", units: None }
        }
    }

    fn of(v: &ParamReport, units: Units) -> Scale {
        if &*v.unit == "d" {
            Scale::days(v.high.max(v.default))
        } else {
            Scale { each: 1.0 / 7.0, word: unit(units), units: Some(units) }
        }
    }

    fn number(&self, x: f64) -> String {
        match self.units {
            Some(units) => in_units(x / self.each, units),
            None => format!("{:.0}", x / self.each),
        }
    }

    fn one(&self, x: f64) -> String {
        format!("{} {}", self.number(x), self.word)
    }

    /// `16 weeks, 15 to 18`.
    fn with_range(&self, mean: f64, low: f64, high: f64) -> String {
        let (low, high) = (self.number(low), self.number(high));
        if low == high { self.one(mean) } else { format!("{}, {low} to {high}", self.one(mean)) }
    }

    fn range(&self, low: f64, high: f64) -> String {
        let (low, high) = (self.number(low), self.number(high));
        if low == high { format!("about {low} {}", self.word) } else { format!("{low} to {high} {}", self.word) }
    }
}

/// The zones that were read; what the plan rests on stands behind what is not learned yet.
pub(super) fn section(signed: &SignedIn, r: &LearnReport, rests: &RestsOn) -> Markup {
    let mut groups: Vec<(Vec<String>, &ZoneLearned)> = Vec::new();
    let mut unread: Vec<String> = Vec::new();
    for z in &r.zones {
        if z.from_readings.is_empty() {
            unread.push(z.zone.clone());
            continue;
        }
        let alike = |o: &ZoneLearned| {
            (&o.values, &o.pull_to_ripe, &o.from_readings) == (&z.values, &z.pull_to_ripe, &z.from_readings)
        };
        match groups.iter_mut().find(|g| alike(g.1)) {
            Some(g) => g.0.push(z.zone.clone()),
            None => groups.push((vec![z.zone.clone()], z)),
        }
    }
    html! {
        section aria-labelledby="zones" {
            h2 #zones { "Zone by zone" }
            p {
                "The average of what fits the readings, and the two numbers between which the truth lies 8 times in 10. The doubt left is how \
                 unsure the value still is, of how unsure it was before anything was read."
            }
            @for (zones, z) in &groups {
                h3 { (capital(listed(zones, "and").trim_start_matches("the "))) }
                p.quiet { (readings::sources(signed, r, &z.from_readings)) }
                (table(&format!("What was learned of {}", listed(zones, "and")), &["What", "This dog, 8 in 10", "The default", "Doubt left"], &rows(z, rests, signed.house.units)))
            }
            @if !unread.is_empty() {
                p { "Not read so far: " (listed(&unread, "and")) ". They are expected to differ from the default as the zones that were read do, and less surely." }
            }
        }
    }
}

fn rows(z: &ZoneLearned, rests: &RestsOn, units: Units) -> Vec<Vec<String>> {
    let ripe = &z.pull_to_ripe;
    let all = Scale::days(ripe.high_d.max(ripe.default_d));
    let first = vec![
        "From pull to ripe".to_owned(),
        all.with_range(ripe.mean_d, ripe.low_d, ripe.high_d),
        all.one(ripe.default_d),
        String::new(),
    ];
    let still = match (rests.dogs, rests.elsewhere) {
        (0, 0) => "still only the default",
        (_, 0) => "still only as other dogs here",
        _ => "still only as other dogs",
    };
    let row = |v: &ParamReport| {
        let scale = Scale::of(v, units);
        let learned = if v.only_default {
            format!("{still}, {}", scale.range(v.low, v.high))
        } else {
            scale.with_range(v.mean, v.low, v.high)
        };
        let doubt = if v.only_default { "all".to_owned() } else { format!("{:.0} %", 100.0 * v.of_prior_sd) };
        vec![spoken(&v.value).to_owned(), learned, scale.one(v.default), doubt]
    };
    std::iter::once(first).chain(z.values.iter().map(row)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_in_days_weeks_and_the_shops_lengths() {
        let days = Scale::days(33.0);
        assert_eq!((days.one(28.2), days.range(24.0, 33.0)), ("28 days".into(), "24 to 33 days".into()));
        let weeks = Scale::days(114.0);
        assert_eq!((weeks.one(93.0), weeks.range(90.0, 92.0)), ("13 weeks".into(), "about 13 weeks".into()));
        assert_eq!(weeks.with_range(93.0, 86.0, 103.0), "13 weeks, 12 to 15");
        assert_eq!(weeks.with_range(93.0, 90.0, 92.0), "13 weeks");
        // 0.33 mm a day are 2.31 mm, or 0.0909 in, in a week.
        let mm = Scale { each: 1.0 / 7.0, word: "mm", units: Some(Units::Mm) };
        let inches = Scale { each: 1.0 / 7.0, word: "in", units: Some(Units::Inches) };
        assert_eq!((mm.one(0.33), inches.one(0.33)), ("2.3 mm".into(), "0.09 in".into()));
    }
}
