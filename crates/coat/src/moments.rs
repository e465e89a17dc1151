//! How much hair of an age is set or ripe, and how long it has grown, for hair that met no clip.

use crate::law::{Law, at, linger_at};

/// Sum, sum of g and of g squared over the days grown, of one phase, for one age of the hair.
pub(crate) type Moments = [f64; 3];

/// Moments by age, so that hair of one day is added at once.
#[derive(Clone, Debug)]
pub(crate) struct OfAge {
    set: Vec<Moments>,
    ripe: Vec<Moments>,
    delta: f64,
}

impl OfAge {
    pub(crate) fn new(law: &Law) -> Self {
        let n = law.p_grow.len() + law.s_set.len().max(law.h_set.len()) + 1;
        let moments = |kernel: &dyn Fn(i32) -> f64| -> Vec<Moments> {
            (0..n)
                .map(|a| {
                    let mut m = [0.0; 3];
                    for (g, p) in law.p_grow.iter().enumerate().take(a + 1) {
                        let x = p * kernel((a - g) as i32);
                        let g = g as f64;
                        m[0] += x;
                        m[1] += x * g;
                        m[2] += x * g * g;
                    }
                    m
                })
                .collect()
        };
        OfAge {
            set: moments(&|k| at(&law.s_set, k)),
            ripe: moments(&|k| linger_at(&law.h_set, law.delta, k)),
            delta: law.delta,
        }
    }

    pub(crate) fn set(&self, age: usize) -> Moments {
        self.set.get(age).copied().unwrap_or_default()
    }

    pub(crate) fn ripe(&self, age: usize) -> Moments {
        let last = self.ripe.len() - 1;
        if age <= last {
            return self.ripe[age];
        }
        let fade = self.delta.powi((age - last) as i32);
        self.ripe[last].map(|x| x * fade)
    }
}
