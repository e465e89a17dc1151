//! The head from the front: knots for one half, about x = 0.

use super::geometry::{Strand, mirrored, run};
use super::shapes::{Contour, Guide, Shape, View, contour, fringe, guide, shape};
use coat::Zone;

const HEAD: Strand = &[
    (0.0, 64.0),
    (20.0, 64.5),
    (35.0, 68.0),
    (45.0, 80.0),
    (49.0, 100.0),
    (49.0, 120.0),
    (45.0, 138.0),
    (49.0, 152.0),
    (52.0, 172.0),
    (50.0, 196.0),
    (42.0, 220.0),
    (27.0, 238.0),
    (0.0, 246.0),
];
const BROW_LINE: Strand = &[(0.0, 106.0), (14.0, 108.0), (32.0, 100.0), (45.0, 80.0)];
const BRIDGE: Strand = &[(14.0, 108.0), (17.0, 126.0), (22.0, 144.0), (23.0, 158.0), (14.0, 168.0), (0.0, 171.0)];
const LIP: Strand = &[(22.0, 144.0), (34.0, 139.0), (45.0, 138.0)];
const EAR: Strand = &[(25.0, 67.0), (34.0, 59.0), (46.0, 55.5), (57.5, 58.0), (65.0, 66.0)];
const EAR_OUT: Strand = &[(65.0, 66.0), (63.5, 84.0), (55.5, 106.0)];
const EAR_IN: Strand = &[(55.5, 106.0), (45.5, 92.0), (35.0, 78.5), (25.0, 67.0)];
const BROW: Strand = &[(5.0, 99.0), (13.0, 89.0), (28.0, 84.0), (42.0, 89.0), (50.0, 102.0)];
const BROW_MID: Strand = &[(7.5, 110.0), (16.0, 100.0), (30.0, 95.0), (44.0, 97.0)];
const BROW_EDGE: Strand = &[(9.0, 121.0), (5.5, 111.0), (5.0, 99.0)];
const BROW_IN: Strand = &[(50.0, 102.0), (40.0, 104.0), (30.0, 106.5), (19.0, 112.0), (9.0, 121.0)];

const F: View = View::Front;

/// The zones that the front shows.
pub(super) const SHAPES: &[Shape] = &[
    shape(Zone::Cheeks, F, &[run(HEAD, 3, 6), run(LIP, 2, 0), run(BRIDGE, 2, 0), run(BROW_LINE, 1, 3)], LIE),
    shape(Zone::Cheeks, F, &[run(HEAD, 3, 6), run(LIP, 2, 0), run(BRIDGE, 2, 0), run(BROW_LINE, 1, 3)], LIE).mirror(),
    shape(
        Zone::Skull,
        F,
        &[run(HEAD, 0, 3), run(BROW_LINE, 3, 0), mirrored(BROW_LINE, 0, 3), mirrored(HEAD, 3, 0)],
        LIE,
    ),
    shape(
        Zone::Foreface,
        F,
        &[run(BROW_LINE, 0, 1), run(BRIDGE, 0, 5), mirrored(BRIDGE, 5, 0), mirrored(BROW_LINE, 1, 0)],
        LIE,
    ),
    shape(
        Zone::Beard,
        F,
        &[
            run(BRIDGE, 5, 2),
            run(LIP, 0, 2),
            run(HEAD, 6, 12),
            mirrored(HEAD, 12, 6),
            mirrored(LIP, 2, 0),
            mirrored(BRIDGE, 2, 5),
        ],
        LIE,
    ),
    shape(Zone::Ears, F, &[run(EAR, 0, 4), run(EAR_OUT, 0, 2), run(EAR_IN, 0, 3)], EAR_LIE),
    shape(Zone::Ears, F, &[run(EAR, 0, 4), run(EAR_OUT, 0, 2), run(EAR_IN, 0, 3)], EAR_LIE).mirror(),
    shape(Zone::Brows, F, &[run(BROW, 0, 4), run(BROW_IN, 0, 4), run(BROW_EDGE, 0, 2)], BROW_LIE),
    shape(Zone::Brows, F, &[run(BROW, 0, 4), run(BROW_IN, 0, 4), run(BROW_EDGE, 0, 2)], BROW_LIE).mirror(),
];

const LIE: &[Guide] = &[
    guide(0.0, 100.0, 0.0, -3.0, 6.0),
    guide(0.0, 75.0, 0.0, -3.0, 6.0),
    guide(30.0, 76.0, 1.0, -2.2, 6.0),
    guide(10.0, 125.0, 0.8, -2.6, 5.0),
    guide(14.0, 155.0, 2.4, 1.0, 5.0),
    guide(46.0, 110.0, 0.6, 3.0, 8.0),
    guide(30.0, 130.0, 1.2, 2.6, 7.0),
    guide(3.0, 176.0, 0.8, 2.8, 13.0),
    guide(2.0, 196.0, 0.0, 3.0, 15.0),
    guide(28.0, 155.0, 1.6, 2.6, 15.0),
    guide(48.0, 170.0, 0.6, 3.0, 15.0),
    guide(10.0, 220.0, 0.1, 3.0, 17.0),
    guide(40.0, 220.0, -0.3, 3.0, 16.0),
];
const EAR_LIE: &[Guide] = &[guide(50.0, 55.0, 0.6, 2.4, 6.0), guide(62.0, 95.0, -0.2, 3.0, 6.0)];
const BROW_LIE: &[Guide] =
    &[guide(10.0, 100.0, 0.4, 3.0, 10.0), guide(26.0, 94.0, 0.8, 2.6, 11.0), guide(42.0, 98.0, 1.2, 2.6, 11.0)];

const HALF: &[Contour] = &[
    contour(F, run(HEAD, 0, 3), 1.0, 0.8, LIE),
    contour(F, run(HEAD, 3, 6), 1.0, 1.6, LIE),
    contour(F, run(HEAD, 6, 9), 1.0, 2.0, LIE).hairy(),
    fringe(F, run(HEAD, 6, 12), 11.0, LIE),
    fringe(F, run(LIP, 1, 2), 8.0, LIE),
    contour(F, run(EAR, 0, 4), 1.0, 0.4, EAR_LIE).over(),
    contour(F, run(EAR_OUT, 0, 2), 1.0, 0.6, EAR_LIE).over(),
    contour(F, run(EAR_IN, 3, 0), -1.0, 0.5, EAR_LIE).over(),
    fringe(F, run(BROW_IN, 0, 4), 9.0, BROW_LIE).over(),
    fringe(F, run(BROW, 0, 4), 6.0, BROW_LIE).over(),
    fringe(F, run(BROW_MID, 0, 3), 9.0, BROW_LIE).over(),
    fringe(F, run(BROW_EDGE, 0, 2), 9.0, BROW_LIE).over(),
];

/// Outline strokes of both halves.
pub(super) fn contours() -> impl Iterator<Item = Contour> {
    HALF.iter().flat_map(|c| [*c, Contour { flip: true, outside: -c.outside, ..*c }])
}

/// Places in shade, as for the side.
pub(super) const SHADES: &[(f64, f64, f64, f64)] = &[
    (42.0, 125.0, 18.0, 0.8),
    (20.0, 135.0, 12.0, 0.6),
    (0.0, 200.0, 26.0, -0.5),
    (46.0, 180.0, 18.0, 0.6),
    (0.0, 130.0, 10.0, -0.8),
    (28.0, 97.0, 22.0, 1.4),
    (0.0, 78.0, 18.0, -0.4),
    (8.0, 182.0, 12.0, 0.8),
    (60.0, 95.0, 14.0, 0.4),
];
