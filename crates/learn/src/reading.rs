//! What can be read off a coat at a visit, and how likely each answer is.
//!
//! The likelihoods of `docs/learning.md`. All share arguments are of the visible hair unless said.

use crate::chance::{phi, t4_cdf, t4_pdf};
use crate::features::{RIPE_EDGE, YOUNG_EDGE};
use coat::{Day, Zone};
use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal, StudentT};

/// Upper ends of the first four drawn comb depths, mm; the fifth is all above.
pub const COMB_MM: [f64; 4] = [5.0, 12.0, 20.0, 32.0];
/// Longest hair that a reading may give, mm.
const LONGEST_MM: f64 = 400.0;
/// Chance that a reading is something else altogether.
const WRONG: f64 = 0.03;
/// A wrong length is spread over this much, mm.
const WRONG_MM: f64 = 100.0;
const EASE_CUTS: [f64; 4] = [0.9, 0.3, -0.2, -0.8];
const EASE_SD: f64 = 0.4;
const FEEL_CUTS: [f64; 2] = [0.35, 0.75];
const FEEL_SD: f64 = 0.15;
const COVER_SD: f64 = 0.08;
/// Where hair was only tried, so much of it.
pub(crate) const TRIED: f64 = 0.1;
/// New hair is hair that came through in so many days.
pub(crate) const YOUNG_D: i32 = 12;
/// A new layer is read where one is seen; against this chance it is none of the layers that could be.
const NONE_SEEN: f64 = 0.02;
/// Newest works among which the new layer is looked for.
pub(crate) const LAYERS: usize = 3;

/// How the hair felt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feel {
    /// Soft.
    Soft,
    /// Neither.
    Between,
    /// Harsh.
    Harsh,
}

/// One thing read at a visit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What {
    /// The comb laid on the longest hair, mm.
    LongestMm(f64),
    /// The same as one of five drawn comb depths.
    LongestDepth(u8),
    /// Length of the new layer, mm.
    NewLayerMm(f64),
    /// The same as one of five drawn comb depths.
    NewLayerDepth(u8),
    /// Ease 1 (falls out) to 5 (will not come), and the share of the visible hair that was pulled
    /// (none: it was only tried).
    Ease(u8, Option<f64>),
    /// This share of the visible hair was pulled, and nothing is said of its ease.
    Came(f64),
    /// New hair is through the skin.
    NewHair(bool),
    /// Share of full cover, by eye.
    Cover(f64),
    /// How it felt.
    Feel(Feel),
}

/// A reading: when, where, what.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The day of the visit.
    pub day: Day,
    /// The zones that it was given for.
    pub zones: Vec<Zone>,
    /// What was read.
    pub what: What,
}

/// A reading that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{name} `{value}` on `{day}` is outside `{low}..={high}`")]
pub struct ReadingError {
    /// What it is of.
    pub name: &'static str,
    /// The value.
    pub value: f64,
    /// When.
    pub day: Day,
    /// Lowest allowed.
    pub low: f64,
    /// Highest allowed.
    pub high: f64,
}

impl Reading {
    /// Refuses values out of range and values that are no numbers.
    ///
    /// # Errors
    /// [`ReadingError`] with the value and what is allowed.
    pub fn check(&self) -> Result<(), ReadingError> {
        let (name, value, low, high) = match self.what {
            What::LongestMm(v) => ("longest hair, mm", v, 0.0, LONGEST_MM),
            What::NewLayerMm(v) => ("new layer, mm", v, 0.0, LONGEST_MM),
            What::LongestDepth(k) | What::NewLayerDepth(k) => ("comb depth", f64::from(k), 1.0, 5.0),
            What::Ease(e, pulled) => match pulled {
                Some(p) if !(0.0..=1.0).contains(&p) => ("share pulled", p, 0.0, 1.0),
                _ => ("ease", f64::from(e), 1.0, 5.0),
            },
            What::Came(p) => ("share pulled", p, 0.0, 1.0),
            What::Cover(v) => ("cover by eye", v, 0.0, 1.0),
            What::NewHair(_) | What::Feel(_) => return Ok(()),
        };
        if (low..=high).contains(&value) { Ok(()) } else { Err(ReadingError { name, value, day: self.day, low, high }) }
    }
}

/// What the coat is expected to show for one reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Sight {
    /// 99th percentile of visible length, mm.
    Top(f64),
    /// Of the newest layers: chance that it is seen, mean length in mm.
    Layers([(f64, f64); LAYERS]),
    /// Ripe share of the visible hair.
    RipeShare(f64),
    /// Share of follicles with hair come through lately.
    Young(f64),
    /// Visible share of follicles.
    Visible(f64),
    /// Hard share of the visible hair.
    Hard(f64),
}

fn top_sd(mm: f64) -> f64 {
    (1.0 + (0.05 * mm).powi(2)).sqrt()
}

fn layer_sd(mm: f64) -> f64 {
    (1.0 + (0.08 * mm).powi(2)).sqrt()
}

fn ease_z(ripe: f64, pulled: f64) -> f64 {
    ((ripe + RIPE_EDGE) / (pulled + RIPE_EDGE)).ln()
}

/// P(ease <= k), k from 0 to 5.
fn ease_below(z: f64, k: u8) -> f64 {
    match k {
        0 => 0.0,
        1..=4 => phi((z - EASE_CUTS[usize::from(k) - 1]) / EASE_SD),
        _ => 1.0,
    }
}

fn yes(young: f64) -> f64 {
    phi(((young + YOUNG_EDGE).ln() - 0.04_f64.ln()) / 0.5)
}

/// P(feel is at most this hard).
fn feel_below(hard: f64, k: usize) -> f64 {
    FEEL_CUTS.get(k).map_or(1.0, |c| phi((c - hard) / FEEL_SD))
}

/// The lower and upper end of a comb depth, mm.
fn comb(k: u8) -> (f64, f64) {
    let i = usize::from(k.clamp(1, 5));
    let low = if i == 1 { f64::NEG_INFINITY } else { COMB_MM[i - 2] };
    (low, COMB_MM.get(i - 1).copied().unwrap_or(f64::INFINITY))
}

/// How a new layer that was read is shared out: the chance of each layer, given that one was seen at all,
/// and of any length, where hardly any could be.
fn layer_chances(layers: &[(f64, f64); LAYERS]) -> ([f64; LAYERS], f64) {
    let mut left = 1.0;
    let seen = layers.map(|(seen, _)| {
        let this = left * seen;
        left *= 1.0 - seen;
        this
    });
    let all = 1.0 - left + NONE_SEEN;
    (seen.map(|s| s / all), NONE_SEEN / all)
}

/// Chance that the length read lies below `mm`, wrong entries left aside.
fn length_below(sight: &Sight, mm: f64) -> f64 {
    match sight {
        Sight::Top(m) => t4_cdf((mm - m) / top_sd(*m)),
        Sight::Layers(l) => {
            let (chance, any) = layer_chances(l);
            let sum: f64 = chance.iter().zip(l).map(|(c, (_, m))| c * t4_cdf((mm - m) / layer_sd(*m))).sum();
            sum + any * (mm / WRONG_MM).clamp(0.0, 1.0)
        }
        _ => 0.5,
    }
}

fn length_density(sight: &Sight, mm: f64) -> f64 {
    match sight {
        Sight::Top(m) => t4_pdf((mm - m) / top_sd(*m)) / top_sd(*m),
        Sight::Layers(l) => {
            let (chance, any) = layer_chances(l);
            let of = |m: f64| t4_pdf((mm - m) / layer_sd(m)) / layer_sd(m);
            chance.iter().zip(l).map(|(c, (_, m))| c * of(*m)).sum::<f64>() + any / WRONG_MM
        }
        _ => 1.0 / WRONG_MM,
    }
}

/// Of wrong lengths, the part below `mm`.
fn wrong_below(mm: f64) -> f64 {
    (mm / WRONG_MM).clamp(0.0, 1.0)
}

impl What {
    /// Natural logarithm of the likelihood.
    pub(crate) fn ln_likelihood(&self, sight: &Sight) -> f64 {
        let (good, wrong) = match (self, sight) {
            // What would lie beyond the ends of the scale is read at its end.
            (What::LongestMm(y) | What::NewLayerMm(y), s) if *y <= 0.0 => (length_below(s, 0.0), 0.0),
            (What::LongestMm(y) | What::NewLayerMm(y), s) => (length_density(s, *y), 1.0 / WRONG_MM),
            (What::LongestDepth(k) | What::NewLayerDepth(k), s) => {
                let (a, b) = comb(*k);
                (length_below(s, b) - length_below(s, a), wrong_below(b) - wrong_below(a))
            }
            (What::Ease(e, pulled), Sight::RipeShare(r)) => {
                let z = ease_z(*r, pulled.unwrap_or(TRIED));
                (ease_below(z, *e) - ease_below(z, *e - 1), 0.2)
            }
            (What::Came(x), Sight::RipeShare(r)) => (ease_below(ease_z(*r, *x), 3), 0.6),
            (What::NewHair(seen), Sight::Young(y)) => (if *seen { yes(*y) } else { 1.0 - yes(*y) }, 0.5),
            (What::Cover(y), Sight::Visible(v)) if *y <= 0.0 => (t4_cdf(-v / COVER_SD), 0.0),
            (What::Cover(y), Sight::Visible(v)) if *y >= 1.0 => (t4_cdf((v - 1.0) / COVER_SD), 0.0),
            (What::Cover(y), Sight::Visible(v)) => (t4_pdf((y - v) / COVER_SD) / COVER_SD, 1.0),
            (What::Feel(f), Sight::Hard(h)) => {
                let k = *f as usize;
                (feel_below(*h, k) - if k == 0 { 0.0 } else { feel_below(*h, k - 1) }, 1.0 / 3.0)
            }
            _ => (1.0, 1.0),
        };
        ((1.0 - WRONG) * good.max(0.0) + WRONG * wrong).max(1e-300).ln()
    }

    /// Chances of an answer at most, and at least, this one.
    pub(crate) fn tails(&self, sight: &Sight) -> (f64, f64) {
        let blend = |good: f64, wrong: f64| (1.0 - WRONG) * good + WRONG * wrong;
        match (self, sight) {
            (What::LongestMm(y) | What::NewLayerMm(y), s) => {
                let below = blend(length_below(s, *y), wrong_below(*y));
                (below, 1.0 - below)
            }
            (What::LongestDepth(k) | What::NewLayerDepth(k), s) => {
                let (a, b) = comb(*k);
                (blend(length_below(s, b), wrong_below(b)), 1.0 - blend(length_below(s, a), wrong_below(a.max(0.0))))
            }
            (What::Ease(e, pulled), Sight::RipeShare(r)) => {
                let z = ease_z(*r, pulled.unwrap_or(TRIED));
                let wrong = f64::from(*e) / 5.0;
                (blend(ease_below(z, *e), wrong), 1.0 - blend(ease_below(z, *e - 1), wrong - 0.2))
            }
            (What::Came(x), Sight::RipeShare(r)) => (1.0, blend(ease_below(ease_z(*r, *x), 3), 0.6)),
            (What::NewHair(seen), Sight::Young(y)) => {
                let p = blend(yes(*y), 0.5);
                if *seen { (1.0, p) } else { (1.0 - p, 1.0) }
            }
            (What::Cover(y), Sight::Visible(v)) => {
                let below = blend(t4_cdf((y - v) / COVER_SD), *y);
                if *y >= 1.0 { (1.0, 1.0 - below) } else { (below, 1.0 - below) }
            }
            (What::Feel(f), Sight::Hard(h)) => {
                let k = *f as usize;
                let before = if k == 0 { 0.0 } else { feel_below(*h, k - 1) };
                let wrong = (k + 1) as f64 / 3.0;
                (blend(feel_below(*h, k), wrong), 1.0 - blend(before, wrong - 1.0 / 3.0))
            }
            _ => (1.0, 1.0),
        }
    }

    /// An answer of the same kind, drawn.
    pub(crate) fn drawn(&self, sight: &Sight, rng: &mut impl Rng) -> What {
        let wrong = rng.random::<f64>() < WRONG;
        let normal: f64 = StandardNormal.sample(rng);
        let length = |rng: &mut dyn Rng| -> f64 {
            let any = rng.random::<f64>() * WRONG_MM;
            let t: f64 = StudentT::new(4.0).map_or(0.0, |d| d.sample(rng));
            let layer = rng.random::<f64>();
            match sight {
                _ if wrong => any,
                Sight::Top(m) => m + t * top_sd(*m),
                Sight::Layers(l) => {
                    let mut left = layer;
                    for (chance, (_, m)) in layer_chances(l).0.iter().zip(l) {
                        if left < *chance {
                            return m + t * layer_sd(*m);
                        }
                        left -= chance;
                    }
                    any
                }
                _ => any,
            }
        };
        let depth = |mm: f64| 1 + COMB_MM.iter().filter(|c| mm >= **c).count() as u8;
        match (self, sight) {
            (What::LongestMm(_), _) => What::LongestMm(length(rng).clamp(0.0, LONGEST_MM)),
            (What::NewLayerMm(_), _) => What::NewLayerMm(length(rng).clamp(0.0, LONGEST_MM)),
            (What::LongestDepth(_), _) => What::LongestDepth(depth(length(rng))),
            (What::NewLayerDepth(_), _) => What::NewLayerDepth(depth(length(rng))),
            (What::Ease(_, pulled), Sight::RipeShare(r)) => {
                let z = ease_z(*r, pulled.unwrap_or(TRIED)) + EASE_SD * normal;
                let e = 1 + EASE_CUTS.iter().filter(|c| z < **c).count() as u8;
                What::Ease(if wrong { rng.random_range(1..=5) } else { e }, *pulled)
            }
            (What::NewHair(_), Sight::Young(y)) => {
                What::NewHair(rng.random::<f64>() < if wrong { 0.5 } else { yes(*y) })
            }
            (What::Cover(_), Sight::Visible(v)) => {
                let t: f64 = StudentT::new(4.0).map_or(0.0, |d| d.sample(rng));
                What::Cover(if wrong { rng.random() } else { (v + COVER_SD * t).clamp(0.0, 1.0) })
            }
            (What::Feel(_), Sight::Hard(h)) => {
                let x = h + FEEL_SD * normal;
                let k = if wrong { rng.random_range(0..3) } else { FEEL_CUTS.iter().filter(|c| x > **c).count() };
                What::Feel([Feel::Soft, Feel::Between, Feel::Harsh][k])
            }
            _ => *self,
        }
    }

    /// The kind of reading, in words.
    pub const fn word(&self) -> &'static str {
        match self {
            What::LongestMm(_) | What::LongestDepth(_) => "longest hair",
            What::NewLayerMm(_) | What::NewLayerDepth(_) => "new layer",
            What::Ease(..) => "ease",
            What::Came(_) => "share pulled",
            What::NewHair(_) => "new hair",
            What::Cover(_) => "cover by eye",
            What::Feel(_) => "feel",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sums_to_one(answers: &[What], sight: Sight) {
        let sum: f64 = answers.iter().map(|w| w.ln_likelihood(&sight).exp()).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{answers:?} {sight:?}: {sum}");
    }

    #[test]
    fn the_chances_of_all_answers_sum_to_one() {
        let layers = Sight::Layers([(0.6, 4.0), (0.9, 11.0), (1.0, 17.0)]);
        sums_to_one(&[1, 2, 3, 4, 5].map(What::LongestDepth), Sight::Top(23.0));
        sums_to_one(&[1, 2, 3, 4, 5].map(What::NewLayerDepth), layers);
        sums_to_one(&[1, 2, 3, 4, 5].map(|e| What::Ease(e, Some(0.2))), Sight::RipeShare(0.15));
        sums_to_one(&[What::NewHair(true), What::NewHair(false)], Sight::Young(0.03));
        sums_to_one(&[Feel::Soft, Feel::Between, Feel::Harsh].map(What::Feel), Sight::Hard(0.6));
        // Densities, summed on a fine grid up to where wrong lengths end; a t's tail reaches beyond it.
        for sight in [Sight::Top(23.0), layers] {
            let p = |mm: f64| What::LongestMm(mm).ln_likelihood(&sight).exp();
            let sum = p(0.0) + (0..10_000).map(|i| p((f64::from(i) + 0.5) / 100.0) / 100.0).sum::<f64>();
            assert!((sum - 1.0).abs() < 1e-3, "{sight:?}: {sum}");
        }
        let p = |y: f64| What::Cover(y).ln_likelihood(&Sight::Visible(0.9)).exp();
        let sum = p(0.0) + p(1.0) + (0..1000).map(|i| p((f64::from(i) + 0.5) / 1000.0) / 1000.0).sum::<f64>();
        assert!((sum - 1.0).abs() < 1e-3, "{sum}");
    }

    #[test]
    fn tails_agree_with_the_likelihood() {
        let sight = Sight::RipeShare(0.2);
        for e in 1..=5u8 {
            let (below, above) = What::Ease(e, Some(0.2)).tails(&sight);
            let p = What::Ease(e, Some(0.2)).ln_likelihood(&sight).exp();
            assert!((below + above - 1.0 - p).abs() < 1e-9);
        }
        let (below, above) = What::LongestDepth(3).tails(&Sight::Top(16.0));
        let p = What::LongestDepth(3).ln_likelihood(&Sight::Top(16.0)).exp();
        assert!((below + above - 1.0 - p).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let day = Day::from_days(0);
        let of = |what| Reading { day, zones: vec![Zone::Back], what };
        for bad in [What::LongestMm(900.0), What::LongestMm(f64::NAN), What::Ease(7, None), What::Cover(-0.1)] {
            assert!(of(bad).check().is_err(), "{bad:?}");
        }
        let said = of(What::LongestMm(900.0)).check().map_err(|e| e.to_string());
        assert_eq!(said, Err("longest hair, mm `900` on `1970-01-01` is outside `0..=400`".to_owned()));
        assert!(of(What::LongestMm(30.0)).check().is_ok());
    }
}
