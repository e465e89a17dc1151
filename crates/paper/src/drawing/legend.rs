//! The scale under the head.

use super::geometry::{chance, pair, pt};
use super::{DrawingOptions, PRINT_STEPS, Theme, ZoneLook, escape};
use crate::fonts::{self, Weight};
use crate::theme::scale;
use std::fmt::Write as _;

const LEFT: f64 = 436.0;
const RIGHT: f64 = 673.0;
const TOP: f64 = 352.0;
const TALL: f64 = 18.0;
const SIZE: f64 = 17.5;
const LINE: f64 = 22.0;

/// Writes the scale with its caption; nothing without any value to read.
pub(super) fn write(out: &mut String, looks: &[ZoneLook], options: &DrawingOptions) {
    if looks.iter().all(|l| l.value.is_none()) && options.scale_caption.is_empty() {
        return;
    }
    let p = options.theme.palette();
    let mut parts = options.scale_caption.splitn(3, '|');
    let (first, second, third) = (parts.next().unwrap_or(""), parts.next(), parts.next());
    let (low, caption, high) = match (second, third) {
        (Some(what), Some(high)) => (first, what, high),
        _ => ("0", options.scale_caption.as_str(), "1"),
    };
    let _ = write!(
        out,
        "<g class=\"legend\" font-family=\"'Coatwright Sans', sans-serif\" font-size=\"{SIZE}\" fill=\"{}\">",
        p.text
    );
    let steps = PRINT_STEPS.len();
    if options.theme == Theme::Print {
        let wide = (RIGHT - LEFT) / steps as f64;
        for (i, (spacing, width)) in PRINT_STEPS.iter().enumerate() {
            let x0 = LEFT + wide * i as f64;
            let _ = write!(
                out,
                "<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\" stroke-linecap=\"round\"/>",
                sample(x0, wide, *spacing),
                p.ink
            );
            let _ = write!(
                out,
                "<rect x=\"{x0:.1}\" y=\"{TOP}\" width=\"{wide:.1}\" height=\"{TALL}\" fill=\"none\" stroke=\"{}\" stroke-width=\"0.8\"/>",
                p.ink
            );
        }
    } else {
        let n = 40;
        let wide = (RIGHT - LEFT) / f64::from(n);
        for i in 0..n {
            let x0 = LEFT + wide * f64::from(i);
            let _ = write!(
                out,
                "<rect x=\"{x0:.1}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{TALL}\" fill=\"{}\"/>",
                wide + 0.3,
                scale((f64::from(i) + 0.5) / f64::from(n))
            );
        }
        let _ = write!(
            out,
            "<rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{}\" height=\"{TALL}\" fill=\"none\" stroke=\"{}\" stroke-width=\"0.8\"/>",
            RIGHT - LEFT,
            p.ink
        );
    }
    let mut words = |x: f64, y: f64, anchor: &str, text: &str| {
        let _ = writeln!(out, "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\">{}</text>", escape(text));
    };
    let lines = fonts::wrap(caption, SIZE, Weight::Regular, RIGHT - LEFT, 2);
    for (i, line) in lines.iter().enumerate() {
        words(LEFT, TOP - 9.0 - LINE * (lines.len() - 1 - i) as f64, "start", line);
    }
    let under = TOP + TALL + SIZE;
    words(LEFT, under, "start", low);
    words(RIGHT, under, "end", high);
    out.push_str("</g>\n");
}

/// Upright hairs as dense as a step of the pattern.
fn sample(x0: f64, wide: f64, spacing: f64) -> String {
    let mut d = String::new();
    let count = (wide * TALL / (spacing * spacing) * 1.6) as u64 + 2;
    for k in 0..count {
        let u = (0.5 + k as f64 * 0.754_877_666_246_692_7).fract();
        let v = (0.5 + k as f64 * 0.569_840_290_998_053_2).fract();
        let lean = chance(77, k) - 0.5;
        pair(&mut d, "M", pt(x0 + 3.0 + u * (wide - 8.0), TOP + 1.5 + v * (TALL - 9.0)));
        pair(&mut d, "q", pt(1.2, 3.0));
        pair(&mut d, " ", pt(2.0 + lean, 6.0));
    }
    d
}
