//! How far draws can be trusted. Each figure is not available, and says why, where it is not defined.

use std::fmt;

/// A figure, or why there is none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Available {
    /// The figure.
    Is(f64),
    /// Why it is not available.
    Not(&'static str),
}

impl Available {
    /// The figure, if there is one.
    pub fn value(self) -> Option<f64> {
        match self {
            Available::Is(v) => Some(v),
            Available::Not(_) => None,
        }
    }
}

impl fmt::Display for Available {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Available::Is(v) => write!(f, "{v:.2}"),
            Available::Not(why) => write!(f, "not available: {why}"),
        }
    }
}

const CONSTANT: &str = "the draws are all alike";
const NOT_FINITE: &str = "a draw is not finite";
const FEW: &str = "too few draws";

/// Mean and standard deviation.
pub fn mean_sd(x: &[f64]) -> (f64, f64) {
    let n = x.len().max(1) as f64;
    let mean = x.iter().sum::<f64>() / n;
    let var = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    (mean, var.sqrt())
}

/// A quantile of unsorted draws, linear between order statistics; not a number when there are none.
pub fn quantile(x: &[f64], q: f64) -> f64 {
    let mut v = x.to_vec();
    v.sort_by(f64::total_cmp);
    let at = q.clamp(0.0, 1.0) * v.len().saturating_sub(1) as f64;
    let (i, f) = (at.floor() as usize, at.fract());
    match (v.get(i), v.get(i + 1)) {
        (Some(a), Some(b)) => a + f * (b - a),
        (Some(a), None) => *a,
        _ => f64::NAN,
    }
}

fn refused(chains: &[Vec<f64>]) -> Option<&'static str> {
    let first = chains.first()?.first()?;
    if chains.iter().any(|c| c.len() < 8) {
        Some(FEW)
    } else if chains.iter().flatten().any(|v| !v.is_finite()) {
        Some(NOT_FINITE)
    } else if chains.iter().flatten().all(|v| (v - first).abs() < 1e-300) {
        Some(CONSTANT)
    } else {
        None
    }
}

/// Within and between variance of equally long chains.
fn variances(chains: &[Vec<f64>]) -> (f64, f64) {
    let n = chains[0].len() as f64;
    let each: Vec<(f64, f64)> = chains.iter().map(|c| mean_sd(c)).collect();
    let within = each.iter().map(|e| e.1 * e.1).sum::<f64>() / each.len() as f64;
    let means: Vec<f64> = each.iter().map(|e| e.0).collect();
    let between = if means.len() > 1 { mean_sd(&means).1.powi(2) } else { 0.0 };
    (within, (n - 1.0) / n * within + between)
}

/// Split R-hat of one quantity, draws by chain.
///
/// # Reference
/// Gelman et al., *Bayesian Data Analysis*, 3rd ed., section 11.4.
pub fn split_r_hat(chains: &[Vec<f64>]) -> Available {
    if chains.is_empty() {
        return Available::Not(FEW);
    }
    if let Some(why) = refused(chains) {
        return Available::Not(why);
    }
    let halves: Vec<Vec<f64>> = chains
        .iter()
        .flat_map(|c| {
            let h = c.len() / 2;
            [c[..h].to_vec(), c[c.len() - h..].to_vec()]
        })
        .collect();
    let (within, total) = variances(&halves);
    if within > 0.0 { Available::Is((total / within).sqrt()) } else { Available::Not(CONSTANT) }
}

/// Effective sample size over chains, by Geyer's initial monotone sequence.
///
/// # Reference
/// Gelman et al., *Bayesian Data Analysis*, 3rd ed., section 11.5; Geyer 1992, Statistical Science 7:473.
pub fn total_ess(chains: &[Vec<f64>]) -> Available {
    if chains.is_empty() {
        return Available::Not(FEW);
    }
    if let Some(why) = refused(chains) {
        return Available::Not(why);
    }
    let (within, total) = variances(chains);
    if within <= 0.0 {
        return Available::Not(CONSTANT);
    }
    let n = chains[0].len();
    let rho = |lag: usize| -> f64 {
        let cov = chains
            .iter()
            .map(|c| {
                let m = mean_sd(c).0;
                (0..n - lag).map(|i| (c[i] - m) * (c[i + lag] - m)).sum::<f64>() / n as f64
            })
            .sum::<f64>()
            / chains.len() as f64;
        1.0 - (within - cov) / total
    };
    let (mut sum, mut last) = (0.0, f64::INFINITY);
    for k in 0..(n / 2).min(200) {
        let pair = (rho(2 * k) + rho(2 * k + 1)).min(last);
        if pair <= 0.0 {
            break;
        }
        sum += pair;
        last = pair;
    }
    let all = (n * chains.len()) as f64;
    Available::Is((all / (2.0 * sum - 1.0).max(1.0 / all.ln())).min(all * all.log10()))
}

/// Shape of the Pareto tail of importance ratios, from their logarithms.
///
/// # Reference
/// Vehtari, Simpson, Gelman, Yao & Gabry 2024, JMLR 25(72); the fit by Zhang & Stephens 2009,
/// Technometrics 51:316, with the weak prior of the former.
pub fn k_hat(ln_ratio: &[f64]) -> Available {
    let n = ln_ratio.len();
    if n < 25 {
        return Available::Not(FEW);
    }
    if ln_ratio.iter().any(|v| !v.is_finite()) {
        return Available::Not(NOT_FINITE);
    }
    let most = ln_ratio.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut w: Vec<f64> = ln_ratio.iter().map(|l| (l - most).exp()).collect();
    w.sort_by(f64::total_cmp);
    let tail = (n / 5).min((3.0 * (n as f64).sqrt()).ceil() as usize).max(5);
    let cut = w[n - tail - 1];
    let x: Vec<f64> = w[n - tail..].iter().map(|v| v - cut).collect();
    let (Some(&biggest), true) = (x.last(), x[0] > 0.0) else { return Available::Not(CONSTANT) };
    if biggest <= 0.0 {
        return Available::Not(CONSTANT);
    }
    let m = x.len() as f64;
    let grid = 30 + m.sqrt() as usize;
    let quarter = x[((m / 4.0 + 0.5) as usize).saturating_sub(1)];
    let profile = |b: f64| {
        let k = x.iter().map(|v| (-b * v).ln_1p()).sum::<f64>() / m;
        (m * ((-b / k).ln() - k - 1.0), k)
    };
    let b: Vec<f64> =
        (1..=grid).map(|j| 1.0 / biggest + (1.0 - (grid as f64 / (j as f64 - 0.5)).sqrt()) / (3.0 * quarter)).collect();
    let l: Vec<f64> = b.iter().map(|b| profile(*b).0).collect();
    let mean_b: f64 =
        (0..grid).map(|j| b[j] / l.iter().map(|o| (o - l[j]).exp()).sum::<f64>()).filter(|v| v.is_finite()).sum();
    let k = profile(mean_b).1;
    if k.is_finite() { Available::Is((k * m + 5.0) / (m + 10.0)) } else { Available::Not("the tail has no shape") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::rng;
    use rand::RngExt;

    #[test]
    fn independent_draws_count_fully_and_repeated_ones_do_not() {
        let mut r = rng(1, 0);
        let mut free = || (0..500).map(|_| r.random::<f64>()).collect::<Vec<f64>>();
        let chains = vec![free(), free(), free(), free()];
        let ess = total_ess(&chains).value().expect("available");
        assert!((1500.0..3000.0).contains(&ess), "{ess}");
        assert!(split_r_hat(&chains).value().expect("available") < 1.01);
        let slow: Vec<Vec<f64>> = chains.iter().map(|c| c.iter().flat_map(|v| [*v; 10]).collect()).collect();
        let ess = total_ess(&slow).value().expect("available");
        assert!((1200.0..3200.0).contains(&ess), "ten of each are one: {ess}");
        let apart = vec![chains[0].clone(), chains[1].iter().map(|v| v + 5.0).collect()];
        assert!(split_r_hat(&apart).value().expect("available") > 3.0);
        assert_eq!(total_ess(&[vec![1.0; 50]]), Available::Not(CONSTANT));
        assert_eq!(split_r_hat(&[vec![f64::NAN; 50]]), Available::Not(NOT_FINITE));
        assert_eq!(total_ess(&[]), Available::Not(FEW));
    }

    #[test]
    fn a_pareto_tail_is_recognised() {
        let mut r = rng(2, 0);
        // Ratios with tail index k: u^-k.
        for k in [0.3, 0.9] {
            let l: Vec<f64> = (0..4000).map(|_| -k * (1.0 - r.random::<f64>()).ln()).collect();
            let found = k_hat(&l).value().expect("available");
            assert!((found - k).abs() < 0.2, "{k}: {found}");
        }
        assert_eq!(k_hat(&[0.0; 100]), Available::Not(CONSTANT));
    }
}
