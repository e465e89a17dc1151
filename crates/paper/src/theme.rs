//! Colours: one accent, one sequential scale that holds without red-green sight, and contrasts in numbers.

/// A colour in sRGB.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Rgb {
    /// Red, 0 to 255.
    pub r: u8,
    /// Green, 0 to 255.
    pub g: u8,
    /// Blue, 0 to 255.
    pub b: u8,
}

/// A colour from 0xRRGGBB.
pub const fn rgb(hex: u32) -> Rgb {
    Rgb { r: (hex >> 16) as u8, g: (hex >> 8) as u8, b: hex as u8 }
}

impl std::fmt::Display for Rgb {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.r, self.g, self.b)
    }
}

impl Rgb {
    /// Linear light of the three channels, 0 to 1.
    pub fn linear(self) -> [f64; 3] {
        [self.r, self.g, self.b].map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        })
    }

    /// Relative luminance as WCAG 2.2 defines it.
    pub fn luminance(self) -> f64 {
        luminance_of(self.linear())
    }

    /// Part of the way to another colour.
    pub fn toward(self, other: Rgb, share: f64) -> Rgb {
        let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share.clamp(0.0, 1.0)).round() as u8;
        Rgb { r: mix(self.r, other.r), g: mix(self.g, other.g), b: mix(self.b, other.b) }
    }
}

/// Relative luminance of linear light.
pub fn luminance_of(linear: [f64; 3]) -> f64 {
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

/// Contrast ratio as WCAG 2.2 defines it, 1 to 21.
pub fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (x, y) = (a.luminance(), b.luminance());
    (x.max(y) + 0.05) / (x.min(y) + 0.05)
}

/// Black or white, whichever reads better on a fill; never below 4.5:1.
pub fn text_on(fill: Rgb) -> Rgb {
    let (black, white) = (rgb(0x00_0000), rgb(0xff_ffff));
    if contrast(fill, black) >= contrast(fill, white) { black } else { white }
}

/// For what surface a picture is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Theme {
    /// A light screen.
    Light,
    /// A dark screen.
    Dark,
    /// Black ink on white paper, amounts by pattern.
    Print,
}

/// The colours of a theme.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Palette {
    /// The ground.
    pub paper: Rgb,
    /// Words and numbers.
    pub text: Rgb,
    /// Secondary words.
    pub quiet: Rgb,
    /// Lines of drawings and charts.
    pub ink: Rgb,
    /// The one accent.
    pub accent: Rgb,
}

impl Theme {
    /// All themes.
    pub const ALL: [Theme; 3] = [Theme::Light, Theme::Dark, Theme::Print];

    /// The colours of the theme.
    pub const fn palette(self) -> Palette {
        match self {
            Theme::Light => Palette {
                paper: rgb(0xfc_faf5),
                text: rgb(0x1d_1f22),
                quiet: rgb(0x56_585c),
                ink: rgb(0x2b_2824),
                accent: rgb(0x8f_2d6e),
            },
            Theme::Dark => Palette {
                paper: rgb(0x15_181c),
                text: rgb(0xf0_ede6),
                quiet: rgb(0xb0_b2b5),
                ink: rgb(0xdc_d7cc),
                accent: rgb(0xf0_9ccb),
            },
            Theme::Print => Palette {
                paper: rgb(0xff_ffff),
                text: rgb(0x00_0000),
                quiet: rgb(0x33_3333),
                ink: rgb(0x00_0000),
                accent: rgb(0x00_0000),
            },
        }
    }
}

/// Cividis, ten even stops.
///
/// Nuñez, Anderton & Renslow 2018, PLoS ONE 13(7):e0199239; values from memory.
const CIVIDIS: [Rgb; 10] = [
    rgb(0x00_224e),
    rgb(0x12_3570),
    rgb(0x3b_496c),
    rgb(0x57_5d6d),
    rgb(0x70_7173),
    rgb(0x8a_8678),
    rgb(0xa5_9c74),
    rgb(0xc3_b369),
    rgb(0xe1_cc55),
    rgb(0xfe_e838),
];

/// The sequential scale: dark blue at 0, yellow at 1; out of range is clamped.
pub fn scale(t: f64) -> Rgb {
    let t = if t.is_nan() { 0.0 } else { t.clamp(0.0, 1.0) } * (CIVIDIS.len() - 1) as f64;
    let i = (t as usize).min(CIVIDIS.len() - 2);
    CIVIDIS[i].toward(CIVIDIS[i + 1], t - i as f64)
}

/// Linear light as seen without the red cones (Machado, Oliveira & Fernandes 2009, severity 1; from memory).
pub const PROTANOPIA: [[f64; 3]; 3] =
    [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]];

/// Linear light as seen without the green cones (same source).
pub const DEUTERANOPIA: [[f64; 3]; 3] =
    [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]];

/// A colour's linear light as seen through one of the matrices above.
pub fn seen(colour: Rgb, through: &[[f64; 3]; 3]) -> [f64; 3] {
    let l = colour.linear();
    through.map(|row| (row[0] * l[0] + row[1] * l[1] + row[2] * l[2]).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrasts_hold_in_every_theme() {
        for theme in Theme::ALL {
            let p = theme.palette();
            for text in [p.text, p.quiet, p.accent] {
                assert!(contrast(text, p.paper) >= 4.5, "{theme:?} {text}");
            }
            for line in [p.ink, p.accent] {
                assert!(contrast(line, p.paper) >= 3.0, "{theme:?} {line}");
            }
        }
        assert!((contrast(rgb(0), rgb(0xff_ffff)) - 21.0).abs() < 1e-9);
    }

    #[test]
    fn numbers_read_on_every_step_of_the_scale() {
        for k in 0..=1000 {
            let fill = scale(f64::from(k) / 1000.0);
            assert!(contrast(fill, text_on(fill)) >= 4.5, "{fill}");
        }
    }

    #[test]
    fn the_scale_only_gets_lighter_for_every_eye() {
        let identity = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        for eye in [identity, PROTANOPIA, DEUTERANOPIA] {
            let mut last = -1.0;
            for k in 0..=60 {
                let now = luminance_of(seen(scale(f64::from(k) / 60.0), &eye));
                assert!(now > last, "{k}: {now} after {last}");
                last = now;
            }
        }
        assert_eq!(scale(-3.0), scale(0.0));
    }

    /// Neighbours on the scale are as far apart everywhere, in CIE 1976 lightness: perceptually even.
    #[test]
    fn neighbours_on_the_scale_are_evenly_apart() {
        let lightness = |c: Rgb| {
            let y = c.luminance();
            if y > 216.0 / 24_389.0 { 116.0 * y.cbrt() - 16.0 } else { 24_389.0 / 27.0 * y }
        };
        let all: Vec<f64> = (0..=20).map(|k| lightness(scale(f64::from(k) / 20.0))).collect();
        let mean = (all[20] - all[0]) / 20.0;
        assert!(all[20] - all[0] > 75.0, "{all:?}");
        for w in all.windows(2) {
            assert!(((w[1] - w[0]) / mean - 1.0).abs() < 0.2, "{} of {mean}: {all:?}", w[1] - w[0]);
        }
        assert!(contrast(scale(0.0), scale(0.6)) >= 3.0 && contrast(scale(0.4), scale(1.0)) >= 3.0);
    }

    #[test]
    fn what_is_out_of_range_is_clamped() {
        assert_eq!(scale(-3.0), scale(0.0));
        assert_eq!(scale(f64::NAN), scale(0.0));
    }
}
