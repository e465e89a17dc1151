//! One sample of every form that the panels show, with its name.

use super::hair::Hair;
use super::ink::{colours, wall_of, write_hair, write_walls};
use super::scene::LEAN;
use super::{HairClass, Panel, Phase, text};
use crate::fonts::{self, Weight};
use crate::options::Options;
use std::fmt::Write as _;

/// Height of the legend's first line, and of each that follows.
const FIRST: f64 = 58.0;
const LINE: f64 = 50.0;

/// One sample of each form that the panels show; gives the height.
pub(super) fn legend(out: &mut String, x: f64, y: f64, width: f64, panels: &[Panel], o: &Options) -> f64 {
    let c = colours(o.theme);
    let any =
        |keep: &dyn Fn(&HairClass) -> bool| panels.iter().flat_map(|p| &p.hairs).any(|h| h.share > 0.01 && keep(h));
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
    let wool = panels.iter().any(|p| p.wool > 0.01);
    let aim = panels.iter().any(|p| p.target_mm.is_some());
    let more: Vec<&str> = [(wool, "wool"), (aim, "length aimed at")].into_iter().filter(|m| m.0).map(|m| m.1).collect();
    let wide = |word: &str| 34.0 + fonts::width(word, 14.0, Weight::Regular);
    let free: f64 = width - shown.iter().map(|i| i.0).chain(more.iter().copied()).map(wide).sum::<f64>();
    let gap = if free < 0.0 { 20.0 } else { (free / (shown.len() + more.len()).max(2) as f64).min(34.0) };
    let (mut at, mut y, mut height) = (x, y, FIRST);
    let mut place = |word: &str| {
        if at > x && at + wide(word) > x + width {
            (at, y, height) = (x, y + LINE, height + LINE);
        }
        let here = (at, y);
        at += wide(word) + gap;
        here
    };
    for (word, phase, hard, cut, take, _) in shown {
        let (at, y) = place(word);
        let ground = y + 36.0;
        let class =
            HairClass { class: String::new(), phase, share: 0.0, mm: 0.0, sd_mm: 0.0, hard: 1.0, cut, to_take: take };
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
            lift: if take {
                9.0
            } else if phase == Phase::Ripe {
                2.5
            } else {
                0.0
            },
            depth: 15.0,
            own: 0.3,
        };
        let _ = writeln!(out, "<path d=\"M{:.1} {ground:.1}h22\" stroke=\"{}\" stroke-width=\"1.3\"/>", at, c.line);
        let mut sample = String::new();
        if phase != Phase::Empty {
            write_walls(out, &wall_of(&hair, 0.8), 0.8, &c);
        }
        write_hair(&mut sample, &hair, &class, 0, 0.8, &c);
        out.push_str(&sample.replacen("class=\"hair", "class=\"sample", 1));
        text(out, at + 28.0, ground + 1.0, 14.0, false, c.p.text, "start", word);
    }
    for word in more {
        let (at, y) = place(word);
        let y = y + 31.0;
        let (d, colour, dash) = if word == "wool" {
            let d = format!("M{at:.1} {y:.1}q5 -9 3 2q-3 8 6 1q6 -9 3 1q-3 7 6 1q5 -7 4 2");
            (d, c.wool, "")
        } else {
            (format!("M{at:.1} {y:.1}h22"), c.p.quiet, " stroke-dasharray=\"6 4\"")
        };
        let _ = writeln!(out, "<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"1.3\"{dash}/>");
        text(out, at + 28.0, y + 6.0, 14.0, false, c.p.text, "start", word);
    }
    out.push_str("</g>\n");
    height
}
