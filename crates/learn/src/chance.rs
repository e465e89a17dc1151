//! Distributions, a quasi-random filling, and random numbers from a seed.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use statrs::function::erf::{erfc, erfc_inv};

/// A generator that gives the same numbers everywhere.
pub(crate) fn rng(seed: u64, stream: u64) -> ChaCha8Rng {
    let mut r = ChaCha8Rng::seed_from_u64(seed);
    r.set_stream(stream);
    r
}

/// Standard normal distribution function.
pub(crate) fn phi(z: f64) -> f64 {
    0.5 * erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Its inverse.
pub(crate) fn phi_inv(p: f64) -> f64 {
    -std::f64::consts::SQRT_2 * erfc_inv(2.0 * p.clamp(1e-12, 1.0 - 1e-12))
}

/// Density of Student's t with 4 degrees of freedom.
pub(crate) fn t4_pdf(t: f64) -> f64 {
    let q = 1.0 + 0.25 * t * t;
    0.375 / (q * q * q.sqrt())
}

/// Its distribution function, in closed form.
pub(crate) fn t4_cdf(t: f64) -> f64 {
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let q = 1.0 + 0.25 * t * t;
    (0.5 + 0.375 * t / q.sqrt() * (1.0 - t * t / (12.0 * q))).clamp(0.0, 1.0)
}

/// Point `i` of the Halton sequence (from 0) in the given number of dimensions, as normal deviates.
pub(crate) fn halton_normal(i: usize, dims: usize) -> Vec<f64> {
    const PRIMES: [u64; 5] = [2, 3, 5, 7, 11];
    PRIMES
        .iter()
        .take(dims)
        .map(|&base| {
            // The first points of a Halton sequence are the poorest: 20 are passed over.
            let (mut n, mut f, mut u) = (i as u64 + 20, 1.0, 0.0);
            while n > 0 {
                f /= base as f64;
                u += f * (n % base) as f64;
                n /= base;
            }
            phi_inv(u)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn student_t_with_four_degrees() {
        // 2.132 is the 95 % point of t4 (textbook table).
        assert!((t4_cdf(2.131_847) - 0.95).abs() < 1e-6);
        let h = 1e-5;
        for t in [-3.0, -0.4, 0.0, 1.7] {
            assert!(((t4_cdf(t + h) - t4_cdf(t - h)) / (2.0 * h) - t4_pdf(t)).abs() < 1e-8);
        }
        assert!((phi(phi_inv(0.9)) - 0.9).abs() < 1e-9 && (phi_inv(0.9) - 1.281_551_6).abs() < 1e-6);
    }
}
