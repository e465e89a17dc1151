//! Amounts that a hand can do, what stops them, and what a plan of them costs.

use crate::zone_model::Closed;

/// An amount in hand terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Amount {
    /// Nothing.
    Leave,
    /// One hair in so many of those one sees.
    OneIn(u8),
    /// All that is ripe.
    AllRipe,
}

/// The hand steps, smallest first.
pub const STEPS: [Amount; 9] = [
    Amount::Leave,
    Amount::OneIn(20),
    Amount::OneIn(15),
    Amount::OneIn(12),
    Amount::OneIn(10),
    Amount::OneIn(8),
    Amount::OneIn(6),
    Amount::OneIn(5),
    Amount::OneIn(4),
];

impl std::fmt::Display for Amount {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Amount::Leave => f.write_str("leave"),
            Amount::OneIn(n) => write!(f, "1 in {n}"),
            Amount::AllRipe => f.write_str("all ripe"),
        }
    }
}

/// The share of the next smaller step.
pub(crate) fn step_below(n: u8) -> f64 {
    let at = STEPS.iter().position(|s| *s == Amount::OneIn(n)).unwrap_or(0);
    match STEPS.get(at.wrapping_sub(1)) {
        Some(Amount::OneIn(k)) => 1.0 / f64::from(*k),
        // The smallest step asks for half of itself at least.
        _ => 0.5 / f64::from(n),
    }
}

/// The cost of a zone's plan, by term.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Terms {
    /// Thin cover.
    pub cover: f64,
    /// Ripe hair left.
    pub ripe: f64,
    /// Unevenness.
    pub evenness: f64,
    /// Wool.
    pub wool: f64,
    /// Outline on days that matter.
    pub outline: f64,
    /// Order of layers.
    pub order: f64,
}

impl Terms {
    /// The whole cost.
    pub fn sum(&self) -> f64 {
        self.cover + self.ripe + self.evenness + self.wool + self.outline + self.order
    }
}

impl std::ops::Add for Terms {
    type Output = Terms;

    fn add(self, o: Terms) -> Terms {
        Terms {
            cover: self.cover + o.cover,
            ripe: self.ripe + o.ripe,
            evenness: self.evenness + o.evenness,
            wool: self.wool + o.wool,
            outline: self.outline + o.outline,
            order: self.order + o.order,
        }
    }
}

/// The limit that stops an amount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bar {
    /// Not so much is ripe.
    Pool,
    /// More than the zone's cap.
    Cap,
    /// Cover would fall to the bare limit.
    Bare,
    /// Nothing may be taken.
    Closed(Closed),
}
