//! The coat against renewal theory and known values.
mod renewal;
