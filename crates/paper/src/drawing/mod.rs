//! The dog in its zones: from the side, and the head from the front. Our own drawing.
//!
//! Everything here is pure: the same looks and options give the same bytes.

mod face;
mod features;
mod geometry;
mod hair;
mod labels;
mod legend;
pub mod shade;
mod shapes;
mod side;

#[cfg(test)]
mod tests;

pub use crate::theme::Theme;

use crate::theme::{Palette, Rgb, scale};
use coat::Zone;
use geometry::{cubics, path, pt};
use shapes::{Placed, placed};
use std::fmt::Write as _;

/// Width of the drawing in its own units.
pub const WIDTH: f64 = 686.0;
/// Height of the drawing; the scale stands under the head.
pub const HEIGHT: f64 = 414.0;

/// Letter height of the numbers, in the drawing's own units.
pub(crate) const NUMBERS: f64 = labels::SIZE;

/// How one zone is to look.
#[derive(Clone, Debug, PartialEq)]
pub struct ZoneLook {
    /// Which zone.
    pub zone: Zone,
    /// Place on the scale, 0 to 1; none leaves the zone uncoloured.
    pub value: Option<f64>,
    /// The number to show; may be empty. Up to four characters fit everywhere.
    pub label: String,
    /// Marked with a warning sign.
    pub caution: bool,
    /// Outlined in the accent.
    pub emphasised: bool,
}

/// How the whole drawing is to look.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawingOptions {
    /// For which surface.
    pub theme: Theme,
    /// Short name for screen readers.
    pub title: String,
    /// What the picture says, in whole sentences, for screen readers.
    pub description: String,
    /// What the scale shows, in words; `low|what|high` also names its ends.
    pub scale_caption: String,
    /// With the scale under the head.
    pub legend: bool,
    /// With the numbers.
    pub labels: bool,
}

/// The zone at a point of the drawing, where any is drawn or has a wider target round its number.
pub fn zone_at(view_x: f64, view_y: f64) -> Option<Zone> {
    let p = pt(view_x, view_y);
    shapes::topmost(p).or_else(|| labels::target_at(p))
}

/// The drawing as a whole document.
pub fn dog_svg(looks: &[ZoneLook], options: &DrawingOptions) -> String {
    let paper = options.theme.palette().paper;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" \
         aria-labelledby=\"dog-title dog-desc\">\n<title id=\"dog-title\">{}</title>\n<desc id=\"dog-desc\">{}</desc>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"{paper}\"/>\n{}</svg>\n",
        escape(&options.title),
        escape(&options.description),
        body(looks, options)
    )
}

/// The same drawing as a group, its left upper corner at `(x, y)`, as wide as told.
pub fn dog_group(looks: &[ZoneLook], options: &DrawingOptions, x: f64, y: f64, width: f64) -> String {
    format!(
        "<g transform=\"translate({x:.2} {y:.2}) scale({:.4})\">\n<title>{}</title>\n<desc>{}</desc>\n{}</g>\n",
        width / WIDTH,
        escape(&options.title),
        escape(&options.description),
        body(looks, options)
    )
}

/// Steps of hatching that stand for amounts in print: spacing and stroke width, sparse to dense.
pub(crate) const PRINT_STEPS: [(f64, f64); 6] =
    [(13.0, 0.45), (9.0, 0.55), (7.0, 0.65), (5.5, 0.75), (4.6, 0.85), (3.9, 0.95)];

pub(crate) fn print_step(value: f64) -> usize {
    let v = if value.is_nan() { 0.0 } else { value.clamp(0.0, 1.0) };
    ((v * PRINT_STEPS.len() as f64) as usize).min(PRINT_STEPS.len() - 1)
}

/// Fill, edge, hair colour, hair opacity, spacing and stroke width of a zone.
struct Dress {
    fill: Rgb,
    /// Colour of the dotted edge.
    edge: Rgb,
    hair: Rgb,
    opacity: f64,
    spacing: f64,
    width: f64,
    /// Light and shade; not where density means an amount.
    shaded: bool,
    /// Hairs as dots: no amount known, in print.
    dotted: bool,
}

fn dress(value: Option<f64>, theme: Theme, p: &Palette, any: bool) -> Dress {
    match (theme, value) {
        (Theme::Print, Some(v)) => {
            let (spacing, width) = PRINT_STEPS[print_step(v)];
            Dress {
                fill: p.paper,
                edge: p.ink,
                hair: p.ink,
                opacity: 1.0,
                spacing,
                width,
                shaded: false,
                dotted: false,
            }
        }
        (Theme::Print, None) if any => Dress {
            fill: p.paper,
            edge: p.ink,
            hair: p.ink,
            opacity: 1.0,
            spacing: 8.0,
            width: 0.9,
            shaded: false,
            dotted: true,
        },
        (_, Some(v)) => {
            let fill = scale(v);
            let text = crate::theme::text_on(fill);
            Dress {
                fill,
                edge: fill.toward(text, 0.75),
                hair: fill.toward(text, 0.55),
                opacity: 0.85,
                spacing: 4.9,
                width: 0.6,
                shaded: true,
                dotted: false,
            }
        }
        (_, None) => Dress {
            fill: p.paper,
            edge: p.ink,
            hair: p.ink,
            opacity: 0.75,
            spacing: 4.7,
            width: 0.55,
            shaded: true,
            dotted: false,
        },
    }
}

fn body(looks: &[ZoneLook], options: &DrawingOptions) -> String {
    let theme = options.theme;
    let p = theme.palette();
    let look = |zone: Zone| looks.iter().find(|l| l.zone == zone);
    let any = looks.iter().any(|l| l.value.is_some());
    let notes = labels::place(looks, options.labels);
    let clear: Vec<hair::Clear> = notes.iter().filter(|n| n.target.is_none()).map(|n| n.clear).collect();
    let mut out = String::from("<g class=\"dog\" stroke-linejoin=\"round\">\n");
    for zone in shapes::PAINT {
        if zone == Zone::Ears {
            lines(&mut out, theme, false);
        }
        if zone == Zone::Brows {
            out.push_str(&features::eyes(theme));
        }
        let dress = dress(look(zone).and_then(|l| l.value), theme, &p, any);
        let spoken = match look(zone).map(|l| l.label.as_str()) {
            Some(label) if !label.is_empty() => format!("{}: {}", zone.label(), escape(label)),
            _ => zone.label().to_owned(),
        };
        let word = zone.word();
        let _ = write!(out, "<g id=\"zone-{word}\" class=\"zone\" data-zone=\"{word}\"><title>{spoken}</title>");
        for (i, s) in placed().iter().filter(|s| s.shape.zone == zone).enumerate() {
            zone_shape(&mut out, s, &dress, &p, i as u64, &clear);
        }
        if let Some(c) = labels::targets(zone) {
            let _ = write!(
                out,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"#000000\" fill-opacity=\"0\"/>",
                c.0.x, c.0.y, c.1
            );
        }
        out.push_str("</g>\n");
    }
    lines(&mut out, theme, true);
    out.push_str("<g class=\"emphasis\" pointer-events=\"none\">\n");
    for l in looks.iter().filter(|l| l.emphasised) {
        emphasis(&mut out, l.zone, &p);
    }
    out.push_str("</g>\n");
    labels::write(&mut out, &notes, looks, theme);
    if options.legend {
        legend::write(&mut out, looks, options);
    }
    out.push_str("</g>\n");
    out
}

fn zone_shape(out: &mut String, s: &Placed, dress: &Dress, p: &Palette, nth: u64, clear: &[hair::Clear]) {
    let d = path(&s.pieces, true);
    let _ = write!(out, "<path d=\"{d}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"0.8\"/>", dress.fill, p.paper);
    let _ = write!(
        out,
        "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"0.75\" stroke-dasharray=\"0 2.6\" stroke-linecap=\"round\"/>",
        dress.edge
    );
    let spacing = if s.shape.far && dress.shaded { dress.spacing * 0.72 } else { dress.spacing };
    let seed = s.shape.zone as u64 * 16 + nth;
    let (fine, strong) = hair::hatch(s, spacing, seed, dress.shaded, clear);
    for (hairs, width) in [(fine, dress.width), (strong, dress.width * 1.35)] {
        if !hairs.is_empty() {
            let _ = write!(
                out,
                "<path d=\"{hairs}\" fill=\"none\" stroke=\"{}\" stroke-opacity=\"{}\" stroke-width=\"{width:.2}\" \
                 stroke-linecap=\"round\"{}/>",
                dress.hair,
                dress.opacity,
                if dress.dotted { " stroke-dasharray=\"0 3\"" } else { "" }
            );
        }
    }
}

/// The outline: of ears and brows (`over`), or of all that lies behind them.
fn lines(out: &mut String, theme: Theme, over: bool) {
    let (mut base, mut strokes) = (String::new(), String::new());
    for (i, c) in side::CONTOURS.iter().copied().chain(face::contours()).enumerate().filter(|(_, c)| c.over == over) {
        if c.fringe > 0.0 {
            strokes.push_str(&hair::fringe(&c, 4.2, 900 + i as u64));
            continue;
        }
        if c.base {
            base.push_str(&path(&cubics(&c.run, c.flip, &c.view.frame()), false));
        }
        strokes.push_str(&hair::outline(&c, 500 + i as u64));
    }
    let Palette { ink, paper, .. } = theme.palette();
    // Light lines need a dark seam beside them on the scale's light colours.
    let casing = match theme {
        Theme::Dark => format!(
            "<path d=\"{base}\" fill=\"none\" stroke=\"{paper}\" stroke-width=\"2.4\" stroke-opacity=\"0.85\"/>"
        ),
        Theme::Light | Theme::Print => String::new(),
    };
    let _ = write!(
        out,
        "<g class=\"lines\" pointer-events=\"none\">\
{casing}\
         <path d=\"{base}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"0.8\" stroke-linecap=\"round\"/>\
         <path d=\"{strokes}\" fill=\"{ink}\"/>"
    );
    if !over {
        out.push_str(&features::lines(theme));
    }
    out.push_str("</g>\n");
}

fn emphasis(out: &mut String, zone: Zone, p: &Palette) {
    let d: String = placed().iter().filter(|s| s.shape.zone == zone).map(|s| path(&s.pieces, true)).collect();
    let _ = write!(
        out,
        "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"5\"/><path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2.6\"/>",
        p.paper, p.accent
    );
}

/// Text made safe inside an element.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() && c != '\n' && c != '\t' => {}
            c => out.push(c),
        }
    }
    out
}
