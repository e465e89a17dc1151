//! Interpolation of what the engine says between the values it was asked for.
//!
//! Cubic radial functions with a full quadratic part, all outputs at once.
//! # Reference
//! Buhmann 2003, *Radial Basis Functions*, chapter 5.

use crate::params::{DIM, Logs};
use nalgebra::{DMatrix, DVector};

/// Coordinates beyond so many prior standard deviations are held there.
const EDGE: f64 = 4.0;

/// A smooth function of the logarithms, known at some points.
#[derive(Clone, Debug)]
pub(crate) struct Surface {
    dims: usize,
    centre: Logs,
    scale: Logs,
    points: Vec<Logs>,
    /// Row i: what point i (then each monomial) adds to every output.
    weights: Vec<Vec<f64>>,
    outputs: usize,
}

impl Surface {
    /// Goes through `values[i]` at `x[i]`; none when the points do not determine it.
    pub(crate) fn through(x: &[Logs], values: &[Vec<f64>], dims: usize, centre: &Logs, scale: &Logs) -> Option<Self> {
        let outputs = values.first()?.len();
        let mut s = Surface { dims, centre: *centre, scale: *scale, points: Vec::new(), weights: Vec::new(), outputs };
        s.points = x.iter().map(|p| s.unit(p)).collect();
        let (n, m) = (x.len(), 1 + dims + dims * (dims + 1) / 2);
        if n < m {
            return None;
        }
        let mut a = DMatrix::zeros(n + m, n + m);
        for i in 0..n {
            for j in 0..i {
                let r = s.distance(&s.points[i], &s.points[j]);
                a[(i, j)] = r * r * r;
                a[(j, i)] = a[(i, j)];
            }
            for (j, v) in s.monomials(&s.points[i]).into_iter().enumerate() {
                a[(i, n + j)] = v;
                a[(n + j, i)] = v;
            }
        }
        let lu = a.lu();
        let mut columns = Vec::with_capacity(outputs);
        for o in 0..outputs {
            let mut b = DVector::zeros(n + m);
            for (b, v) in b.iter_mut().zip(values) {
                *b = v[o];
            }
            columns.push(lu.solve(&b)?);
        }
        s.weights = (0..n + m).map(|i| columns.iter().map(|c| c[i]).collect()).collect();
        s.weights.iter().flatten().all(|w| w.is_finite()).then_some(s)
    }

    fn unit(&self, x: &Logs) -> Logs {
        std::array::from_fn(|k| {
            if k < self.dims { ((x[k] - self.centre[k]) / self.scale[k]).clamp(-EDGE, EDGE) } else { 0.0 }
        })
    }

    fn distance(&self, a: &Logs, b: &Logs) -> f64 {
        let mut sum = 0.0;
        for k in 0..DIM {
            let d = a[k] - b[k];
            sum += d * d;
        }
        sum.sqrt()
    }

    fn monomials(&self, u: &Logs) -> Vec<f64> {
        let mut m = Vec::with_capacity(1 + self.dims * (self.dims + 3) / 2);
        m.push(1.0);
        m.extend_from_slice(&u[..self.dims]);
        for i in 0..self.dims {
            for j in 0..=i {
                m.push(u[i] * u[j]);
            }
        }
        m
    }

    /// The values at `x`, into `out`.
    pub(crate) fn at(&self, x: &Logs, out: &mut Vec<f64>) {
        out.clear();
        out.resize(self.outputs, 0.0);
        let u = self.unit(x);
        let mut add = |w: f64, row: &[f64]| {
            for (o, r) in out.iter_mut().zip(row) {
                *o += w * r;
            }
        };
        let n = self.points.len();
        for (p, row) in self.points.iter().zip(&self.weights) {
            let r = self.distance(&u, p);
            add(r * r * r, row);
        }
        for (v, row) in self.monomials(&u).into_iter().zip(&self.weights[n..]) {
            add(v, row);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::halton_normal;

    #[test]
    fn it_goes_through_its_points_and_is_exact_for_quadratics() {
        let f = |x: &Logs| vec![1.0 + x[0] - 2.0 * x[1] * x[3] + x[2] * x[2], (x[0] + 0.3 * x[1]).sin()];
        let x: Vec<Logs> = (0..40)
            .map(|i| {
                let h = halton_normal(i, 4);
                [h[0], h[1], h[2], h[3], 0.0]
            })
            .collect();
        let values: Vec<Vec<f64>> = x.iter().map(f).collect();
        let s = Surface::through(&x, &values, 4, &[0.0; DIM], &[1.0; DIM]).expect("enough points");
        let mut out = Vec::new();
        s.at(&x[7], &mut out);
        assert!((out[0] - values[7][0]).abs() < 1e-8 && (out[1] - values[7][1]).abs() < 1e-8);
        let new = [0.2, -0.3, 0.5, 0.1, 0.0];
        s.at(&new, &mut out);
        assert!((out[0] - f(&new)[0]).abs() < 1e-8, "{out:?}");
        assert!((out[1] - f(&new)[1]).abs() < 0.1, "{out:?} {:?}", f(&new));
    }
}
