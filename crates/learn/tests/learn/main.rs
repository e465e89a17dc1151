//! What must hold of learning, on readings drawn from the model itself and on odd ones.
#![allow(missing_docs, clippy::needless_range_loop, reason = "parameters are walked by number")]

mod calibration;
mod cases;
mod holds;
