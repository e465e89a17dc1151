//! The colours of the section, and one hair in ink.

use super::hair::Hair;
use super::{HairClass, Phase};
use crate::theme::{Palette, Rgb, Theme, rgb};
use std::fmt::Write as _;

pub(super) struct Colours {
    pub p: Palette,
    pub set: Rgb,
    pub straw: Rgb,
    pub wool: Rgb,
    pub skin: Rgb,
    pub deep: Rgb,
    pub line: Rgb,
}

pub(super) fn colours(theme: Theme) -> Colours {
    let p = theme.palette();
    let (set, straw, wool, skin, deep, line) = match theme {
        Theme::Light => {
            (rgb(0x8a_7358), rgb(0xfb_eed0), rgb(0x90_887e), rgb(0xe8_bfa6), rgb(0xf7_e3d6), rgb(0x94_5f47))
        }
        Theme::Dark => (rgb(0x9a_8a72), rgb(0x3a_3528), rgb(0x6a_6c70), rgb(0x7a_5647), rgb(0x3a_2d29), rgb(0xc2_937c)),
        Theme::Print => {
            (rgb(0x80_8080), rgb(0xff_ffff), rgb(0x8c_8c8c), rgb(0xd8_d8d8), rgb(0xf2_f2f2), rgb(0x33_3333))
        }
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
        c.deep, c.deep, c.p.paper, c.p.paper, c.p.paper
    )
}

/// The walls of a hair's follicle.
pub(super) fn wall_of(h: &Hair, g: f64) -> String {
    let (depth, half) = match h.phase {
        Phase::Growing => (h.depth, 2.9),
        Phase::Set => (h.depth * 0.74, 2.9),
        Phase::Ripe => (h.depth * 0.6, 2.9),
        Phase::Empty => (h.depth * 0.5, 2.2),
    };
    h.sheath(depth, half * g)
}

pub(super) fn write_walls(out: &mut String, walls: &str, g: f64, c: &Colours) {
    if !walls.is_empty() {
        let thin = 0.7 * g.max(0.7);
        let _ = writeln!(
            out,
            "<path class=\"walls\" d=\"{walls}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"{thin:.2}\"/>",
            c.deep, c.line
        );
    }
}

pub(super) fn write_hair(out: &mut String, h: &Hair, class: &HairClass, k: usize, g: f64, c: &Colours) {
    let taken = if class.to_take { " take" } else { "" };
    let softness = if h.hard { "hard" } else { "soft" };
    let (wall, thin) = (c.line, 0.7 * g.max(0.7));
    let _ = write!(out, "<g class=\"hair {} {softness}{taken}\" data-class=\"{k}\">", class.phase.word());
    if class.phase == Phase::Empty {
        let root = Hair { phase: Phase::Set, depth: h.depth * 0.66, lift: 0.0, ..*h }.root_at();
        let _ = writeln!(
            out,
            "<path d=\"{}\" fill=\"{}\" stroke=\"{wall}\" stroke-width=\"{thin:.2}\"/>\
             <circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"{wall}\"/></g>",
            wall_of(h, g),
            c.p.paper,
            root.0,
            root.1,
            1.3 * g
        );
        return;
    }
    let outline = 0.9 * g.max(0.62);
    let (fill, stroke, w) = match (class.phase, class.to_take) {
        (_, true) => (c.p.accent.toward(c.p.paper, 0.78), c.p.accent, outline * 1.75),
        (Phase::Ripe, _) => (c.straw, c.p.ink, outline),
        // Solid: the shaft is drawn so much wider instead of being edged.
        (Phase::Set, _) => (c.set, c.set, 0.0),
        _ => (c.p.ink, c.p.ink, 0.0),
    };
    let edge = if w > 0.0 { format!(" stroke=\"{stroke}\" stroke-width=\"{w:.2}\"") } else { String::new() };
    match class.phase {
        Phase::Growing | Phase::Set if w == 0.0 => {
            let (rx, ry) = if class.phase == Phase::Growing { (3.9, 5.4) } else { (2.6, 3.4) };
            let _ = write!(out, "<path d=\"{}{}\" fill=\"{fill}\"/>", h.shaft(), h.drop(rx * g, ry * g));
        }
        _ => {
            let (rx, ry, angle) = h.root_at();
            let _ = write!(
                out,
                "<path d=\"{}\" fill=\"{fill}\"{edge}/>\
                 <ellipse rx=\"{:.1}\" ry=\"{:.1}\" fill=\"{fill}\"{edge} transform=\"translate({rx:.1} {ry:.1}) rotate({angle:.0})\"/>",
                h.shaft(),
                2.3 * g,
                3.1 * g
            );
        }
    }
    if class.phase == Phase::Set && g > 0.7 {
        let _ = write!(
            out,
            "<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.1}\"/>",
            h.pith(),
            c.p.paper,
            1.25 * g
        );
    }
    if class.phase == Phase::Growing && g > 0.7 {
        let _ = write!(out, "<path d=\"{}\" fill=\"{}\"/>", h.living(1.3 * g, 0.8 * g), c.deep);
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
