//! The letters: two weights of one sans that ship with the program, and faces for Hebrew and
//! Arabic names. No font of the machine is ever read, so that every picture is the same everywhere.

use std::borrow::Cow;
use std::sync::{Arc, LazyLock};
use usvg::fontdb::Database;

/// The family name that every picture asks for.
pub const FAMILY: &str = "Coatwright Sans";

/// What pictures write as `font-family`.
pub const FAMILIES: &str = "'Coatwright Sans', sans-serif";

const REGULAR: &[u8] = include_bytes!("../fonts/CoatwrightSans-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/CoatwrightSans-Bold.ttf");
const HEBREW: &[u8] = include_bytes!("../fonts/NotoSansHebrew-Regular.ttf");
const HEBREW_BOLD: &[u8] = include_bytes!("../fonts/NotoSansHebrew-Bold.ttf");
const ARABIC: &[u8] = include_bytes!("../fonts/NotoSansArabic-Regular.ttf");
const ARABIC_BOLD: &[u8] = include_bytes!("../fonts/NotoSansArabic-Bold.ttf");

/// The two weights.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Headings and numbers.
    Bold,
}

static DATABASE: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut db = Database::new();
    for data in [REGULAR, BOLD, HEBREW, HEBREW_BOLD, ARABIC, ARABIC_BOLD] {
        db.load_font_data(data.to_vec());
    }
    db.set_sans_serif_family(FAMILY);
    db.set_serif_family(FAMILY);
    Arc::new(db)
});

/// The shipped faces as a font database.
pub fn database() -> Arc<Database> {
    DATABASE.clone()
}

struct Faces {
    regular: Vec<rustybuzz::Face<'static>>,
    bold: Vec<rustybuzz::Face<'static>>,
}

static FACES: LazyLock<Faces> = LazyLock::new(|| {
    let load = |all: [&'static [u8]; 3]| all.iter().filter_map(|d| rustybuzz::Face::from_slice(d, 0)).collect();
    Faces { regular: load([REGULAR, HEBREW, ARABIC]), bold: load([BOLD, HEBREW_BOLD, ARABIC_BOLD]) }
});

/// Width of a line of text as the shipped faces set it.
///
/// # Units
/// `size` and the answer in the same unit.
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    let faces = match weight {
        Weight::Regular => &FACES.regular,
        Weight::Bold => &FACES.bold,
    };
    let face_of = |c: char| faces.iter().position(|f| f.glyph_index(c).is_some()).unwrap_or(0);
    let mut total = 0.0;
    let mut run = String::new();
    let mut last = 0;
    for c in text.chars() {
        let face = if c == ' ' { last } else { face_of(c) };
        if face != last && !run.is_empty() {
            total += shaped(faces.get(last), &run);
            run.clear();
        }
        last = face;
        run.push(c);
    }
    if !run.is_empty() {
        total += shaped(faces.get(last), &run);
    }
    total * size
}

/// Width in ems.
fn shaped(face: Option<&rustybuzz::Face<'static>>, run: &str) -> f64 {
    let Some(face) = face else { return 0.6 * run.chars().count() as f64 };
    let mut buffer = rustybuzz::UnicodeBuffer::new();
    buffer.push_str(run);
    buffer.guess_segment_properties();
    let glyphs = rustybuzz::shape(face, &[], buffer);
    let advance: i32 = glyphs.glyph_positions().iter().map(|g| g.x_advance).sum();
    f64::from(advance) / f64::from(face.units_per_em())
}

/// The letters of a text that no shipped face has, each once, in the order in which they come: boxes stand in their place.
///
/// # Example
/// ```
/// assert_eq!(paper::fonts::missing("Žofka, מוטקה, عنبر, e\u{301}"), "");
/// assert_eq!(paper::fonts::missing("小黑 (小)"), "小黑");
/// ```
pub fn missing(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars().filter(|c| !c.is_ascii() && !c.is_whitespace() && !is_silent(*c)) {
        if !out.contains(c) && FACES.regular.iter().all(|f| f.glyph_index(c).is_none()) {
            out.push(c);
        }
    }
    out
}

/// The text with a box in the place of every letter that no shipped face has.
pub(crate) fn boxed(text: &str) -> Cow<'_, str> {
    let letters = missing(text);
    if letters.is_empty() {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| if letters.contains(c) { BOX } else { c }).collect())
}

/// Stands for a letter that no shipped face has.
const BOX: char = '\u{25a1}';

/// Marks that direct or join other letters and are never seen themselves.
fn is_silent(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
}

/// The text, cut with an ellipsis where it would be wider than `room`.
pub fn fit(text: &str, size: f64, weight: Weight, room: f64) -> String {
    if width(text, size, weight) <= room {
        return text.to_owned();
    }
    let chars: Vec<char> = text.chars().collect();
    let cut = |n: usize| chars[..n].iter().collect::<String>().trim_end().to_owned() + "…";
    // The most letters that fit: widths grow with their number.
    let (mut fits, mut over) = (0, chars.len());
    while fits + 1 < over {
        let n = usize::midpoint(fits, over);
        if width(&cut(n), size, weight) <= room { fits = n } else { over = n }
    }
    if fits == 0 { String::new() } else { cut(fits) }
}

/// The text broken into lines no wider than `room`, at most `lines` of them; what is left over is
/// cut with an ellipsis.
pub fn wrap(text: &str, size: f64, weight: Weight, room: f64, lines: usize) -> Vec<String> {
    let space = width(" ", size, weight);
    let mut out: Vec<String> = Vec::new();
    let (mut line, mut wide) = (String::new(), 0.0);
    let mut words = text.split_whitespace();
    while let Some(word) = words.next() {
        let more = width(word, size, weight);
        if line.is_empty() || wide + space + more <= room {
            wide += more + if line.is_empty() { 0.0 } else { space };
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
            continue;
        }
        if out.len() + 1 == lines {
            line =
                std::iter::once(line.as_str()).chain(std::iter::once(word)).chain(words).collect::<Vec<_>>().join(" ");
            break;
        }
        out.push(fit(&line, size, weight, room));
        (line, wide) = (word.to_owned(), more);
    }
    if !line.is_empty() && lines > 0 {
        out.push(fit(&line, size, weight, room));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_face_loads() {
        assert_eq!(database().len(), 6);
        assert_eq!((FACES.regular.len(), FACES.bold.len()), (3, 3));
    }

    #[test]
    fn european_accents_and_signs_are_there() {
        let need = "ÀÉÎÕÜßÆØÅŁŃŠŽČĎĚŘŤŮŐŰŞĞİĀĒĪŪĄĘĖĮŲŵŷþðñçΆΩЖЙ·–—…×−≤≥→½¼¾%€£°′″“”„‘’";
        for face in [&FACES.regular[0], &FACES.bold[0]] {
            for c in need.chars().chain([BOX]) {
                assert!(face.glyph_index(c).is_some(), "{c}");
            }
        }
        assert!(FACES.regular[1].glyph_index('ש').is_some());
        assert!(FACES.regular[2].glyph_index('ع').is_some());
    }

    #[test]
    fn a_cut_line_fits_and_says_so() {
        let s = fit("a name that goes on and on", 10.0, Weight::Regular, 60.0);
        assert!(s.ends_with('…') && width(&s, 10.0, Weight::Regular) <= 60.0, "{s}");
        assert_eq!(fit("short", 10.0, Weight::Bold, 60.0), "short");
        assert!(wrap("one two three four five six", 10.0, Weight::Regular, 40.0, 2).len() == 2);
        assert!(width("מוטקה", 10.0, Weight::Regular) > 15.0);
    }
}
