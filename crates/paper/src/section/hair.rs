//! One hair in its follicle, as shapes.

use super::Phase;
use super::pen::Pen;

/// What is needed to draw one hair.
#[derive(Clone, Copy, Debug)]
pub(super) struct Hair {
    /// Where it leaves the skin.
    pub x: f64,
    /// Height of the skin there.
    pub y: f64,
    /// Length above the skin, units.
    pub length: f64,
    /// Angle from upright at the skin, radians.
    pub lean: f64,
    /// Bend over the whole length, radians.
    pub bend: f64,
    /// Greatest width, units.
    pub width: f64,
    /// Hard or soft.
    pub hard: bool,
    /// Blunt end.
    pub cut: bool,
    /// Phase.
    pub phase: Phase,
    /// How far it is lifted out of the skin, units.
    pub lift: f64,
    /// Depth of the skin that a growing root reaches, units.
    pub depth: f64,
    /// A number from 0 to 1 of its own.
    pub own: f64,
}

#[derive(Clone, Copy)]
struct At {
    x: f64,
    y: f64,
    nx: f64,
    ny: f64,
}

impl Hair {
    /// Depth of the root below the skin, before lifting.
    fn root(&self) -> f64 {
        match self.phase {
            Phase::Growing => self.depth,
            Phase::Set => self.depth * 0.72,
            Phase::Ripe => self.depth * 0.4,
            Phase::Empty => 0.0,
        }
    }

    /// A point of the middle line, `s` units from the skin (below it negative).
    fn at(&self, s: f64) -> At {
        let k = self.bend / self.length.max(1.0);
        // Straight below the skin, an arc above it.
        let (dx, dy, a) = if s <= 0.0 || k.abs() < 1e-9 {
            (s * self.lean.sin(), s * self.lean.cos(), self.lean)
        } else {
            let a = self.lean + k * s;
            ((self.lean.cos() - a.cos()) / k, (a.sin() - self.lean.sin()) / k, a)
        };
        let (mut wx, mut wy) = (0.0, 0.0);
        if !self.hard && s > 0.0 {
            let wave = (7.0 + 5.0 * self.own) * self.width / 2.2;
            let swing = 0.95 * self.width * (s / (2.0 * wave)).min(1.0);
            let phase = (s / wave + self.own * 6.0).sin() - (self.own * 6.0).sin() * (1.0 - (s / wave).min(1.0));
            (wx, wy) = (a.cos() * swing * phase, a.sin() * swing * phase);
        }
        let up = self.lift;
        At {
            x: self.x + dx + wx + up * self.lean.sin(),
            y: self.y - dy + wy - up * self.lean.cos(),
            nx: a.cos(),
            ny: a.sin(),
        }
    }

    /// Half of the width at `s`.
    fn half(&self, s: f64) -> f64 {
        let t = (s / self.length.max(0.1)).clamp(0.0, 1.0);
        let w = self.width / 2.0;
        if !self.hard {
            // Thin, of even width.
            return w * if self.cut { 0.62 } else { 0.62 * (1.0 - 0.55 * t * t) };
        }
        if self.cut {
            return w * (0.72 + 0.28 * (t * 2.0).min(1.0));
        }
        // Thin at the root, thickest past the middle, then to a point.
        if t < 0.55 { w * (0.62 + 0.38 * t / 0.55) } else { w * (1.0 - ((t - 0.55) / 0.45).powf(1.7)).max(0.0) }
    }

    /// The shaft as a closed path.
    pub fn shaft(&self) -> String {
        let root = -self.root() + if self.phase == Phase::Growing { self.width } else { 0.0 };
        let steps = if self.hard { 5 } else { (self.length / (4.2 * self.width)).ceil().clamp(4.0, 16.0) as usize };
        let mut stops = vec![root];
        stops.extend((0..=steps).map(|i| self.length * i as f64 / steps as f64));
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for s in stops {
            let (p, w) = (self.at(s), self.half(s));
            left.push((p.x - p.nx * w, p.y - p.ny * w));
            right.push((p.x + p.nx * w, p.y + p.ny * w));
        }
        right.reverse();
        let mut pen = Pen::default();
        pen.start(left[0].0, left[0].1);
        smooth(&mut pen, &left);
        pen.line(right[0].0, right[0].1);
        smooth(&mut pen, &right);
        pen.close();
        pen.into_string()
    }

    /// The pith of a hair that grows no more: a line along its middle, from the root to where it narrows.
    pub fn pith(&self) -> String {
        let stops = [-self.root() * 0.8, 0.0, self.length * 0.35, self.length * 0.7].map(|s| self.at(s));
        let mut pen = Pen::default();
        pen.start(stops[0].x, stops[0].y);
        smooth(&mut pen, &stops.map(|p| (p.x, p.y)));
        pen.into_string()
    }

    /// A drop round the root, `rx` and `ry` from its middle to its edges; wound as the shaft, so that both fill one shape.
    pub fn drop(&self, rx: f64, ry: f64) -> String {
        let p = self.at(-self.root());
        let (sin, cos) = self.lean.sin_cos();
        let at = |x: f64, y: f64| (p.x + x * cos - y * sin, p.y + x * sin + y * cos);
        let mut pen = Pen::default();
        let (x, y) = at(-rx, 0.0);
        pen.start(x, y)
            .curve(at(-rx, -ry), at(0.0, -ry))
            .curve(at(rx, -ry), at(rx, 0.0))
            .curve(at(rx, ry), at(0.0, ry))
            .curve(at(-rx, ry), at(-rx, 0.0))
            .close();
        pen.into_string()
    }

    /// Middle of the root, and the angle there in degrees.
    pub fn root_at(&self) -> (f64, f64, f64) {
        let p = self.at(-self.root());
        (p.x, p.y, self.lean.to_degrees())
    }

    /// The tip.
    pub fn tip(&self) -> (f64, f64) {
        let p = self.at(self.length);
        (p.x, p.y)
    }

    /// The blunt end as a short stroke.
    pub fn blunt(&self) -> String {
        let (p, w) = (self.at(self.length), self.width * 0.42);
        stroke((p.x - p.nx * w, p.y - p.ny * w), (p.x + p.nx * w, p.y + p.ny * w))
    }

    /// What lives of a growing hair: the pit of its bulb, and a line to the skin in the middle, `w` wide.
    pub fn living(&self, pit: f64, w: f64) -> String {
        let p = self.at(-self.root() - 1.4 * pit);
        let (a, b) = (self.at(-self.depth * 0.8), self.at(-4.0));
        let mut pen = Pen::default();
        pen.start(p.x - pit, p.y)
            .curve((p.x - pit, p.y - pit), (p.x, p.y - pit))
            .curve((p.x + pit, p.y - pit), (p.x + pit, p.y))
            .curve((p.x + pit, p.y + pit), (p.x, p.y + pit))
            .curve((p.x - pit, p.y + pit), (p.x - pit, p.y))
            .close();
        pen.start(a.x - w / 2.0, a.y)
            .line(b.x - w / 2.0, b.y)
            .line(b.x + w / 2.0, b.y)
            .line(a.x + w / 2.0, a.y)
            .close();
        pen.into_string()
    }

    /// The follicle's two walls down to `depth`, open at the skin.
    pub fn sheath(&self, depth: f64, half: f64) -> String {
        let still = Hair { lift: 0.0, ..*self };
        let (top, neck, low) = (still.at(1.0), still.at(-3.0), still.at(-depth));
        let end = still.at(-depth - half * 1.4);
        let side = |p: &At, w: f64| (p.x + p.nx * w, p.y + p.ny * w);
        let corner = |w: f64| (end.x + low.nx * w, end.y + low.ny * w);
        let mut pen = Pen::default();
        let (x, y) = side(&top, -1.5 * half);
        pen.start(x, y)
            .curve(side(&neck, -half), side(&low, -half))
            .curve(corner(-half), (end.x, end.y))
            .curve(corner(half), side(&low, half))
            .curve(side(&neck, half), side(&top, 1.5 * half));
        pen.into_string()
    }
}

fn stroke(a: (f64, f64), b: (f64, f64)) -> String {
    let mut pen = Pen::default();
    pen.start(a.0, a.1).line(b.0, b.1);
    pen.into_string()
}

/// Continues a path through points, bending at each.
fn smooth(pen: &mut Pen, points: &[(f64, f64)]) {
    for w in points.windows(2).skip(1) {
        let (a, b) = (w[0], w[1]);
        pen.curve(a, ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0));
    }
    if let Some(end) = points.last() {
        pen.line(end.0, end.1);
    }
}
