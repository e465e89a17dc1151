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
/// Height of a row that says its works under the name of the zone, and of one that has those of the row above.
const TWO_LINES: f64 = 22.4;
const ONE_LINE: f64 = 15.4;
/// Sizes of a name, an amount, and everything else in a row, points.
const NAME: f64 = 11.0;
const AMOUNT: f64 = 12.0;
pub(super) const SMALL: f64 = 9.5;
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

    /// Whether a row's works are those of the row above, which are then not said again.
    fn as_above(&self, row: usize) -> bool {
        row > 0 && self.worked[row].works == self.worked[row - 1].works
    }

    /// The height of the rows with letters of their own size.
    pub fn natural(&self) -> f64 {
        (0..self.rows()).map(|i| if self.as_above(i) { ONE_LINE } else { TWO_LINES }).sum()
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
            amount: MARGIN + 0.262 * inner,
            layer: MARGIN + 0.465 * inner,
            leave: MARGIN + 0.475 * inner,
            minutes: MARGIN + 0.785 * inner,
            taken: MARGIN + 0.795 * inner,
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
        let scale = (self.room(top, foot) / self.natural().max(1.0)).min(1.35);
        let mut y = from;
        for (i, z) in self.worked.iter().enumerate() {
            let above = self.as_above(i);
            let step = scale * if above { ONE_LINE } else { TWO_LINES };
            rows.push(row(z, notes, y, &Step { height: step, scale: scale.min(1.15), above }, &c, o));
            y += step;
        }
        out.push(Part::Table { rows });
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

/// How high a row is, how large its letters, and whether its works are those of the row above.
struct Step {
    height: f64,
    scale: f64,
    above: bool,
}

/// What is to come out, in a word or two.
fn amount_of(z: &ZoneReport) -> &str {
    match z.amount.as_str() {
        "leave" if z.works.iter().any(|w| w.starts_with("card")) => "card only",
        "leave" => "nothing",
        said => said,
    }
}

fn row(z: &ZoneReport, notes: &Notes, y: f64, step: &Step, c: &Columns, o: &Options) -> Row {
    let p = o.theme.palette();
    let (name_size, small) = (NAME * step.scale, SMALL * step.scale);
    let works = z.works.join(", ");
    let two = !step.above && !works.is_empty();
    let height = step.height;
    let base = if two { y + 0.475 * height } else { y + height / 2.0 + 0.36 * name_size };
    let faint = p.paper.toward(p.ink, 0.3);
    let side = (height * 0.75).min(13.0);
    let done = tick(MARGIN, y + (height - side) / 2.0, side, o);

    let mut named = String::new();
    let name = label(z.zone);
    text_goes_on(&mut named, c.name, base, name_size, true, p.text, "start", name);
    let signs = notes.signs(&z.cautions);
    let mut after = c.name + fonts::width(name, name_size, Weight::Bold);
    if !signs.is_empty() {
        let x = after + 5.0;
        let (words, size) = shrunk(&signs, small, 6.0, Weight::Bold, c.amount - x - 3.0);
        after = x + fonts::width(&words, size, Weight::Bold);
        text_goes_on(&mut named, x, base, size, true, p.accent, "start", &words);
    }
    if two {
        // What is much to say becomes smaller before it is cut.
        let (words, size) = shrunk(&works, small, 6.5, Weight::Regular, c.minutes - c.name);
        text(&mut named, c.name, y + 0.885 * height, size, false, p.quiet, "start", &words);
    } else if step.above {
        let room = c.amount - after - 7.0;
        let said = ["as above", "\u{2033}"].into_iter().find(|w| fonts::width(w, small, Weight::Regular) <= room);
        text(&mut named, after + 5.0, base, small, false, p.quiet, "start", said.unwrap_or_default());
    }

    let mut amount = String::new();
    let room = match z.layer_mm {
        Some(mm) => c.layer - c.amount - fonts::width(&o.units.length(mm), small + 1.0, Weight::Regular) - 5.0,
        None => c.layer - c.amount,
    };
    let (words, size) = shrunk(amount_of(z), AMOUNT * step.scale, 7.0, Weight::Bold, room);
    text(&mut amount, c.amount, base, size, true, p.text, "start", &words);
    let mut layer = String::new();
    if let Some(mm) = z.layer_mm {
        text(&mut layer, c.layer, base, small + 1.0, false, p.text, "end", &o.units.length(mm));
    }
    let mut leave = String::new();
    let room = c.minutes - c.leave - 6.0 - fonts::width("000", small, Weight::Regular);
    let (words, size) = shrunk(z.leave, small + 0.5, 6.5, Weight::Regular, room);
    if !words.is_empty() {
        text(&mut leave, c.leave + 6.0, base, size, false, p.text, "start", &words);
    }
    let mut min = String::new();
    text(&mut min, c.minutes, base, small + 1.0, false, p.text, "end", &minutes(z.min));
    let ornament = format!(
        "<path d=\"M{MARGIN} {:.1}H{:.1}\" stroke=\"{faint}\" stroke-width=\"0.6\"/>\n\
         <path class=\"write\" d=\"M{:.1} {:.1}H{:.1}\" stroke=\"{}\" stroke-width=\"0.8\"/>\n",
        y + height,
        c.right,
        c.taken + 6.0,
        y + height - 3.5,
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
