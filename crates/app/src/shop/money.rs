//! Money in minor units (ISO 4217). Only what the shop needs: an hour's price as the dog's file has it.

/// Codes whose minor unit is not a hundredth, with its decimals (ISO 4217, from memory).
const OTHER_DECIMALS: [(&str, u32); 24] = [
    ("BIF", 0),
    ("CLP", 0),
    ("DJF", 0),
    ("GNF", 0),
    ("ISK", 0),
    ("JPY", 0),
    ("KMF", 0),
    ("KRW", 0),
    ("PYG", 0),
    ("RWF", 0),
    ("UGX", 0),
    ("UYI", 0),
    ("VND", 0),
    ("VUV", 0),
    ("XAF", 0),
    ("XOF", 0),
    ("XPF", 0),
    ("BHD", 3),
    ("IQD", 3),
    ("JOD", 3),
    ("KWD", 3),
    ("LYD", 3),
    ("OMR", 3),
    ("TND", 3),
];

/// Decimals of a currency's minor unit.
///
/// # Example
/// ```
/// assert_eq!(["JPY", "EUR", "KWD"].map(app::shop::decimals), [0, 2, 3]);
/// ```
pub fn decimals(currency: &str) -> u32 {
    OTHER_DECIMALS.iter().find(|c| c.0 == currency).map_or(2, |c| c.1)
}

/// An amount in minor units as a number of the currency's own unit.
pub(super) fn major(minor: i64, currency: &str) -> f64 {
    minor as f64 / f64::from(10_u32.pow(decimals(currency)))
}
