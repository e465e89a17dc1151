//! What one dog's recorded visits say about its coat: priors, posterior, predictive windows, surprises.
//!
//! Forward predictions come from the `coat` engine; seeds, days and the prior come in as arguments.
//! Reads no clock and no file; knows nothing of plans. The model is written down in `docs/learning.md`.

mod answers;
mod chance;
mod change;
mod diagnostics;
mod features;
mod linear;
mod pace;
mod params;
mod patch;
mod posterior;
mod reading;
mod sampler;
mod shop;
mod simulate;
mod summary;
mod surface;
mod sweep;
mod window;

pub use answers::{Candidate, Foretold, Kind, foretell};
pub use change::Change;
pub use diagnostics::{Available, k_hat, mean_sd, quantile, split_r_hat, total_ess};
pub use pace::{Pace, PaceRow, Paces, pace};
pub use params::{DIM, Logs, Param, Prior, scaled};
pub use posterior::{Case, Diagnostics, Effort, LearnError, Learned, Unused, UnusedWhy, learn};
pub use reading::{COMB_MM, Feel, Reading, ReadingError, What};
pub use shop::{DogSummary, pooled_prior, shop_prior};
pub use simulate::{Simulated, simulate};
pub use summary::{ParamSummary, Surprise, ZoneSummary};
pub use window::LayerWindow;
