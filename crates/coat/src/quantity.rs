//! Quantities with their unit in every constructor and reader.

/// A waiting time of the follicle cycle: a Gamma law by its mean and sd.
///
/// An exponential time is the Gamma with sd = mean; sd 0 is a fixed time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wait {
    mean_d: f64,
    sd_d: f64,
}

impl Wait {
    /// A time with this mean and standard deviation, in days.
    ///
    /// # Errors
    /// [`QuantityError`] unless the mean is in `0..=3000 d` and the sd in `0..=3000 d`.
    pub fn from_days(mean_d: f64, sd_d: f64) -> Result<Self, QuantityError> {
        let limit = 0.0..=3000.0;
        for (name, v) in [("mean", mean_d), ("sd", sd_d)] {
            if !limit.contains(&v) {
                return Err(QuantityError { name, value: v, unit: "d", low: 0.0, high: 3000.0 });
            }
        }
        Ok(Wait { mean_d, sd_d })
    }

    pub(crate) const fn of(mean_d: f64, sd_d: f64) -> Self {
        Wait { mean_d, sd_d }
    }

    /// Mean, days.
    pub const fn mean_d(self) -> f64 {
        self.mean_d
    }

    /// Standard deviation, days.
    pub const fn sd_d(self) -> f64 {
        self.sd_d
    }

    /// The same law with the clock `factor` times slower (mean and sd scale together).
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Wait { mean_d: self.mean_d * factor, sd_d: self.sd_d * factor }
    }
}

/// A value outside what the model can compute with.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{name} `{value} {unit}` is outside `{low}..={high} {unit}`")]
pub struct QuantityError {
    /// What the value is of.
    pub name: &'static str,
    /// The value given.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Lowest value allowed.
    pub low: f64,
    /// Highest value allowed.
    pub high: f64,
}
