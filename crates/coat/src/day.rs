//! Civil days: the grid on which a coat is computed. No clock and no time zone.

use std::fmt;
use std::ops::{Add, Sub};

/// A civil day, counted from 1970-01-01.
///
/// # Example
/// ```
/// use coat::Day;
/// let d = Day::from_ymd(2026, 2, 28).ok_or("no such day")?;
/// assert_eq!((d + 1).to_string(), "2026-03-01");
/// assert_eq!((d + 1) - d, 1);
/// # Ok::<(), &str>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(i32);

impl Day {
    /// The day `days` after 1970-01-01 (before it when negative).
    pub const fn from_days(days: i32) -> Self {
        Day(days)
    }

    /// The day of a Gregorian date; none when the date does not exist.
    pub fn from_ymd(year: i16, month: i8, day: i8) -> Option<Self> {
        let date = jiff::civil::Date::new(year, month, day).ok()?;
        let epoch = jiff::civil::date(1970, 1, 1);
        let span = date.since(epoch).ok()?;
        Some(Day(span.get_days()))
    }

    /// Reads `YYYY-MM-DD` (ISO 8601 calendar date); none for anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let b = text.as_bytes();
        if b.len() != 10 || b[4] != b'-' || b[7] != b'-' || !text.is_ascii() {
            return None;
        }
        Day::from_ymd(text[..4].parse().ok()?, text[5..7].parse().ok()?, text[8..].parse().ok()?)
    }

    /// Days since 1970-01-01.
    pub const fn days(self) -> i32 {
        self.0
    }

    /// Year, month 1 to 12, day 1 to 31.
    pub fn ymd(self) -> (i16, i8, i8) {
        let d = self.date();
        (d.year(), d.month(), d.day())
    }

    /// Day of the year, 1 to 366.
    pub fn day_of_year(self) -> i16 {
        self.date().day_of_year()
    }

    /// Weekday, 1 = Monday to 7 = Sunday (ISO 8601).
    pub const fn weekday(self) -> u8 {
        ((self.0 + 3).rem_euclid(7) + 1) as u8
    }

    fn date(self) -> jiff::civil::Date {
        let epoch = jiff::civil::date(1970, 1, 1);
        let clamped = self.0.clamp(-4_000_000, 2_900_000);
        epoch.checked_add(jiff::Span::new().days(clamped)).unwrap_or(epoch)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (y, m, d) = self.ymd();
        write!(f, "{y:04}-{m:02}-{d:02}")
    }
}

impl Add<i32> for Day {
    type Output = Day;
    fn add(self, days: i32) -> Day {
        Day(self.0.saturating_add(days))
    }
}

impl Sub<i32> for Day {
    type Output = Day;
    fn sub(self, days: i32) -> Day {
        Day(self.0.saturating_sub(days))
    }
}

impl Sub for Day {
    type Output = i32;
    fn sub(self, other: Day) -> i32 {
        self.0.saturating_sub(other.0)
    }
}

/// Hours between sunrise and sunset, taking the sun's centre at -0.833 degrees.
///
/// # Units
/// `latitude_deg` in -90 to 90; the answer in 0 to 24 h.
///
/// # Reference
/// The sun's declination by the Astronomical Almanac's short formula (from memory), at noon UTC;
/// the sunrise equation is textbook. Checked in `reference/` against the PyPI package `astral`.
pub fn day_length_h(latitude_deg: f64, day: Day) -> f64 {
    let n = f64::from(day.days()) - 10_957.0;
    let mean_longitude = 280.460 + 0.985_647_4 * n;
    let anomaly = (357.528 + 0.985_600_3 * n).to_radians();
    let longitude = (mean_longitude + 1.915 * anomaly.sin() + 0.020 * (2.0 * anomaly).sin()).to_radians();
    let obliquity = (23.439 - 4.0e-7 * n).to_radians();
    let decl = (obliquity.sin() * longitude.sin()).asin();
    let lat = latitude_deg.to_radians();
    let alt = (-0.833_f64).to_radians();
    let cos_h = (alt.sin() - lat.sin() * decl.sin()) / (lat.cos() * decl.cos());
    24.0 / std::f64::consts::PI * cos_h.clamp(-1.0, 1.0).acos()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn civil_days() {
        assert_eq!(Day::parse("1970-01-01"), Some(Day::from_days(0)));
        assert_eq!(Day::parse("2026-11-25").map(Day::days), Some(20_782));
        assert_eq!(Day::from_days(20_782).weekday(), 3);
        assert_eq!(Day::parse("2026-02-29"), None);
        assert_eq!(Day::parse("2026-2-09"), None);
        assert_eq!(Day::from_days(-1).to_string(), "1969-12-31");
    }
}
