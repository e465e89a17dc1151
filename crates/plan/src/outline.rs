//! The outline on a day that matters: how long the hair is that visits take, class by class.

use crate::response::Marked;
use crate::zone_model::NOTHING;
use coat::{Law, Population, Take, Weighed};
use std::rc::Rc;

/// Excess over the target (10 mm units times share), and 0.15 of the hair less that near the target.
pub(crate) type Parts = [f64; 2];

/// The outline of a zone on a day that matters, linear in what is taken but for the hair that is taken.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outline {
    /// Day index of the day that matters.
    pub(crate) t: usize,
    /// With no visits.
    pub(crate) base: Parts,
    /// Change by the hair that grows in the place of a unit taken at each visit.
    pub(crate) by: Vec<Parts>,
}

/// Ripe hair by class, weighed by what it adds to the outline's error.
#[derive(Clone, Debug, Default)]
pub(crate) struct Contents {
    /// By visit, then class, the oldest first, with no visits; visits up to the last day that matters.
    pub(crate) base: Vec<Vec<Parts>>,
    /// By visit i and by the visit v that ends a class: change before visit i per unit taken at each
    /// visit k < i, k <= v.
    pub(crate) fed: Vec<Vec<Vec<Parts>>>,
}

/// How a target weighs lengths, made ready for one law.
pub(crate) struct Weights2 {
    target: f64,
    of: [Weighed; 2],
}

fn part(p: usize, mm: f64, target: f64) -> f64 {
    match p {
        0 => (mm - target - 3.0).max(0.0) / 10.0,
        _ => 0.15 - f64::from((mm - target).abs() <= 5.0),
    }
}

/// The outline's parts of hair given as (mm, share).
pub(crate) fn parts(hair: impl IntoIterator<Item = (f64, f64)>, target: f64) -> Parts {
    let mut out = [0.0; 2];
    for (mm, share) in hair {
        for (p, o) in out.iter_mut().enumerate() {
            *o += share * part(p, mm, target);
        }
    }
    out
}

impl Weights2 {
    pub(crate) fn new(law: &Law, target: f64) -> Weights2 {
        let weigh = |p: usize| law.weigh(&|mm| part(p, mm, target));
        Weights2 { target, of: [weigh(0), weigh(1)] }
    }

    /// The ripe hair of each class, newest first.
    pub(crate) fn classes(&self, top: &Population, classes: usize) -> Vec<Parts> {
        let weighed = self.of.each_ref().map(|w| top.ripe_weighed(classes, w));
        if let [Some(over), Some(short)] = &weighed {
            return over.iter().zip(short).map(|(a, b)| [*a, *b]).collect();
        }
        // Hair that met a clip: class by class, by what is missing when the class is taken.
        let ripe = |p: &Population| {
            let hair = p.hair_by_length();
            parts(hair.into_iter().filter(|h| h.2).map(|h| (h.0, h.1)), self.target)
        };
        let (pools, all) = (top.classes(classes).pools, ripe(top));
        let one = |j: usize| {
            if pools[j] <= NOTHING {
                return [0.0; 2];
            }
            let mut without = top.clone();
            without.visit(&Take::FromClasses((0..classes).map(|c| if c == j { pools[j] } else { 0.0 }).collect()));
            let left = ripe(&without);
            [all[0] - left[0], all[1] - left[1]]
        };
        (0..classes).map(one).collect()
    }

    /// What later visits find of hair that grew where visits took some.
    pub(crate) fn fed(&self, marked: &[Rc<Marked>], visits: usize) -> Vec<Vec<Vec<Parts>>> {
        // By visit k and the j-th visit after it: class by class, the one that ends at visit k + c at index c.
        let by_k: Vec<Vec<Vec<Parts>>> = marked
            .iter()
            .enumerate()
            .take(visits)
            .map(|(k, marked)| {
                let later = marked.iter().enumerate().take(visits - k);
                later
                    .map(|(j, (taken, left))| {
                        let (a, b) = (self.classes(taken, j + 2), self.classes(left, j + 2));
                        (0..=j).map(|c| [a[j - c][0] - b[j - c][0], a[j - c][1] - b[j - c][1]]).collect()
                    })
                    .collect()
            })
            .collect();
        let of =
            |i: usize, v: usize, k: usize| by_k[k].get(i - k).and_then(|c| c.get(v - k)).copied().unwrap_or([0.0; 2]);
        (0..visits)
            .map(|i| (0..=i).map(|v| (0..=v).filter(|k| *k < i).map(|k| of(i, v, k)).collect()).collect())
            .collect()
    }
}
