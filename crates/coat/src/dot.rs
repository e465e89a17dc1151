//! Inner products, written so that the compiler uses the widest registers that the machine has.

use pulp::{Arch, Simd, WithSimd};

/// Up to this length the widest registers are not worth asking for.
const SHORT: usize = 48;

/// Sum of `a[i] * b[i]` over the shorter of the two.
#[inline]
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    if a.len().min(b.len()) <= SHORT { products(a, b) } else { Arch::new().dispatch(Products(a, b)) }
}

struct Products<'a>(&'a [f64], &'a [f64]);

impl WithSimd for Products<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> f64 {
        products(self.0, self.1)
    }
}

#[inline(always)]
fn products(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    let mut acc = [0.0_f64; 8];
    let (ca, cb) = (a.chunks_exact(8), b.chunks_exact(8));
    let (ra, rb) = (ca.remainder(), cb.remainder());
    for (x, y) in ca.zip(cb) {
        for i in 0..8 {
            acc[i] += x[i] * y[i];
        }
    }
    let tail: f64 = ra.iter().zip(rb).map(|(x, y)| x * y).sum();
    ((acc[0] + acc[4]) + (acc[1] + acc[5])) + ((acc[2] + acc[6]) + (acc[3] + acc[7])) + tail
}

/// Sum of the entries.
#[inline]
pub(crate) fn sum(v: &[f64]) -> f64 {
    let mut acc = [0.0_f64; 8];
    let chunks = v.chunks_exact(8);
    let rest: f64 = chunks.remainder().iter().sum();
    for x in chunks {
        for i in 0..8 {
            acc[i] += x[i];
        }
    }
    ((acc[0] + acc[4]) + (acc[1] + acc[5])) + ((acc[2] + acc[6]) + (acc[3] + acc[7])) + rest
}
