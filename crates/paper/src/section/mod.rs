//! The coat section: a cut through skin and hair, layer over layer, before and after a visit and
//! through the visits to come.
//!
//! Form says what colour may not: a growing hair is solid and rooted in a bulb, a set hair stands
//! firm without one and shows a light pith, a ripe hair is a hollow straw whose root has risen, a cut hair ends blunt, a
//! hard hair is straight and tapered, a soft one thin and wavy. Everything is pure.

mod data;
mod hair;
mod ink;
mod jacket;
mod legend;
mod pen;
mod scene;

#[cfg(test)]
mod tests;

pub use data::{Step, before_and_after, of_plan, panel_of, section_of};
pub use jacket::{jacket_of_plan, together_before_and_after, together_panel};

use crate::drawing::escape;
use crate::fonts;
use crate::options::{Options, Units, Width};
use std::fmt::Write as _;

/// Follicles drawn in each of the two large panels.
pub const LARGE: usize = 64;
/// Small panels drawn at most, in one row or two.
pub const STRIP: usize = 12;

/// Follicles drawn in each of so many small panels.
pub const fn small(panels: usize) -> usize {
    if panels > 6 { 20 } else { 26 }
}

/// Small panels in a row.
const fn columns(panels: usize, width: Width) -> usize {
    match panels {
        _ if matches!(width, Width::Narrow) => 3,
        0..=6 => 6,
        7..=8 => panels,
        _ => panels.div_ceil(2),
    }
}

/// What a follicle holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Phase {
    /// No visible hair.
    Empty,
    /// Lengthening.
    Growing,
    /// Full length, firm.
    Set,
    /// Loose.
    Ripe,
}

impl Phase {
    /// All phases.
    pub const ALL: [Phase; 4] = [Phase::Empty, Phase::Growing, Phase::Set, Phase::Ripe];

    /// Lower-case word used as a class in the SVG.
    pub const fn word(self) -> &'static str {
        match self {
            Phase::Empty => "empty",
            Phase::Growing => "growing",
            Phase::Set => "set",
            Phase::Ripe => "ripe",
        }
    }
}

/// Follicles that are drawn alike.
#[derive(Clone, Debug, PartialEq)]
pub struct HairClass {
    /// Age since last emptied, in words, for instance `6 weeks`.
    pub class: String,
    /// What they hold.
    pub phase: Phase,
    /// Share of all follicles; the classes of a panel sum to 1.
    pub share: f64,
    /// Mean length, mm.
    pub mm: f64,
    /// Standard deviation of the length, mm.
    pub sd_mm: f64,
    /// Hard share of them.
    pub hard: f64,
    /// Shortened by a clip.
    pub cut: bool,
    /// To come out today.
    pub to_take: bool,
}

/// One cut through the coat.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// Date.
    pub date: String,
    /// A few words on what is seen.
    pub caption: String,
    /// The follicles, in an order that keeps neighbours of two panels in place.
    pub hairs: Vec<HairClass>,
    /// Visible share of the undercoat.
    pub under: f64,
    /// Ripe share of the undercoat (wool to card).
    pub wool: f64,
    /// Length aimed at, mm.
    pub target_mm: Option<f64>,
}

/// The whole picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// What to see, as a sentence.
    pub title: String,
    /// Dog and zone.
    pub zone: String,
    /// The first two are drawn large (before and after), the rest as a strip.
    pub panels: Vec<Panel>,
    /// What the strip shows.
    pub strip: String,
}

/// Whole numbers that sum to `n`; each, and each run of neighbours, follows the shares to one.
///
/// Running totals are rounded, so that the classes of one phase are together as true as each alone.
pub fn counts(shares: &[f64], n: usize) -> Vec<usize> {
    let clean: Vec<f64> = shares.iter().map(|s| if s.is_finite() { s.max(0.0) } else { 0.0 }).collect();
    let total: f64 = clean.iter().sum();
    if total <= 0.0 {
        return vec![0; shares.len()];
    }
    let (mut sum, mut done) = (0.0, 0);
    clean
        .iter()
        .map(|s| {
            sum += s;
            let upto = ((sum / total * n as f64 + 1e-9).round() as usize).clamp(done, n);
            let count = upto - done;
            done = upto;
            count
        })
        .collect()
}

const MARGIN: f64 = 28.0;
/// Size of the title: its longest line also fits in the wider letters of a browser that has not ours.
const TITLE: f64 = 23.5;
const GAP: f64 = 34.0;

/// The picture as a whole document.
pub fn section_svg(section: &Section, options: &Options) -> String {
    let p = options.theme.palette();
    let large: Vec<&Panel> = section.panels.iter().take(2).collect();
    let strip: Vec<&Panel> = section.panels.iter().skip(2).take(STRIP).collect();
    let longest = longest_mm(&section.panels);
    let mut body = String::new();
    let across = options.width.units();
    let inner = across - 2.0 * MARGIN;
    let title = fonts::wrap(&section.title, TITLE, fonts::Weight::Bold, inner, 2);
    let mut y = 22.0;
    for line in &title {
        y += 30.0;
        text(&mut body, MARGIN, y - 6.0, TITLE, true, p.text, "start", line);
    }
    y += 16.0;
    let zone = fonts::fit(&section.zone, 15.0, fonts::Weight::Regular, inner);
    text(&mut body, MARGIN, y, 15.0, false, p.quiet, "start", &zone);
    y += 18.0;

    let side_by_side = if options.width == Width::Narrow { 1 } else { large.len().max(1) };
    let width = (inner - GAP * (side_by_side - 1) as f64) / side_by_side as f64;
    let frame = scene::Frame { x: MARGIN, y, width, air: 236.0, skin: 66.0, longest, follicles: LARGE, grain: 1.0 };
    for (i, panel) in large.iter().enumerate() {
        let column = i % side_by_side;
        if i > 0 && column == 0 {
            y += frame.height() + 20.0;
        }
        let frame = scene::Frame { x: MARGIN + column as f64 * (width + GAP), y, ..frame };
        scene::panel(&mut body, panel, &frame, options, i);
        if column > 0 {
            chevron(&mut body, frame.x - GAP / 2.0, y + 120.0, 9.0, p.quiet);
        }
    }
    y += frame.height() + 34.0;
    if !strip.is_empty() {
        text(&mut body, MARGIN, y, 15.0, false, p.text, "start", &section.strip);
        y += 14.0;
        let n = columns(strip.len(), options.width);
        let gap = if n > 6 { 15.0 } else { 18.0 };
        let width = (inner - gap * (n - 1) as f64) / n as f64;
        let follicles = small(strip.len());
        let first = scene::Frame { x: MARGIN, y, width, air: 122.0, skin: 32.0, longest, follicles, grain: 0.52 };
        for (k, row) in strip.chunks(n).enumerate() {
            for (i, panel) in row.iter().enumerate() {
                let frame = scene::Frame { x: MARGIN + i as f64 * (width + gap), y, ..first };
                scene::panel(&mut body, panel, &frame, options, 2 + k * n + i);
                if i > 0 {
                    chevron(&mut body, frame.x - gap / 2.0, y + 18.0, 4.0, p.quiet);
                }
            }
            y += first.height() + 22.0;
        }
    }
    let height = y + legend::legend(&mut body, MARGIN, y, inner, &section.panels, options) + 14.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {across} {height:.0}\" width=\"{across}\" height=\"{height:.0}\" \
         role=\"img\" aria-labelledby=\"section-title section-desc\" font-family=\"{}\">\n\
         <title id=\"section-title\">{}</title>\n<desc id=\"section-desc\">{}</desc>\n\
         <defs>{}</defs>\n<rect width=\"{across}\" height=\"{height:.0}\" fill=\"{}\"/>\n{body}</svg>\n",
        fonts::FAMILIES,
        escape(&section.title),
        escape(&describe(section, options)),
        ink::defs(options.theme),
        p.paper
    )
}

/// What the picture shows, as sentences: the table behind it.
pub fn describe(section: &Section, options: &Options) -> String {
    let mut out = format!("{}.", section.zone.trim_end_matches('.'));
    for panel in &section.panels {
        let share = |keep: &dyn Fn(&HairClass) -> bool| {
            100.0 * panel.hairs.iter().filter(|h| keep(h)).map(|h| h.share).sum::<f64>()
        };
        let longest = longest_mm(std::slice::from_ref(panel));
        let _ = write!(
            out,
            " {} ({}): of 100 follicles {:.0} are empty, {:.0} hold growing hair, {:.0} set hair, {:.0} ripe hair",
            panel.date,
            panel.caption,
            share(&|h| h.phase == Phase::Empty),
            share(&|h| h.phase == Phase::Growing),
            share(&|h| h.phase == Phase::Set),
            share(&|h| h.phase == Phase::Ripe),
        );
        let take = share(&|h| h.to_take);
        if take > 0.0 {
            let _ = write!(out, ", of which {take:.0} are to come out");
        }
        let _ = write!(out, "; the longest hair is about {}.", length(longest, options.units));
    }
    out
}

fn longest_mm(panels: &[Panel]) -> f64 {
    panels
        .iter()
        .flat_map(|p| &p.hairs)
        .filter(|h| h.phase != Phase::Empty && h.share > 0.004)
        .map(|h| h.mm + 1.5 * h.sd_mm)
        .fold(1.0, f64::max)
}

/// A length in words.
pub(crate) fn length(mm: f64, units: Units) -> String {
    units.length(mm)
}

#[expect(clippy::too_many_arguments, reason = "one line of text, called from many places")]
pub(crate) fn text(
    out: &mut String,
    x: f64,
    y: f64,
    size: f64,
    bold: bool,
    colour: crate::theme::Rgb,
    anchor: &str,
    words: &str,
) {
    let weight = if bold { " font-weight=\"700\"" } else { "" };
    let _ = writeln!(
        out,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\"{weight} fill=\"{colour}\" text-anchor=\"{anchor}\">{}</text>",
        escape(words)
    );
}

/// One of several lines: what follows is parted from it by a space, also where only the words are read.
#[expect(clippy::too_many_arguments, reason = "one line of text, called from many places")]
pub(crate) fn text_goes_on(
    out: &mut String,
    x: f64,
    y: f64,
    size: f64,
    bold: bool,
    colour: crate::theme::Rgb,
    anchor: &str,
    words: &str,
) {
    let mut line = String::new();
    text(&mut line, x, y, size, bold, colour, anchor, &format!("{words} "));
    out.push_str(&line.replacen("<text ", "<text xml:space=\"preserve\" ", 1));
}

fn chevron(out: &mut String, x: f64, y: f64, size: f64, colour: crate::theme::Rgb) {
    let _ = writeln!(
        out,
        "<path d=\"M{:.1} {:.1}L{:.1} {y:.1}L{:.1} {:.1}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{:.1}\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>",
        x - size / 2.0,
        y - size,
        x + size / 2.0,
        x - size / 2.0,
        y + size,
        (size / 4.0).max(1.4)
    );
}
