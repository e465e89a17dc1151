//! What must hold of learning, on readings drawn from the model itself and on odd ones.
#![allow(missing_docs)]

mod calibration;
mod cases;
mod holds;
