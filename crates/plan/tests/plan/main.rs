//! The plan against its own replay, the rule, enumeration and its limits; and what its reasons name.

mod reasons;
mod short_visits;
mod whole_dog;
