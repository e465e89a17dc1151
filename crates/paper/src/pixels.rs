//! Pixels as PNG with a palette: a third of the bytes and of the time of full colour.
//!
//! The pictures are flat inks and their blends, for which 256 colours are plenty. The inks stay what
//! they are; the blends share colours found by median cut (Heckbert 1982). The same pixels give the
//! same bytes.

use resvg::tiny_skia::Pixmap;
use std::collections::HashMap;

/// Bits of a channel by which colours are told apart.
const BITS: u32 = 6;
/// Colours of a palette at most.
const COLOURS: usize = 256;
/// Flat inks among them at most.
const INKS: usize = 128;
/// A stretch of so many pixels of one colour is an ink; what is shorter is a blend.
const FLAT: u64 = 6;

/// Pixels of nearly one colour.
#[derive(Clone, Copy, Default)]
struct Cell {
    count: u64,
    sum: [u64; 3],
}

impl Cell {
    fn mean(&self) -> [u8; 3] {
        self.sum.map(|s| ((s + self.count / 2) / self.count.max(1)).min(255) as u8)
    }

    fn and(self, o: Cell) -> Cell {
        Cell {
            count: self.count + o.count,
            sum: [self.sum[0] + o.sum[0], self.sum[1] + o.sum[1], self.sum[2] + o.sum[2]],
        }
    }
}

fn key(p: &[u8]) -> usize {
    let cut = |c: u8| usize::from(c >> (8 - BITS));
    (cut(p[0]) << (2 * BITS)) | (cut(p[1]) << BITS) | cut(p[2])
}

/// Cells that will share a colour: the widest channel, and how much it asks to be parted.
struct Group {
    cells: Vec<(usize, Cell)>,
    channel: usize,
    want: f64,
}

impl Group {
    fn of(cells: Vec<(usize, Cell)>) -> Group {
        let (mut low, mut high, mut count) = ([255_u8; 3], [0_u8; 3], 0);
        for (_, cell) in &cells {
            for (k, c) in cell.mean().into_iter().enumerate() {
                low[k] = low[k].min(c);
                high[k] = high[k].max(c);
            }
            count += cell.count;
        }
        let wide = |k: usize| f64::from(high[k].saturating_sub(low[k]));
        let channel = (0..3).fold(0, |best, k| if wide(k) > wide(best) { k } else { best });
        let want = if cells.len() < 2 { 0.0 } else { wide(channel) * (count as f64).cbrt() };
        Group { cells, channel, want }
    }

    /// The same cells in two halves of about as many pixels.
    fn halves(self) -> (Group, Group) {
        let mut cells = self.cells;
        cells.sort_by_key(|(key, cell)| (cell.mean()[self.channel], *key));
        let all: u64 = cells.iter().map(|c| c.1.count).sum();
        let (mut sum, mut at) = (0, 0);
        while at + 1 < cells.len() && (at == 0 || 2 * (sum + cells[at].1.count) <= all) {
            sum += cells[at].1.count;
            at += 1;
        }
        let right = cells.split_off(at);
        (Group::of(cells), Group::of(right))
    }
}

/// Stretches of one colour with their lengths: most of a picture is its ground.
fn runs(pixels: &[u8]) -> impl Iterator<Item = (&[u8], u64)> {
    let mut rest = pixels;
    std::iter::from_fn(move || {
        let first = rest.get(..4)?;
        let long = rest.chunks_exact(4).take_while(|p| *p == first).count();
        rest = &rest[4 * long..];
        Some((first, long as u64))
    })
}

/// A palette, and where each colour stands in it.
struct Palette {
    colours: Vec<[u8; 3]>,
    inks: HashMap<[u8; 3], u8>,
    blends: Vec<u8>,
}

impl Palette {
    fn of(pixels: &[u8]) -> Palette {
        let mut cells = vec![Cell::default(); 1 << (3 * BITS)];
        let mut flat: HashMap<[u8; 3], u64> = HashMap::new();
        for (p, long) in runs(pixels) {
            let colour = [p[0], p[1], p[2]];
            if long >= FLAT {
                *flat.entry(colour).or_default() += long;
            }
            let cell = &mut cells[key(p)];
            *cell = cell.and(Cell { count: long, sum: colour.map(|c| u64::from(c) * long) });
        }
        let mut inks: Vec<([u8; 3], u64)> = flat.into_iter().collect();
        inks.sort_by_key(|(colour, count)| (std::cmp::Reverse(*count), *colour));
        inks.truncate(INKS);
        let mut colours: Vec<[u8; 3]> = inks.into_iter().map(|ink| ink.0).collect();
        let inks = colours.iter().enumerate().map(|(i, ink)| (*ink, i as u8)).collect();

        let seen = cells.into_iter().enumerate().filter(|c| c.1.count > 0).collect();
        let mut groups = vec![Group::of(seen)];
        while groups.len() + colours.len() < COLOURS {
            let most = (0..groups.len()).fold(0, |best, k| if groups[k].want > groups[best].want { k } else { best });
            if groups[most].want <= 0.0 {
                break;
            }
            let (a, b) = groups.swap_remove(most).halves();
            groups.extend([a, b]);
        }
        let mut blends = vec![0; 1 << (3 * BITS)];
        for group in &groups {
            let mut sum = Cell::default();
            for (key, cell) in &group.cells {
                blends[*key] = colours.len() as u8;
                sum = sum.and(*cell);
            }
            colours.push(sum.mean());
        }
        Palette { colours, inks, blends }
    }

    fn place(&self, p: &[u8], long: u64) -> u8 {
        let ink = if long >= FLAT { self.inks.get(&p[..3]) } else { None };
        ink.copied().unwrap_or(self.blends[key(p)])
    }
}

/// The pixels as PNG: with a palette when they stand on an opaque ground, else in full colour.
///
/// Pixels at the edge that the ground covers only in part are filled with it.
pub(crate) fn encode(pixels: &Pixmap) -> Result<Vec<u8>, String> {
    let ground = match pixels.data() {
        [r, g, b, 255, ..] => [*r, *g, *b],
        _ => return pixels.encode_png().map_err(|e| e.to_string()),
    };
    let mut data = pixels.data().to_vec();
    for p in data.chunks_exact_mut(4).filter(|p| p[3] != 255) {
        let through = u16::from(255 - p[3]);
        for (c, under) in p.iter_mut().zip(ground) {
            *c = c.saturating_add((u16::from(under) * through / 255) as u8);
        }
    }
    let palette = Palette::of(&data);
    let mut each = Vec::with_capacity(data.len() / 4);
    for (p, long) in runs(&data) {
        each.resize(each.len() + long as usize, palette.place(p, long));
    }
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.colours.concat());
    encoder.set_filter(png::Filter::NoFilter);
    encoder.set_deflate_compression(png::DeflateCompression::Level(4));
    let mut writer = encoder.write_header().map_err(|e| e.to_string())?;
    writer.write_image_data(&each).map_err(|e| e.to_string())?;
    writer.finish().map_err(|e| e.to_string())?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use resvg::tiny_skia::{Color, Paint, Rect, Transform};

    fn back(bytes: &[u8]) -> Pixmap {
        Pixmap::decode_png(bytes).unwrap()
    }

    /// Read back by the decoder, flat inks are the same to the bit and no blend is far off.
    #[test]
    fn few_colours_come_back_exactly_and_many_nearly() {
        let mut pixels = Pixmap::new(300, 200).unwrap();
        pixels.fill(Color::from_rgba8(252, 250, 245, 255));
        let mut paint = Paint::default();
        paint.set_color_rgba8(143, 45, 110, 255);
        pixels.fill_rect(Rect::from_xywh(10.0, 10.0, 80.0, 60.0).unwrap(), &paint, Transform::identity(), None);
        let few = encode(&pixels).unwrap();
        assert_eq!(back(&few).data(), pixels.data());
        assert_eq!(few, encode(&pixels).unwrap());
        // Every shade between two inks.
        for x in 0..300 {
            let t = x as f32 / 299.0;
            paint.set_color(Color::from_rgba(t, 0.5, 1.0 - t, 1.0).unwrap());
            let column = Rect::from_xywh(x as f32, 100.0, 1.0, 100.0).unwrap();
            pixels.fill_rect(column, &paint, Transform::identity(), None);
        }
        let many = back(&encode(&pixels).unwrap());
        let off = pixels.data().iter().zip(many.data()).map(|(a, b)| a.abs_diff(*b)).max();
        assert!(off.is_some_and(|o| o <= 4), "{off:?}");
        assert_eq!(many.pixel(5, 5), pixels.pixel(5, 5));
    }

    #[test]
    fn an_edge_that_the_ground_covers_in_part_is_ground() {
        let mut pixels = Pixmap::new(10, 10).unwrap();
        let mut paint = Paint::default();
        paint.set_color_rgba8(252, 250, 245, 255);
        pixels.fill_rect(Rect::from_xywh(0.0, 0.0, 10.0, 9.5).unwrap(), &paint, Transform::identity(), None);
        let back = back(&encode(&pixels).unwrap());
        assert!(back.pixels().iter().all(|p| p.alpha() == 255 && p.red().abs_diff(252) <= 1), "{back:?}");
    }

    #[test]
    fn what_is_seen_through_keeps_its_alpha() {
        let mut pixels = Pixmap::new(4, 4).unwrap();
        pixels.fill(Color::from_rgba8(10, 200, 30, 128));
        assert_eq!(back(&encode(&pixels).unwrap()).data(), pixels.data());
    }
}
