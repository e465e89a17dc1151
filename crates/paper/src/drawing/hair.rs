//! Hair: hatching that follows the coat's lie, broken outline strokes and fringes.

use super::geometry::{Pt, bounds, chance, cubics, flatten, inside, pair, pt};
use super::shapes::{Contour, Guide, Placed, View};
use super::{face, side};
use coat::Zone;

/// A rectangle kept free of hair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Clear {
    pub x0: f64,
    pub y0: f64,
    pub x1: f64,
    pub y1: f64,
}

impl Clear {
    pub fn holds(&self, p: Pt) -> bool {
        p.x > self.x0 && p.x < self.x1 && p.y > self.y0 && p.y < self.y1
    }

    #[cfg(test)]
    pub fn meets(&self, o: &Clear) -> bool {
        self.x0 < o.x1 && o.x0 < self.x1 && self.y0 < o.y1 && o.y0 < self.y1
    }
}

/// Direction and drawn length of the hair at a place of the drawing.
pub(super) fn lie(guides: &[Guide], view: View, p: Pt) -> (Pt, f64) {
    let frame = view.frame();
    let (mut x, y) = ((p.x - frame.x) / frame.scale, (p.y - frame.y) / frame.scale);
    let mirrored = view == View::Front && x < 0.0;
    if mirrored {
        x = -x;
    }
    let (mut toward, mut length, mut sum) = (pt(0.0, 0.0), 0.0, 0.0);
    for g in guides {
        let d = pt(x - g.at.0, y - g.at.1);
        let near = d.dot(d) + 30.0;
        let w = 1.0 / (near * near);
        toward = toward + pt(g.toward.0, g.toward.1).unit() * w;
        length += g.length * w;
        sum += w;
    }
    let mut u = toward.unit();
    if mirrored {
        u.x = -u.x;
    }
    (u, length / sum.max(1e-12) * frame.scale)
}

/// Share of the hairs that is drawn at a place, so that light and shade model the body.
fn shade(view: View, p: Pt) -> f64 {
    let frame = view.frame();
    let (x, y) = ((p.x - frame.x) / frame.scale, (p.y - frame.y) / frame.scale);
    let (x, spots) = match view {
        View::Side => (x, side::SHADES),
        View::Front => (x.abs(), face::SHADES),
    };
    let tone: f64 = spots
        .iter()
        .map(|(cx, cy, reach, strength)| {
            let d = pt(x - cx, y - cy);
            let q = 1.0 - d.dot(d) / (reach * reach);
            if q > 0.0 { strength * q } else { 0.0 }
        })
        .sum();
    (0.62 + 0.5 * tone).clamp(0.2, 1.0)
}

fn bent(at: Pt, guides: &[Guide], view: View, length: f64, lean: f64) -> (Pt, Pt) {
    let (d0, _) = lie(guides, view, at);
    let bend = at + (d0 + d0.left() * (lean * 0.3)).unit() * (length * 0.55);
    let (d1, _) = lie(guides, view, bend);
    (bend, bend + (d1 + d1.left() * lean).unit() * (length * 0.5))
}

fn stroke(d: &mut String, a: Pt, b: Pt, c: Pt) {
    pair(d, "M", a);
    pair(d, "q", b - a);
    pair(d, " ", c - a);
}

/// The hairs of one shape as two paths, fine and strong, about `spacing` apart; denser hatching keeps the sparser one's hairs.
pub(super) fn hatch(s: &Placed, spacing: f64, seed: u64, shaded: bool, clear: &[Clear]) -> (String, String) {
    let (x0, y0, x1, y1) = bounds(&s.outline);
    let count = ((x1 - x0) * (y1 - y0) / (spacing * spacing)) as u64;
    let (mut fine, mut strong) = (String::new(), String::new());
    for k in 0..count {
        // An evenly spread sequence in two dimensions, shaken a little.
        let u = (0.5 + k as f64 * 0.754_877_666_246_692_7).fract();
        let v = (0.5 + k as f64 * 0.569_840_290_998_053_2).fract();
        let shake = pt(chance(seed, 3 * k) - 0.5, chance(seed, 3 * k + 1) - 0.5) * (spacing * 0.5);
        let at = pt(x0 + u * (x1 - x0), y0 + v * (y1 - y0)) + shake;
        if !inside(&s.outline, at) {
            continue;
        }
        if shaded && chance(seed ^ 0x5eed, k) > shade(s.shape.view, at) {
            continue;
        }
        let (_, length) = lie(s.shape.lie, s.shape.view, at);
        let vary = chance(seed, 3 * k + 2);
        let (bend, end) = bent(at, s.shape.lie, s.shape.view, length * (0.7 + 0.5 * vary), (vary - 0.5) * 0.5);
        if !inside(&s.outline, bend) || clear.iter().any(|c| c.holds(at) || c.holds(bend) || c.holds(end)) {
            continue;
        }
        // Feet, ears and the far side are neat: no hair past their edge.
        if (s.shape.far || matches!(s.shape.zone, Zone::Feet | Zone::Ears)) && !inside(&s.outline, end) {
            continue;
        }
        let d = if shaded && chance(seed ^ 0xb01d, k) > 0.72 { &mut strong } else { &mut fine };
        stroke(d, at, bend, end);
    }
    (fine, strong)
}

/// Walks along a chain of points.
struct Walk {
    points: Vec<Pt>,
    reach: Vec<f64>,
}

impl Walk {
    fn new(points: Vec<Pt>) -> Walk {
        let mut reach = vec![0.0];
        for w in points.windows(2) {
            reach.push(reach.last().copied().unwrap_or(0.0) + (w[1] - w[0]).length());
        }
        Walk { points, reach }
    }

    fn length(&self) -> f64 {
        self.reach.last().copied().unwrap_or(0.0)
    }

    fn at(&self, s: f64) -> (Pt, Pt) {
        let s = s.clamp(0.0, self.length());
        let i = self.reach.partition_point(|r| *r < s).clamp(1, self.points.len() - 1);
        let (a, b) = (self.points[i - 1], self.points[i]);
        let t = (s - self.reach[i - 1]) / (self.reach[i] - self.reach[i - 1]).max(1e-9);
        (a + (b - a) * t, (b - a).unit())
    }
}

fn walk(c: &Contour) -> Walk {
    Walk::new(flatten(&cubics(&c.run, c.flip, &c.view.frame())))
}

/// A hair-shaped blade: pointed at both ends, widest near its root.
fn blade(d: &mut String, a: Pt, b: Pt, c: Pt, width: f64) {
    let side = (c - a).unit().left() * (width / 2.0);
    pair(d, "M", a);
    pair(d, "Q", b + side);
    pair(d, " ", c);
    pair(d, "Q", b - side);
    pair(d, " ", a);
    d.push('Z');
}

/// The broken, lifting strokes of one stretch of outline, as filled blades.
pub(super) fn outline(c: &Contour, seed: u64) -> String {
    let w = walk(c);
    let (total, scale) = (w.length(), c.view.frame().scale);
    let mut d = String::new();
    let (mut s, mut k) = (-3.0, 0);
    while s < total - 2.0 {
        let (r1, r2, r3) = (chance(seed, 3 * k), chance(seed, 3 * k + 1), chance(seed, 3 * k + 2));
        let long = (10.0 + 12.0 * r1) * scale;
        let (a, _) = w.at(s);
        let (m, _) = w.at(s + long * 0.5);
        let (e, along) = w.at((s + long).min(total));
        let out = along.left() * c.outside;
        let (hair, _) = lie(c.lie, c.view, e);
        let lift = c.rough * (0.3 + 1.1 * r2 * r2) * scale;
        let end = e + out * lift + hair * (lift * 0.8);
        // The middle control point makes the blade pass over the outline's own middle.
        let through = m * 2.0 - (a + end) * 0.5;
        blade(&mut d, a, through, end, c.weight * (1.4 + 1.2 * r3));
        // Most strokes overlap; now and then the line breaks.
        s += long * if r3 > 0.86 { 1.12 } else { 0.45 + 0.3 * r2 };
        k += 1;
    }
    d
}

/// Free hairs that start just inside an outline and end outside it.
pub(super) fn fringe(c: &Contour, spacing: f64, seed: u64) -> String {
    let w = walk(c);
    let scale = c.view.frame().scale;
    let mut d = String::new();
    let (mut s, mut k) = (0.0, 0);
    while s < w.length() {
        let (r1, r2) = (chance(seed, 2 * k), chance(seed, 2 * k + 1));
        let (p, along) = w.at(s);
        let (hair, _) = lie(c.lie, c.view, p);
        let length = c.fringe * scale * (0.55 + 0.7 * r1);
        let root = p - hair * (length * 1.1) - along.left() * (c.outside * 0.35 * length);
        let (bend, end) = bent(root, c.lie, c.view, length * (1.35 + 0.5 * r2), (r2 - 0.5) * 0.35);
        blade(&mut d, root, bend, end, 1.1 + 0.7 * r1);
        s += spacing * (0.6 + 0.8 * r2);
        k += 1;
    }
    d
}
