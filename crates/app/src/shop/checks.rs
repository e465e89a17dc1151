//! Checks of what the dog's file does not know: names, texts, days, codes.

use super::failure::Said;
use coat::Day;

/// The longest name or short text, characters.
pub const MOST_NAME: usize = 200;
/// The longest note, characters.
pub const MOST_NOTE: usize = 4000;

/// A text on one line, trimmed; a fault when it is too long, has control characters, or is empty and needed.
pub(super) fn line(field: &str, what: &str, text: &mut String, needed: bool, faults: &mut Vec<Said>) {
    *text = text.trim().to_owned();
    if needed && text.is_empty() {
        faults.push(Said::new(field, format!("{what} is empty"), "Fill it in."));
    }
    long(field, what, text, MOST_NAME, faults);
    if text.chars().any(odd) {
        faults.push(Said::new(
            field,
            format!("{what} has a control character"),
            "Type it anew; it stands on one line.",
        ));
    }
}

/// A note of several lines.
pub(super) fn note(field: &str, what: &str, text: &mut String, faults: &mut Vec<Said>) {
    *text = text.replace("\r\n", "\n").trim().to_owned();
    long(field, what, text, MOST_NOTE, faults);
    if text.chars().any(|c| odd(c) && c != '\n' && c != '\t') {
        faults.push(Said::new(field, format!("{what} has a control character"), "Type it anew."));
    }
}

fn long(field: &str, what: &str, text: &str, most: usize, faults: &mut Vec<Said>) {
    let length = text.chars().count();
    if length > most {
        let message = format!("{what} has `{length} characters`, more than `{most}`");
        faults.push(Said::new(field, message, "Shorten it."));
    }
}

/// Control characters and the marks that turn the direction of writing.
fn odd(c: char) -> bool {
    c.is_control() || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// How a day is written.
pub(super) const AS_A_DAY: &str = "Give the day as year, month and day in digits, with hyphens between.";

/// A day as written; a fault when it is none.
pub(super) fn day(field: &str, written: &str, faults: &mut Vec<Said>) -> Option<Day> {
    let day = Day::parse(written.trim());
    if day.is_none() {
        let message = format!("`{}` is not a day", written.trim().chars().take(40).collect::<String>());
        faults.push(Said::new(field, message, AS_A_DAY));
    }
    day
}

/// One of some words.
pub(super) fn word(field: &str, what: &str, written: &str, words: &[&str], faults: &mut Vec<Said>) {
    if !words.contains(&written) {
        let shown: String = written.chars().take(40).collect();
        let message = format!("{what} cannot be `{shown}`");
        faults.push(Said::new(field, message, format!("Choose one of: {}.", words.join(", "))));
    }
}

/// A number in a range.
pub(super) fn number(field: &str, what: &str, x: f64, low: f64, high: f64, faults: &mut Vec<Said>) {
    if !(x.is_finite() && (low..=high).contains(&x)) {
        let message = format!("{what} `{x}` is outside `{low}..={high}`");
        faults.push(Said::new(field, message, format!("Give {what} between {low} and {high}.")));
    }
}

/// An empty text is none.
pub(super) fn some(text: &mut Option<String>) {
    *text = text.take().map(|t| t.trim().to_owned()).filter(|t| !t.is_empty());
}
