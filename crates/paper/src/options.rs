//! What the caller chooses for every picture and paper.

use crate::theme::Theme;

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

    /// The unit's sign.
    pub const fn word(self) -> &'static str {
        match self {
            Units::Mm => "mm",
            Units::Inch => "in",
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
}

impl Default for Options {
    fn default() -> Self {
        Options { theme: Theme::Light, paper: Paper::A4, units: Units::Mm }
    }
}
