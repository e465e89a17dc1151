//! What a drawn zone is made of, and all zones of both views ready for use.

use super::geometry::{Cubic, Frame, Pt, Run, cubics, flatten, inside};
use super::{face, side};
use coat::Zone;
use std::sync::LazyLock;

/// One of the two pictures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum View {
    Side,
    Front,
}

impl View {
    pub const fn frame(self) -> Frame {
        match self {
            View::Side => Frame { x: -34.0, y: -34.0, scale: 1.0 },
            View::Front => Frame { x: 542.0, y: -16.0, scale: 1.15 },
        }
    }
}

/// Which way hair lies near a place, and how long it is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guide {
    pub at: (f64, f64),
    pub toward: (f64, f64),
    pub length: f64,
}

pub(super) const fn guide(x: f64, y: f64, dx: f64, dy: f64, length: f64) -> Guide {
    Guide { at: (x, y), toward: (dx, dy), length }
}

/// A closed area of one zone in one view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    pub zone: Zone,
    pub view: View,
    pub edge: &'static [Run],
    pub lie: &'static [Guide],
    pub flip: bool,
    pub far: bool,
}

pub(super) const fn shape(zone: Zone, view: View, edge: &'static [Run], lie: &'static [Guide]) -> Shape {
    Shape { zone, view, edge, lie, flip: false, far: false }
}

impl Shape {
    /// On the dog's other side, in shade.
    pub const fn far(self) -> Shape {
        Shape { far: true, ..self }
    }

    /// Mirrored about the middle of the head.
    pub const fn mirror(self) -> Shape {
        Shape { flip: true, ..self }
    }
}

/// A stretch of outline drawn as broken hair strokes or as a fringe.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contour {
    pub view: View,
    pub run: Run,
    /// Which side is outside: 1 to the left of travel, -1 to the right.
    pub outside: f64,
    /// How far stroke ends lift off.
    pub rough: f64,
    /// Length of free hairs, 0 for an outline.
    pub fringe: f64,
    pub lie: &'static [Guide],
    pub flip: bool,
    /// Weight of the strokes.
    pub weight: f64,
    /// Held together by a thin line.
    pub base: bool,
    /// Belongs to ears and brows, in front of everything else.
    pub over: bool,
}

impl Contour {
    /// Lighter strokes without a line: a fold of the body.
    pub const fn fine(self) -> Contour {
        Contour { weight: 0.65, base: false, ..self }
    }

    /// Strokes alone: an edge that is all hair.
    pub const fn hairy(self) -> Contour {
        Contour { base: false, ..self }
    }

    /// Rooted well inside, where the edge bends more than the hair: 1 with the outside to the left, -1 to the right.
    pub const fn rooted(self, outside: f64) -> Contour {
        Contour { outside, ..self }
    }

    /// In front of everything else.
    pub const fn over(self) -> Contour {
        Contour { over: true, ..self }
    }
}

pub(super) const fn contour(view: View, run: Run, outside: f64, rough: f64, lie: &'static [Guide]) -> Contour {
    Contour { view, run, outside, rough, fringe: 0.0, lie, flip: false, weight: 1.0, base: true, over: false }
}

pub(super) const fn fringe(view: View, run: Run, length: f64, lie: &'static [Guide]) -> Contour {
    Contour {
        view,
        run,
        outside: 0.0,
        rough: 0.0,
        fringe: length,
        lie,
        flip: false,
        weight: 1.0,
        base: false,
        over: false,
    }
}

/// A shape placed in the drawing.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub shape: Shape,
    pub pieces: Vec<Cubic>,
    pub outline: Vec<Pt>,
}

/// The order in which zones are painted: what lies in front comes later.
pub(super) const PAINT: [Zone; 24] = [
    Zone::Forelegs,
    Zone::HindLegs,
    Zone::InnerThighs,
    Zone::Feet,
    Zone::Underline,
    Zone::Forechest,
    Zone::Shoulders,
    Zone::Sides,
    Zone::Loin,
    Zone::Back,
    Zone::Rump,
    Zone::Thighs,
    Zone::Seat,
    Zone::TailBack,
    Zone::Tail,
    Zone::NeckSides,
    Zone::Throat,
    Zone::Crest,
    Zone::Cheeks,
    Zone::Skull,
    Zone::Foreface,
    Zone::Beard,
    Zone::Ears,
    Zone::Brows,
];

static PLACED: LazyLock<Vec<Placed>> = LazyLock::new(|| {
    let of = |zone: Zone| {
        side::SHAPES.iter().chain(face::SHAPES).filter(move |s| s.zone == zone).map(|s| {
            let frame = s.view.frame();
            let pieces: Vec<Cubic> = s.edge.iter().flat_map(|r| cubics(r, s.flip, &frame)).collect();
            Placed { shape: *s, outline: flatten(&pieces), pieces }
        })
    };
    PAINT.into_iter().flat_map(of).collect()
});

/// All shapes in painting order.
pub(super) fn placed() -> &'static [Placed] {
    &PLACED
}

/// The topmost zone drawn at a point.
pub(super) fn topmost(p: Pt) -> Option<Zone> {
    placed().iter().rev().find(|s| inside(&s.outline, p)).map(|s| s.shape.zone)
}
