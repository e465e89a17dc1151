//! Measures over time: how the coat goes by group of zones, how unsure that is, with visits, milestones and days that
//! matter. Everything is pure.

mod titles;

#[cfg(test)]
mod tests;

pub use app::measures::{Group, Measure, Point, series};
pub use titles::{headline, row_title};

use crate::dates;
use crate::drawing::escape;
use crate::fonts::{self, Weight};
use crate::options::{Options, Units, Width};
use crate::section::text;
use crate::theme::{Palette, Rgb};
use app::learning::{Bands, Within};
use app::report::PlanReport;
use coat::Day;
use std::fmt::Write as _;

const LEFT: f64 = 64.0;
const RIGHT: f64 = 42.0;
const GAP: f64 = 44.0;
const CHART: f64 = 84.0;
const ROW: f64 = 140.0;
const TOP: f64 = 118.0;

/// Where one small chart stands and what its axes span.
#[derive(Clone, Copy)]
struct Axes {
    x: f64,
    y: f64,
    width: f64,
    from: Day,
    until: Day,
    high: f64,
}

impl Axes {
    fn x(&self, day: Day) -> f64 {
        let span = f64::from((self.until - self.from).max(1));
        self.x + self.width * (f64::from(day - self.from) / span).clamp(0.0, 1.0)
    }

    fn y(&self, value: f64) -> f64 {
        self.y + CHART * (1.0 - (value / self.high).clamp(0.0, 1.0))
    }
}

/// The picture as a whole document, with the bands that were made for the plan, if any.
pub fn measures_svg(report: &PlanReport, bands: Option<&Bands>, options: &Options) -> String {
    let p = options.theme.palette();
    let from = Day::parse(&report.today).unwrap_or(Day::from_days(0));
    let until = Day::parse(&report.until).unwrap_or(from + 1);
    let across = options.width.units();
    let side_by_side = if options.width == Width::Narrow { 2 } else { Group::ALL.len() };
    let width = (across - LEFT - RIGHT - (side_by_side - 1) as f64 * GAP) / side_by_side as f64;
    let mut body = String::new();
    let title = headline(report);
    let mut y = 40.0;
    for line in fonts::wrap(&title, 25.0, Weight::Bold, across - 56.0, 3) {
        text(&mut body, 28.0, y, 25.0, true, p.text, "start", &line);
        y += 29.0;
    }
    let days = format!(" · {} to {}", dates::spoken(&report.today), dates::spoken(&report.until));
    let room = (across - 56.0 - fonts::width(&days, 15.0, Weight::Regular)).min(500.0);
    let dog = format!("{}{days}", fonts::fit(&report.dog, 15.0, Weight::Regular, room));
    text(&mut body, 28.0, y - 6.0, 15.0, false, p.quiet, "start", &dog);
    y += TOP - 69.0;
    for (k, groups) in Group::ALL.chunks(side_by_side).enumerate() {
        // Below the months of the groups above.
        y += if k > 0 { 36.0 } else { 0.0 };
        for (i, group) in groups.iter().enumerate() {
            let x = LEFT + i as f64 * (width + GAP);
            text(&mut body, x, y - 8.0, 16.0, true, p.text, "start", group.word());
        }
        for measure in Measure::ALL {
            let title =
                if k == 0 { row_title(report, measure, options.units) } else { titles::capital(measure.word()) };
            let lines = fonts::wrap(&title, 15.0, Weight::Regular, across - LEFT - RIGHT, 2);
            for line in &lines {
                text(&mut body, LEFT, y + 22.0, 15.0, false, p.text, "start", line);
                y += 18.0;
            }
            y += 18.0;
            row(
                &mut body,
                report,
                bands,
                measure,
                groups,
                options,
                &p,
                Axes { x: LEFT, y, width, from, until, high: 1.0 },
            );
            y += ROW - 36.0;
        }
    }
    let foot = legend(&mut body, report, bands.is_some(), y + 14.0, across, &p);
    let height = foot + 26.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {across} {height:.0}\" width=\"{across}\" height=\"{height:.0}\" \
         role=\"img\" aria-labelledby=\"measures-title measures-desc\" font-family=\"{}\">\n\
         <title id=\"measures-title\">{}</title>\n<desc id=\"measures-desc\">{}</desc>\n\
         <rect width=\"{across}\" height=\"{height:.0}\" fill=\"{}\"/>\n{body}</svg>\n",
        fonts::FAMILIES,
        escape(&title),
        escape(&description(report, bands, options.units)),
        p.paper
    )
}

/// What the picture shows, in words.
fn description(report: &PlanReport, bands: Option<&Bands>, units: Units) -> String {
    let mut said = Measure::ALL.map(|m| row_title(report, m, units)).to_vec();
    if let Some(bands) = bands {
        // How far apart the ends lie on the last day, of the jacket.
        let last = |m: Measure| bands.of(report, Group::Jacket, m).pop().map(|w| (m, w));
        let ends = Measure::ALL.into_iter().filter_map(last).map(|(m, w)| {
            format!("{} {} to {}", m.word(), value_words(m, w.low, units), value_words(m, w.high, units))
        });
        let ends: Vec<String> = ends.collect();
        if !ends.is_empty() {
            said.push(format!("{SHADED}; the jacket's on the last day: {}", ends.join(", ")));
        }
    }
    said.join(". ")
}

#[expect(clippy::too_many_arguments, reason = "one inner routine, called from one place")]
fn row(
    out: &mut String,
    report: &PlanReport,
    bands: Option<&Bands>,
    measure: Measure,
    groups: &[Group],
    options: &Options,
    p: &Palette,
    axes: Axes,
) {
    let all = Group::ALL.map(|g| series(report, g, measure));
    let within = Group::ALL.map(|g| bands.map_or_else(Vec::new, |b| b.of(report, g, measure)));
    let lines = all.iter().flatten().map(|s| s.value);
    let most = lines.chain(within.iter().flatten().map(|w| w.high)).fold(0.0, f64::max);
    let (high, step, unit) = span(measure, most, options.units);
    let _ = writeln!(out, "<g class=\"row\" data-measure=\"{}\">", measure.word());
    let charts = Group::ALL.into_iter().zip(all.iter().zip(&within)).filter(|(group, _)| groups.contains(group));
    let charts: Vec<_> = charts.collect();
    let first = charts.iter().position(|(_, (points, _))| !points.is_empty());
    for (i, (group, (points, within))) in charts.into_iter().enumerate() {
        let a = Axes { x: axes.x + i as f64 * (axes.width + GAP), high, ..axes };
        let _ = writeln!(out, "<g class=\"chart\" data-group=\"{}\">", group.word());
        if points.is_empty() {
            text(out, a.x, a.y + CHART / 2.0, 13.0, false, p.quiet, "start", "no layers here");
            out.push_str("</g>\n");
            continue;
        }
        band(out, within, &a, p);
        grid(out, &a, step, unit, Some(i) == first, options.units, measure, p);
        days(out, report, &a, p);
        line(out, points, &a, p);
        flags(out, report, group, measure, &a, p);
        if let Some(last) = points.last() {
            let words = value_words(measure, last.value, options.units);
            text(out, a.x + a.width + 4.0, a.y(last.value) + 4.5, 13.0, true, p.text, "start", &words);
        }
        out.push_str("</g>\n");
    }
    out.push_str("</g>\n");
}

/// Top of the axis, distance of its lines, and the unit written beside it.
fn span(measure: Measure, most: f64, units: Units) -> (f64, f64, &'static str) {
    if measure != Measure::Top {
        return if most > 0.5 { (1.0, 0.5, "%") } else { (0.5, 0.25, "%") };
    }
    let unit_mm = if units == Units::Inch { 25.4 } else { 1.0 };
    let steps = if units == Units::Inch { [0.25, 0.5, 1.0, 2.0] } else { [5.0, 10.0, 20.0, 50.0] };
    let step = steps.into_iter().map(|s| s * unit_mm).find(|s| most / s <= 3.0).unwrap_or(most.max(1.0));
    ((most / step).ceil().max(1.0) * step, step, units.word())
}

fn value_words(measure: Measure, value: f64, units: Units) -> String {
    match (measure, units) {
        (Measure::Top, Units::Mm) => format!("{value:.0}"),
        (Measure::Top, Units::Inch) => format!("{:.1}", units.number(value)),
        _ => format!("{:.0}", 100.0 * value),
    }
}

#[expect(clippy::too_many_arguments, reason = "one inner routine, called from one place")]
fn grid(out: &mut String, a: &Axes, step: f64, unit: &str, first: bool, units: Units, measure: Measure, p: &Palette) {
    let faint = p.paper.toward(p.ink, 0.18);
    let mut v = 0.0;
    while v <= a.high + 1e-9 {
        let y = a.y(v);
        let colour = if v == 0.0 { p.quiet } else { faint };
        let _ =
            writeln!(out, "<path d=\"M{:.1} {y:.1}h{:.1}\" stroke=\"{colour}\" stroke-width=\"0.9\"/>", a.x, a.width);
        if first {
            let mut words = match (measure, units) {
                (Measure::Top, Units::Inch) => format!("{:.2}", units.number(v)),
                (Measure::Top, Units::Mm) => format!("{v:.0}"),
                _ => format!("{:.0}", 100.0 * v),
            };
            if v + step > a.high + 1e-9 {
                words = format!("{words} {unit}");
            }
            text(out, a.x - 6.0, y + 4.0, 12.0, false, p.quiet, "end", &words);
        }
        v += step;
    }
    // Months along the days.
    let mut last = f64::NEG_INFINITY;
    for d in 0..=(a.until - a.from) {
        let day = a.from + d;
        if day.ymd().2 == 1 {
            let x = a.x(day);
            let _ =
                writeln!(out, "<path d=\"M{x:.1} {:.1}v4\" stroke=\"{}\" stroke-width=\"0.9\"/>", a.y + CHART, p.quiet);
            if x - last > 34.0 && x < a.x + a.width - 8.0 {
                text(out, x, a.y + CHART + 16.0, 12.0, false, p.quiet, "middle", dates::month_of(day));
                last = x;
            }
        }
    }
}

fn days(out: &mut String, report: &PlanReport, a: &Axes, p: &Palette) {
    let mut d = String::new();
    for day in report.visits.iter().filter_map(|v| Day::parse(&v.date)) {
        let _ = write!(d, "M{:.1} {:.1}v{CHART}", a.x(day), a.y);
    }
    let _ = writeln!(
        out,
        "<path class=\"visits\" d=\"{d}\" stroke=\"{}\" stroke-width=\"0.8\" stroke-dasharray=\"1.2 3\"/>",
        p.quiet
    );
    for day in report.days_that_matter.iter().filter_map(|m| Day::parse(&m.date)) {
        let x = a.x(day);
        let _ = writeln!(
            out,
            "<path class=\"matters\" d=\"M{x:.1} {:.1}V{:.1}\" stroke=\"{c}\" stroke-width=\"1.4\"/><path d=\"M{x:.1} {:.1}l4 4l-4 4l-4 -4z\" fill=\"{c}\"/>",
            a.y + CHART,
            a.y - 2.0,
            a.y - 6.0,
            c = p.accent
        );
    }
}

/// What lies in a band is filled faintly, its edges drawn thin: it is told from the paper without the fill, too.
fn band(out: &mut String, within: &[Within], a: &Axes, p: &Palette) {
    if within.is_empty() {
        return;
    }
    let edge = |points: &mut dyn Iterator<Item = (Day, f64)>| -> String {
        points.map(|(day, v)| format!("{:.1} {:.1}", a.x(day), a.y(v))).collect::<Vec<_>>().join("L")
    };
    let high = edge(&mut within.iter().map(|w| (w.day, w.high)));
    let low = edge(&mut within.iter().map(|w| (w.day, w.low)));
    let back = edge(&mut within.iter().rev().map(|w| (w.day, w.low)));
    let _ = writeln!(
        out,
        "<path class=\"band\" d=\"M{high}L{back}z\" fill=\"{}\"/><path class=\"edges\" d=\"M{high}M{low}\" fill=\"none\" \
         stroke=\"{}\" stroke-width=\"0.7\" stroke-linejoin=\"round\"/>",
        band_fill(p),
        p.quiet
    );
}

/// The fill of a band: faint enough for what is written on it.
fn band_fill(p: &Palette) -> Rgb {
    p.paper.toward(p.ink, 0.13)
}

fn line(out: &mut String, points: &[Point], a: &Axes, p: &Palette) {
    let mut d = String::new();
    for (i, s) in points.iter().enumerate() {
        let _ = write!(d, "{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, a.x(s.day), a.y(s.value));
    }
    let _ = writeln!(
        out,
        "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"4\" stroke-linejoin=\"round\" stroke-opacity=\"0.8\"/>\
         <path class=\"line\" d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.9\" stroke-linejoin=\"round\"/>",
        p.paper, p.ink
    );
}

fn flags(out: &mut String, report: &PlanReport, group: Group, measure: Measure, a: &Axes, p: &Palette) {
    let m = &report.milestones;
    let (date, word) = match (group, measure) {
        (Group::Jacket, Measure::Evenness) => (&m.rolling, "rolling"),
        (Group::Jacket, Measure::Hard) => (&m.hard, "hard"),
        (Group::Legs, Measure::Top) => (&m.furnishings, "furnished"),
        _ => return,
    };
    let Some(day) = date.as_deref().and_then(Day::parse) else { return };
    let x = a.x(day);
    let wide = fonts::width(word, 12.5, Weight::Bold);
    let (end, at) = if x + wide + 14.0 > a.x + a.width { ("end", x - 5.0) } else { ("start", x + 5.0) };
    let side = if end == "end" { -1.0 } else { 1.0 };
    let _ = writeln!(
        out,
        "<path class=\"milestone\" d=\"M{x:.1} {:.1}v{CHART}\" stroke=\"{c}\" stroke-width=\"1.5\"/><path d=\"M{x:.1} {:.1}l{:.1} 5l{:.1} 5z\" fill=\"{c}\"/>",
        a.y,
        a.y + CHART - 26.0,
        side * 8.0,
        -side * 8.0,
        c = p.accent
    );
    text(out, at, a.y + CHART - 5.0, 12.5, true, p.accent, end, word);
}

/// What the bands are, in words.
const SHADED: &str = "shaded: 8 in 10";
/// What the lines are beside them: a plan goes by readings only as far as they are sure, so it can lie off its band.
const COUNTED: &str = "line: what the plan counts on";

/// What the signs mean, in as many lines as it takes; gives where the last stands.
fn legend(out: &mut String, report: &PlanReport, banded: bool, y: f64, across: f64, p: &Palette) -> f64 {
    let (mut next, mut y) = (LEFT, y);
    let mut place = |words: &str, sign: f64| {
        let wide = sign + fonts::width(words, 13.0, Weight::Regular);
        if next > LEFT && next + wide > across - RIGHT / 2.0 {
            (next, y) = (LEFT, y + 21.0);
        }
        let at = (next, y);
        next += wide + 25.0;
        at
    };
    let said = |out: &mut String, (x, y): (f64, f64), sign: f64, words: &str| {
        text(out, x + sign, y + 3.0, 13.0, false, p.quiet, "start", words);
    };
    let at = place("a visit", 8.0);
    let _ = writeln!(
        out,
        "<path d=\"M{:.1} {:.1}v14\" stroke=\"{}\" stroke-width=\"1\" stroke-dasharray=\"1.2 3\"/>",
        at.0,
        at.1 - 9.0,
        p.quiet
    );
    said(out, at, 8.0, "a visit");
    if banded {
        let at = place(SHADED, 28.0);
        let (x, top) = (at.0, at.1 - 8.5);
        let _ = writeln!(
            out,
            "<path d=\"M{x:.1} {top:.1}h22v13h-22z\" fill=\"{}\"/><path d=\"M{x:.1} {top:.1}h22m-22 13h22\" stroke=\"{}\" \
             stroke-width=\"0.7\"/>",
            band_fill(p),
            p.quiet
        );
        said(out, at, 28.0, SHADED);
        let at = place(COUNTED, 28.0);
        let _ =
            writeln!(out, "<path d=\"M{:.1} {:.1}h22\" stroke=\"{}\" stroke-width=\"1.9\"/>", at.0, at.1 - 2.0, p.ink);
        said(out, at, 28.0, COUNTED);
    }
    for m in &report.days_that_matter {
        let words = format!("{} {}", dates::spoken(&m.date), m.name.as_deref().unwrap_or("a day that matters"));
        let words = fonts::fit(&words, 13.0, Weight::Regular, 260.0);
        let at = place(&words, 9.0);
        let _ = writeln!(out, "<path d=\"M{:.1} {:.1}l4 4l-4 4l-4 -4z\" fill=\"{}\"/>", at.0, at.1 - 6.0, p.accent);
        said(out, at, 9.0, &words);
    }
    y
}

/// The numbers behind the picture as plain text, one line per day and group, parted by tabs.
pub fn measures_table(report: &PlanReport, units: Units) -> String {
    let mut out = format!("date\tat\tgroup\tevenness %\tcover %\tripe %\thard %\ttop length {}\n", units.word());
    let all: Vec<(Group, Vec<Vec<Point>>)> =
        Group::ALL.into_iter().map(|g| (g, Measure::ALL.map(|m| series(report, g, m)).to_vec())).collect();
    for (group, columns) in &all {
        for (i, coat) in report.forecast.iter().enumerate() {
            let cells: Vec<String> = Measure::ALL
                .iter()
                .zip(columns)
                .map(|(m, points)| {
                    // A column has either all moments or those where it is defined.
                    let at = if points.len() == report.forecast.len() {
                        points.get(i).copied()
                    } else {
                        Day::parse(&coat.date).and_then(|d| points.iter().find(|p| p.day == d).copied())
                    };
                    at.map_or_else(|| "-".to_owned(), |p| value_words(*m, p.value, units))
                })
                .collect();
            let _ = writeln!(out, "{}\t{}\t{}\t{}", coat.date, coat.at, group.word(), cells.join("\t"));
        }
    }
    out
}
