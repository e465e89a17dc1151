//! The weights of the plan's cost, and the limits of the hands.

/// What the plan pays for; averaged over days and, by area, over zones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    /// Per share of cover below the floor.
    pub cover: f64,
    /// Per share of ripe hair left in layered zones.
    pub ripe: f64,
    /// Per share of ripe hair left in short and shaped zones.
    pub ripe_short: f64,
    /// Per share of unevenness in layered zones.
    pub evenness: f64,
    /// Per share of wool above 0.15.
    pub wool: f64,
    /// Per share of unripe hair pulled.
    pub unripe: f64,
    /// Per class for not taking the earliest first.
    pub order: f64,
    /// On a day that matters: per unit of outline error.
    pub outline: f64,
    /// Days that a day that matters weighs.
    pub day_that_matters: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Weights {
            cover: 20.0,
            ripe: 1.0,
            ripe_short: 2.0,
            evenness: 2.0,
            wool: 0.5,
            unripe: 3.0,
            order: 1e-4,
            outline: 2.0,
            day_that_matters: 35.0,
        }
    }
}

/// Minutes of a visit before any hair is pulled: look over, brush, pads, feet, tidy, pictures. Assumed.
pub const BASE_MIN: f64 = 20.0;
/// Minutes a dm2 for touching a zone, and for each share of the visible hair pulled. Assumed.
pub const TOUCH_MIN_DM2: f64 = 0.35;
/// See [`TOUCH_MIN_DM2`].
pub const PULL_MIN_DM2: f64 = 3.0;

/// The table and the hands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Table {
    /// Skin, dm2, times density.
    pub dense_dm2: f64,
    /// Multiplies minutes.
    pub pace: f64,
    /// Most minutes of a visit; none when there is no limit.
    pub max_min: Option<f64>,
}

impl Table {
    /// Minutes of one zone for a share of the visible hair; 0 when neither pulled nor carded.
    pub fn zone_min(&self, area: f64, tender: bool, share: f64, carded: bool) -> f64 {
        if share <= 0.0 && !carded {
            return 0.0;
        }
        area * self.unit(tender) * (TOUCH_MIN_DM2 + PULL_MIN_DM2 * share)
    }

    pub(crate) fn unit(&self, tender: bool) -> f64 {
        self.dense_dm2 * self.pace * if tender { 2.0 } else { 1.0 }
    }

    /// Minutes of the visit that are not spent on a zone.
    pub fn base_min(&self) -> f64 {
        BASE_MIN * self.pace
    }
}
