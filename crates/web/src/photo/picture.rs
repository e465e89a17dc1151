//! A picture as it is kept: read by its content, turned upright, without what cameras write beside it.
//!
//! What comes in is never stored. What is stored was made here: pixels, and the colour profile where there is one, so
//! that no place, name or number of a camera stays in it.

use fast_image_resize::images::{Image, ImageRef};
use fast_image_resize::{PixelType, ResizeOptions, Resizer};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageEncoder, ImageFormat, ImageReader, Limits, RgbImage};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::Cursor;

/// Most bytes of an upload: 20 MiB.
pub(crate) const MOST_BYTES: usize = 20 << 20;
/// Most pixels of a picture: 50 million.
pub(crate) const MOST_PIXELS: u64 = 50_000_000;
/// Most pixels on a side.
pub(crate) const MOST_SIDE: u32 = 16_000;
/// Most memory that reading a picture may take: four bytes for each of the most pixels, and some.
const MOST_ALLOC: u64 = 256 << 20;
/// The longer side of the small picture.
const SMALL_SIDE: u32 = 480;
/// Longest colour profile that is kept.
const MOST_PROFILE: usize = 16 << 10;

/// Why an upload is no picture for us. Says what would be right.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NoPicture {
    /// Nothing came.
    #[error("no picture came with the form. Choose one, or take one with the camera")]
    Empty,
    /// Too many bytes.
    #[error("the picture has `{found} bytes`, at most `{MOST_BYTES} bytes` (20 MiB) are taken. Make it smaller first")]
    Heavy {
        /// How many.
        found: usize,
    },
    /// Too many pixels.
    #[error(
        "the picture has `{width_px} x {height_px} pixels`, at most 50 million pixels and `{MOST_SIDE}` a side are taken. \
         Make it smaller first"
    )]
    Large {
        /// Across.
        width_px: u32,
        /// Down.
        height_px: u32,
    },
    /// Another kind of file.
    #[error("this is {0}; JPEG, PNG and WebP pictures are taken. {1}")]
    Kind(&'static str, &'static str),
    /// It breaks off or holds what no picture holds.
    #[error("the picture cannot be read: it may have been cut off on the way. Choose it again, or take another")]
    Broken,
}

/// A picture ready to be kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Picture {
    /// Its bytes.
    pub(crate) bytes: Vec<u8>,
    /// SHA-256 of its bytes, hex.
    pub(crate) sha256: String,
    /// `image/jpeg` or `image/png`.
    pub(crate) media: &'static str,
    /// Pixels across.
    pub(crate) width_px: u32,
    /// Pixels down.
    pub(crate) height_px: u32,
    /// The small picture, JPEG.
    pub(crate) small: Vec<u8>,
    /// SHA-256 of the small picture, hex.
    pub(crate) small_sha256: String,
}

/// SHA-256 in hex.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut s, b| {
        let _ = write!(s, "{b:02x}");
        s
    })
}

/// What an upload is, by its first bytes; the name of the file and what the browser calls it do not count.
fn kind(bytes: &[u8]) -> Result<ImageFormat, NoPicture> {
    const SAVE_AS: &str = "Save or export it as JPEG and send that.";
    match image::guess_format(bytes) {
        Ok(f @ (ImageFormat::Jpeg | ImageFormat::Png | ImageFormat::WebP)) => return Ok(f),
        Ok(ImageFormat::Gif) => return Err(NoPicture::Kind("a GIF", SAVE_AS)),
        Ok(ImageFormat::Tiff) => return Err(NoPicture::Kind("a TIFF", SAVE_AS)),
        _ => {}
    }
    let brand = bytes.get(4..12).unwrap_or_default();
    Err(if brand.starts_with(b"ftyp") {
        match &brand[4..] {
            b"heic" | b"heix" | b"heim" | b"heis" | b"mif1" | b"msf1" => NoPicture::Kind(
                "a HEIC picture",
                "Set the phone's camera to save JPEG (often called most compatible), or send the picture as JPEG.",
            ),
            b"avif" | b"avis" => NoPicture::Kind("an AVIF picture", SAVE_AS),
            _ => NoPicture::Kind("a film", "Take a still picture."),
        }
    } else if bytes.starts_with(b"%PDF") {
        NoPicture::Kind("a PDF", "Send the picture itself.")
    } else {
        NoPicture::Kind("no picture that is known here", SAVE_AS)
    })
}

/// Makes the picture that is kept out of an upload.
///
/// # Errors
/// [`NoPicture`] where it is too large, of another kind, or broken.
pub(crate) fn make(upload: &[u8]) -> Result<Picture, NoPicture> {
    if upload.is_empty() {
        return Err(NoPicture::Empty);
    }
    if upload.len() > MOST_BYTES {
        return Err(NoPicture::Heavy { found: upload.len() });
    }
    let format = kind(upload)?;
    if format == ImageFormat::Jpeg && !upload.windows(2).any(|w| w == [0xff, 0xd9]) {
        // The decoder fills a picture that breaks off with grey and says nothing.
        return Err(NoPicture::Broken);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_SIDE);
    limits.max_image_height = Some(MOST_SIDE);
    limits.max_alloc = Some(MOST_ALLOC);
    let mut reader = ImageReader::with_format(Cursor::new(upload), format);
    reader.no_limits();
    let mut decoder = reader.into_decoder().map_err(|_| NoPicture::Broken)?;
    let (width_px, height_px) = decoder.dimensions();
    if width_px > MOST_SIDE || height_px > MOST_SIDE || u64::from(width_px) * u64::from(height_px) > MOST_PIXELS {
        return Err(NoPicture::Large { width_px, height_px });
    }
    decoder.set_limits(limits).map_err(|_| NoPicture::Broken)?;
    let turn = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let profile = decoder.icc_profile().ok().flatten().filter(|p| is_profile(p));
    let mut image = DynamicImage::from_decoder(decoder).map_err(|_| NoPicture::Broken)?;
    image.apply_orientation(turn);
    let keeps_png = format == ImageFormat::Png;
    let image = flat(image);
    let (width_px, height_px) = (image.width(), image.height());
    let bytes = if keeps_png { png(&image, profile.as_deref()) } else { jpeg(&image, 90, profile.as_deref()) }?;
    let small = jpeg(&smaller(&image)?, 80, profile.as_deref())?;
    Ok(Picture {
        sha256: sha256(&bytes),
        bytes,
        media: if keeps_png { "image/png" } else { "image/jpeg" },
        width_px,
        height_px,
        small_sha256: sha256(&small),
        small,
    })
}

/// A colour profile by its signature (ICC.1:2022, 7.2: `acsp` at byte 36); short, so that nothing hides in it.
fn is_profile(bytes: &[u8]) -> bool {
    bytes.len() <= MOST_PROFILE && bytes.get(36..40) == Some(b"acsp")
}

/// On white, where it was see-through.
fn flat(image: DynamicImage) -> RgbImage {
    if !image.color().has_alpha() {
        return image.into_rgb8();
    }
    let rgba = image.into_rgba8();
    RgbImage::from_fn(rgba.width(), rgba.height(), |x, y| {
        let [r, g, b, a] = rgba.get_pixel(x, y).0;
        let on_white = |c: u8| ((u32::from(c) * u32::from(a) + 255 * (255 - u32::from(a))) / 255) as u8;
        image::Rgb([on_white(r), on_white(g), on_white(b)])
    })
}

fn smaller(image: &RgbImage) -> Result<RgbImage, NoPicture> {
    let scale = (f64::from(SMALL_SIDE) / f64::from(image.width().max(image.height()))).min(1.0);
    let side = |px: u32| ((f64::from(px) * scale).round() as u32).max(1);
    let (width, height) = (side(image.width()), side(image.height()));
    let from = ImageRef::new(image.width(), image.height(), image.as_raw(), PixelType::U8x3);
    let from = from.map_err(|_| NoPicture::Broken)?;
    let mut to = Image::new(width, height, PixelType::U8x3);
    Resizer::new().resize(&from, &mut to, &ResizeOptions::new()).map_err(|_| NoPicture::Broken)?;
    RgbImage::from_raw(width, height, to.into_vec()).ok_or(NoPicture::Broken)
}

fn jpeg(image: &RgbImage, quality: u8, profile: Option<&[u8]>) -> Result<Vec<u8>, NoPicture> {
    let mut out = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut out, quality);
    if let Some(profile) = profile {
        // A profile that does not fit is left out: the picture is worth more.
        let _ = encoder.set_icc_profile(profile.to_vec());
    }
    image.write_with_encoder(encoder).map_err(|_| NoPicture::Broken)?;
    Ok(out)
}

fn png(image: &RgbImage, profile: Option<&[u8]>) -> Result<Vec<u8>, NoPicture> {
    let mut out = Vec::new();
    let mut encoder = PngEncoder::new(&mut out);
    if let Some(profile) = profile {
        let _ = encoder.set_icc_profile(profile.to_vec());
    }
    image.write_with_encoder(encoder).map_err(|_| NoPicture::Broken)?;
    Ok(out)
}

#[cfg(test)]
#[path = "picture_tests.rs"]
mod tests;
