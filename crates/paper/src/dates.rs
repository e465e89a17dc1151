//! Dates in words.

use coat::Day;

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

fn month(m: i8) -> &'static str {
    usize::try_from(m - 1).ok().and_then(|i| MONTHS.get(i)).copied().unwrap_or("")
}

/// `18 February 2027`; the text as it is when it is no date.
pub fn long(date: &str) -> String {
    Day::parse(date).map_or_else(
        || date.to_owned(),
        |d| {
            let (y, m, d) = d.ymd();
            format!("{d} {} {y}", month(m))
        },
    )
}

/// `18 Feb`; the text as it is when it is no date.
pub fn short(date: &str) -> String {
    Day::parse(date).map_or_else(|| date.to_owned(), short_day)
}

/// `18 Feb`.
pub fn short_day(day: Day) -> String {
    let (_, m, d) = day.ymd();
    format!("{d} {}", month(m).get(..3).unwrap_or(""))
}

/// `Feb`, for axes.
pub fn month_of(day: Day) -> String {
    let (_, m, _) = day.ymd();
    month(m).get(..3).unwrap_or("").to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_read_as_spoken() {
        assert_eq!(long("2027-02-18"), "18 February 2027");
        assert_eq!(short("2027-02-18"), "18 Feb");
        assert_eq!(long("soon"), "soon");
    }
}
