//! The list of zones on the sheet.

use super::MARGIN;
use super::notes::Notes;
use crate::dates;
use crate::fonts::{self, Weight};
use crate::options::Options;
use crate::page::{Cell, Head, Part, Row};
use crate::section::{text, text_goes_on};
use app::report::{VisitReport, ZoneReport};
use coat::Zone;

/// Columns: left edges in shares of the page's inner width.
struct Columns {
    name: f64,
    amount: f64,
    layer: f64,
    leave: f64,
    minutes: f64,
    taken: f64,
    right: f64,
}

/// A zone as spoken.
pub(super) fn label(zone: &str) -> &str {
    Zone::parse(zone).map_or(zone, |z| z.label())
}

pub(super) fn is_worked(z: &ZoneReport) -> bool {
    z.amount != "leave" || z.works.iter().any(|w| w != "look only")
}

/// The zones of a visit: those to work, and those to leave in words.
pub(super) struct List<'a> {
    worked: Vec<&'a ZoneReport>,
    left: Vec<String>,
}

const HEAD: f64 = 14.0;
const LEFT_LINE: f64 = 13.0;

impl<'a> List<'a> {
    /// The list of a visit.
    pub fn of(visit: &'a VisitReport, notes: &Notes, inner: f64) -> Self {
        let (worked, left): (Vec<&ZoneReport>, Vec<&ZoneReport>) = visit.zones.iter().partition(|z| is_worked(z));
        let left = if worked.is_empty() { Vec::new() } else { leave_lines(&left, notes, worked.len(), inner) };
        List { worked, left }
    }

    /// How many zones are worked.
    pub fn rows(&self) -> usize {
        self.worked.len()
    }

    /// The height left for rows between two heights.
    pub fn room(&self, top: f64, foot: f64) -> f64 {
        foot - top - HEAD - self.left_height()
    }

    fn left_height(&self) -> f64 {
        if self.left.is_empty() { 0.0 } else { self.left.len() as f64 * LEFT_LINE + 4.0 }
    }

    /// Writes the list between two heights; gives the height where it ends.
    pub fn write(&self, out: &mut Vec<Part>, notes: &Notes, top: f64, foot: f64, width: f64, o: &Options) -> f64 {
        let p = o.theme.palette();
        let inner = width - 2.0 * MARGIN;
        let c = Columns {
            name: MARGIN + 20.0,
            amount: MARGIN + 0.41 * inner,
            layer: MARGIN + 0.572 * inner,
            leave: MARGIN + 0.585 * inner,
            minutes: MARGIN + 0.758 * inner,
            taken: MARGIN + 0.775 * inner,
            right: width - MARGIN,
        };
        let head = |x: f64, word: &str, anchor: &str| {
            let mut svg = String::new();
            text(&mut svg, x, top + 10.0, 9.5, false, p.quiet, anchor, word);
            Cell { head: Head::Column, svg, said: None }
        };
        let mut rows = vec![Row {
            ornament: String::new(),
            cells: vec![
                Cell { head: Head::Column, svg: String::new(), said: Some("done") },
                head(c.name, "zone, works", "start"),
                head(c.amount, "take", "start"),
                head(c.layer, "layer", "end"),
                head(c.leave + 6.0, "leave", "start"),
                head(c.minutes, "min", "end"),
                head(c.taken + 6.0, "really taken", "start"),
            ],
        }];
        let from = top + HEAD;
        let step = (self.room(top, foot) / self.rows().max(1) as f64).min(31.0);
        for (i, z) in self.worked.iter().enumerate() {
            rows.push(row(z, notes, from + i as f64 * step, step, &c, o));
        }
        out.push(Part::Table { rows });
        let mut y = from + self.rows() as f64 * step;
        let mut svg = String::new();
        for line in &self.left {
            y += LEFT_LINE;
            text_goes_on(&mut svg, MARGIN, y - 1.0, 10.5, false, p.text, "start", line);
        }
        if !svg.is_empty() {
            out.push(Part::Text { svg });
        }
        y + if self.left.is_empty() { 2.0 } else { 4.0 }
    }
}

/// The zones with nothing to do: with the reasons where there is room for them, else the names alone.
fn leave_lines(left: &[&ZoneReport], notes: &Notes, rows: usize, room: f64) -> Vec<String> {
    if left.is_empty() {
        return Vec::new();
    }
    let wrap = |said: &str, most: usize| fonts::wrap(said, 10.5, Weight::Regular, room, most);
    let why: Vec<String> = by_reason(left)
        .iter()
        .flat_map(|(reason, zones)| wrap(&format!("Leave {}. {reason}", names(zones, notes)), 3))
        .collect();
    // A row that is high enough for its words leaves this many lines.
    if why.len() <= 2 + 2 * (WORKED_MOST.saturating_sub(rows)) / 3 {
        return why;
    }
    wrap(&format!("Leave today: {}.", names(left, notes)), 3)
}

/// Rows with which the list fills the page.
const WORKED_MOST: usize = 22;

/// Zones that share a reason, in working order of the first of each.
pub(super) fn by_reason<'a>(left: &[&'a ZoneReport]) -> Vec<(String, Vec<&'a ZoneReport>)> {
    let mut groups: Vec<(String, Vec<&ZoneReport>)> = Vec::new();
    for z in left {
        let reason = dates::in_sentence(&z.reason);
        match groups.iter_mut().find(|g| g.0 == reason) {
            Some(g) => g.1.push(z),
            None => groups.push((reason, vec![z])),
        }
    }
    groups
}

/// Zones in a row, each with the signs of its cautions.
pub(super) fn names(zones: &[&ZoneReport], notes: &Notes) -> String {
    let one = |z: &&ZoneReport| {
        let signs = notes.signs(&z.cautions);
        if signs.is_empty() { label(z.zone).to_owned() } else { format!("{} ({signs})", label(z.zone)) }
    };
    zones.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn minutes(min: f64) -> String {
    if min < 0.75 { "½".to_owned() } else { format!("{min:.0}") }
}

/// A box to tick.
pub(super) fn tick(x: f64, y: f64, size: f64, o: &Options) -> String {
    format!(
        "<rect class=\"tick\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{size:.1}\" height=\"{size:.1}\" rx=\"1.5\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.1\"/>\n",
        o.theme.palette().ink
    )
}

/// What a box to tick is read as.
pub(super) const BOX: &str = "\u{2610}";

fn row(z: &ZoneReport, notes: &Notes, y: f64, step: f64, c: &Columns, o: &Options) -> Row {
    let p = o.theme.palette();
    let two = step >= super::notes::ROW - 0.1;
    let big = (step * 0.47).clamp(8.0, 13.0);
    let small = (step * 0.36).clamp(6.5, 9.5);
    let above = ((step - big * 0.85 - small * 1.32) / 2.0).max(0.4);
    let first = if two { y + above + big * 0.85 } else { y + step / 2.0 + big * 0.35 };
    let middle = y + step / 2.0 + big * 0.36;
    let faint = p.paper.toward(p.ink, 0.3);
    let side = (step * 0.55).min(13.0);
    let done = tick(MARGIN, y + (step - side) / 2.0, side, o);
    let mut named = String::new();
    let name = label(z.zone);
    text_goes_on(&mut named, c.name, first, big, true, p.text, "start", name);
    let signs = notes.signs(&z.cautions);
    let mut after = c.name + fonts::width(name, big, Weight::Bold);
    if !signs.is_empty() {
        let x = after + 5.0;
        let words = fonts::fit(&signs, small + 0.5, Weight::Bold, c.amount - x - 4.0);
        after = x + fonts::width(&words, small + 0.5, Weight::Bold);
        text_goes_on(&mut named, x, first, small + 0.5, true, p.accent, "start", &words);
    }
    let works = z.works.join(", ");
    // Much to say becomes smaller before it is cut; in a low row it follows the name.
    let x = if two { c.name } else { after + 6.0 };
    let (works, size) = shrunk(&works, small, 5.2, Weight::Regular, c.amount - x - 6.0);
    text(&mut named, x, if two { first + small * 1.08 } else { first }, size, false, p.quiet, "start", &works);

    let mut amount = String::new();
    let said = if z.amount == "leave" { "card only" } else { z.amount.as_str() };
    let room = match z.layer_mm {
        Some(_) => c.layer - c.amount - fonts::width("000 mm", big - 1.0, Weight::Regular) - 4.0,
        None => c.layer - c.amount,
    };
    let (words, size) = shrunk(said, big + 1.5, 7.0, Weight::Bold, room);
    text(&mut amount, c.amount, middle, size, true, p.text, "start", &words);
    let mut layer = String::new();
    if let Some(mm) = z.layer_mm {
        text(&mut layer, c.layer, middle, big - 1.0, false, p.text, "end", &o.units.length(mm));
    }
    let mut leave = String::new();
    let room = c.minutes - c.leave - 28.0;
    let lines = fonts::wrap(z.leave, small + 0.5, Weight::Regular, room, if two { 2 } else { 1 });
    for (i, line) in lines.iter().enumerate() {
        let up = if lines.len() > 1 { -0.62 * small } else { 0.0 };
        let at = middle + up + i as f64 * small * 1.15;
        text_goes_on(&mut leave, c.leave + 6.0, at, small + 0.5, false, p.text, "start", line);
    }
    let mut min = String::new();
    text(&mut min, c.minutes, middle, big - 1.0, false, p.text, "end", &minutes(z.min));
    let ornament = format!(
        "<path d=\"M{MARGIN} {:.1}H{:.1}\" stroke=\"{faint}\" stroke-width=\"0.6\"/>\n\
         <path class=\"write\" d=\"M{:.1} {:.1}H{:.1}\" stroke=\"{}\" stroke-width=\"0.8\"/>\n",
        y + step,
        c.right,
        c.taken + 6.0,
        y + step - 4.0,
        c.right,
        p.ink
    );
    let cell = |svg: String| Cell { svg, ..Cell::default() };
    Row {
        ornament,
        cells: vec![
            Cell { svg: done, said: Some(BOX), ..Cell::default() },
            Cell { head: Head::Row, svg: named, said: None },
            cell(amount),
            cell(layer),
            cell(leave),
            cell(min),
            cell(String::new()),
        ],
    }
}

/// Words made smaller to fit, and cut only where the least size is still too wide.
fn shrunk(words: &str, size: f64, least: f64, weight: Weight, room: f64) -> (String, f64) {
    let wide = fonts::width(words, size, weight);
    let size = if wide > room { (size * room / wide * 0.995).max(least) } else { size };
    let size = (size * 100.0).floor() / 100.0;
    (fonts::fit(words, size, weight, room), size)
}
