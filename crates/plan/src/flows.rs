//! How takes at earlier visits move the classes of later ones, laid out for speed.

use crate::response::Response;
use std::sync::Arc;

/// The classes' responses of one zone, by visit: all that is needed to follow the classes forward.
#[derive(Clone, Debug, Default)]
pub(crate) struct Flows {
    /// Share of the hair lingering at the visit before that is still there, by visit.
    pub(crate) stay: Vec<f64>,
    /// By visit i and by the visit v that ends a class: change of its ripe pool before visit i
    /// per unit taken at each visit k < i, k <= v.
    pub(crate) pools: Vec<Vec<Vec<f64>>>,
    /// The same for the class's share just after visit i, k <= i included.
    pub(crate) shares: Vec<Vec<Vec<f64>>>,
}

impl Flows {
    pub(crate) fn new(responses: &[Arc<Response>], at: &[usize], delta: f64) -> Flows {
        let by = |i: usize, v: usize, last: usize, table: fn(&Response) -> &Vec<Vec<f64>>| -> Vec<f64> {
            (0..=v.min(last))
                .map(|k| table(&responses[k]).get(i - k).and_then(|row| row.get(v - k)).copied().unwrap_or(0.0))
                .collect()
        };
        let visits = responses.len();
        Flows {
            stay: (0..visits).map(|i| if i == 0 { 1.0 } else { delta.powi((at[i] - at[i - 1]) as i32) }).collect(),
            pools: (0..visits)
                .map(|i| {
                    let before = |v: usize| if i == 0 { Vec::new() } else { by(i, v, i - 1, |r| &r.pools) };
                    (0..=i).map(before).collect()
                })
                .collect(),
            shares: (0..visits).map(|i| (0..=i).map(|v| by(i, v, i, |r| &r.shares)).collect()).collect(),
        }
    }
}
