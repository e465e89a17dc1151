//! Dates in words: one form in every picture.

use coat::Day;

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// `Feb`, for axes.
pub fn month_of(day: Day) -> &'static str {
    usize::try_from(day.ymd().1 - 1).ok().and_then(|i| MONTHS.get(i)).copied().unwrap_or("")
}

/// `18 Feb 2027`.
pub fn of_day(day: Day) -> String {
    let (y, _, d) = day.ymd();
    format!("{d} {} {y}", month_of(day))
}

/// `18 Feb 2027` for `2027-02-18`; the text as it is when it is no date.
pub fn spoken(date: &str) -> String {
    Day::parse(date).map_or_else(|| date.to_owned(), of_day)
}

/// A sentence with every `2027-02-18` in it as `18 Feb 2027`.
pub fn in_sentence(text: &str) -> String {
    const LONG: usize = "2027-02-18".len();
    let (mut out, mut rest) = (String::with_capacity(text.len()), text);
    while let Some(c) = rest.chars().next() {
        let digit = |c: char| c.is_ascii_digit();
        let date = rest.get(..LONG).filter(|_| !out.ends_with(digit)).and_then(Day::parse);
        match date.filter(|_| !rest[LONG..].starts_with(digit)) {
            Some(day) => {
                out.push_str(&of_day(day));
                rest = &rest[LONG..];
            }
            None => {
                out.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_read_as_spoken() {
        assert_eq!(spoken("2027-02-18"), "18 Feb 2027");
        assert_eq!(spoken("soon"), "soon");
        assert_eq!(
            in_sentence("Žofka: hands off until 2026-12-03 (cut); was 2026-02-30, 12026-12-03."),
            "Žofka: hands off until 3 Dec 2026 (cut); was 2026-02-30, 12026-12-03."
        );
        assert_eq!(in_sentence("2027-02-18ü"), "18 Feb 2027ü");
    }
}
