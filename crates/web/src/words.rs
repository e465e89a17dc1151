//! Dates, lengths and money as the shop writes them.

use app::shop::Units;
use coat::Day;
use maud::{Markup, PreEscaped};

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
const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// The day by which House shows how dates look: 25 November 2026.
pub(crate) const A_DAY: Day = Day::from_days(20_782);

/// The forms of dates that House offers: tag, how it looks.
pub(crate) const DATE_FORMS: [(&str, &str); 4] = [
    ("en-IE", "25 November 2026 (Ireland, United Kingdom, most of Europe)"),
    ("en-US", "November 25, 2026 (United States)"),
    // Hyphens that do not break: with others it would be written as the house has it now.
    ("en-CA", "2026\u{2011}11\u{2011}25 (Canada, Sweden)"),
    ("en-AU", "25 November 2026 (Australia, New Zealand)"),
];

/// The order of a date's parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(clippy::enum_variant_names, reason = "the orders of a date are named by what comes first")]
pub(crate) enum Dates {
    /// 25 November 2026.
    DayFirst,
    /// November 25, 2026.
    MonthFirst,
    /// 2026-11-25.
    YearFirst,
}

impl Dates {
    /// The order of a BCP 47 tag's region: month first in the United States, year first in Canada and Sweden (CLDR,
    /// from memory), day first elsewhere.
    pub(crate) fn of(tag: &str) -> Dates {
        match region(tag).as_deref() {
            Some("US") => Dates::MonthFirst,
            Some("CA" | "SE") => Dates::YearFirst,
            _ => Dates::DayFirst,
        }
    }

    /// `25 November 2026`.
    pub(crate) fn long(self, day: Day) -> String {
        let (y, m, d) = day.ymd();
        let month = month(m);
        match self {
            Dates::DayFirst => format!("{d} {month} {y}"),
            Dates::MonthFirst => format!("{month} {d}, {y}"),
            Dates::YearFirst => day.to_string(),
        }
    }

    /// `Wed 25 Nov`.
    pub(crate) fn short(self, day: Day) -> String {
        let (_, m, d) = day.ymd();
        let (weekday, month) = (&weekday(day)[..3], &month(m)[..3]);
        match self {
            Dates::DayFirst => format!("{weekday} {d} {month}"),
            Dates::MonthFirst => format!("{weekday} {month} {d}"),
            Dates::YearFirst => format!("{weekday} {day}"),
        }
    }

    /// A page with the days in its text, `2026-11-25`, as the shop writes them. What tags hold, what is typed into a
    /// field, drawings and scripts stay as they are: they are read by programs.
    ///
    /// Every page goes through here at its end, so that no sentence has to know how the shop writes dates. A text that
    /// is to show the form `2026-11-25` itself must say it in words.
    pub(crate) fn in_page(self, page: Markup) -> Markup {
        if self == Dates::YearFirst {
            return page;
        }
        let mut out = String::with_capacity(page.0.len() + 256);
        let mut rest = page.0.as_str();
        while let Some(at) = rest.find('<') {
            self.write(&mut out, &rest[..at]);
            let (kept, after) = rest[at..].split_at(kept(&rest[at..]));
            out.push_str(kept);
            rest = after;
        }
        self.write(&mut out, rest);
        PreEscaped(out)
    }

    /// A sentence with the days in it, `2026-11-25`, as the shop writes them.
    pub(crate) fn in_text(self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        self.write(&mut out, text);
        out
    }

    /// Writes it out. A page has thousands of texts and few days: only what a hyphen stands in is looked at.
    fn write(self, out: &mut String, text: &str) {
        let joins = |c: char| c.is_ascii_alphanumeric() || c == '-';
        let (mut written, mut from) = (0, 0);
        while let Some(hyphen) = text[from..].find('-').map(|i| from + i) {
            from = hyphen + 1;
            // Four digits of the year stand before it.
            let Some(start) = hyphen.checked_sub(4).filter(|start| *start >= written) else { continue };
            let Some(day) = text.get(start..start + 10).and_then(Day::parse) else { continue };
            if !text[..start].ends_with(joins) && !text[start + 10..].starts_with(joins) {
                out.push_str(&text[written..start]);
                out.push_str(&self.long(day));
                (written, from) = (start + 10, start + 10);
            }
        }
        out.push_str(&text[written..]);
    }

    /// A day kept as text; as it is when it is none.
    pub(crate) fn long_text(self, day: &str) -> String {
        Day::parse(day).map_or_else(|| day.to_owned(), |d| self.long(d))
    }
}

/// How many bytes from a tag on are no text: the tag, or all of an element that programs read.
fn kept(from_tag: &str) -> usize {
    let name = from_tag[1..].split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap_or_default();
    let end = match name {
        "textarea" => "</textarea>",
        "script" => "</script>",
        "style" => "</style>",
        "svg" => "</svg>",
        _ => ">",
    };
    from_tag.find(end).map_or(from_tag.len(), |at| at + end.len())
}

fn month(m: i8) -> &'static str {
    usize::try_from(m - 1).ok().and_then(|i| MONTHS.get(i)).copied().unwrap_or("---")
}

/// The weekday's name.
pub(crate) fn weekday(day: Day) -> &'static str {
    WEEKDAYS.get(usize::from(day.weekday().saturating_sub(1))).copied().unwrap_or("---")
}

/// The region of a BCP 47 tag, upper case; none when it names none.
pub(crate) fn region(tag: &str) -> Option<String> {
    let part = tag.split(['-', '_']).skip(1).find(|p| p.len() == 2 && p.bytes().all(|b| b.is_ascii_alphabetic()))?;
    Some(part.to_ascii_uppercase())
}

/// The unit's sign.
pub(crate) const fn unit(units: Units) -> &'static str {
    match units {
        Units::Mm => "mm",
        Units::Inches => "in",
    }
}

/// A length as a number for a field: whole tenths of a millimetre, or hundredths of an inch.
pub(crate) fn in_units(mm: f64, units: Units) -> String {
    match units {
        Units::Mm => ((mm * 10.0).round() / 10.0).to_string(),
        Units::Inches => ((mm / 25.4 * 100.0).round() / 100.0).to_string(),
    }
}

/// Reads a length of a field, point or comma, into millimetres; none when it is none.
pub(crate) fn mm_of(text: &str, units: Units) -> Option<f64> {
    let x: f64 = text.trim().replace(',', ".").parse().ok()?;
    Some(if units == Units::Inches { x * 25.4 } else { x }).filter(|mm| mm.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_follow_the_shop() {
        let d = Day::from_ymd(2026, 11, 25).unwrap();
        assert_eq!(Dates::of("en-IE").long(d), "25 November 2026");
        assert_eq!(Dates::of("en-US").long(d), "November 25, 2026");
        assert_eq!(Dates::of("sv-SE").long(d), "2026-11-25");
        assert_eq!(Dates::of("").short(d), "Wed 25 Nov");
        let said = "The next visit is on 2026-11-25; it was 2026-12-01 (25 min).";
        assert_eq!(
            Dates::of("").in_text(said),
            "The next visit is on 25 November 2026; it was 1 December 2026 (25 min)."
        );
        assert_eq!(d, A_DAY);
        for (tag, look) in DATE_FORMS {
            assert!(look.replace('\u{2011}', "-").starts_with(&Dates::of(tag).long(A_DAY)), "{tag}: {look}");
        }
        assert_eq!(region("zh-Hant-TW").as_deref(), Some("TW"));
        assert_eq!(region("en"), None);
    }

    #[test]
    fn days_in_a_sentence_follow_the_shop() {
        let us = Dates::MonthFirst;
        assert_eq!(us.in_text("Nothing to take before 2027-02-11."), "Nothing to take before February 11, 2027.");
        assert_eq!(us.in_text("2027-02-11 é 2027-02-12"), "February 11, 2027 é February 12, 2027");
        for same in [
            "",
            "-",
            "ééé-02-11",
            "2027-02-11-2027-02-12",
            "2027-02-30.",
            "é2027",
            "12027-02-11",
            "2027-02-111",
            "id-2027-02-11",
            "1 in 4",
        ] {
            assert_eq!(us.in_text(same), same);
        }
        assert_eq!(Dates::YearFirst.in_text("by 2027-02-11"), "by 2027-02-11");
    }

    #[test]
    fn days_in_a_page_follow_the_shop_and_fields_do_not() {
        let page = "<!DOCTYPE html><p id=\"2026-11-25\">by 2026-11-25 <b>2026-11-26</b>, not `2026-02-30`</p>\
                    <input value=\"2026-11-25\"><textarea name=\"a\">2026-11-25 <x</textarea>\
                    <script>\"2026-11-25\"</script><svg><text>2026-11-25</text></svg>2026-11-27";
        let said = |dates: Dates| dates.in_page(PreEscaped(page.to_owned())).into_string();
        let told = "<!DOCTYPE html><p id=\"2026-11-25\">by 25 November 2026 <b>26 November 2026</b>, not `2026-02-30`</p>\
                    <input value=\"2026-11-25\"><textarea name=\"a\">2026-11-25 <x</textarea>\
                    <script>\"2026-11-25\"</script><svg><text>2026-11-25</text></svg>27 November 2026";
        assert_eq!(said(Dates::DayFirst), told);
        assert_eq!(said(Dates::YearFirst), page);
    }

    #[test]
    fn lengths_in_both_units() {
        assert_eq!((in_units(35.0, Units::Mm), in_units(35.0, Units::Inches)), ("35".into(), "1.38".into()));
        assert_eq!(mm_of("1,5", Units::Inches), Some(1.5 * 25.4));
        assert_eq!(mm_of("1e308", Units::Inches), None, "too long to be written in millimetres");
        assert_eq!((mm_of("NaN", Units::Mm), mm_of("inf", Units::Mm), mm_of("x", Units::Mm)), (None, None, None));
    }
}
