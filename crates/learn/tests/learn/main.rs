//! What must hold of learning, on readings drawn from the model itself.
#![allow(missing_docs)]

mod calibration;
mod cases;
