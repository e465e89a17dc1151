//! The plan against its own replay, other rules and enumeration.
mod whole_dog;
