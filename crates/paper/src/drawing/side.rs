//! The dog from the side: hand-set knots, shared by the zones on both sides of a line.

use super::geometry::{Strand, run};
use super::shapes::{Contour, Guide, Shape, View, contour, fringe, guide, shape};
use coat::Zone;

const TOP: Strand = &[
    (59.0, 95.0),
    (70.0, 92.3),
    (85.0, 89.3),
    (100.0, 86.0),
    (107.0, 76.0),
    (123.0, 69.5),
    (143.0, 66.5),
    (161.0, 70.0),
    (175.0, 84.0),
    (184.0, 106.0),
    (193.0, 131.0),
    (205.0, 151.0),
    (222.0, 163.0),
    (250.0, 166.0),
    (285.0, 166.0),
    (315.0, 165.5),
    (338.0, 165.5),
    (358.0, 167.0),
    (374.0, 171.0),
];
const FRONT: Strand = &[
    (124.0, 136.0),
    (135.0, 152.0),
    (141.0, 172.0),
    (142.0, 192.0),
    (141.0, 212.0),
    (147.0, 237.0),
    (162.0, 260.0),
    (169.0, 290.0),
    (171.0, 325.0),
    (170.0, 360.0),
    (168.0, 390.0),
];
const ELBOW: Strand = &[(223.0, 286.0), (217.0, 303.0), (214.0, 328.0), (214.0, 358.0), (214.0, 390.0)];
const UNDER: Strand = &[(223.0, 286.0), (240.0, 296.0), (265.0, 298.0), (292.0, 292.0), (314.0, 281.0), (334.0, 266.0)];
const FLANK: Strand = &[
    (342.0, 205.0),
    (343.0, 226.0),
    (339.0, 250.0),
    (334.0, 266.0),
    (327.0, 280.0),
    (325.0, 295.0),
    (332.0, 308.0),
    (345.0, 321.0),
    (357.0, 334.0),
    (364.0, 349.0),
    (366.0, 368.0),
    (365.0, 391.0),
];
const REAR: Strand = &[
    (391.0, 178.0),
    (398.0, 190.0),
    (402.0, 205.0),
    (401.0, 222.0),
    (396.0, 240.0),
    (389.0, 262.0),
    (384.0, 284.0),
    (388.0, 302.0),
    (399.0, 319.0),
    (410.5, 335.0),
    (410.0, 350.0),
    (405.0, 368.0),
    (403.0, 391.0),
];
const TAIL: Strand = &[
    (374.0, 171.0),
    (376.0, 150.0),
    (376.0, 129.0),
    (376.0, 110.0),
    (378.0, 94.0),
    (384.5, 84.0),
    (391.5, 91.0),
    (396.0, 109.0),
    (398.5, 131.0),
    (398.0, 157.0),
    (391.0, 178.0),
];
const TAIL_MID: Strand = &[(384.5, 84.0), (386.2, 106.0), (387.0, 129.0), (387.0, 152.0), (384.0, 175.0)];
const TAIL_BASE: Strand = &[(374.0, 171.0), (384.0, 175.0), (391.0, 178.0)];

const LIP: Strand = &[(54.0, 106.0), (69.0, 107.0), (86.0, 106.0), (100.0, 107.0), (110.0, 112.0)];
const NOSE: Strand = &[(59.0, 95.0), (55.0, 101.0), (54.0, 106.0)];
const STOP: Strand = &[(100.0, 86.0), (106.0, 98.0), (110.0, 112.0)];
const SKULL_LOW: Strand = &[(100.0, 86.0), (118.0, 83.0), (140.0, 83.0), (164.0, 86.0)];
const NAPE: Strand = &[(161.0, 70.0), (164.0, 86.0), (160.0, 103.0), (152.0, 119.0), (139.0, 131.0), (124.0, 136.0)];
const JAW: Strand = &[(110.0, 112.0), (113.0, 124.0), (124.0, 136.0)];
const CHIN: Strand = &[
    (54.0, 106.0),
    (50.0, 117.0),
    (47.0, 131.0),
    (46.5, 146.0),
    (52.0, 159.0),
    (66.0, 166.5),
    (87.0, 162.5),
    (106.0, 151.0),
    (124.0, 136.0),
];
const EAR: Strand = &[(132.0, 76.0), (137.0, 69.0), (147.0, 65.5), (158.0, 66.5), (168.0, 73.0)];
const EAR_OUT: Strand = &[(168.0, 73.0), (160.0, 86.0), (148.0, 98.0), (132.0, 108.0)];
const EAR_IN: Strand = &[(132.0, 108.0), (129.5, 97.0), (130.0, 86.0), (132.0, 76.0)];
const BROW: Strand = &[(126.0, 77.0), (116.0, 69.0), (103.0, 69.5), (91.0, 78.0), (82.0, 98.0)];
const BROW_IN: Strand = &[(82.0, 98.0), (95.0, 95.0), (108.0, 90.5), (118.0, 86.5), (126.0, 77.0)];

const THROAT_IN: Strand = &[(139.0, 131.0), (150.0, 150.0), (158.0, 173.0)];
const CHEST_TOP: Strand = &[(140.0, 173.0), (158.0, 173.0)];
const CREST_LOW: Strand = &[(164.0, 86.0), (168.0, 108.0), (177.0, 132.0), (189.0, 155.0), (206.0, 177.0)];
const WITHERS: Strand = &[(222.0, 163.0), (214.0, 169.0), (206.0, 177.0)];
const NECK_LOW: Strand = &[(158.0, 173.0), (172.0, 182.0), (189.0, 183.0), (206.0, 177.0)];
const CHEST_IN: Strand = &[(158.0, 173.0), (165.0, 195.0), (170.0, 219.0), (175.0, 242.0), (182.0, 261.0)];
const LEG_TOP: Strand = &[(162.0, 260.0), (182.0, 261.0), (202.0, 268.0), (223.0, 286.0)];
const SHOULDER: Strand = &[(206.0, 177.0), (218.0, 197.0), (227.0, 227.0), (229.0, 262.0), (223.0, 286.0)];
const BACK_LOW: Strand = &[(218.0, 197.0), (245.0, 198.0), (272.0, 197.0), (296.0, 199.0)];
const LAST_RIB: Strand = &[(285.0, 166.0), (292.0, 182.0), (296.0, 199.0)];
const LOIN_LOW: Strand = &[(296.0, 199.0), (320.0, 204.0), (342.0, 205.0)];
const CROUP: Strand = &[(338.0, 165.5), (343.0, 185.0), (342.0, 205.0)];
const RUMP_LOW: Strand = &[(342.0, 205.0), (362.0, 208.0), (381.0, 203.0)];
const SEAT_TOP: Strand = &[(391.0, 178.0), (385.0, 189.0), (381.0, 203.0)];
const SEAT_IN: Strand = &[(381.0, 203.0), (382.0, 221.0), (387.0, 233.0), (396.0, 240.0)];
const THIGH_LOW: Strand = &[(325.0, 295.0), (354.0, 299.0), (384.0, 284.0)];
const BELLY: Strand = &[(229.0, 262.0), (255.0, 272.0), (285.0, 270.0), (312.0, 262.0), (339.0, 250.0)];

const FAR_HIND: Strand = &[
    (296.0, 287.0),
    (294.0, 296.0),
    (300.0, 307.0),
    (313.0, 319.0),
    (325.0, 331.0),
    (331.0, 344.0),
    (332.0, 362.0),
    (330.0, 386.0),
];
const FAR_GROIN: Strand = &[(314.0, 281.0), (296.0, 287.0)];
const GROIN: Strand = &[(300.0, 307.0), (316.0, 312.0), (332.0, 308.0)];
const FAR_HOCK: Strand = &[(368.0, 322.0), (365.0, 338.0), (361.5, 353.0), (359.0, 365.0), (357.0, 386.0)];
const FAR_HOCK_IN: Strand = &[(332.0, 308.0), (368.0, 322.0)];
const FAR_TOES: Strand = &[
    (330.0, 386.0),
    (324.0, 392.0),
    (321.0, 400.0),
    (325.0, 406.0),
    (337.0, 407.0),
    (351.0, 406.0),
    (358.0, 398.0),
    (357.0, 386.0),
];
const FAR_CUFF: Strand = &[(330.0, 386.0), (343.0, 389.0), (357.0, 386.0)];
const FAR_ELBOW: Strand = &[(240.0, 293.0), (234.0, 308.0), (231.0, 332.0), (230.0, 358.0), (231.0, 385.0)];
const FAR_FRONT: Strand = &[(208.0, 280.0), (211.0, 330.0), (216.0, 386.0)];
const FAR_ARM: Strand = &[(208.0, 280.0), (240.0, 293.0)];
const FAR_WRIST: Strand = &[(216.0, 386.0), (223.0, 388.0), (231.0, 385.0)];
const FAR_PAW: Strand =
    &[(216.0, 386.0), (214.5, 394.0), (214.5, 404.0), (219.0, 407.5), (227.0, 406.5), (233.0, 399.0), (231.0, 385.0)];
const WRIST: Strand = &[(168.0, 390.0), (191.0, 394.0), (214.0, 390.0)];
const PAW: Strand = &[
    (168.0, 390.0),
    (164.5, 397.0),
    (163.0, 404.0),
    (167.0, 409.5),
    (184.0, 411.5),
    (205.0, 410.5),
    (211.0, 403.0),
    (214.0, 390.0),
];
const CUFF: Strand = &[(365.0, 391.0), (384.0, 394.5), (403.0, 391.0)];
const TOES: Strand = &[
    (365.0, 391.0),
    (360.0, 398.0),
    (358.5, 404.0),
    (362.0, 409.5),
    (378.0, 411.5),
    (395.0, 410.5),
    (402.0, 403.0),
    (403.0, 391.0),
];

const S: View = View::Side;

/// The zones as they lie, farthest first within a zone.
pub(super) const SHAPES: &[Shape] = &[
    shape(
        Zone::Forelegs,
        S,
        &[run(FAR_ARM, 0, 1), run(FAR_ELBOW, 0, 4), run(FAR_WRIST, 2, 0), run(FAR_FRONT, 2, 0)],
        LIE,
    )
    .far(),
    shape(Zone::Forelegs, S, &[run(LEG_TOP, 0, 3), run(ELBOW, 0, 4), run(WRIST, 2, 0), run(FRONT, 10, 6)], LIE),
    shape(
        Zone::HindLegs,
        S,
        &[run(GROIN, 0, 2), run(FAR_HOCK_IN, 0, 1), run(FAR_HOCK, 0, 4), run(FAR_CUFF, 2, 0), run(FAR_HIND, 7, 2)],
        LIE,
    )
    .far(),
    shape(Zone::HindLegs, S, &[run(THIGH_LOW, 0, 2), run(REAR, 6, 12), run(CUFF, 2, 0), run(FLANK, 11, 5)], LIE),
    shape(
        Zone::InnerThighs,
        S,
        &[run(UNDER, 5, 4), run(FAR_GROIN, 0, 1), run(FAR_HIND, 0, 2), run(GROIN, 0, 2), run(FLANK, 6, 3)],
        LIE,
    )
    .far(),
    shape(Zone::Feet, S, &[run(FAR_PAW, 0, 6), run(FAR_WRIST, 2, 0)], LIE).far(),
    shape(Zone::Feet, S, &[run(FAR_TOES, 0, 7), run(FAR_CUFF, 2, 0)], LIE).far(),
    shape(Zone::Feet, S, &[run(PAW, 0, 7), run(WRIST, 2, 0)], LIE),
    shape(Zone::Feet, S, &[run(TOES, 0, 7), run(CUFF, 2, 0)], LIE),
    shape(Zone::Underline, S, &[run(BELLY, 0, 4), run(FLANK, 2, 3), run(UNDER, 5, 0), run(SHOULDER, 4, 3)], LIE),
    shape(Zone::Forechest, S, &[run(CHEST_TOP, 0, 1), run(CHEST_IN, 0, 4), run(LEG_TOP, 1, 0), run(FRONT, 6, 2)], LIE),
    shape(
        Zone::Shoulders,
        S,
        &[run(NECK_LOW, 0, 3), run(SHOULDER, 0, 4), run(LEG_TOP, 3, 1), run(CHEST_IN, 4, 0)],
        LIE,
    ),
    shape(
        Zone::Sides,
        S,
        &[run(BACK_LOW, 0, 3), run(LOIN_LOW, 0, 2), run(FLANK, 0, 2), run(BELLY, 4, 0), run(SHOULDER, 3, 1)],
        LIE,
    ),
    shape(Zone::Loin, S, &[run(TOP, 14, 16), run(CROUP, 0, 2), run(LOIN_LOW, 2, 0), run(LAST_RIB, 2, 0)], LIE),
    shape(
        Zone::Back,
        S,
        &[run(TOP, 12, 14), run(LAST_RIB, 0, 2), run(BACK_LOW, 3, 0), run(SHOULDER, 1, 0), run(WITHERS, 2, 0)],
        LIE,
    ),
    shape(
        Zone::Rump,
        S,
        &[run(TOP, 16, 18), run(TAIL_BASE, 0, 2), run(SEAT_TOP, 0, 2), run(RUMP_LOW, 2, 0), run(CROUP, 2, 0)],
        LIE,
    ),
    shape(
        Zone::Thighs,
        S,
        &[run(RUMP_LOW, 0, 2), run(SEAT_IN, 0, 3), run(REAR, 4, 6), run(THIGH_LOW, 2, 0), run(FLANK, 5, 0)],
        LIE,
    ),
    shape(Zone::Seat, S, &[run(REAR, 0, 4), run(SEAT_IN, 3, 0), run(SEAT_TOP, 2, 0)], LIE),
    shape(Zone::TailBack, S, &[run(TAIL, 5, 10), run(TAIL_BASE, 2, 1), run(TAIL_MID, 4, 0)], TAIL_LIE),
    shape(Zone::Tail, S, &[run(TAIL, 0, 5), run(TAIL_MID, 0, 4), run(TAIL_BASE, 1, 0)], TAIL_LIE),
    shape(Zone::NeckSides, S, &[run(NAPE, 1, 4), run(THROAT_IN, 0, 2), run(NECK_LOW, 0, 3), run(CREST_LOW, 4, 0)], LIE),
    shape(Zone::Throat, S, &[run(NAPE, 4, 5), run(FRONT, 0, 2), run(CHEST_TOP, 0, 1), run(THROAT_IN, 2, 0)], LIE),
    shape(Zone::Crest, S, &[run(TOP, 7, 12), run(WITHERS, 0, 2), run(CREST_LOW, 4, 0), run(NAPE, 1, 0)], LIE),
    shape(Zone::Cheeks, S, &[run(SKULL_LOW, 0, 3), run(NAPE, 1, 5), run(JAW, 2, 0), run(STOP, 2, 0)], LIE),
    shape(Zone::Skull, S, &[run(TOP, 3, 7), run(NAPE, 0, 1), run(SKULL_LOW, 3, 0)], LIE),
    shape(Zone::Foreface, S, &[run(TOP, 0, 3), run(STOP, 0, 2), run(LIP, 4, 0), run(NOSE, 2, 0)], LIE),
    shape(Zone::Beard, S, &[run(LIP, 0, 4), run(JAW, 0, 2), run(CHIN, 8, 0)], BEARD_LIE),
    shape(Zone::Ears, S, &[run(EAR, 0, 4), run(EAR_OUT, 0, 3), run(EAR_IN, 0, 3)], EAR_LIE),
    shape(Zone::Brows, S, &[run(BROW, 0, 4), run(BROW_IN, 0, 4)], BROW_LIE),
];

/// The lie of the body coat: place, direction, length.
const LIE: &[Guide] = &[
    guide(70.0, 98.0, 3.0, -1.0, 5.0),
    guide(95.0, 96.0, 3.0, 0.4, 5.0),
    guide(112.0, 74.0, 2.0, -1.0, 7.0),
    guide(140.0, 72.0, 3.0, 0.6, 7.0),
    guide(118.0, 100.0, 2.0, 1.6, 7.0),
    guide(140.0, 112.0, 1.6, 2.0, 8.0),
    guide(118.0, 125.0, 1.0, 2.0, 8.0),
    guide(162.0, 84.0, 1.4, 2.4, 9.0),
    guide(185.0, 125.0, 1.2, 2.6, 10.0),
    guide(150.0, 130.0, 1.0, 2.8, 9.0),
    guide(134.0, 155.0, 0.7, 3.0, 8.0),
    guide(170.0, 160.0, 1.4, 2.4, 10.0),
    guide(212.0, 165.0, 3.0, 1.4, 11.0),
    guide(150.0, 200.0, 0.8, 3.0, 9.0),
    guide(165.0, 245.0, 0.5, 3.0, 10.0),
    guide(190.0, 200.0, 1.6, 2.4, 11.0),
    guide(205.0, 245.0, 1.0, 2.8, 11.0),
    guide(245.0, 172.0, 3.0, 0.4, 12.0),
    guide(290.0, 172.0, 3.0, 0.2, 12.0),
    guide(340.0, 172.0, 3.0, 0.4, 11.0),
    guide(370.0, 180.0, 2.4, 1.6, 9.0),
    guide(250.0, 220.0, 2.8, 1.4, 12.0),
    guide(300.0, 215.0, 3.0, 1.2, 12.0),
    guide(250.0, 255.0, 2.2, 2.0, 12.0),
    guide(310.0, 245.0, 2.4, 1.7, 11.0),
    guide(250.0, 288.0, 1.6, 2.4, 12.0),
    guide(310.0, 275.0, 1.8, 2.0, 11.0),
    guide(358.0, 230.0, 1.4, 2.6, 11.0),
    guide(350.0, 270.0, 1.0, 2.8, 11.0),
    guide(375.0, 260.0, 0.8, 2.8, 10.0),
    guide(394.0, 215.0, -0.2, 3.0, 8.0),
    guide(350.0, 300.0, 1.4, 2.4, 11.0),
    guide(385.0, 315.0, 1.6, 2.4, 10.0),
    guide(388.0, 350.0, -0.2, 3.0, 12.0),
    guide(388.0, 395.0, -0.8, 3.0, 7.0),
    guide(190.0, 300.0, 0.2, 3.0, 12.0),
    guide(180.0, 350.0, -0.1, 3.0, 12.0),
    guide(205.0, 350.0, 0.5, 3.0, 12.0),
    guide(188.0, 400.0, -0.8, 3.0, 7.0),
    guide(325.0, 295.0, 0.6, 3.0, 7.0),
    guide(352.0, 350.0, -0.1, 3.0, 11.0),
    guide(225.0, 340.0, 0.3, 3.0, 11.0),
];
const TAIL_LIE: &[Guide] = &[
    guide(380.0, 160.0, -0.4, -3.0, 10.0),
    guide(378.0, 100.0, -0.5, -3.0, 10.0),
    guide(392.0, 150.0, 0.8, -3.0, 9.0),
    guide(390.0, 95.0, 0.5, -3.0, 9.0),
    guide(383.0, 74.0, 0.0, -3.0, 7.0),
];
const BEARD_LIE: &[Guide] = &[
    guide(62.0, 112.0, -1.0, 2.6, 12.0),
    guide(85.0, 110.0, -0.9, 2.6, 14.0),
    guide(104.0, 114.0, -0.7, 2.8, 13.0),
    guide(60.0, 140.0, -0.3, 3.0, 14.0),
    guide(85.0, 145.0, -0.5, 3.0, 16.0),
    guide(112.0, 138.0, -0.6, 3.0, 12.0),
];
const EAR_LIE: &[Guide] = &[guide(150.0, 65.0, -1.0, 1.2, 6.0), guide(138.0, 98.0, -1.2, 2.2, 6.0)];
const BROW_LIE: &[Guide] =
    &[guide(120.0, 78.0, -3.0, -0.6, 9.0), guide(103.0, 76.0, -2.6, 1.6, 12.0), guide(92.0, 90.0, -1.2, 3.0, 10.0)];

/// Broken outline strokes, each run in the direction of the hair.
pub(super) const CONTOURS: &[Contour] = &[
    contour(S, run(TOP, 0, 3), 1.0, 0.5, LIE),
    contour(S, run(TOP, 4, 7), 1.0, 1.0, LIE),
    contour(S, run(TOP, 7, 12), 1.0, 2.8, LIE),
    contour(S, run(TOP, 12, 18), 1.0, 2.3, LIE),
    contour(S, run(TAIL, 0, 5), 1.0, 2.0, TAIL_LIE),
    contour(S, run(TAIL, 10, 5), -1.0, 2.2, TAIL_LIE),
    contour(S, run(REAR, 0, 6), 1.0, 2.6, LIE),
    contour(S, run(REAR, 6, 9), 1.0, 2.0, LIE),
    contour(S, run(REAR, 9, 12), 1.0, 3.0, LIE).hairy(),
    contour(S, run(FLANK, 1, 3), -1.0, 1.2, LIE).fine(),
    contour(S, run(FLANK, 3, 7), -1.0, 2.0, LIE),
    contour(S, run(FLANK, 7, 11), -1.0, 2.6, LIE).hairy(),
    contour(S, run(UNDER, 0, 5), -1.0, 0.9, LIE).hairy(),
    contour(S, run(FRONT, 0, 6), -1.0, 2.5, LIE),
    contour(S, run(FRONT, 6, 10), -1.0, 2.6, LIE).hairy(),
    contour(S, run(SHOULDER, 2, 4), -1.0, 1.5, LIE).fine(),
    contour(S, run(ELBOW, 0, 4), 1.0, 3.2, LIE).hairy(),
    contour(S, run(FAR_ELBOW, 0, 4), 1.0, 2.4, LIE).hairy(),
    contour(S, run(FAR_HIND, 0, 7), -1.0, 2.0, LIE).hairy(),
    contour(S, run(FAR_HOCK, 2, 4), 1.0, 1.8, LIE).hairy(),
    contour(S, run(PAW, 1, 6), -1.0, 0.4, LIE),
    contour(S, run(TOES, 1, 6), -1.0, 0.4, LIE),
    contour(S, run(FAR_PAW, 3, 6), -1.0, 0.4, LIE),
    contour(S, run(FAR_TOES, 0, 5), -1.0, 0.4, LIE),
    contour(S, run(NAPE, 2, 5), -1.0, 1.4, LIE).fine(),
    contour(S, run(CHIN, 0, 2), -1.0, 1.6, BEARD_LIE).hairy(),
    fringe(S, run(CHIN, 1, 8), 12.0, BEARD_LIE),
    fringe(S, run(LIP, 0, 4), 11.0, BEARD_LIE),
    fringe(S, run(UNDER, 0, 5), 7.0, LIE),
    fringe(S, run(ELBOW, 0, 4), 8.0, LIE),
    fringe(S, run(FRONT, 6, 10), 7.0, LIE),
    fringe(S, run(WRIST, 0, 2), 13.0, LIE),
    fringe(S, run(FAR_WRIST, 1, 2), 10.0, LIE),
    fringe(S, run(REAR, 9, 12), 7.0, LIE),
    fringe(S, run(FLANK, 6, 11), 6.0, LIE),
    fringe(S, run(CUFF, 0, 2), 13.0, LIE),
    fringe(S, run(FAR_CUFF, 0, 2), 10.0, LIE),
    fringe(S, run(FAR_HIND, 2, 7), 6.0, LIE),
    fringe(S, run(FAR_ELBOW, 0, 4), 6.0, LIE),
    fringe(S, run(TAIL, 9, 6), 6.0, TAIL_LIE),
    fringe(S, run(TAIL, 1, 5), 3.5, TAIL_LIE),
    contour(S, run(EAR, 0, 4), 1.0, 0.4, EAR_LIE).over(),
    contour(S, run(EAR_OUT, 0, 3), 1.0, 0.6, EAR_LIE).over(),
    contour(S, run(EAR_IN, 3, 0), 1.0, 0.5, EAR_LIE).over(),
    fringe(S, run(BROW, 0, 2), 5.0, BROW_LIE).rooted(-1.0).over(),
    fringe(S, run(BROW, 2, 4), 12.0, BROW_LIE).rooted(-1.0).over(),
    fringe(S, run(BROW_IN, 0, 4), 9.0, BROW_LIE).over(),
];

/// Places in shade: middle, reach, strength; below zero is light.
pub(super) const SHADES: &[(f64, f64, f64, f64)] = &[
    (232.0, 262.0, 30.0, 1.0),
    (275.0, 288.0, 45.0, 0.8),
    (338.0, 240.0, 22.0, 0.8),
    (130.0, 146.0, 22.0, 1.0),
    (160.0, 108.0, 20.0, 0.9),
    (320.0, 295.0, 30.0, 1.0),
    (215.0, 315.0, 26.0, 0.7),
    (392.0, 270.0, 24.0, 0.7),
    (365.0, 325.0, 22.0, 0.5),
    (112.0, 140.0, 24.0, 0.7),
    (392.0, 140.0, 26.0, 0.5),
    (112.0, 98.0, 10.0, 0.6),
    (103.0, 82.0, 22.0, 1.4),
    (260.0, 200.0, 55.0, -0.7),
    (190.0, 215.0, 30.0, -0.6),
    (362.0, 232.0, 24.0, -0.6),
    (190.0, 335.0, 26.0, -0.5),
    (82.0, 119.0, 15.0, 0.9),
    (207.0, 370.0, 14.0, 0.5),
    (395.0, 370.0, 14.0, 0.4),
    (75.0, 100.0, 20.0, -0.5),
    (160.0, 215.0, 16.0, 0.3),
];
