//! Pictures are made here, byte by byte where it matters, so that nothing depends on a file.

use super::*;
use image::Rgb;

/// Left half red, right half blue, a green corner at the top left.
fn scene(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| match (x < width / 2, y) {
        _ if x < width / 4 && y < height / 4 => Rgb([0, 200, 0]),
        (true, _) => Rgb([200, 0, 0]),
        (false, _) => Rgb([0, 0, 200]),
    })
}

fn plain_jpeg(image: &RgbImage) -> Vec<u8> {
    jpeg(image, 95, None).unwrap()
}

/// An Exif segment (CIPA DC-008, TIFF 6.0): orientation, and a place.
fn exif(orientation: u8) -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    tiff.extend([0, 2]);
    tiff.extend([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0]);
    tiff.extend([0x88, 0x25, 0, 4, 0, 0, 0, 1, 0, 0, 0, 38]);
    tiff.extend([0, 0, 0, 0]);
    // The place: latitude reference `N`, and a text that no kept picture may hold.
    tiff.extend([0, 1, 0, 1, 0, 2, 0, 0, 0, 2, b'N', 0, 0, 0, 0, 0, 0, 0]);
    tiff.extend(b"SECRETPLACE");
    let mut segment = b"Exif\0\0".to_vec();
    segment.extend(tiff);
    let len = (segment.len() + 2) as u16;
    let mut out = vec![0xff, 0xe1];
    out.extend(len.to_be_bytes());
    out.extend(segment);
    out
}

fn with_exif(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    out.extend(exif(orientation));
    out.extend(&jpeg[2..]);
    out
}

fn corner(bytes: &[u8], x_share: f64, y_share: f64) -> [u8; 3] {
    let i = image::load_from_memory(bytes).unwrap().into_rgb8();
    let at = |share: f64, side: u32| ((share * f64::from(side)) as u32).min(side - 1);
    i.get_pixel(at(x_share, i.width()), at(y_share, i.height())).0
}

fn is_green(p: [u8; 3]) -> bool {
    p[1] > 120 && p[0] < 90 && p[2] < 90
}

#[test]
fn every_kind_is_taken_upright_and_small() {
    let image = scene(640, 320);
    let mut webp = Vec::new();
    image.write_to(&mut Cursor::new(&mut webp), ImageFormat::WebP).unwrap();
    for (upload, media) in
        [(plain_jpeg(&image), "image/jpeg"), (png(&image, None).unwrap(), "image/png"), (webp, "image/jpeg")]
    {
        let p = make(&upload).unwrap();
        assert_eq!((p.media, p.width_px, p.height_px), (media, 640, 320));
        let small = image::load_from_memory(&p.small).unwrap();
        assert_eq!((small.width(), small.height()), (480, 240));
        assert!(is_green(corner(&p.bytes, 0.1, 0.1)) && is_green(corner(&p.small, 0.1, 0.1)));
        assert_eq!((p.sha256.len(), p.sha256 == sha256(&p.bytes)), (64, true));
    }
}

#[test]
fn turned_upright_for_each_orientation_of_exif() {
    // Where the green corner of the stored picture belongs when looked at (CIPA DC-008, tag 0x0112).
    let at = [
        (1, 0.1, 0.1),
        (2, 0.9, 0.1),
        (3, 0.9, 0.9),
        (4, 0.1, 0.9),
        (5, 0.1, 0.1),
        (6, 0.9, 0.1),
        (7, 0.9, 0.9),
        (8, 0.1, 0.9),
    ];
    for (orientation, x, y) in at {
        let p = make(&with_exif(&plain_jpeg(&scene(64, 32)), orientation)).unwrap();
        let upright = if orientation >= 5 { (32, 64) } else { (64, 32) };
        assert_eq!((p.width_px, p.height_px), upright, "{orientation}");
        assert!(is_green(corner(&p.bytes, x, y)), "{orientation}");
    }
}

#[test]
fn what_the_camera_wrote_is_gone() {
    let upload = with_exif(&plain_jpeg(&scene(64, 32)), 6);
    assert!(upload.windows(11).any(|w| w == b"SECRETPLACE"));
    let p = make(&upload).unwrap();
    for bytes in [&p.bytes, &p.small] {
        assert!(!bytes.windows(11).any(|w| w == b"SECRETPLACE") && !bytes.windows(4).any(|w| w == b"Exif"));
    }
    // An own comment, and what comes after the end, go too.
    let mut odd = plain_jpeg(&scene(64, 32));
    odd.extend(b"<script>alert(1)</script>");
    assert!(!make(&odd).unwrap().bytes.windows(8).any(|w| w == b"<script>"));
}

#[test]
fn the_same_picture_is_kept_once() {
    let upload = plain_jpeg(&scene(64, 32));
    assert_eq!(make(&upload).unwrap(), make(&upload).unwrap());
    // The same pixels with another camera's words beside them are the same picture.
    assert_eq!(make(&with_exif(&upload, 1)).unwrap().sha256, make(&upload).unwrap().sha256);
}

#[test]
fn other_kinds_are_named() {
    let said = |bytes: &[u8]| make(bytes).unwrap_err().to_string();
    assert!(said(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").contains("HEIC"));
    assert!(said(b"\0\0\0\x18ftypavif\0\0\0\0").contains("AVIF"));
    assert!(said(b"\0\0\0\x18ftypisom\0\0\0\0").contains("a film"));
    assert!(said(b"GIF89a\x01\0\x01\0\0\0\0").contains("GIF"));
    assert!(said(b"%PDF-1.7").contains("PDF"));
    assert!(said(b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>").contains("JPEG, PNG and WebP"));
    assert_eq!(make(b""), Err(NoPicture::Empty));
    assert_eq!(make(&vec![0; MOST_BYTES + 1]), Err(NoPicture::Heavy { found: MOST_BYTES + 1 }));
}

#[test]
fn pictures_that_break_off_are_refused() {
    for whole in [plain_jpeg(&scene(640, 320)), png(&scene(640, 320), None).unwrap()] {
        for share in [3, 2] {
            assert_eq!(make(&whole[..whole.len() / share]), Err(NoPicture::Broken), "{share}");
        }
    }
}

/// A PNG that says it is huge and is a few bytes long: refused by what it says, before it is unpacked.
#[test]
fn bombs_are_refused_by_their_head() {
    let mut bomb = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    let mut head = b"IHDR".to_vec();
    for side in [60_000u32, 60_000] {
        bomb.extend(side.to_be_bytes());
        head.extend(side.to_be_bytes());
    }
    bomb.extend([8, 2, 0, 0, 0]);
    head.extend([8, 2, 0, 0, 0]);
    bomb.extend(crc(&head).to_be_bytes());
    let data = b"IDAT\x78\x9c\x63\0\0\0\x01\0\x01";
    bomb.extend(9u32.to_be_bytes());
    bomb.extend(data);
    bomb.extend(crc(data).to_be_bytes());
    bomb.extend(b"\0\0\0\0IEND\xae\x42\x60\x82");
    assert_eq!(make(&bomb), Err(NoPicture::Large { width_px: 60_000, height_px: 60_000 }));
}

/// CRC-32 as PNG has it (ISO 15948, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |c, b| {
        (0..8).fold(c ^ u32::from(*b), |c, _| if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 })
    })
}

#[test]
fn see_through_becomes_white() {
    let clear = DynamicImage::ImageRgba8(image::RgbaImage::from_pixel(8, 8, image::Rgba([0, 0, 0, 0])));
    let mut upload = Vec::new();
    clear.write_to(&mut Cursor::new(&mut upload), ImageFormat::Png).unwrap();
    assert_eq!(corner(&make(&upload).unwrap().bytes, 0.5, 0.5), [255, 255, 255]);
}
