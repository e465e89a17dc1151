//! The table sheet: one page for the wall at the table, with the dog, today's list in working
//! order, room to write, and what to beware.
//!
//! Always one page. Text is measured with the faces that ship; where there is much to say, the rows
//! and then the letters become smaller, never below what can be read, and cautions are never left out
//! as long as there is room for them at the smallest size.

mod left;
mod list;
mod notes;

#[cfg(test)]
mod tests;

use crate::convert::{About, ConvertError};
use crate::dates;
use crate::drawing::{DrawingOptions, HEIGHT, NUMBERS, WIDTH, ZoneLook, dog_group};
use crate::fonts::{self, Weight};
use crate::options::Options;
use crate::page::{Page, Part};
use crate::section::{text, text_goes_on};
use app::report::{PlanReport, VisitReport};
use coat::Zone;
use notes::Notes;
use std::fmt::Write as _;

/// Distance of everything from the page's edge, points.
pub(crate) const MARGIN: f64 = 30.0;
/// Widths of the dog, points; the smaller where there is very much to say.
const DOG_WIDTHS: [f64; 3] = [326.0, 300.0, 280.0];
/// Height of the line to write on at the foot.
const FOOT: f64 = 24.0;

/// The sheet of one visit as a tagged PDF of one page; none when the plan has no such visit.
///
/// `visit` counts from 0.
///
/// # Errors
/// [`ConvertError`] when the page cannot be written.
pub fn sheet_pdf(report: &PlanReport, visit: usize, options: &Options) -> Result<Option<Vec<u8>>, ConvertError> {
    let Some(page) = page(report, visit, options) else { return Ok(None) };
    let date = report.visits.get(visit).map_or("", |v| v.date.as_str());
    let about =
        About { title: format!("{} · table sheet · {}", report.dog, dates::spoken(date)), language: "en".to_owned() };
    page.pdf(&about).map(Some)
}

/// The same page as SVG, one user unit a point.
pub fn sheet_svg(report: &PlanReport, visit: usize, options: &Options) -> Option<String> {
    Some(page(report, visit, options)?.svg())
}

fn page(report: &PlanReport, visit: usize, options: &Options) -> Option<Page> {
    let today = report.visits.get(visit)?;
    let (width, height) = options.paper.size_pt();
    let notes = Notes::of(report, today);
    let mut parts = Vec::new();
    let y = header(&mut parts, report, visit, options);

    let foot = height - MARGIN;
    let inner = width - 2.0 * MARGIN;
    let list = list::List::of(today, &notes, inner);
    let layout = |dog_width: f64| {
        let dog_height = dog_width * HEIGHT / WIDTH;
        let x = MARGIN + dog_width + 8.0;
        let beside = (width - MARGIN - x, dog_height - 4.0);
        let top = y + dog_height + 6.0;
        (x, beside, top, notes.place(beside, inner, list.room(top, foot - FOOT), list.natural()))
    };
    let least = DOG_WIDTHS.map(|w| (w, layout(w).3.least().min(NUMBERS * w / WIDTH)));
    let good = least.into_iter().find(|l| l.1 >= notes::GOOD_SIZE);
    let most = least.into_iter().reduce(|a, b| if b.1 > a.1 { b } else { a });
    let dog_width = good.or(most).map_or(DOG_WIDTHS[0], |l| l.0);
    let (x, beside, top, placed) = layout(dog_width);
    parts.push(dog(today, options, &report.dog, (MARGIN - 6.0, y, dog_width)));
    // What is read after the dog: all cautions, then the list.
    let mut worked = Vec::new();
    let under = if list.rows() > 0 {
        list.write(&mut worked, &notes, top, foot - FOOT - placed.below_height(), width, options)
    } else {
        left::nothing(&mut worked, report, visit, (top, foot - FOOT - placed.below_height()), options)
    };
    placed.write(&mut parts, (x, y + 2.0, beside.0), (under, inner), options);
    parts.append(&mut worked);
    footer(&mut parts, foot, width, options);
    Some(Page {
        width,
        height,
        ground: Some(options.theme.palette().paper),
        defs: String::new(),
        title: format!("{}: table sheet", report.dog),
        description: format!("What to do on {}, zone by zone, in working order.", dates::spoken(&today.date)),
        parts,
    })
}

fn header(out: &mut Vec<Part>, report: &PlanReport, visit: usize, o: &Options) -> f64 {
    let (today, next) = (&report.visits[visit], report.visits.get(visit + 1));
    let p = o.theme.palette();
    let (width, _) = o.paper.size_pt();
    let right = width - MARGIN;
    let date = dates::spoken(&today.date);
    let date_wide = fonts::width(&date, 15.0, Weight::Bold);
    let next = next
        .map_or_else(|| "Next visit: to be agreed".to_owned(), |v| format!("Next visit: {}", dates::spoken(&v.date)));
    let next_wide = fonts::width(&next, 13.0, Weight::Bold);
    let room = width - 2.0 * MARGIN - date_wide.max(next_wide) - 18.0;
    // A long name first becomes smaller, then takes two lines.
    let size = [27.0, 23.0, 19.0].into_iter().find(|s| fonts::width(&report.dog, *s, Weight::Bold) <= room);
    let mut name = String::new();
    match size {
        Some(size) => text(&mut name, MARGIN, MARGIN + 20.0, size, true, p.text, "start", &report.dog),
        None => {
            for (i, line) in fonts::wrap(&report.dog, 14.5, Weight::Bold, room, 2).iter().enumerate() {
                let y = MARGIN + 8.0 + 16.0 * i as f64;
                text_goes_on(&mut name, MARGIN, y, 14.5, true, p.text, "start", line);
            }
        }
    }
    out.push(Part::Heading { level: 1, words: report.dog.clone(), svg: name });
    let mut line = |x: f64, y: f64, size: f64, bold: bool, colour, anchor: &str, words: &str| {
        let mut svg = String::new();
        text(&mut svg, x, MARGIN + y, size, bold, colour, anchor, words);
        out.push(Part::Text { svg });
    };
    let minutes = format!("Table sheet · about {:.0} min", today.min);
    line(MARGIN, 40.0, 12.0, false, p.quiet, "start", &minutes);
    line(right, 12.0, 15.0, true, p.text, "end", &date);
    line(right, 30.0, 13.0, true, p.accent, "end", &next);
    let y = MARGIN + 48.0;
    let rule = format!("<path d=\"M{MARGIN} {y:.1}H{right:.1}\" stroke=\"{}\" stroke-width=\"1.2\"/>\n", p.ink);
    out.push(Part::Ornament { svg: rule });
    y + 4.0
}

/// An amount as short as the drawing needs it: `1/5`, `all` or nothing.
fn short_amount(amount: &str) -> String {
    match amount {
        "leave" => String::new(),
        "all ripe" => "all".to_owned(),
        other => other.replace(" in ", "/"),
    }
}

fn dog(today: &VisitReport, o: &Options, name: &str, (x, y, width): (f64, f64, f64)) -> Part {
    let looks: Vec<ZoneLook> = today
        .zones
        .iter()
        .filter_map(|z| {
            let zone = Zone::parse(z.zone)?;
            let special = z.cautions.iter().any(|c| !notes::is_routine(c));
            let label = short_amount(&z.amount);
            let value = (!label.is_empty()).then_some((z.share * 2.0).clamp(0.0, 1.0));
            Some(ZoneLook { zone, value, label, caution: special, emphasised: false })
        })
        .collect();
    let said: Vec<String> = today.zones.iter().map(|z| format!("{}: {}", list::label(z.zone), z.amount)).collect();
    let options = DrawingOptions {
        theme: o.theme,
        title: format!("{name} in zones"),
        description: format!("Today's amounts. {}.", said.join(", ")),
        scale_caption: "none|share of the hair to take|half or more".to_owned(),
        legend: true,
        labels: true,
    };
    let said = format!("{}. {}", options.title, options.description);
    Part::Figure { said, svg: dog_group(&looks, &options, x, y, width) }
}

fn footer(out: &mut Vec<Part>, y: f64, width: f64, o: &Options) {
    let p = o.theme.palette();
    let right = width - MARGIN;
    for (label, x, end) in
        [("Minutes taken", MARGIN, MARGIN + 150.0), ("Skin, mood, anything found", MARGIN + 164.0, right)]
    {
        let wide = fonts::width(label, 10.0, Weight::Regular);
        let (mut words, mut line) = (String::new(), String::new());
        text(&mut words, x, y - 3.0, 10.0, false, p.quiet, "start", label);
        let _ = writeln!(
            line,
            "<path d=\"M{:.1} {y:.1}H{end:.1}\" stroke=\"{}\" stroke-width=\"0.8\"/>",
            x + wide + 5.0,
            p.ink
        );
        out.push(Part::Text { svg: words });
        out.push(Part::Ornament { svg: line });
    }
}
