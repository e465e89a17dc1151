//! One panel of the section: skin, follicles, undercoat, hairs; and the legend.

use super::hair::Hair;
use super::pen::Pen;
use super::{HairClass, Panel, Phase, counts, length, text};
use crate::fonts::{self, Weight};
use crate::options::{Options, Units};
use crate::theme::{Palette, Rgb, Theme, rgb};
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

const LEAN: f64 = 0.20;
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

struct Colours {
    p: Palette,
    set: Rgb,
    straw: Rgb,
    wool: Rgb,
    skin: Rgb,
    deep: Rgb,
    line: Rgb,
}

fn colours(theme: Theme) -> Colours {
    let p = theme.palette();
    let (set, straw, wool, skin, deep, line) = match theme {
        Theme::Light => (rgb(0x8a_7358), rgb(0xfb_eed0), rgb(0x90_887e), rgb(0xe8_bfa6), rgb(0xf7_e3d6), rgb(0x94_5f47)),
        Theme::Dark => (rgb(0x9a_8a72), rgb(0x3a_3528), rgb(0x6a_6c70), rgb(0x7a_5647), rgb(0x3a_2d29), rgb(0xc2_937c)),
        Theme::Print => (rgb(0x80_8080), rgb(0xff_ffff), rgb(0x8c_8c8c), rgb(0xd8_d8d8), rgb(0xf2_f2f2), rgb(0x33_3333)),
    };
    Colours { p, set, straw, wool, skin, deep, line }
}

/// The colours that carry meaning, each with the least contrast it must keep to the ground.
#[cfg(test)]
pub(super) fn meaningful(theme: Theme) -> Vec<(&'static str, Rgb, Rgb, f64)> {
    let c = colours(theme);
    vec![
        ("growing hair", c.p.ink, c.p.paper, 3.0),
        ("set hair", c.set, c.p.paper, 3.0),
        ("outline of ripe hair", c.p.ink, c.straw, 3.0),
        ("outline of ripe hair on the ground", c.p.ink, c.p.paper, 3.0),
        ("undercoat", c.wool, c.p.paper, 3.0),
        ("hair to take", c.p.accent, c.p.paper, 3.0),
        ("growing root", c.p.ink, c.deep, 3.0),
        ("follicle", c.line, c.deep, 3.0),
        ("words", c.p.text, c.p.paper, 4.5),
        ("quiet words", c.p.quiet, c.p.paper, 4.5),
    ]
}

pub(super) fn defs(theme: Theme) -> String {
    let c = colours(theme);
    format!(
        "<linearGradient id=\"skin\" x1=\"0\" y1=\"0\" x2=\"0\" y2=\"1\"><stop offset=\"0\" stop-color=\"{}\"/>\
         <stop offset=\"0.55\" stop-color=\"{}\"/><stop offset=\"1\" stop-color=\"{}\"/></linearGradient>\
         <linearGradient id=\"fade\" x1=\"0\" y1=\"0\" x2=\"1\" y2=\"0\"><stop offset=\"0\" stop-color=\"{}\" stop-opacity=\"0\"/>\
         <stop offset=\"0.8\" stop-color=\"{}\"/></linearGradient>",
        c.deep,
        c.deep,
        c.p.paper,
        c.p.paper,
        c.p.paper
    )
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
    let _ = writeln!(out, "<g class=\"panel\" data-panel=\"{nth}\" stroke-linejoin=\"round\" stroke-linecap=\"round\">");
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
        for i in 0..*count {
            let at = place[next];
            let is_hard = hard_ranks[i] < hard[0];
            drawn.push((at, k, one(class, i, *count, at, is_hard, frame), class));
            next += 1;
        }
    }
    drawn.sort_by_key(|d| (d.3.to_take, d.0));
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
        width: g * if hard { 4.0 } else { 3.0 } * (0.6 + 0.4 * (length / (110.0 * g)).min(1.0)),
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

fn write_hair(out: &mut String, h: &Hair, class: &HairClass, k: usize, g: f64, c: &Colours) {
    let taken = if class.to_take { " take" } else { "" };
    let softness = if h.hard { "hard" } else { "soft" };
    let (wall, thin) = (c.line, 0.7 * g.max(0.7));
    let _ = write!(out, "<g class=\"hair {} {softness}{taken}\" data-class=\"{k}\">", class.phase.word());
    let depth = match class.phase {
        Phase::Growing => h.depth,
        Phase::Set => h.depth * 0.74,
        Phase::Ripe => h.depth * 0.6,
        Phase::Empty => h.depth * 0.5,
    };
    let half = g * if class.phase == Phase::Empty { 2.2 } else { 2.9 };
    let fill = if class.phase == Phase::Empty { c.p.paper } else { c.deep };
    let _ = write!(
        out,
        "<path d=\"{}\" fill=\"{fill}\" stroke=\"{wall}\" stroke-width=\"{thin:.2}\"/>",
        h.sheath(depth, half)
    );
    if class.phase == Phase::Empty {
        let root = Hair { phase: Phase::Set, depth: h.depth * 0.66, lift: 0.0, ..*h }.root_at();
        let _ = write!(out, "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"{wall}\"/></g>", root.0, root.1, 1.3 * g);
        out.push('\n');
        return;
    }
    let outline = 0.9 * g.max(0.62);
    let (fill, stroke, w) = match (class.phase, class.to_take) {
        (_, true) => (c.p.accent.toward(c.p.paper, 0.78), c.p.accent, outline * 1.75),
        (Phase::Ripe, _) => (c.straw, c.p.ink, outline),
        (Phase::Set, _) => (c.set, c.set, outline * 0.5),
        _ => (c.p.ink, c.p.ink, outline * 0.5),
    };
    let (rx, ry, angle) = h.root_at();
    let root = match class.phase {
        Phase::Growing => {
            format!("<ellipse rx=\"{:.1}\" ry=\"{:.1}\" fill=\"{fill}\" ", 3.7 * g, 5.2 * g)
        }
        _ => format!(
            "<ellipse rx=\"{:.1}\" ry=\"{:.1}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{w:.2}\" ",
            2.3 * g,
            3.1 * g
        ),
    };
    let _ = write!(
        out,
        "<path d=\"{}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{w:.2}\"/>\
         {root}transform=\"translate({rx:.1} {ry:.1}) rotate({angle:.0})\"/>",
        h.shaft()
    );
    if class.phase == Phase::Growing && g > 0.7 {
        let _ = write!(
            out,
            "<circle cx=\"{rx:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"{}\"/><path d=\"{}\" stroke=\"{}\" stroke-width=\"{:.1}\" stroke-linecap=\"round\"/>",
            ry + 1.8 * g,
            1.3 * g,
            c.deep,
            h.living(),
            c.deep,
            0.8 * g
        );
    }
    if class.cut {
        let _ = write!(out, "<path d=\"{}\" stroke=\"{stroke}\" stroke-width=\"{:.1}\"/>", h.blunt(), 1.5 * g.max(0.6));
    }
    if class.to_take {
        let (tx, ty) = h.tip();
        let s = 4.2 * g.max(0.6);
        let _ = write!(
            out,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.1}\"/>",
            tx - s + s * 0.9,
            ty - s * 0.7,
            tx + s * 0.9,
            ty - s * 1.9,
            tx + s + s * 0.9,
            ty - s * 0.7,
            c.p.accent,
            1.9 * g.max(0.6)
        );
    }
    out.push_str("</g>\n");
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
    let line: Vec<(f64, f64)> = (0..=n)
        .map(|i| x0 + (x1 - x0) * i as f64 / n as f64)
        .map(|x| (x, y + undulate(x, f.grain)))
        .collect();
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
        let steps = if o.units == Units::Inch { [0.1, 0.2, 0.5, 1.0, 2.0, 5.0].map(|s| s * 25.4) } else { [2.0, 5.0, 10.0, 20.0, 50.0, 100.0] };
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
            let _ = write!(d, "M{:.1} {:.1}h{:.0}", x - if take { 14.0 } else { 10.0 }, h.tip().1 + up, if take { 14.0 } else { 10.0 });
        }
        if !d.is_empty() {
            let _ = writeln!(out, "<path class=\"rug\" d=\"{d}\" stroke=\"{colour}\" stroke-width=\"{width}\"/>");
        }
    }
}

/// Height of the legend.
pub(super) const LEGEND_HEIGHT: f64 = 58.0;

/// One sample of each form that the panels show.
pub(super) fn legend(out: &mut String, x: f64, y: f64, width: f64, panels: &[Panel], o: &Options) {
    let c = colours(o.theme);
    let any = |keep: &dyn Fn(&HairClass) -> bool| panels.iter().flat_map(|p| &p.hairs).any(|h| h.share > 0.01 && keep(h));
    let items: [(&str, Phase, bool, bool, bool, bool); 7] = [
        ("growing", Phase::Growing, true, false, false, true),
        ("set: firm", Phase::Set, true, false, false, true),
        ("ripe: loose", Phase::Ripe, true, false, false, true),
        ("comes out today", Phase::Ripe, true, false, true, any(&|h| h.to_take)),
        ("empty", Phase::Empty, true, false, false, true),
        ("soft", Phase::Growing, false, false, false, any(&|h| h.hard < 0.95)),
        ("cut", Phase::Growing, false, true, false, any(&|h| h.cut)),
    ];
    let shown: Vec<_> = items.into_iter().filter(|i| i.5).collect();
    let _ = writeln!(out, "<g class=\"legend\" stroke-linejoin=\"round\" stroke-linecap=\"round\">");
    let mut at = x;
    let wool = panels.iter().any(|p| p.wool > 0.01);
    let aim = panels.iter().any(|p| p.target_mm.is_some());
    let more: Vec<&str> = [(wool, "wool"), (aim, "length aimed at")].into_iter().filter(|m| m.0).map(|m| m.1).collect();
    let wide = |word: &str| 34.0 + fonts::width(word, 14.0, Weight::Regular);
    let free: f64 = width - shown.iter().map(|i| i.0).chain(more.iter().copied()).map(wide).sum::<f64>();
    let gap = (free / (shown.len() + more.len()).max(2) as f64).clamp(0.0, 34.0);
    for (word, phase, hard, cut, take, _) in shown {
        let ground = y + 36.0;
        let class = HairClass { class: String::new(), phase, share: 0.0, mm: 0.0, sd_mm: 0.0, hard: 1.0, cut, to_take: take };
        let hair = Hair {
            x: at + 9.0,
            y: ground,
            length: 30.0,
            lean: LEAN,
            bend: 0.2,
            width: if hard { 3.6 } else { 2.8 },
            hard,
            cut,
            phase,
            lift: if take { 9.0 } else if phase == Phase::Ripe { 2.5 } else { 0.0 },
            depth: 15.0,
            own: 0.3,
        };
        let _ = writeln!(out, "<path d=\"M{:.1} {ground:.1}h22\" stroke=\"{}\" stroke-width=\"1.3\"/>", at, c.line);
        let mut sample = String::new();
        write_hair(&mut sample, &hair, &class, 0, 0.8, &c);
        out.push_str(&sample.replacen("class=\"hair", "class=\"sample", 1));
        text(out, at + 28.0, ground + 1.0, 14.0, false, c.p.text, "start", word);
        at += wide(word) + gap;
    }
    for word in more {
        let y = y + 31.0;
        let (d, colour, dash) = if word == "wool" {
            let d = format!("M{at:.1} {y:.1}q5 -9 3 2q-3 8 6 1q6 -9 3 1q-3 7 6 1q5 -7 4 2");
            (d, c.wool, "")
        } else {
            (format!("M{at:.1} {y:.1}h22"), c.p.quiet, " stroke-dasharray=\"6 4\"")
        };
        let _ = writeln!(out, "<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.3\"{dash}/>");
        text(out, at + 28.0, y + 6.0, 14.0, false, c.p.text, "start", word);
        at += wide(word) + gap;
    }
    out.push_str("</g>\n");
}
