//! The five values learned, their prior, and a cycle with its values multiplied.

use coat::Cycle;

/// How many values a zone has.
pub const DIM: usize = 5;

/// One number for each [`Param`], in the order of [`Param::ALL`]; mostly logarithms of multipliers.
pub type Logs = [f64; DIM];

/// A value of the follicle cycle that is learned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Param {
    /// From pull until the new hair is through.
    Lag,
    /// Growing.
    Grow,
    /// Full length and firm.
    Set,
    /// How long ripe hair lingers.
    Hold,
    /// Growth, mm a day.
    Growth,
}

impl Param {
    /// All of them, in order.
    pub const ALL: [Param; DIM] = [Param::Lag, Param::Grow, Param::Set, Param::Hold, Param::Growth];

    /// The word on screens and in JSON.
    pub const fn word(self) -> &'static str {
        match self {
            Param::Lag => "lag",
            Param::Grow => "grow",
            Param::Set => "set",
            Param::Hold => "hold",
            Param::Growth => "growth",
        }
    }

    /// Its unit.
    pub const fn unit(self) -> &'static str {
        if matches!(self, Param::Growth) { "mm/d" } else { "d" }
    }

    /// Its value in a cycle, in its unit.
    pub fn of(self, c: &Cycle) -> f64 {
        match self {
            Param::Lag => c.lag.mean_d(),
            Param::Grow => c.grow.mean_d(),
            Param::Set => c.set.mean_d(),
            Param::Hold => c.hold_d,
            Param::Growth => c.growth_mm_d,
        }
    }
}

/// The prior of a dog: centre of the dog's part and both spreads, as logarithms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Centre of the dog's part; 0 is the default.
    pub centre: Logs,
    /// Standard deviation of the dog's part.
    pub dog_sd: Logs,
    /// Standard deviation of a zone's own part.
    pub zone_sd: Logs,
}

impl Prior {
    /// The prior of a dog of which nothing is known but its coat type.
    pub const STANDARD: Prior =
        Prior { centre: [0.0; DIM], dog_sd: [0.20, 0.20, 0.30, 0.40, 0.15], zone_sd: [0.10, 0.10, 0.15, 0.20, 0.075] };

    /// All spreads multiplied, for instance by 1.5 in the year after neutering.
    #[must_use]
    pub fn widened(mut self, factor: f64) -> Self {
        self.dog_sd = self.dog_sd.map(|s| s * factor);
        self.zone_sd = self.zone_sd.map(|s| s * factor);
        self
    }

    /// Standard deviation of a zone's logarithm: dog and zone together.
    pub fn total_sd(&self) -> Logs {
        std::array::from_fn(|k| self.dog_sd[k].hypot(self.zone_sd[k]))
    }
}

/// The cycle with every value multiplied by the exponential of `x`, kept within what the engine computes with.
pub fn scaled(c: &Cycle, x: &Logs) -> Cycle {
    let by = |k: usize| x[k].clamp(-2.5, 2.5).exp();
    let wait = |w: coat::Wait, f: f64| if w.mean_d() * f > 2900.0 { w } else { w.scaled(f) };
    Cycle {
        lag: wait(c.lag, by(0)),
        grow: wait(c.grow, by(1)),
        set: wait(c.set, by(2)),
        hold_d: (c.hold_d * by(3)).clamp(1.0, 3000.0),
        growth_mm_d: (c.growth_mm_d * by(4)).clamp(0.01, 3.0),
    }
}
