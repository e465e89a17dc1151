//! The shop's own experience: a sharper prior for the next dog of a coat type.
//!
//! Takes means and spreads of dogs' own parts and nothing else.

use crate::params::{DIM, Logs, Prior};

/// What a shop keeps of a learned dog: its own part, posterior mean and sd, and the prior that was used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DogSummary {
    /// Posterior mean of the dog's part.
    pub mean: Logs,
    /// Posterior sd.
    pub sd: Logs,
    /// The prior under which it was learned.
    pub prior: Prior,
}

/// Of the variance between dogs, the part that lies between shops' centres.
const BETWEEN_SHOPS: f64 = 0.25;
/// Degrees of freedom of the weights that let odd dogs fade.
const NU: f64 = 4.0;

/// The prior for the next dog of the type, from the dogs learned so far and the type's own prior.
///
/// With no dog it is the type's prior.
pub fn shop_prior(standard: &Prior, dogs: &[DogSummary]) -> Prior {
    let mut out = *standard;
    for k in 0..DIM {
        let all = standard.dog_sd[k].powi(2);
        let (shop, within) = (BETWEEN_SHOPS * all, (1.0 - BETWEEN_SHOPS) * all);
        // What the data said: the posterior with its prior taken out again.
        let said: Vec<(f64, f64)> = dogs
            .iter()
            .filter_map(|d| {
                let (post, prior) = (1.0 / d.sd[k].powi(2), 1.0 / d.prior.dog_sd[k].powi(2));
                let precision = post - prior;
                (precision > 0.02 * prior && post.is_finite())
                    .then(|| ((d.mean[k] * post - d.prior.centre[k] * prior) / precision, 1.0 / precision))
            })
            .collect();
        let (mut mean, mut var) = (standard.centre[k], shop);
        for _ in 0..20 {
            let (mut precision, mut sum) = (1.0 / shop, standard.centre[k] / shop);
            for (y, v) in &said {
                let spread = within + v;
                let weight = (NU + 1.0) / (NU + (y - mean).powi(2) / spread);
                precision += weight / spread;
                sum += weight * y / spread;
            }
            (mean, var) = (sum / precision, 1.0 / precision);
        }
        out.centre[k] = mean;
        out.dog_sd[k] = (within + var).sqrt().min(standard.dog_sd[k]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dog(mean: f64) -> DogSummary {
        DogSummary { mean: [mean, 0.0, 0.0, 0.0, 0.0], sd: [0.08, 0.19, 0.3, 0.4, 0.15], prior: Prior::STANDARD }
    }

    #[test]
    fn slow_dogs_move_the_centre_and_sharpen_it() {
        let none = shop_prior(&Prior::STANDARD, &[]);
        assert!((none.dog_sd[0] - 0.2).abs() < 1e-12 && none.centre[0].abs() < 1e-12);
        let dogs: Vec<DogSummary> = (0..12).map(|i| dog(0.15 + 0.01 * f64::from(i % 3))).collect();
        let p = shop_prior(&Prior::STANDARD, &dogs);
        assert!(p.centre[0] > 0.1 && p.centre[0] < 0.2, "{}", p.centre[0]);
        assert!(p.dog_sd[0] < 0.19);
        // Set and hold were not learned from any dog: nothing changes there.
        assert_eq!(p.centre[2], 0.0);
        assert!((p.dog_sd[3] - 0.4).abs() < 1e-12);
        // One odd dog hardly counts.
        let mut odd = dogs.clone();
        odd.push(dog(-1.5));
        assert!((shop_prior(&Prior::STANDARD, &odd).centre[0] - p.centre[0]).abs() < 0.03);
    }
}
