//! The head from the front: knots for one half, about x = 0.

use super::geometry::{Strand, mirrored, run};
use super::shapes::{Contour, Guide, Shape, View, contour, fringe, guide, shape};
use coat::Zone;

const HEAD: Strand = &[
    (0.0, 64.0), (20.0, 64.5), (36.0, 69.0), (47.0, 82.0), (52.0, 102.0), (52.0, 122.0), (46.0, 142.0), (51.0, 158.0),
    (56.0, 180.0), (54.0, 206.0), (44.0, 232.0), (25.0, 250.0), (0.0, 256.0),
];
const BROW_LINE: Strand = &[(0.0, 106.0), (14.0, 108.0), (32.0, 100.0), (47.0, 82.0)];
const BRIDGE: Strand = &[(14.0, 108.0), (17.0, 126.0), (22.0, 144.0), (23.0, 158.0), (14.0, 168.0), (0.0, 171.0)];
const LIP: Strand = &[(22.0, 144.0), (34.0, 141.0), (46.0, 142.0)];
const EAR: Strand = &[
    (27.0, 66.0), (36.0, 54.0), (53.0, 48.0), (70.0, 55.0), (76.0, 68.0), (72.0, 88.0), (61.0, 109.0),
];
const EAR_IN: Strand = &[(61.0, 109.0), (52.0, 96.0), (41.0, 79.0), (27.0, 66.0)];
const BROW: Strand = &[(6.0, 98.0), (16.0, 88.0), (30.0, 85.0), (42.0, 92.0), (47.0, 106.0)];
const BROW_IN: Strand = &[(47.0, 106.0), (36.0, 105.0), (25.0, 108.0), (12.0, 118.0), (6.0, 98.0)];

const F: View = View::Front;

/// The zones that the front shows.
pub(super) const SHAPES: &[Shape] = &[
    shape(Zone::Cheeks, F, &[run(HEAD, 3, 6), run(LIP, 2, 0), run(BRIDGE, 2, 0), run(BROW_LINE, 1, 3)], LIE),
    shape(Zone::Cheeks, F, &[run(HEAD, 3, 6), run(LIP, 2, 0), run(BRIDGE, 2, 0), run(BROW_LINE, 1, 3)], LIE).mirror(),
    shape(Zone::Skull, F, &[run(HEAD, 0, 3), run(BROW_LINE, 3, 0), mirrored(BROW_LINE, 0, 3), mirrored(HEAD, 3, 0)], LIE),
    shape(Zone::Foreface, F, &[run(BROW_LINE, 0, 1), run(BRIDGE, 0, 5), mirrored(BRIDGE, 5, 0), mirrored(BROW_LINE, 1, 0)], LIE),
    shape(
        Zone::Beard,
        F,
        &[run(BRIDGE, 5, 2), run(LIP, 0, 2), run(HEAD, 6, 12), mirrored(HEAD, 12, 6), mirrored(LIP, 2, 0), mirrored(BRIDGE, 2, 5)],
        LIE,
    ),
    shape(Zone::Ears, F, &[run(EAR, 0, 6), run(EAR_IN, 0, 3)], EAR_LIE),
    shape(Zone::Ears, F, &[run(EAR, 0, 6), run(EAR_IN, 0, 3)], EAR_LIE).mirror(),
    shape(Zone::Brows, F, &[run(BROW, 0, 4), run(BROW_IN, 0, 4)], BROW_LIE),
    shape(Zone::Brows, F, &[run(BROW, 0, 4), run(BROW_IN, 0, 4)], BROW_LIE).mirror(),
];

const LIE: &[Guide] = &[
    guide(0.0, 100.0, 0.0, -3.0, 6.0), guide(0.0, 75.0, 0.0, -3.0, 6.0), guide(30.0, 76.0, 1.0, -2.2, 6.0),
    guide(10.0, 125.0, 0.8, -2.6, 5.0), guide(14.0, 155.0, 2.4, 1.0, 5.0), guide(46.0, 110.0, 0.6, 3.0, 8.0),
    guide(30.0, 130.0, 1.2, 2.6, 7.0), guide(4.0, 176.0, 1.2, 2.6, 14.0), guide(28.0, 155.0, 1.6, 2.6, 15.0),
    guide(48.0, 170.0, 0.6, 3.0, 15.0), guide(10.0, 220.0, 0.1, 3.0, 17.0), guide(40.0, 220.0, -0.3, 3.0, 16.0),
];
const EAR_LIE: &[Guide] = &[guide(50.0, 55.0, 0.6, 2.4, 6.0), guide(62.0, 95.0, -0.2, 3.0, 6.0)];
const BROW_LIE: &[Guide] = &[
    guide(10.0, 100.0, 0.4, 3.0, 10.0), guide(26.0, 94.0, 0.8, 2.6, 11.0), guide(42.0, 98.0, 1.2, 2.6, 11.0),
];

const HALF: &[Contour] = &[
    contour(F, run(HEAD, 0, 3), 1.0, 0.8, LIE),
    contour(F, run(HEAD, 3, 6), 1.0, 1.6, LIE),
    contour(F, run(HEAD, 6, 12), 1.0, 2.4, LIE),
    contour(F, run(EAR, 0, 6), 1.0, 0.5, EAR_LIE),
    contour(F, run(EAR_IN, 3, 0), -1.0, 0.5, EAR_LIE),
    contour(F, run(BROW, 1, 4), 1.0, 1.2, BROW_LIE),
    fringe(F, run(HEAD, 7, 12), 10.0, LIE),
    fringe(F, run(BROW_IN, 0, 3), 8.0, BROW_LIE),
];

/// Outline strokes of both halves.
pub(super) fn contours() -> impl Iterator<Item = Contour> {
    HALF.iter().flat_map(|c| [*c, Contour { flip: true, outside: -c.outside, ..*c }])
}
