//! The clock as the pages need it. The program has the real one, tests one that they move.

use coat::Day;

/// Tells the time.
pub trait Clock: Send + Sync {
    /// Milliseconds since 1970-01-01 00:00 UTC.
    fn now_ms(&self) -> i64;

    /// The civil day now in a time zone (IANA name), by UTC where the zone is unknown.
    fn today(&self, time_zone: &str) -> Day;

    /// Whether the name is a time zone's.
    fn knows(&self, time_zone: &str) -> bool;

    /// The time zone that a new shop starts with.
    fn own_zone(&self) -> String;
}
