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
/// Of that, the part that all shops have in common: the default is off by so much. Assumed.
const COMMON: f64 = 0.5;
/// Degrees of freedom of the weights that let odd dogs fade.
const NU: f64 = 4.0;

/// The prior for the next dog of the type, from the dogs learned so far and the type's own prior.
///
/// With no dog it is the type's prior.
pub fn shop_prior(standard: &Prior, dogs: &[DogSummary]) -> Prior {
    pooled_prior(standard, dogs, &[])
}

/// What one value of a shop's dogs says of their centre, given where that is thought to be.
#[derive(Clone, Copy)]
struct Told {
    precision: f64,
    /// The mean times the precision.
    sum: f64,
}

impl Told {
    fn of(said: &[(f64, f64)], within: f64, centre: f64) -> Told {
        let mut told = Told { precision: 0.0, sum: 0.0 };
        for (y, v) in said {
            let spread = within + v;
            // Dogs far out fade.
            let weight = (NU + 1.0) / (NU + (y - centre).powi(2) / spread);
            told.precision += weight / spread;
            told.sum += weight * y / spread;
        }
        told
    }

    /// Mean and variance of the centre, if it was expected with these.
    fn with(self, mean: f64, var: f64) -> (f64, f64) {
        let precision = 1.0 / var + self.precision;
        ((mean / var + self.sum) / precision, 1.0 / precision)
    }
}

/// The same where other shops say what their dogs of the type taught, a list each: they tell where the centre of all
/// shops lies, about which each shop's own lies. One shop, however many its dogs, counts as one.
pub fn pooled_prior(standard: &Prior, dogs: &[DogSummary], others: &[Vec<DogSummary>]) -> Prior {
    let mut out = *standard;
    for k in 0..DIM {
        let all = standard.dog_sd[k].powi(2);
        let (shop, within) = (BETWEEN_SHOPS * all, (1.0 - BETWEEN_SHOPS) * all);
        let (common, own) = (COMMON * shop, (1.0 - COMMON) * shop);
        // What the data said: the posterior with its prior taken out again.
        let said = |dogs: &[DogSummary]| -> Vec<(f64, f64)> {
            let one = |d: &DogSummary| {
                let (post, prior) = (1.0 / d.sd[k].powi(2), 1.0 / d.prior.dog_sd[k].powi(2));
                let precision = post - prior;
                (precision > 0.02 * prior && post.is_finite())
                    .then(|| ((d.mean[k] * post - d.prior.centre[k] * prior) / precision, 1.0 / precision))
            };
            dogs.iter().filter_map(one).collect()
        };
        let ours = said(dogs);
        let theirs: Vec<Vec<(f64, f64)>> = others.iter().map(|o| said(o)).filter(|o| !o.is_empty()).collect();
        let mut centres = vec![standard.centre[k]; theirs.len()];
        let (mut mean, mut var) = (standard.centre[k], shop);
        for _ in 0..20 {
            // The centre of all shops, by the others.
            let (mut precision, mut sum) = (1.0 / common, standard.centre[k] / common);
            let told: Vec<Told> = theirs.iter().zip(&centres).map(|(s, c)| Told::of(s, within, *c)).collect();
            for t in &told {
                let spread = own + 1.0 / t.precision;
                precision += 1.0 / spread;
                sum += t.sum / t.precision / spread;
            }
            let expected = sum / precision;
            for (c, t) in centres.iter_mut().zip(&told) {
                *c = t.with(expected, own).0;
            }
            (mean, var) = Told::of(&ours, within, mean).with(expected, 1.0 / precision + own);
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

    #[test]
    fn other_shops_move_the_centre_and_one_of_them_counts_as_one() {
        let shop = |mean: f64, n: usize| -> Vec<DogSummary> { (0..n).map(|_| dog(mean)).collect() };
        let of = |others: &[Vec<DogSummary>]| pooled_prior(&Prior::STANDARD, &[], others);
        assert_eq!(of(&[]), shop_prior(&Prior::STANDARD, &[]));
        assert_eq!(of(&[Vec::new()]), of(&[]), "a shop without dogs says nothing");
        let (one, many) = (of(&[shop(0.2, 12)]), of(&vec![shop(0.2, 12); 6]));
        assert!(one.centre[0] > 0.02 && many.centre[0] > one.centre[0] && many.centre[0] < 0.2, "{one:?} {many:?}");
        assert!(many.dog_sd[0] < one.dog_sd[0] && one.dog_sd[0] < 0.2);
        // As many dogs as one likes in one shop: half the way to what its dogs say, and no further. With the prior taken
        // out a dog says 0.2 / (1 - 0.08^2 / 0.2^2).
        let half = 0.1 / (1.0 - 0.08_f64.powi(2) / 0.2_f64.powi(2));
        assert!((of(&[shop(0.2, 4000)]).centre[0] - half).abs() < 1e-3, "{half}");
        // Own dogs count for more than those of others.
        let ours = pooled_prior(&Prior::STANDARD, &shop(-0.1, 12), &vec![shop(0.2, 12); 6]);
        assert!(ours.centre[0] < 0.0 && ours.centre[0] > -0.1, "{ours:?}");
    }
}
