//! From SVG to PNG and PDF.
//!
//! The pictures and papers are SVG first; `resvg` makes pixels of them and `krilla` with its SVG
//! bridge makes PDF. krilla was chosen over a typesetting system because the papers are single
//! pages that are laid out by hand anyway: it adds two minutes to a first build instead of eight
//! and seven megabytes to the program instead of thirty, keeps text as text, and writes the same
//! bytes each time. No date is written.

use crate::fonts;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};
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

/// Width of a picture as PNG, pixels: the fullest coat section stays under 300 kB.
pub const PNG_PX: u32 = 780;

fn tree(svg: &str) -> Result<Tree, ConvertError> {
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
    let Some(mut pixels) = Pixmap::new(width_px, height as u32) else { return Err(wrong) };
    resvg::render(&tree, Transform::from_scale(scale as f32, scale as f32), &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| ConvertError::Png(e.to_string()))
}

/// A PDF with one page for each picture, its text kept as text.
///
/// # Units
/// One user unit of the SVG's own size is one point.
///
/// # Errors
/// [`ConvertError`] when an SVG is broken or a page cannot be written.
pub fn pdf(pages: &[String], about: &About) -> Result<Vec<u8>, ConvertError> {
    let mut document = krilla::Document::new();
    for svg in pages {
        let tree = tree(svg)?;
        let (width, height) = (tree.size().width(), tree.size().height());
        let wrong = || ConvertError::Size { width: f64::from(width), height: f64::from(height) };
        let settings = PageSettings::from_wh(width, height).ok_or_else(wrong)?;
        let size = Size::from_wh(width, height).ok_or_else(wrong)?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface.draw_svg(&tree, size, SvgSettings { embed_text: true, filter_scale: 2.0 });
        surface.finish();
        page.finish();
    }
    document.set_metadata(
        Metadata::new()
            .title(about.title.clone())
            .language(about.language.clone())
            .creator("Coatwright".to_owned())
            .document_id(about.title.clone()),
    );
    document.finish().map_err(|e| ConvertError::Pdf(format!("{e:?}")))
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
        let one = pdf(&[SVG.to_owned(), SVG.to_owned()], &about).unwrap();
        assert_eq!(one, pdf(&[SVG.to_owned(), SVG.to_owned()], &about).unwrap());
        assert!(one.starts_with(b"%PDF"));
    }

    #[test]
    fn letters_leave_ink() {
        let with = png(SVG, 400).unwrap();
        let without = png(&SVG.replace("Žofka 12 mm", ""), 400).unwrap();
        assert!(with.len() > without.len() + 200);
    }

    #[test]
    fn what_cannot_be_drawn_is_an_error() {
        assert!(matches!(png("<svg", 10), Err(ConvertError::Svg(_))));
        assert!(matches!(png(SVG, 0), Err(ConvertError::Size { .. })));
    }
}
