//! Numbers on the zones: inside where they fit, else outside on a leader line.

use super::geometry::{Pt, inside, pair, pt};
use super::hair::Clear;
use super::shapes::{View, placed};
use super::{Theme, ZoneLook, escape};
use crate::theme::{Rgb, scale, text_on};
use coat::Zone;
use std::fmt::Write as _;

/// Letter height of the numbers.
pub(crate) const SIZE: f64 = 20.0;
const SIGN: f64 = 20.0;
/// Radius of the wider target round a place for a number outside.
const TARGET: f64 = 15.0;

/// Where text hangs on its place.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Hang {
    Left,
    Middle,
    Right,
}

/// A place outside a zone, and the spot in the zone that its line points to; in the view's units.
struct Slot {
    view: View,
    at: (f64, f64),
    hang: Hang,
    spot: (f64, f64),
}

const fn slot(view: View, at: (f64, f64), hang: Hang, spot: (f64, f64)) -> Option<Slot> {
    Some(Slot { view, at, hang, spot })
}

/// The best middle for a number inside the zone, and the place outside for numbers that do not fit.
fn places(zone: Zone) -> (Option<(View, f64, f64)>, Option<Slot>) {
    use Hang::{Left, Middle, Right};
    use View::{Front, Side};
    let inside = |view, x, y| Some((view, x, y));
    match zone {
        Zone::Skull => (inside(Front, 0.0, 85.0), slot(Front, (-8.0, 46.0), Middle, (-4.0, 72.0))),
        Zone::Foreface => (inside(Front, 0.0, 132.0), slot(Front, (60.5, 184.0), Left, (14.0, 136.0))),
        Zone::Brows => (None, slot(Front, (60.5, 131.0), Left, (43.0, 98.0))),
        Zone::Cheeks => (inside(Side, 137.0, 116.0), slot(Front, (60.5, 158.0), Left, (44.0, 126.0))),
        Zone::Ears => (inside(Front, 54.0, 72.0), slot(Front, (62.0, 38.0), Middle, (55.0, 66.0))),
        Zone::Beard => (inside(Front, 0.0, 215.0), slot(Front, (60.5, 212.0), Left, (40.0, 205.0))),
        Zone::Throat => (None, slot(Side, (104.0, 190.0), Right, (137.0, 156.0))),
        Zone::Crest => (None, slot(Side, (206.0, 94.0), Left, (182.0, 122.0))),
        Zone::NeckSides => (inside(Side, 164.0, 150.0), slot(Side, (220.0, 124.0), Left, (170.0, 150.0))),
        Zone::Shoulders => (inside(Side, 199.0, 222.0), slot(Side, (130.0, 264.0), Right, (188.0, 236.0))),
        Zone::Back => (inside(Side, 252.0, 183.0), slot(Side, (262.0, 147.0), Middle, (258.0, 180.0))),
        Zone::Sides => (inside(Side, 278.0, 234.0), None),
        Zone::Loin => (inside(Side, 316.0, 184.0), slot(Side, (324.0, 124.0), Middle, (297.0, 179.0))),
        Zone::Rump => (inside(Side, 362.0, 187.0), slot(Side, (371.0, 146.0), Right, (358.0, 178.0))),
        Zone::Forechest => (inside(Side, 163.0, 226.0), slot(Side, (122.0, 232.0), Right, (160.0, 226.0))),
        Zone::Underline => (None, slot(Side, (268.0, 336.0), Middle, (268.0, 284.0))),
        Zone::InnerThighs => (None, slot(Side, (270.0, 368.0), Middle, (311.0, 294.0))),
        Zone::Seat => (None, slot(Side, (422.0, 222.0), Left, (392.0, 210.0))),
        Zone::Tail => (None, slot(Side, (354.0, 104.0), Right, (379.0, 118.0))),
        Zone::TailBack => (None, slot(Side, (416.0, 166.0), Left, (391.0, 130.0))),
        Zone::Thighs => (inside(Side, 363.0, 248.0), slot(Side, (424.0, 258.0), Left, (374.0, 250.0))),
        Zone::Forelegs => (inside(Side, 192.0, 326.0), slot(Side, (146.0, 338.0), Right, (182.0, 326.0))),
        Zone::HindLegs => (inside(Side, 366.0, 312.0), slot(Side, (424.0, 298.0), Left, (376.0, 310.0))),
        Zone::Feet => (None, slot(Side, (148.0, 427.0), Right, (184.0, 404.0))),
    }
}

/// A number with its place.
#[derive(Clone, Debug)]
pub(super) struct Note {
    pub zone: Zone,
    /// Middle of the box.
    pub middle: Pt,
    /// The box round number and sign.
    pub clear: Clear,
    /// The spot that a leader line points to; none inside the zone.
    pub target: Option<Pt>,
}

fn width(text: &str) -> f64 {
    text.chars()
        .map(|c| match c {
            '.' | ',' | ' ' | '\u{202f}' | '\u{a0}' | ':' | '-' => 0.32,
            '%' | 'm' | 'w' | 'M' | 'W' => 0.9,
            _ => 0.58,
        })
        .sum::<f64>()
        * SIZE
}

fn boxed(middle: Pt, w: f64) -> Clear {
    Clear {
        x0: middle.x - w / 2.0 - 2.0,
        x1: middle.x + w / 2.0 + 2.0,
        y0: middle.y - SIZE * 0.46,
        y1: middle.y + SIZE * 0.46,
    }
}

/// Whether a box lies wholly in the visible part of a zone.
pub(super) fn fits(zone: Zone, b: &Clear) -> bool {
    let n = 6;
    (0..=n).all(|i| {
        let t = f64::from(i) / f64::from(n);
        let (x, y) = (b.x0 + (b.x1 - b.x0) * t, b.y0 + (b.y1 - b.y0) * t);
        [pt(x, b.y0), pt(x, b.y1), pt(b.x0, y), pt(b.x1, y)].into_iter().all(|p| {
            placed().iter().rev().find(|s| inside(&s.outline, p)).is_some_and(|s| s.shape.zone == zone && !s.shape.far)
        })
    })
}

/// Finds a place for the number (and the sign) of every look that has one.
pub(super) fn place(looks: &[ZoneLook], numbers: bool) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    for zone in Zone::ALL {
        let Some(l) = looks.iter().find(|l| l.zone == zone) else { continue };
        let text = if numbers { width(&l.label) } else { 0.0 };
        let w = text + if l.caution { SIGN } else { 0.0 };
        if w <= 0.0 {
            continue;
        }
        let (home, away) = places(zone);
        let at_home = home.map(|(view, x, y)| view.frame().point(x, y, false));
        let clear_home = at_home.map(|m| boxed(m, w));
        if let (Some(middle), Some(clear)) = (at_home, clear_home)
            && (away.is_none() || fits(zone, &clear))
        {
            notes.push(Note { zone, middle, clear, target: None });
            continue;
        }
        if let Some(s) = away {
            let at = s.view.frame().point(s.at.0, s.at.1, false);
            let middle = match s.hang {
                Hang::Left => pt(at.x + w / 2.0, at.y),
                Hang::Middle => at,
                Hang::Right => pt(at.x - w / 2.0, at.y),
            };
            let spot = s.view.frame().point(s.spot.0, s.spot.1, false);
            notes.push(Note { zone, middle, clear: boxed(middle, w), target: Some(spot) });
        }
    }
    notes
}

/// Wider targets of a zone: circles round its place outside.
pub(super) fn targets(zone: Zone) -> Option<(Pt, f64)> {
    let s = places(zone).1?;
    let at = s.view.frame().point(s.at.0, s.at.1, false);
    let shift = match s.hang {
        Hang::Left => 10.0,
        Hang::Middle => 0.0,
        Hang::Right => -10.0,
    };
    Some((pt(at.x + shift, at.y), TARGET))
}

/// The zone whose wider target holds a point; the nearest centre wins.
pub(super) fn target_at(p: Pt) -> Option<Zone> {
    let mut best: Option<(f64, Zone)> = None;
    for zone in Zone::ALL {
        if let Some((c, r)) = targets(zone) {
            let d = (p - c).length();
            if d <= r && best.is_none_or(|(b, _)| d < b) {
                best = Some((d, zone));
            }
        }
    }
    best.map(|(_, zone)| zone)
}

/// Writes lines, signs and numbers.
pub(super) fn write(out: &mut String, notes: &[Note], looks: &[ZoneLook], theme: Theme) {
    let p = theme.palette();
    let _ = writeln!(
        out,
        "<g class=\"numbers\" pointer-events=\"none\" font-family=\"'Coatwright Sans', sans-serif\" font-size=\"{SIZE}\" font-weight=\"600\" text-anchor=\"middle\">"
    );
    for n in notes {
        let Some(l) = looks.iter().find(|l| l.zone == n.zone) else { continue };
        let colour = match (n.target, l.value, theme) {
            (None, Some(v), Theme::Light | Theme::Dark) => text_on(scale(v)),
            _ => p.text,
        };
        if let Some(line) = leader_line(n) {
            leader(out, line, p.ink, p.paper);
        }
        let mut x = n.middle.x;
        if l.caution {
            sign(out, pt(n.clear.x0 + SIGN / 2.0, n.middle.y), colour);
            x += SIGN / 2.0;
        }
        if n.clear.x1 - n.clear.x0 > SIGN + 4.5 || !l.caution {
            let _ = writeln!(
                out,
                "<text x=\"{x:.1}\" y=\"{:.1}\" fill=\"{colour}\">{}</text>",
                n.middle.y + SIZE * 0.355,
                escape(&l.label)
            );
        }
    }
    out.push_str("</g>\n");
}

/// The line from a number outside to its zone.
pub(super) fn leader_line(n: &Note) -> Option<(Pt, Pt)> {
    let b = &n.clear;
    n.target.map(|spot| (pt(spot.x.clamp(b.x0, b.x1), spot.y.clamp(b.y0, b.y1)), spot))
}

fn leader(out: &mut String, (from, spot): (Pt, Pt), ink: Rgb, paper: Rgb) {
    let mut d = String::new();
    pair(&mut d, "M", from);
    pair(&mut d, "L", spot);
    let _ = write!(
        out,
        "<path d=\"{d}\" stroke=\"{paper}\" stroke-width=\"2.6\"/><path d=\"{d}\" stroke=\"{ink}\" stroke-width=\"1\"/>\
         <circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"2.2\" fill=\"{ink}\" stroke=\"{paper}\" stroke-width=\"0.8\"/>",
        spot.x, spot.y
    );
}

/// A small warning triangle.
pub(super) fn sign(out: &mut String, at: Pt, colour: Rgb) {
    let mut d = String::new();
    for (letter, x, y) in [("M", 0.0, -7.2), ("L", 7.7, 6.2), ("L", -7.7, 6.2)] {
        pair(&mut d, letter, pt(at.x + x, at.y + y));
    }
    d.push('Z');
    for (letter, y) in [("M", -2.6), ("L", 1.6), ("M", 3.9), ("L", 4.0)] {
        pair(&mut d, letter, pt(at.x, at.y + y));
    }
    let _ = write!(
        out,
        "<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.6\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>"
    );
}
