//! Eyes, noses and the few inner lines that make a dog of the zones.

use super::geometry::{Strand, cubics, path, run};
use super::shapes::View;
use crate::theme::{Palette, Theme};
use std::fmt::Write as _;

const NOSE: Strand = &[
    (62.0, 95.4),
    (57.0, 94.0),
    (52.0, 94.8),
    (49.4, 97.8),
    (49.6, 101.4),
    (52.4, 104.4),
    (56.6, 105.2),
    (60.6, 103.0),
    (62.6, 99.4),
    (62.0, 95.4),
];
const GROUND: Strand = &[(148.0, 414.0), (186.0, 413.4), (248.0, 411.0)];
const GROUND_BEHIND: Strand = &[(308.0, 409.5), (352.0, 413.2), (420.0, 413.8)];
const NOSTRIL: Strand = &[(51.4, 102.4), (51.8, 99.8), (54.2, 99.2)];
const EYE: Strand =
    &[(106.0, 93.0), (109.0, 89.8), (113.0, 89.6), (116.0, 92.3), (112.0, 95.8), (108.0, 95.4), (106.0, 93.0)];
const TOE_A: Strand = &[(174.0, 403.5), (173.0, 407.0), (175.0, 410.6)];
const TOE_B: Strand = &[(187.0, 403.5), (186.0, 407.2), (188.0, 411.2)];
const TOE_C: Strand = &[(369.0, 403.5), (368.0, 407.0), (370.0, 410.6)];
const TOE_D: Strand = &[(381.0, 403.5), (380.0, 407.2), (382.0, 411.2)];
const TOE_E: Strand = &[(329.0, 398.0), (328.5, 402.0), (330.5, 406.0)];

const FRONT_NOSE: Strand =
    &[(0.0, 150.0), (7.0, 150.3), (11.5, 154.0), (10.8, 160.0), (5.5, 163.5), (2.6, 167.0), (0.0, 168.0)];
const FRONT_NOSTRIL: Strand = &[(3.0, 160.0), (5.0, 156.0), (9.0, 156.5)];
const FRONT_EYE: Strand =
    &[(20.5, 115.2), (24.0, 111.6), (28.6, 110.8), (33.0, 113.4), (30.4, 117.6), (25.2, 118.6), (20.5, 115.2)];
const PARTING: Strand = &[(0.0, 169.0), (0.4, 174.0), (0.0, 180.0)];

fn whole(s: Strand, view: View, flip: bool, close: bool) -> String {
    path(&cubics(&run(s, 0, s.len() - 1), flip, &view.frame()), close)
}

/// Colours of nose and eyes: dark in every theme, with a rim that shows.
fn dark(theme: Theme, p: &Palette) -> (String, String) {
    match theme {
        Theme::Dark => ("#0a0b0d".to_owned(), p.ink.to_string()),
        Theme::Light | Theme::Print => ("#141210".to_owned(), p.ink.to_string()),
    }
}

/// Eyes; painted before the brows, which hang over them.
pub(super) fn eyes(theme: Theme) -> String {
    let p = theme.palette();
    let (fill, rim) = dark(theme, &p);
    let mut out = String::from("<g class=\"eyes\" pointer-events=\"none\">");
    let f = View::Front.frame();
    let eyes = [
        (whole(EYE, View::Side, false, true), View::Side.frame().point(110.3, 92.2, false)),
        (whole(FRONT_EYE, View::Front, false, true), f.point(25.5, 114.2, false)),
        (whole(FRONT_EYE, View::Front, true, true), f.point(-28.5, 114.2, false)),
    ];
    for (d, light) in eyes {
        let _ = write!(
            out,
            "<path d=\"{d}\" fill=\"{fill}\" stroke=\"{rim}\" stroke-width=\"0.9\"/>\
             <circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"1.1\" fill=\"#ffffff\"/>",
            light.x, light.y
        );
    }
    out.push_str("</g>");
    out
}

/// Noses, mouths, folds and toes; painted over the zones.
pub(super) fn lines(theme: Theme) -> String {
    let p = theme.palette();
    let (fill, rim) = dark(theme, &p);
    let mut noses = whole(NOSE, View::Side, false, true);
    let right = cubics(&run(FRONT_NOSE, 0, 6), false, &View::Front.frame());
    let left = cubics(&run(FRONT_NOSE, 6, 0), true, &View::Front.frame());
    noses.push_str(&path(&[right, left].concat(), true));
    let mut fine = String::new();
    for s in [TOE_A, TOE_B, TOE_C, TOE_D, TOE_E] {
        fine.push_str(&whole(s, View::Side, false, false));
    }
    fine.push_str(&whole(PARTING, View::Front, false, false));
    let ground = [GROUND, GROUND_BEHIND].map(|s| whole(s, View::Side, false, false)).concat();
    let mut nostrils = whole(NOSTRIL, View::Side, false, false);
    nostrils.push_str(&whole(FRONT_NOSTRIL, View::Front, false, false));
    nostrils.push_str(&whole(FRONT_NOSTRIL, View::Front, true, false));
    format!(
        "<path d=\"{ground}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"0.7\" stroke-opacity=\"0.55\" stroke-linecap=\"round\"/>\
         <path d=\"{fine}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"1\" stroke-linecap=\"round\"/>\
         <path d=\"{noses}\" fill=\"{fill}\" stroke=\"{rim}\" stroke-width=\"0.9\"/>\
         <path d=\"{nostrils}\" fill=\"none\" stroke=\"#8d8a86\" stroke-width=\"1\" stroke-linecap=\"round\"/>",
        ink = p.ink
    )
}
