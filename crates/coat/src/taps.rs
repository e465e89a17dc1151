//! A day law made ready for running sums over many days at once.

use pulp::{Arch, Simd, WithSimd};

/// Days worked out together.
pub(crate) const BLOCK: usize = 8;

/// Sums that run side by side, each half a block from the next entry that it takes.
const SUMS: usize = BLOCK / 2;

/// Day probabilities padded with zeros at both ends, so that a block of days reads them without a bound check.
#[derive(Clone, Debug)]
pub(crate) struct Taps {
    /// First day with a chance.
    head: usize,
    /// Days that the law covers.
    len: usize,
    padded: Vec<f64>,
    arch: Arch,
}

impl Taps {
    pub(crate) fn new(p: &[f64]) -> Self {
        let head = p.iter().position(|x| *x > 0.0).unwrap_or(0);
        let padded = [&[0.0; BLOCK], p, &[0.0; BLOCK]].concat();
        Taps { head, len: p.len(), padded, arch: Arch::new() }
    }

    /// First day with a chance.
    pub(crate) fn head(&self) -> usize {
        self.head
    }

    /// What the days of a block up to its day `j` put on that day.
    #[inline]
    pub(crate) fn own(&self, days: &[f64; BLOCK], j: usize) -> f64 {
        if self.head > j {
            return 0.0;
        }
        days[..=j - self.head].iter().rev().zip(&self.padded[BLOCK + self.head..]).map(|(x, p)| x * p).sum()
    }

    /// What the entries of a sequence, from `first` on, put on the days `t` to `t + 7`.
    #[inline]
    pub(crate) fn block(&self, seq: &[f64], first: usize, t: usize) -> [f64; BLOCK] {
        let lo = first.max((t + 1).saturating_sub(self.len));
        let hi = seq.len().min((t + BLOCK).saturating_sub(self.head));
        if lo >= hi {
            return [0.0; BLOCK];
        }
        let taps = &self.padded[BLOCK + t + 1 - hi..2 * BLOCK + t - lo];
        self.arch.dispatch(Gather { x: &seq[lo..hi], taps })
    }

    /// What the entries of a sequence put on the days `from..to`.
    pub(crate) fn convolve(&self, seq: &[f64], from: usize, to: usize) -> Vec<f64> {
        let days = to.saturating_sub(from);
        let mut out = vec![0.0; days.next_multiple_of(BLOCK)];
        for (out, t) in out.chunks_exact_mut(BLOCK).zip((from..).step_by(BLOCK)) {
            out.copy_from_slice(&self.block(seq, 0, t));
        }
        out.truncate(days);
        out
    }
}

/// Sum over `x` read backwards of each entry times the window of taps beside it.
struct Gather<'a> {
    x: &'a [f64],
    taps: &'a [f64],
}

impl WithSimd for Gather<'_> {
    type Output = [f64; BLOCK];

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> [f64; BLOCK] {
        let Gather { x, taps } = self;
        // Four sums side by side: none waits for another. Of each, the registers that a block fills.
        let none = simd.splat_f64s(0.0);
        let mut sums = [[none; BLOCK]; SUMS];
        let add = |sum: &mut [S::f64s; BLOCK], a: f64, beside: &[S::f64s]| {
            let a = simd.splat_f64s(a);
            for (sum, w) in sum.iter_mut().zip(beside) {
                *sum = simd.add_f64s(*sum, simd.mul_f64s(a, *w));
            }
        };
        // The taps beside each of four entries; those for the later half of the days are the next four's
        // for the earlier half.
        let half = BLOCK / 2 / S::F64_LANES;
        let mut beside = [[none; BLOCK]; SUMS];
        let later = |beside: &mut [S::f64s; BLOCK], taps: &[f64]| {
            for (i, w) in S::as_simd_f64s(taps).0.iter().enumerate() {
                beside[i] = beside[i + half];
                beside[i + half] = *w;
            }
        };
        for (beside, w) in beside.iter_mut().zip(taps.windows(BLOCK / 2)) {
            later(beside, w);
        }
        let fours = x.rchunks_exact(SUMS);
        let rest = fours.remainder();
        for (four, w) in fours.zip(taps[BLOCK / 2..].windows(BLOCK / 2 + SUMS - 1).step_by(SUMS)) {
            for (k, w) in w.windows(BLOCK / 2).enumerate().take(SUMS) {
                later(&mut beside[k], w);
                add(&mut sums[k], four[SUMS - 1 - k], &beside[k][..2 * half]);
            }
        }
        let done = x.len() - rest.len();
        for (a, w) in rest.iter().rev().zip(taps[done..].windows(BLOCK)) {
            add(&mut sums[0], *a, S::as_simd_f64s(w).0);
        }
        let mut out = [0.0; BLOCK];
        for (i, out) in S::as_mut_simd_f64s(&mut out).0.iter_mut().enumerate() {
            *out = simd.add_f64s(simd.add_f64s(sums[0][i], sums[1][i]), simd.add_f64s(sums[2][i], sums[3][i]));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The plain double loop, for every length, start and end of the sequence.
    #[test]
    fn a_block_is_the_plain_sum() {
        let law = [0.0, 0.0, 0.1, 0.4, 0.3, 0.2];
        for (skip, take) in [(0, 6), (2, 4), (0, 1), (1, 3), (2, 1)] {
            let p = &law[skip..skip + take];
            let taps = Taps::new(p);
            let seq: Vec<f64> = (0..40).map(|i| 1.0 + f64::from(i * i % 17)).collect();
            for end in [0, 1, 5, 20, 40] {
                for t in 0..50 {
                    for (d, got) in (t..60).zip(taps.convolve(&seq[..end], t, 60)) {
                        let want: f64 = (0..=d.min(end.saturating_sub(1)))
                            .filter(|i| *i < end)
                            .map(|i| seq[i] * p.get(d - i).copied().unwrap_or(0.0))
                            .sum();
                        assert!((got - want).abs() < 1e-12, "{p:?} {end} {t} {d}: {got} {want}");
                    }
                    for first in 0..=t {
                        let got = taps.block(&seq[..end.min(t)], first, t);
                        for (j, g) in got.iter().enumerate() {
                            let day = t + j;
                            let want: f64 =
                                (first..t.min(end)).map(|i| seq[i] * p.get(day - i).copied().unwrap_or(0.0)).sum();
                            assert!((g - want).abs() < 1e-12, "{p:?} {end} {t} {first} {j}: {g} {want}");
                        }
                    }
                }
            }
        }
    }
}
