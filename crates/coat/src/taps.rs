//! A day law made ready for running sums over many days at once.

/// Days worked out together.
pub(crate) const BLOCK: usize = 8;

/// Day probabilities padded with zeros, so that a block of days reads them without a bound check.
#[derive(Clone, Debug)]
pub(crate) struct Taps {
    /// First day with a chance.
    head: usize,
    /// Days that the law covers.
    len: usize,
    padded: Vec<f64>,
}

impl Taps {
    pub(crate) fn new(p: &[f64]) -> Self {
        let mut padded = p.to_vec();
        padded.resize(p.len() + BLOCK, 0.0);
        Taps { head: p.iter().position(|x| *x > 0.0).unwrap_or(0), len: p.len(), padded }
    }

    /// First day with a chance.
    pub(crate) fn head(&self) -> usize {
        self.head
    }

    /// Days that the law covers.
    pub(crate) fn len(&self) -> usize {
        self.len
    }

    /// The law at day `k`, which must be below its length and a block.
    #[inline]
    pub(crate) fn at(&self, k: usize) -> f64 {
        self.padded[k]
    }

    /// For the days `t` to `t + 7` what entries `first..t` of a sequence put there.
    #[inline]
    pub(crate) fn block(&self, seq: &[f64], first: usize, t: usize) -> [f64; BLOCK] {
        let near = (self.head + 1).saturating_sub(BLOCK).max(1);
        let far = (self.len - 1).min(t.saturating_sub(first));
        if far < near || t - near >= seq.len() {
            return self.short_block(seq, first, t);
        }
        gather(&seq[t - far..=t - near], &self.padded[near..far + BLOCK])
    }

    /// What the entries of a sequence, none past its end, put on the days `from..to`.
    pub(crate) fn convolve(&self, seq: &[f64], from: usize, to: usize) -> Vec<f64> {
        let mut out = Vec::with_capacity(to.saturating_sub(from));
        let mut t = from;
        while t < to {
            let block = self.block(seq, 0, t);
            for (j, x) in block.iter().enumerate().take(to - t) {
                let own = (self.head..=j).filter_map(|k| Some(seq.get(t + j - k)? * self.padded[k]));
                out.push(x + own.sum::<f64>());
            }
            t += BLOCK;
        }
        out
    }

    /// The same where the sequence ends before `t`.
    fn short_block(&self, seq: &[f64], first: usize, t: usize) -> [f64; BLOCK] {
        let far = (self.len - 1).min(t.saturating_sub(first));
        let near = (self.head + 1).saturating_sub(BLOCK).max(1).max((t + 1).saturating_sub(seq.len()));
        if far < near {
            return [0.0; BLOCK];
        }
        gather(&seq[t - far..=t - near], &self.padded[near..far + BLOCK])
    }
}

/// Sum over `x` read backwards of each entry times the window of taps beside it.
#[inline]
fn gather(x: &[f64], taps: &[f64]) -> [f64; BLOCK] {
    let (mut even, mut odd) = ([0.0; BLOCK], [0.0; BLOCK]);
    let mut windows = taps.windows(BLOCK + 1).step_by(2);
    let pairs = x.rchunks_exact(2);
    let rest = pairs.remainder();
    for (pair, w) in pairs.zip(&mut windows) {
        let (&[b, a], Ok(w)) = (pair, <&[f64; BLOCK + 1]>::try_from(w)) else { continue };
        for j in 0..BLOCK {
            even[j] += a * w[j];
        }
        for j in 0..BLOCK {
            odd[j] += b * w[j + 1];
        }
    }
    if let ([a], Some(w)) = (rest, taps.last_chunk::<BLOCK>()) {
        for j in 0..BLOCK {
            even[j] += a * w[j];
        }
    }
    for j in 0..BLOCK {
        even[j] += odd[j];
    }
    even
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
                        let got = taps.block(&seq[..end], first, t);
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
