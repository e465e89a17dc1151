//! The list of zones on the sheet.

use super::MARGIN;
use super::notes::Notes;
use crate::fonts::{self, Weight};
use crate::options::Options;
use crate::section::text;
use app::report::{VisitReport, ZoneReport};
use coat::Zone;
use std::fmt::Write as _;

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

fn label(zone: &str) -> String {
    Zone::ALL.into_iter().find(|z| z.word() == zone).map_or_else(|| zone.replace('_', " "), |z| z.label().to_owned())
}

fn is_worked(z: &ZoneReport) -> bool {
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
        List { worked, left: leave_lines(&left, notes, inner) }
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
    pub fn write(&self, out: &mut String, notes: &Notes, top: f64, foot: f64, width: f64, o: &Options) -> f64 {
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
        for (x, word, anchor) in [
            (c.name, "zone, works", "start"),
            (c.amount, "take", "start"),
            (c.layer, "layer", "end"),
            (c.leave + 6.0, "leave", "start"),
            (c.minutes, "min", "end"),
            (c.taken + 6.0, "really taken", "start"),
        ] {
            text(out, x, top + 10.0, 9.5, false, p.quiet, anchor, word);
        }
        let from = top + HEAD;
        let step = (self.room(top, foot) / self.rows().max(1) as f64).min(31.0);
        for (i, z) in self.worked.iter().enumerate() {
            row(out, z, notes, from + i as f64 * step, step, &c, o);
        }
        let mut y = from + self.rows() as f64 * step;
        for line in &self.left {
            y += LEFT_LINE;
            text(out, MARGIN, y - 1.0, 10.5, false, p.text, "start", line);
        }
        y + if self.left.is_empty() { 2.0 } else { 4.0 }
    }
}

/// The zones with nothing to do, in a sentence over one or more lines.
fn leave_lines(left: &[&ZoneReport], notes: &Notes, room: f64) -> Vec<String> {
    if left.is_empty() {
        return Vec::new();
    }
    let names: Vec<String> = left
        .iter()
        .map(|z| {
            let signs = notes.signs(&z.cautions);
            if signs.is_empty() { label(z.zone) } else { format!("{} ({signs})", label(z.zone)) }
        })
        .collect();
    fonts::wrap(&format!("Leave today: {}.", names.join(", ")), 10.5, Weight::Regular, room, 3)
}

fn minutes(min: f64) -> String {
    if min < 0.75 { "½".to_owned() } else { format!("{min:.0}") }
}

fn row(out: &mut String, z: &ZoneReport, notes: &Notes, y: f64, step: f64, c: &Columns, o: &Options) {
    let p = o.theme.palette();
    let two = step >= super::notes::ROW - 0.1;
    let big = (step * 0.47).clamp(8.0, 13.0);
    let small = (step * 0.36).clamp(6.5, 9.5);
    let above = ((step - big * 0.85 - small * 1.32) / 2.0).max(0.4);
    let first = if two { y + above + big * 0.85 } else { y + step / 2.0 + big * 0.35 };
    let middle = y + step / 2.0 + big * 0.36;
    let faint = p.paper.toward(p.ink, 0.3);
    let _ =
        writeln!(out, "<path d=\"M{MARGIN} {:.1}H{:.1}\" stroke=\"{faint}\" stroke-width=\"0.6\"/>", y + step, c.right);
    let tick = (step * 0.55).min(13.0);
    let _ = writeln!(
        out,
        "<rect class=\"tick\" x=\"{MARGIN}\" y=\"{:.1}\" width=\"{tick:.1}\" height=\"{tick:.1}\" rx=\"1.5\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.1\"/>",
        y + (step - tick) / 2.0,
        p.ink
    );
    let name = label(z.zone);
    text(out, c.name, first, big, true, p.text, "start", &name);
    let signs = notes.signs(&z.cautions);
    let mut after = c.name + fonts::width(&name, big, Weight::Bold);
    if !signs.is_empty() {
        let x = after + 5.0;
        let words = fonts::fit(&signs, small + 0.5, Weight::Bold, c.amount - x - 4.0);
        after = x + fonts::width(&words, small + 0.5, Weight::Bold);
        text(out, x, first, small + 0.5, true, p.accent, "start", &words);
    }
    let works = z.works.join(", ");
    {
        // Much to say becomes smaller before it is cut; in a low row it follows the name.
        let x = if two { c.name } else { after + 6.0 };
        let room = c.amount - x - 6.0;
        let wide = fonts::width(&works, small, Weight::Regular);
        let size = if wide > room { (small * room / wide * 0.995).max(5.2) } else { small };
        let words = fonts::fit(&works, size, Weight::Regular, room);
        let size = (size * 100.0).floor() / 100.0;
        let line = if two { first + small * 1.08 } else { first };
        text(out, x, line, size, false, p.quiet, "start", &words);
    }
    let amount = if z.amount == "leave" { "card only" } else { z.amount.as_str() };
    let words = fonts::fit(
        amount,
        big + 1.5,
        Weight::Bold,
        c.layer - c.amount - fonts::width("000 mm", big, Weight::Regular) + 6.0,
    );
    text(out, c.amount, middle, big + 1.5, true, p.text, "start", &words);
    if let Some(mm) = z.layer_mm {
        text(out, c.layer, middle, big - 1.0, false, p.text, "end", &o.units.length(mm));
    }
    let room = c.minutes - c.leave - 28.0;
    let leave = fonts::wrap(z.leave, small + 0.5, Weight::Regular, room, if two { 2 } else { 1 });
    for (i, line) in leave.iter().enumerate() {
        let up = if leave.len() > 1 { -0.62 * small } else { 0.0 };
        text(out, c.leave + 6.0, middle + up + i as f64 * small * 1.15, small + 0.5, false, p.text, "start", line);
    }
    text(out, c.minutes, middle, big - 1.0, false, p.text, "end", &minutes(z.min));
    let _ = writeln!(
        out,
        "<path class=\"write\" d=\"M{:.1} {:.1}H{:.1}\" stroke=\"{}\" stroke-width=\"0.8\"/>",
        c.taken + 6.0,
        y + step - 4.0,
        c.right,
        p.ink
    );
}
