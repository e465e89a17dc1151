//! Amounts of money in fields: read and written in the currency's own digits.

use app::shop::decimals;

/// An amount in minor units as people write it in a field: `45.50`.
pub(super) fn written(minor: i64, currency: &str) -> String {
    let digits = decimals(currency);
    let unit = 10_i64.pow(digits);
    match digits {
        0 => minor.to_string(),
        _ => format!("{}.{:0width$}", minor / unit, (minor % unit).abs(), width = digits as usize),
    }
}

/// Reads an amount, point or comma, into minor units; none when it is none.
pub(super) fn minor(text: &str, currency: &str) -> Option<i64> {
    let digits = decimals(currency);
    let text = text.trim().replace(',', ".");
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let plain = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || part.len() > digits as usize || !plain(whole) || !plain(part) {
        return None;
    }
    let padded = format!("{part:0<width$}", width = digits as usize);
    let part: i64 = if padded.is_empty() { 0 } else { padded.parse().ok()? };
    Some(whole.parse::<i64>().ok()? * 10_i64.pow(digits) + part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn money_is_read_and_written() {
        assert_eq!(minor("45,5", "EUR"), Some(4550));
        assert_eq!(minor("45", "JPY"), Some(45));
        assert_eq!(minor("1.234", "KWD"), Some(1234));
        for bad in ["", "-1", "1.234", "1e3", "١", "9999999999"] {
            assert_eq!(minor(bad, "EUR"), None, "{bad}");
        }
        assert_eq!(written(4550, "EUR"), "45.50");
        assert_eq!(written(4500, "JPY"), "4500");
    }
}
