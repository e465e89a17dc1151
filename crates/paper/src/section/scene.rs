//! One panel of the section: skin, follicles, undercoat, hairs.

use super::hair::Hair;
use super::ink::{Colours, colours, wall_of, write_hair, write_walls};
use super::pen::Pen;
use super::{HairClass, Panel, Phase, counts, length, text};
use crate::fonts::{self, Weight};
use crate::options::{Options, Units};
use std::fmt::Write as _;

/// Where a panel stands and how coarse it is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub x: f64,
    pub y: f64,
    pub width: f64,
    /// Height for hair.
    pub air: f64,
    /// Height for skin.
    pub skin: f64,
    /// Longest hair of all panels, mm.
    pub longest: f64,
    pub follicles: usize,
    /// Line weight, 1 for the large panels.
    pub grain: f64,
}

/// Lean of a hair at the skin, radians from upright.
pub(super) const LEAN: f64 = 0.20;
const BEND: f64 = 0.34;

impl Frame {
    fn large(&self) -> bool {
        self.grain > 0.7
    }

    fn heading(&self) -> f64 {
        34.0
    }

    /// Room for the lengths on the left.
    fn gutter(&self) -> f64 {
        if self.large() { 52.0 } else { 0.0 }
    }

    pub fn height(&self) -> f64 {
        self.heading() + self.air + self.skin
    }

    /// Height of the skin line.
    fn ground(&self) -> f64 {
        self.y + self.heading() + self.air
    }

    fn per_mm(&self) -> f64 {
        (self.air - 12.0 * self.grain) / (self.longest * (LEAN + BEND / 2.0).cos())
    }

    /// Height above the skin of a tip at a length.
    fn rise(&self, mm: f64) -> f64 {
        mm * self.per_mm() * (LEAN + BEND / 2.0).cos()
    }

    /// The stretch of skin that bears follicles.
    fn run(&self) -> (f64, f64) {
        let over = self.longest * self.per_mm() * (LEAN + BEND / 2.0).sin();
        let inset = 14.0 * self.grain;
        let rug = if self.large() { 16.0 } else { 0.0 };
        (self.x + self.gutter() + inset, self.x + self.width - (over * 0.8).min(self.width * 0.4) - rug)
    }
}

/// A spread of numbers from 0 to 1 without clumps (golden ratio, Weyl sequence).
fn spread(i: usize, start: f64) -> f64 {
    (start + i as f64 * 0.618_033_988_749_895).fract()
}

/// The same with another irrational step, so that lengths do not follow places.
fn other_spread(i: usize, start: f64) -> f64 {
    (start + i as f64 * 0.414_213_562_373_095).fract()
}

/// The place along the skin of every follicle in the order of the classes.
fn places(n: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| spread(*a, 0.5).total_cmp(&spread(*b, 0.5)));
    let mut place = vec![0; n];
    for (rank, i) in order.into_iter().enumerate() {
        place[i] = rank;
    }
    place
}

fn undulate(x: f64, grain: f64) -> f64 {
    grain * (1.6 * (x / 41.0).sin() + 0.9 * (x / 17.0 + 1.0).sin())
}

/// Draws a panel.
pub(super) fn panel(out: &mut String, panel: &Panel, frame: &Frame, options: &Options, nth: usize) {
    let c = colours(options.theme);
    let _ =
        writeln!(out, "<g class=\"panel\" data-panel=\"{nth}\" stroke-linejoin=\"round\" stroke-linecap=\"round\">");
    heading(out, panel, frame, &c);
    skin(out, frame, &c);
    rulers(out, panel, frame, options, &c);
    undercoat(out, panel, frame, &c);
    let n = counts(&panel.hairs.iter().map(|h| h.share).collect::<Vec<_>>(), frame.follicles);
    let place = places(frame.follicles);
    let mut drawn: Vec<(usize, usize, Hair, &HairClass)> = Vec::new();
    let mut next = 0;
    for (k, (class, count)) in panel.hairs.iter().zip(&n).enumerate() {
        let hard = counts(&[class.hard, 1.0 - class.hard], *count);
        let hard_ranks = places(*count);
        for (i, rank) in hard_ranks.into_iter().enumerate() {
            let at = place[next];
            let is_hard = rank < hard[0];
            drawn.push((at, k, one(class, i, *count, at, is_hard, frame), class));
            next += 1;
        }
    }
    drawn.sort_by_key(|d| (d.3.to_take, d.0));
    // The follicles of all hairs as one shape, under them; an empty one is drawn by itself.
    let walls: String =
        drawn.iter().filter(|d| d.3.phase != Phase::Empty).map(|d| wall_of(&d.2, frame.grain)).collect();
    write_walls(out, &walls, frame.grain, &c);
    for (_, k, hair, class) in &drawn {
        write_hair(out, hair, class, *k, frame.grain, &c);
    }
    if frame.large() {
        rug(out, frame, &drawn, &c);
    }
    out.push_str("</g>\n");
}

/// The `i`-th of `count` hairs of a class, at a place along the skin.
fn one(class: &HairClass, i: usize, count: usize, at: usize, hard: bool, frame: &Frame) -> Hair {
    let own = spread(at, 0.11);
    let (x0, x1) = frame.run();
    let pitch = (x1 - x0) / frame.follicles as f64;
    let x = x0 + pitch * (at as f64 + 0.5 + 0.5 * (own - 0.5));
    // Lengths across the class as a uniform law of the same mean and spread would have them.
    let u = 2.0 * other_spread(i, 0.5 / count.max(1) as f64) - 1.0;
    let mm = (class.mm + class.sd_mm * 1.732 * u * 0.9).clamp(0.3_f64.min(class.mm), frame.longest);
    let length = mm * frame.per_mm();
    let g = frame.grain;
    let loose = class.phase == Phase::Ripe;
    let tilt = if loose { 0.16 * (spread(at, 0.77) - 0.35) } else { 0.07 * (own - 0.5) };
    Hair {
        x,
        y: frame.ground() + undulate(x, g),
        length,
        lean: LEAN + tilt,
        bend: BEND * (0.35 + 0.65 * (mm / frame.longest)) * if hard { 1.0 } else { 1.25 },
        width: g * if hard { 4.0 } else { 3.0 } * (0.6 + 0.4 * (length / (110.0 * g)).min(1.0))
            + if loose { 0.0 } else { 0.45 * g.max(0.62) },
        hard,
        cut: class.cut,
        phase: class.phase,
        lift: match (class.to_take, loose) {
            (true, _) => 13.0 * g,
            (false, true) => 3.0 * g,
            _ => 0.0,
        },
        depth: frame.skin * 0.66,
        own,
    }
}

fn heading(out: &mut String, panel: &Panel, f: &Frame, c: &Colours) {
    if f.large() {
        let date = fonts::width(&panel.date, 18.0, Weight::Bold) + 10.0;
        text(out, f.x, f.y + 18.0, 18.0, true, c.p.text, "start", &panel.date);
        let words = fonts::fit(&panel.caption, 16.0, Weight::Regular, f.width - date);
        text(out, f.x + date, f.y + 18.0, 16.0, false, c.p.quiet, "start", &words);
    } else {
        let date = fonts::fit(&panel.date, 13.0, Weight::Bold, f.width);
        text(out, f.x, f.y + 10.0, 13.0, true, c.p.text, "start", &date);
        let words = fonts::fit(&panel.caption, 12.5, Weight::Regular, f.width);
        text(out, f.x, f.y + 26.0, 12.5, false, c.p.quiet, "start", &words);
    }
}

fn skin(out: &mut String, f: &Frame, c: &Colours) {
    let (x0, x1) = (f.x + f.gutter(), f.x + f.width);
    let y = f.ground();
    let n = ((x1 - x0) / (9.0 * f.grain)).ceil().max(2.0) as usize;
    let line: Vec<(f64, f64)> =
        (0..=n).map(|i| x0 + (x1 - x0) * i as f64 / n as f64).map(|x| (x, y + undulate(x, f.grain))).collect();
    let thick = 7.0 * f.grain;
    let points = |dy: f64, back: bool| {
        let mut pts: Vec<String> = line.iter().map(|p| format!("{:.1} {:.1}", p.0, p.1 + dy)).collect();
        if back {
            pts.reverse();
        }
        pts.join("L")
    };
    let _ = writeln!(
        out,
        "<path class=\"skin\" d=\"M{}L{x1:.1} {low:.1}L{x0:.1} {low:.1}Z\" fill=\"url(#skin)\"/>\
         <path d=\"M{}L{}Z\" fill=\"{}\"/>\
         <path d=\"M{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.1}\"/>",
        points(0.0, false),
        points(0.0, false),
        points(thick, true),
        c.skin,
        points(0.0, false),
        c.line,
        1.3 * f.grain.max(0.6),
        low = y + f.skin,
    );
    // Past the last follicle the skin fades out.
    let from = f.run().1 + 4.0 * f.grain;
    let _ = writeln!(
        out,
        "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"url(#fade)\"/>",
        y - 5.0 * f.grain,
        x1 - from + 1.0,
        f.skin + 8.0 * f.grain
    );
}

fn rulers(out: &mut String, panel: &Panel, f: &Frame, o: &Options, c: &Colours) {
    let (x0, x1) = (f.x + f.gutter(), f.x + f.width);
    let target = panel.target_mm.filter(|t| *t <= f.longest);
    let label = |out: &mut String, mm: f64, bold: bool| {
        let colour = if bold { c.p.text } else { c.p.quiet };
        text(out, x0 - 6.0, f.ground() - f.rise(mm) + 4.5, 13.0, bold, colour, "end", &length(mm, o.units));
    };
    if f.large() {
        let steps = if o.units == Units::Inch {
            [0.1, 0.2, 0.5, 1.0, 2.0, 5.0].map(|s| s * 25.4)
        } else {
            [2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
        };
        let step = steps.into_iter().find(|s| f.longest / s <= 4.5).unwrap_or(f.longest);
        let mut mm = step;
        while mm < f.longest * 1.02 {
            let y = f.ground() - f.rise(mm);
            let faint = c.p.paper.toward(c.p.ink, 0.16);
            let _ = writeln!(out, "<path d=\"M{x0:.1} {y:.1}H{x1:.1}\" stroke=\"{faint}\" stroke-width=\"0.8\"/>");
            if target.is_none_or(|t| (f.rise(t) - f.rise(mm)).abs() > 14.0) {
                label(out, mm, false);
            }
            mm += step;
        }
    }
    if let Some(target) = target {
        let y = f.ground() - f.rise(target);
        let _ = writeln!(
            out,
            "<path class=\"target\" d=\"M{x0:.1} {y:.1}H{x1:.1}\" stroke=\"{}\" stroke-width=\"{:.1}\" stroke-dasharray=\"{:.1} {:.1}\"/>",
            c.p.quiet,
            1.3 * f.grain.max(0.7),
            6.0 * f.grain,
            4.0 * f.grain
        );
        if f.large() {
            label(out, target, true);
        }
    }
}

fn undercoat(out: &mut String, panel: &Panel, f: &Frame, c: &Colours) {
    let n = f.follicles * 3 / 2;
    let wool = panel.wool.clamp(0.0, 1.0).min(panel.under.max(panel.wool));
    let count = counts(&[wool, (panel.under - wool).max(0.0), (1.0 - panel.under.max(wool)).max(0.0)], n);
    let place = places(n);
    let (x0, x1) = f.run();
    let (mut firm, mut loose) = (Pen::default(), Pen::default());
    let g = f.grain;
    for (i, at) in place.iter().enumerate().take(count[0] + count[1]) {
        let own = spread(*at, 0.41);
        let x = x0 + (x1 - x0) * (*at as f64 + 0.5 + 0.6 * (own - 0.5)) / n as f64;
        let y = f.ground() + undulate(x, g);
        let tall = (9.0 + 5.0 * own) * f.per_mm().min(9.0 * g) * 0.62;
        let is_loose = i < count[0];
        let pen = if is_loose { &mut loose } else { &mut firm };
        let lift = if is_loose { 3.5 * g } else { -5.0 * g };
        let (steps, swing) = if is_loose { (6, 4.2 * g) } else { (4, 1.7 * g) };
        pen.start(x, y - lift);
        for s in 1..=steps {
            let t = f64::from(s) / f64::from(steps);
            let side = if s % 2 == 0 { 1.0 } else { -1.0 };
            let (px, py) = (x + LEAN * 1.3 * tall * t, y - lift - tall * t * if is_loose { 0.72 } else { 1.0 });
            let step = tall / f64::from(steps);
            pen.curve((px - LEAN * step / 2.0 + side * swing * 1.6, py + step / 2.0), (px, py));
        }
    }
    let (firm, loose) = (firm.into_string(), loose.into_string());
    let _ = writeln!(
        out,
        "<path class=\"undercoat\" d=\"{firm}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{w:.2}\"/>\
         <path class=\"wool\" d=\"{loose}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{w:.2}\"/>",
        c.wool,
        c.wool,
        w = 0.75 * g.max(0.6)
    );
}

/// A tick for the tip of every hair: an even ladder in a rolling coat.
fn rug(out: &mut String, f: &Frame, drawn: &[(usize, usize, Hair, &HairClass)], c: &Colours) {
    let x = f.x + f.width;
    for (take, colour, width) in [(false, c.p.quiet, 1.0), (true, c.p.accent, 1.8)] {
        let mut d = String::new();
        for (_, _, h, class) in drawn.iter().filter(|x| x.3.phase != Phase::Empty && x.3.to_take == take) {
            let up = if class.to_take { h.lift } else { 0.0 };
            let _ = write!(
                d,
                "M{:.1} {:.1}h{:.0}",
                x - if take { 14.0 } else { 10.0 },
                h.tip().1 + up,
                if take { 14.0 } else { 10.0 }
            );
        }
        if !d.is_empty() {
            let _ = writeln!(out, "<path class=\"rug\" d=\"{d}\" stroke=\"{colour}\" stroke-width=\"{width}\"/>");
        }
    }
}
