//! Points, smooth strands and flattened outlines. No trigonometry: the same bytes everywhere.

use std::fmt::Write as _;

/// A point or a vector in drawing units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pt {
    pub x: f64,
    pub y: f64,
}

pub(super) const fn pt(x: f64, y: f64) -> Pt {
    Pt { x, y }
}

impl std::ops::Add for Pt {
    type Output = Pt;
    fn add(self, o: Pt) -> Pt {
        pt(self.x + o.x, self.y + o.y)
    }
}

impl std::ops::Sub for Pt {
    type Output = Pt;
    fn sub(self, o: Pt) -> Pt {
        pt(self.x - o.x, self.y - o.y)
    }
}

impl std::ops::Mul<f64> for Pt {
    type Output = Pt;
    fn mul(self, k: f64) -> Pt {
        pt(self.x * k, self.y * k)
    }
}

impl Pt {
    pub fn dot(self, o: Pt) -> f64 {
        self.x * o.x + self.y * o.y
    }

    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The unit vector, or nothing to the right for a null vector.
    pub fn unit(self) -> Pt {
        let l = self.length();
        if l < 1e-9 { pt(1.0, 0.0) } else { self * (1.0 / l) }
    }

    /// Turned a quarter to the left as seen on a screen (y down).
    pub fn left(self) -> Pt {
        pt(self.y, -self.x)
    }
}

/// A smooth line through hand-set knots.
pub(super) type Strand = &'static [(f64, f64)];

/// A stretch of a strand from one knot to another, backwards when `from > to`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub strand: Strand,
    pub from: usize,
    pub to: usize,
    /// Mirrored about x = 0.
    pub flip: bool,
}

pub(super) const fn run(strand: Strand, from: usize, to: usize) -> Run {
    Run { strand, from, to, flip: false }
}

/// The same stretch on the other side of the head seen from the front.
pub(super) const fn mirrored(strand: Strand, from: usize, to: usize) -> Run {
    Run { strand, from, to, flip: true }
}

/// One cubic piece.
pub(super) type Cubic = [Pt; 4];

fn knot(s: Strand, i: usize) -> Pt {
    pt(s[i].0, s[i].1)
}

fn tangent(s: Strand, i: usize) -> Pt {
    let n = s.len();
    if n < 3 {
        return (knot(s, n - 1) - knot(s, 0)).unit();
    }
    if i == 0 || i == n - 1 {
        let (a, b) = if i == 0 { (0, 1) } else { (n - 2, n - 1) };
        let chord = (knot(s, b) - knot(s, a)).unit();
        let next = tangent(s, if i == 0 { 1 } else { n - 2 });
        // Reflecting the neighbour's tangent in the chord keeps the end's bend.
        return (chord * (2.0 * chord.dot(next)) - next).unit();
    }
    let before = knot(s, i) - knot(s, i - 1);
    let after = knot(s, i + 1) - knot(s, i);
    let (b, a) = (before.length(), after.length());
    (before * (a / b.max(1e-9)) + after * (b / a.max(1e-9))).unit()
}

fn place(p: Pt, flip: bool, at: &Frame) -> Pt {
    let x = if flip { -p.x } else { p.x };
    pt(at.x + x * at.scale, at.y + p.y * at.scale)
}

/// Where a view's own units lie in the drawing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub x: f64,
    pub y: f64,
    pub scale: f64,
}

impl Frame {
    pub fn point(&self, x: f64, y: f64, flip: bool) -> Pt {
        place(pt(x, y), flip, self)
    }
}

/// The cubic pieces of a run; `flip` mirrors once more.
pub(super) fn cubics(r: &Run, flip: bool, at: &Frame) -> Vec<Cubic> {
    let turn = r.flip != flip;
    let (low, high) = (r.from.min(r.to), r.from.max(r.to));
    let mut pieces: Vec<Cubic> = (low..high)
        .map(|i| {
            let (a, b) = (knot(r.strand, i), knot(r.strand, i + 1));
            let third = (b - a).length() / 3.0;
            [a, a + tangent(r.strand, i) * third, b - tangent(r.strand, i + 1) * third, b].map(|p| place(p, turn, at))
        })
        .collect();
    if r.from > r.to {
        pieces.reverse();
        for c in &mut pieces {
            c.reverse();
        }
    }
    pieces
}

fn on_cubic(c: &Cubic, t: f64) -> Pt {
    let u = 1.0 - t;
    c[0] * (u * u * u) + c[1] * (3.0 * u * u * t) + c[2] * (3.0 * u * t * t) + c[3] * (t * t * t)
}

/// Cubics as a chain of short straight pieces.
pub(super) fn flatten(pieces: &[Cubic]) -> Vec<Pt> {
    let mut out: Vec<Pt> = pieces.first().map(|c| c[0]).into_iter().collect();
    for c in pieces {
        let steps = (((c[3] - c[0]).length() / 2.0) as usize).clamp(3, 24);
        out.extend((1..=steps).map(|k| on_cubic(c, k as f64 / steps as f64)));
    }
    out
}

/// Whether a point lies inside a polygon (even-odd).
pub(super) fn inside(poly: &[Pt], p: Pt) -> bool {
    let mut hit = false;
    let mut j = poly.len().wrapping_sub(1);
    for i in 0..poly.len() {
        let (a, b) = (poly[i], poly[j]);
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            hit = !hit;
        }
        j = i;
    }
    hit
}

/// Distance from a point to the outline of a polygon.
#[cfg(test)]
pub(super) fn to_edge(poly: &[Pt], p: Pt) -> f64 {
    let mut best = f64::INFINITY;
    let mut j = poly.len().wrapping_sub(1);
    for i in 0..poly.len() {
        best = best.min(to_segment(poly[j], poly[i], p));
        j = i;
    }
    best
}

/// Distance from a point to a straight piece.
#[cfg(test)]
pub(super) fn to_segment(a: Pt, b: Pt, p: Pt) -> f64 {
    let d = b - a;
    let t = ((p - a).dot(d) / d.dot(d).max(1e-12)).clamp(0.0, 1.0);
    (p - (a + d * t)).length()
}

/// The box round points: least x, least y, greatest x, greatest y.
pub(super) fn bounds(poly: &[Pt]) -> (f64, f64, f64, f64) {
    poly.iter().fold((f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY), |b, p| {
        (b.0.min(p.x), b.1.min(p.y), b.2.max(p.x), b.3.max(p.y))
    })
}

/// The centre and radius of about the widest circle inside a polygon, preferring points outside `over`.
#[cfg(test)]
pub(super) fn widest_circle(poly: &[Pt], over: &[&[Pt]]) -> (Pt, f64) {
    let (x0, y0, x1, y1) = bounds(poly);
    let mut best = (pt((x0 + x1) / 2.0, (y0 + y1) / 2.0), 0.0);
    let mut step = ((x1 - x0).min(y1 - y0) / 12.0).max(1.0);
    let mut window = (x0, y0, x1, y1);
    for _ in 0..4 {
        let mut y = window.1;
        while y <= window.3 {
            let mut x = window.0;
            while x <= window.2 {
                let p = pt(x, y);
                if inside(poly, p) && !over.iter().any(|o| inside(o, p)) {
                    let r = over.iter().fold(to_edge(poly, p), |r, o| r.min(to_edge(o, p)));
                    if r > best.1 {
                        best = (p, r);
                    }
                }
                x += step;
            }
            y += step;
        }
        window = (best.0.x - step, best.0.y - step, best.0.x + step, best.0.y + step);
        step /= 4.0;
    }
    best
}

/// Writes a number with at most one decimal, without a needless zero.
pub(super) fn number(out: &mut String, v: f64) {
    let tenths = (v * 10.0).round() as i64;
    let (sign, t) = (if tenths < 0 { "-" } else { "" }, tenths.unsigned_abs());
    let _ = if t % 10 == 0 { write!(out, "{sign}{}", t / 10) } else { write!(out, "{sign}{}.{}", t / 10, t % 10) };
}

/// Writes a pair of numbers after a path letter.
pub(super) fn pair(out: &mut String, letter: &str, p: Pt) {
    out.push_str(letter);
    number(out, p.x);
    out.push(' ');
    number(out, p.y);
}

/// A closed path from cubics.
pub(super) fn path(pieces: &[Cubic], close: bool) -> String {
    let mut d = String::new();
    if let Some(first) = pieces.first() {
        pair(&mut d, "M", first[0]);
    }
    for c in pieces {
        pair(&mut d, "C", c[1]);
        pair(&mut d, " ", c[2]);
        pair(&mut d, " ", c[3]);
    }
    if close {
        d.push('Z');
    }
    d
}

/// A number in 0..1 that depends on its arguments alone.
pub(super) fn chance(seed: u64, k: u64) -> f64 {
    let mut z = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(k.wrapping_mul(0xD1B5_4A32_D192_ED03));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}
