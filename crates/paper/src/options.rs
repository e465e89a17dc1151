//! What the caller chooses for every picture and paper.

use crate::theme::Theme;
use std::borrow::Cow;
use std::fmt::Write as _;

/// Size of a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Paper {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// All sizes.
    pub const ALL: [Paper; 2] = [Paper::A4, Paper::Letter];

    /// Width and height in points.
    pub const fn size_pt(self) -> (f64, f64) {
        match self {
            Paper::A4 => (595.0, 842.0),
            Paper::Letter => (612.0, 792.0),
        }
    }
}

/// Room that a picture has across.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Width {
    /// A tablet, a page.
    #[default]
    Wide,
    /// A phone held upright: parts that stand side by side stand one under the other.
    Narrow,
}

impl Width {
    /// All widths.
    pub const ALL: [Width; 2] = [Width::Wide, Width::Narrow];

    /// The width in the pictures' own units.
    pub const fn units(self) -> f64 {
        match self {
            Width::Wide => 960.0,
            Width::Narrow => 500.0,
        }
    }
}

/// Unit of lengths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

impl Units {
    /// All units.
    pub const ALL: [Units; 2] = [Units::Mm, Units::Inch];

    /// A length in words, for instance `24 mm` or `0.9 in`.
    pub fn length(self, mm: f64) -> String {
        match self {
            Units::Mm => format!("{mm:.0} mm"),
            Units::Inch => format!("{:.1} in", mm / 25.4),
        }
    }

    /// A sentence with every length in it, such as `7.0 mm`, in this unit.
    ///
    /// # Example
    /// ```
    /// use paper::Units;
    /// let said = "The outline may grow 7.0 mm; the coat grows 0.45 mm a day.";
    /// assert_eq!(Units::Inch.sentence(said), "The outline may grow 0.28 inches; the coat grows 0.018 inches a day.");
    /// assert_eq!(Units::Mm.sentence(said), said);
    /// ```
    pub fn sentence(self, text: &str) -> Cow<'_, str> {
        const SIGN: &str = " mm";
        if self == Units::Mm || !text.contains(SIGN) {
            return Cow::Borrowed(text);
        }
        let (mut out, mut rest) = (String::with_capacity(text.len() + 8), text);
        while let Some(at) = rest.find(SIGN) {
            let (before, after) = (&rest[..at], &rest[at + SIGN.len()..]);
            let digits = before.rfind(|c: char| !c.is_ascii_digit() && c != '.');
            let from = digits.map_or(0, |k| k + before[k..].chars().next().map_or(1, char::len_utf8));
            let number = &before[from..];
            match number.parse::<f64>() {
                Ok(mm) if !after.starts_with(char::is_alphanumeric) => {
                    // As many figures as were given: an inch is about 25 mm.
                    let places = 1 + number.split_once('.').map_or(0, |d| d.1.len());
                    let _ = write!(out, "{}{:.places$} inches", &before[..from], mm / 25.4);
                }
                _ => {
                    out.push_str(before);
                    out.push_str(SIGN);
                }
            }
            rest = after;
        }
        out.push_str(rest);
        Cow::Owned(out)
    }

    /// The unit's sign.
    pub const fn word(self) -> &'static str {
        match self {
            Units::Mm => "mm",
            Units::Inch => "in",
        }
    }

    /// The unit as spoken.
    pub const fn spoken(self) -> &'static str {
        match self {
            Units::Mm => "millimetres",
            Units::Inch => "inches",
        }
    }

    /// A length as a number of this unit.
    pub fn number(self, mm: f64) -> f64 {
        match self {
            Units::Mm => mm,
            Units::Inch => mm / 25.4,
        }
    }
}

/// The choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// For which surface.
    pub theme: Theme,
    /// Size of sheets.
    pub paper: Paper,
    /// Unit of lengths.
    pub units: Units,
    /// Room across of sections and measures; drawings and sheets have one width.
    pub width: Width,
}

impl Default for Options {
    fn default() -> Self {
        Options { theme: Theme::Light, paper: Paper::A4, units: Units::Mm, width: Width::Wide }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_lengths_change_their_unit() {
        let inch = |t: &str| Units::Inch.sentence(t).into_owned();
        assert_eq!(inch("25 mm"), "1.0 inches");
        assert_eq!(inch("Žofka: 12.5 mm, then 3 mm."), "Žofka: 0.49 inches, then 0.1 inches.");
        assert_eq!(inch("some mm, 4 mmol, 5 % of 20 min"), "some mm, 4 mmol, 5 % of 20 min");
        assert_eq!(inch("–7 mm"), "–0.3 inches");
        assert_eq!(Units::Inch.length(25.4), "1.0 in");
    }
}
