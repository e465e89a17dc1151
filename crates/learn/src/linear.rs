//! The little linear algebra that is needed, over `nalgebra`.

use crate::params::{DIM, Prior};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn, SMatrix, SymmetricEigen};

/// A Gaussian in many dimensions.
#[derive(Clone)]
pub(crate) struct Gaussian {
    pub(crate) mean: DVector<f64>,
    /// Lower triangular root of the covariance.
    pub(crate) root: DMatrix<f64>,
}

/// Precision of the prior over the patches' logarithms, the dog's part summed out.
///
/// For one parameter the covariance over patches is `a 11' + b I`; its inverse is
/// `(I - a 11' / (b + a n)) / b`.
pub(crate) fn prior_precision(prior: &Prior, patches: usize) -> DMatrix<f64> {
    let mut m = DMatrix::zeros(patches * DIM, patches * DIM);
    for k in 0..DIM {
        let (a, b) = (prior.dog_sd[k].powi(2), prior.zone_sd[k].powi(2));
        let off = -a / (b + a * patches as f64) / b;
        for p in 0..patches {
            for q in 0..patches {
                m[(p * DIM + k, q * DIM + k)] = off + if p == q { 1.0 / b } else { 0.0 };
            }
        }
    }
    m
}

/// The nearest matrix without negative curvature.
pub(crate) fn without_negative(h: &SMatrix<f64, DIM, DIM>) -> SMatrix<f64, DIM, DIM> {
    let e = SymmetricEigen::new(0.5 * (h + h.transpose()));
    let d = SMatrix::<f64, DIM, DIM>::from_diagonal(&e.eigenvalues.map(|v| v.max(0.0)));
    e.eigenvectors * d * e.eigenvectors.transpose()
}

/// Factors a precision; a ridge is added until it can be.
pub(crate) fn factor(mut m: DMatrix<f64>) -> Option<Cholesky<f64, Dyn>> {
    let mut ridge = 1e-9 * (1.0 + m.diagonal().amax());
    for _ in 0..12 {
        if let Some(c) = Cholesky::new(m.clone()) {
            return Some(c);
        }
        for i in 0..m.nrows() {
            m[(i, i)] += ridge;
        }
        ridge *= 10.0;
    }
    None
}

/// The Gaussian with this mean and precision.
pub(crate) fn gaussian(mean: DVector<f64>, precision: &Cholesky<f64, Dyn>) -> Option<Gaussian> {
    let root = Cholesky::new(precision.inverse())?.l();
    Some(Gaussian { mean, root })
}
