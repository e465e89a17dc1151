//! From SVG to PNG and PDF.
//!
//! The pictures and papers are SVG first; `resvg` makes pixels of them and `krilla` with its SVG
//! bridge makes PDF. krilla was chosen over a typesetting system because the papers are single
//! pages that are laid out by hand anyway: it adds two minutes to a first build instead of eight
//! and seven megabytes to the program instead of thirty, keeps text as text, and writes the same
//! bytes each time. No date is written.

use crate::fonts;
use crate::page::{Page, Part};
use crate::pixels;
use resvg::tiny_skia::{Pixmap, Transform};
use usvg::{Options, Tree};

/// Why a picture could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ConvertError {
    /// The SVG cannot be read.
    #[error("the picture is no valid SVG: {0}")]
    Svg(#[from] usvg::Error),
    /// The size is none that pixels or pages can have.
    #[error("the picture would be `{width} x {height}`, allowed is `1..=20000` each way")]
    Size {
        /// Width asked for.
        width: f64,
        /// Height asked for.
        height: f64,
    },
    /// The pixels cannot be written.
    #[error("cannot write PNG: {0}")]
    Png(String),
    /// The pages cannot be written.
    #[error("cannot write PDF: {0}")]
    Pdf(String),
}

/// What a PDF says of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct About {
    /// Title.
    pub title: String,
    /// Language, for instance `en`.
    pub language: String,
}

/// Width of a picture as PNG, pixels: large enough for its smallest letters, and drawn within 100 ms.
pub const PNG_PX: u32 = 840;

/// Width of the table sheet as PNG, pixels: its smallest letters can be read on a screen.
pub const SHEET_PX: u32 = 1240;

pub(crate) fn tree(svg: &str) -> Result<Tree, ConvertError> {
    let options = Options { fontdb: fonts::database(), font_family: fonts::FAMILY.to_owned(), ..Options::default() };
    Ok(Tree::from_str(svg, &options)?)
}

/// A PNG of the picture, `width_px` wide.
///
/// # Errors
/// [`ConvertError`] when the SVG is broken or the size out of range.
pub fn png(svg: &str, width_px: u32) -> Result<Vec<u8>, ConvertError> {
    let tree = tree(svg)?;
    let scale = f64::from(width_px) / f64::from(tree.size().width());
    let height = (f64::from(tree.size().height()) * scale).round();
    let wrong = ConvertError::Size { width: f64::from(width_px), height };
    if !(1.0..=20_000.0).contains(&height) || !(1..=20_000).contains(&width_px) {
        return Err(wrong);
    }
    let Some(canvas) = render(&tree, width_px, height as u32, scale as f32) else { return Err(wrong) };
    pixels::encode(&canvas).map_err(ConvertError::Png)
}

/// The picture in two halves, one above the other, side by side on two processors.
///
/// Always two, so that every machine makes the same pixels.
fn render(tree: &Tree, width: u32, height: u32, scale: f32) -> Option<Pixmap> {
    let upper = height / 2;
    let half = |top: u32, high: u32| {
        let mut canvas = Pixmap::new(width, high.max(1))?;
        let at = Transform::from_scale(scale, scale).post_translate(0.0, -(top as f32));
        resvg::render(tree, at, &mut canvas.as_mut());
        Some(canvas)
    };
    if upper == 0 {
        return half(0, height);
    }
    let (above, below) = std::thread::scope(|s| {
        let above = s.spawn(|| half(0, upper));
        let below = half(upper, height - upper);
        (above.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)), below)
    });
    let (above, below) = (above?, below?);
    let mut whole = Pixmap::new(width, height)?;
    let (first, second) = whole.data_mut().split_at_mut(above.data().len());
    first.copy_from_slice(above.data());
    second.copy_from_slice(below.data());
    Some(whole)
}

/// Most bytes of a picture.
pub const MOST_BYTES: usize = 300_000;

/// A PNG of the picture, `width_px` wide or as much narrower as keeps it within [`MOST_BYTES`].
///
/// # Errors
/// As [`png`].
pub fn png_within(svg: &str, width_px: u32) -> Result<Vec<u8>, ConvertError> {
    let mut width = width_px;
    loop {
        let bytes = png(svg, width)?;
        if bytes.len() <= MOST_BYTES || width < 200 {
            return Ok(bytes);
        }
        width = width * 9 / 10;
    }
}

/// A PDF of one page with the picture, its text kept as text, tagged as a figure that its `title` and `desc` describe.
///
/// # Units
/// One user unit of the SVG's own size is one point.
///
/// # Errors
/// [`ConvertError`] when the SVG is broken or the page cannot be written.
pub fn pdf(svg: &str, about: &About) -> Result<Vec<u8>, ConvertError> {
    let size = tree(svg)?.size();
    let document = usvg::roxmltree::Document::parse(svg).map_err(usvg::Error::ParsingFailed)?;
    let of = |name: &str| {
        let found = document.root_element().children().find(|n| n.has_tag_name(("http://www.w3.org/2000/svg", name)));
        found.and_then(|n| n.text()).unwrap_or_default().to_owned()
    };
    let (title, description) = (of("title"), of("desc"));
    let page = Page {
        width: f64::from(size.width()),
        height: f64::from(size.height()),
        ground: None,
        defs: String::new(),
        parts: vec![Part::Figure { said: format!("{title}. {description}"), svg: svg.to_owned() }],
        title,
        description,
    };
    page.pdf(about)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SVG: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 200 100\" width=\"200\" height=\"100\">\
        <text x=\"10\" y=\"50\" font-family=\"'Coatwright Sans', sans-serif\" font-size=\"20\">Žofka 12 mm</text></svg>";

    #[test]
    fn the_same_picture_gives_the_same_bytes() {
        assert_eq!(png(SVG, 400).unwrap(), png(SVG, 400).unwrap());
        let about = About { title: "Žofka".into(), language: "en".into() };
        let one = pdf(SVG, &about).unwrap();
        assert_eq!(one, pdf(SVG, &about).unwrap());
        assert!(one.starts_with(b"%PDF"));
    }

    #[test]
    fn letters_leave_ink() {
        let with = png(SVG, 400).unwrap();
        let without = png(&SVG.replace("Žofka 12 mm", ""), 400).unwrap();
        assert!(with.len() > without.len() + 200);
    }

    /// The halves meet without a seam: a slanting line across the whole is as dark in every row.
    #[test]
    fn the_two_halves_meet() {
        let slant = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 90 101\" width=\"90\" height=\"101\">\
            <rect width=\"90\" height=\"101\" fill=\"#fff\"/><path d=\"M10 -20L80 120\" stroke=\"#000\" stroke-width=\"6\"/></svg>";
        let pixels = Pixmap::decode_png(&png(slant, 90).unwrap()).unwrap();
        assert_eq!((pixels.width(), pixels.height()), (90, 101));
        let rows = pixels.pixels().chunks(90);
        let dark: Vec<u32> = rows.map(|r| r.iter().map(|p| 255 - u32::from(p.red())).sum()).collect();
        let mean = dark.iter().sum::<u32>() / 101;
        assert!(mean > 1000 && dark.iter().all(|d| d.abs_diff(mean) < mean / 12), "{dark:?}");
    }

    #[test]
    fn what_cannot_be_drawn_is_an_error() {
        assert!(matches!(png("<svg", 10), Err(ConvertError::Svg(_))));
        assert!(matches!(png(SVG, 0), Err(ConvertError::Size { .. })));
    }
}
