//! Inner products in the widest registers that the machine has.
//!
//! Whatever their width, the same sixteen sums run side by side and are added up in the same order:
//! every machine gets the same digits.

use pulp::{Arch, Simd, WithSimd};

/// Sums run side by side, so that none waits for another: as many as fill four of the widest registers.
const LANES: usize = 16;

/// The most of them that one register holds.
const FOUR: usize = 4;

/// Up to this length the widest registers are not worth asking for.
const SHORT: usize = 8;

/// Sum of `a[i] * b[i]` over the shorter of the two.
#[inline]
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    if a.len().min(b.len()) <= SHORT {
        return a.iter().zip(b).map(|(x, y)| x * y).sum();
    }
    Arch::new().dispatch(Products(a, b))
}

struct Products<'a>(&'a [f64], &'a [f64]);

impl WithSimd for Products<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> f64 {
        products(simd, self.0, self.1)
    }
}

/// [`dot`] for code that has the widest registers at hand.
#[inline(always)]
pub(crate) fn products<S: Simd>(simd: S, a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let (ca, cb) = (a[..n].chunks_exact(LANES), b[..n].chunks_exact(LANES));
    let (ra, rb) = (ca.remainder(), cb.remainder());
    let fours = ra.len() / FOUR * FOUR;
    let rest: f64 = ra[fours..].iter().zip(&rb[fours..]).map(|(x, y)| x * y).sum();
    // The registers that the sums fill; others stay unused.
    let mut sums = [simd.splat_f64s(0.0); LANES];
    let mut add = |x: &[f64], y: &[f64]| {
        let pairs = S::as_simd_f64s(x).0.iter().zip(S::as_simd_f64s(y).0);
        for (sum, (x, y)) in sums.iter_mut().zip(pairs) {
            *sum = simd.add_f64s(*sum, simd.mul_f64s(*x, *y));
        }
    };
    for (x, y) in ca.zip(cb) {
        add(x, y);
    }
    add(&ra[..fours], &rb[..fours]);
    // Registers that hold four of the sums.
    let four = FOUR / S::F64_LANES;
    let mut lanes = [0.0; FOUR];
    for (i, lanes) in S::as_mut_simd_f64s(&mut lanes).0.iter_mut().enumerate() {
        let pair = |i: usize| simd.add_f64s(sums[i], sums[i + four]);
        *lanes = simd.add_f64s(pair(i), pair(i + 2 * four));
    }
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]) + rest
}

/// Sum of the entries.
#[inline]
pub(crate) fn sum(v: &[f64]) -> f64 {
    let mut lanes = [0.0_f64; LANES];
    let chunks = v.chunks_exact(LANES);
    let rest: f64 = chunks.remainder().iter().sum();
    for x in chunks {
        for (sum, x) in lanes.iter_mut().zip(x) {
            *sum += x;
        }
    }
    let four = |i: usize| (lanes[i] + lanes[i + 4]) + (lanes[i + 8] + lanes[i + 12]);
    (four(0) + four(1)) + (four(2) + four(3)) + rest
}
