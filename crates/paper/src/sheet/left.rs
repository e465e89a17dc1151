//! The sheet of a visit that takes nothing: why, what to do instead, and when there is hair to take.

use super::MARGIN;
use super::list::{BOX, by_reason, is_worked, label, names, tick};
use super::notes::Notes;
use crate::dates;
use crate::fonts::{self, Weight};
use crate::options::Options;
use crate::page::{Item, Part};
use crate::section::{text, text_goes_on};
use app::report::{PlanReport, ZoneReport};

const TITLE: &str = "Nothing is taken today";

/// What a visit is for when no hair is to come out.
const INSTEAD: [&str; 4] = [
    "Look over and feel the skin, ears and nails",
    "Brush and comb through; part the coat and look for new hair",
    "Pads and feet",
    "Look from three sides; write below what was seen",
];

/// When the next hair is to come out, in a sentence.
pub(super) fn when(report: &PlanReport, visit: usize) -> String {
    let later = report.visits.iter().skip(visit + 1);
    let first = later.map(|v| (v, v.zones.iter().filter(|z| is_worked(z) && z.amount != "leave").collect::<Vec<_>>()));
    match first.into_iter().find(|(_, zones)| !zones.is_empty()) {
        Some((v, zones)) => {
            let few: Vec<&str> = zones.iter().take(4).map(|z| label(z.zone)).collect();
            let more = zones.len().saturating_sub(few.len());
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            format!("There is hair to take on {}: {}{more}.", dates::spoken(&v.date), few.join(", "))
        }
        None => format!("No visit before {} takes hair: plan again when it has grown.", dates::spoken(&report.until)),
    }
}

/// Writes the sheet's lower part between two heights; gives the height where it ends.
pub(super) fn nothing(
    out: &mut Vec<Part>,
    report: &PlanReport,
    visit: usize,
    (top, foot): (f64, f64),
    o: &Options,
) -> f64 {
    let p = o.theme.palette();
    let inner = o.paper.size_pt().0 - 2.0 * MARGIN;
    let today = &report.visits[visit];
    let notes = Notes::of(report, today);
    let left: Vec<&ZoneReport> = today.zones.iter().collect();
    let reasons: Vec<(String, String)> =
        by_reason(&left).iter().map(|(reason, zones)| (reason.clone(), names(zones, &notes))).collect();
    let when = when(report, visit);
    // As large as leaves every line its room.
    let lines = |size: f64| -> Vec<(Vec<String>, Vec<String>)> {
        let wrap = |words: &str, weight| fonts::wrap(words, size, weight, inner, 4);
        reasons.iter().map(|(why, zones)| (wrap(why, Weight::Bold), wrap(zones, Weight::Regular))).collect()
    };
    let height = |size: f64| {
        let said: usize = lines(size).iter().map(|l| l.0.len() + l.1.len()).sum();
        46.0 + size * 1.3 * (said as f64 + 0.45 * reasons.len() as f64) + size * 2.0 * (INSTEAD.len() as f64 + 2.0)
    };
    let size = [14.0, 13.0, 12.0, 11.0, 10.0, 9.0, 8.0, 7.0, 6.0].into_iter().find(|s| height(*s) <= foot - top);
    let size = size.unwrap_or(6.0);

    let mut y = top + 24.0;
    let mut svg = String::new();
    text(&mut svg, MARGIN, y, 20.0, true, p.text, "start", TITLE);
    out.push(Part::Heading { level: 2, words: TITLE.to_owned(), svg });
    y += 6.0;
    for (why, zones) in lines(size) {
        y += size * 0.45;
        let mut svg = String::new();
        for (line, bold) in why.iter().map(|l| (l, true)).chain(zones.iter().map(|l| (l, false))) {
            y += size * 1.3;
            text_goes_on(&mut svg, MARGIN, y, size, bold, p.text, "start", line);
        }
        out.push(Part::Text { svg });
    }
    y += size * 2.0;
    let mut svg = String::new();
    text(&mut svg, MARGIN, y, size * 1.15, true, p.text, "start", "Instead");
    out.push(Part::Heading { level: 2, words: "Instead".to_owned(), svg });
    let mut items = Vec::new();
    for words in INSTEAD {
        y += size * 2.0;
        let mut svg = String::new();
        text(&mut svg, MARGIN + 20.0, y, size, false, p.text, "start", words);
        items.push(Item { mark: tick(MARGIN, y - size * 0.85, size.min(13.0), o), said: Some(BOX), body: svg });
    }
    out.push(Part::List { items });
    y += size * 2.0;
    let mut svg = String::new();
    for line in fonts::wrap(&when, size, Weight::Bold, inner, 2) {
        text_goes_on(&mut svg, MARGIN, y, size, true, p.accent, "start", &line);
        y += size * 1.3;
    }
    out.push(Part::Text { svg });
    y
}
