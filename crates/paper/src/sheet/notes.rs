//! Cautions on the sheet: said once each, with a letter that the zones carry.

use super::list::SMALL;
use crate::dates;
use crate::fonts::{self, Weight};
use crate::options::Options;
use crate::page::{Item, Part};
use crate::section::{text, text_goes_on};
use app::report::{PlanReport, VisitReport};

/// Cautions that belong to the way a zone is always worked.
pub(super) fn is_routine(caution: &str) -> bool {
    caution.starts_with("Tender:") || caution.starts_with("Card lightly")
}

/// All cautions of a sheet, each once.
pub(super) struct Notes {
    dog: Vec<String>,
    zones: Vec<String>,
}

/// The sign of the n-th caution: a to z, then aa, ab, …
fn sign(n: usize) -> String {
    let letter = |k: usize| char::from(b'a' + (k % 26) as u8);
    if n < 26 { letter(n).to_string() } else { format!("{}{}", letter(n / 26 - 1), letter(n)) }
}

impl Notes {
    /// The cautions of the dog and of the visit's zones.
    pub fn of(report: &PlanReport, visit: &VisitReport) -> Notes {
        let mut zones: Vec<String> = Vec::new();
        for caution in visit.zones.iter().flat_map(|z| &z.cautions) {
            if !zones.contains(caution) {
                zones.push(caution.clone());
            }
        }
        Notes { dog: report.cautions.clone(), zones }
    }

    /// The signs of these cautions, for instance `a c`.
    pub fn signs(&self, cautions: &[String]) -> String {
        let mut n: Vec<usize> = cautions.iter().filter_map(|c| self.zones.iter().position(|z| z == c)).collect();
        n.sort_unstable();
        n.into_iter().map(sign).collect::<Vec<_>>().join(" ")
    }

    /// Each caution with its sign, the dog's first.
    fn items(&self) -> Vec<(String, String)> {
        let dog = self.dog.iter().map(|c| ("·".to_owned(), c));
        let all = dog.chain(self.zones.iter().enumerate().map(|(i, c)| (sign(i), c)));
        all.map(|(sign, c)| (sign, dates::in_sentence(c))).collect()
    }

    /// Finds a size and a place for every caution: as many as fit beside the dog, the rest in two
    /// columns under the list, as large as leaves the rows, `natural` high in all, letters no smaller.
    pub fn place(&self, beside: (f64, f64), inner: f64, list: f64, natural: f64) -> Placed {
        let items = self.items();
        let mut best = Placed::default();
        for most in [5, 2, 1] {
            for size in SIZES {
                let mut now = place_at(&items, size, most, beside, inner);
                let rows = (list - now.below_height()) / natural.max(1.0);
                now.least = size.min(rows * SMALL);
                let enough = now.least >= GOOD_SIZE && (now.below.is_empty() || size <= 9.5);
                if now.least > best.least {
                    best = now;
                }
                if enough {
                    return best;
                }
            }
            // Only where nothing could be read are words cut.
            if best.least >= 5.0 {
                return best;
            }
        }
        best
    }
}

/// Sizes of cautions, largest first.
const SIZES: [f64; 13] = [10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5, 5.0, 4.5];
/// Letters of this size are large enough for the table, points.
pub(super) const GOOD_SIZE: f64 = 9.0;
const LEADING: f64 = 1.22;
const PAD: f64 = 8.0;
const HEAD: f64 = 17.0;
const BETWEEN: f64 = 14.0;

fn indent(size: f64) -> f64 {
    size * 1.45
}

type Line = (String, String);

/// Where the cautions stand.
#[derive(Debug, Default)]
pub(super) struct Placed {
    size: f64,
    /// The smallest letters that this leaves, in cautions or rows.
    least: f64,
    beside: Vec<Line>,
    below: Vec<Line>,
}

fn lines(item: &(String, String), size: f64, room: f64, most: usize) -> Vec<Line> {
    let wrapped = fonts::wrap(&item.1, size, Weight::Regular, room - indent(size), most);
    wrapped.into_iter().enumerate().map(|(i, l)| (if i == 0 { item.0.clone() } else { String::new() }, l)).collect()
}

fn place_at(items: &[(String, String)], size: f64, most: usize, beside: (f64, f64), inner: f64) -> Placed {
    let mut out = Placed { size, ..Placed::default() };
    let room = ((beside.1 - HEAD - PAD) / (size * LEADING)) as usize;
    let mut rest = items.iter().peekable();
    while let Some(item) = rest.peek() {
        let l = lines(item, size, beside.0 - 2.0 * PAD, most);
        if out.beside.len() + l.len() > room {
            break;
        }
        out.beside.extend(l);
        rest.next();
    }
    for item in rest {
        out.below.extend(lines(item, size, (inner - BETWEEN) / 2.0, most));
    }
    out
}

impl Placed {
    /// Size of the smallest letters of cautions and rows, points.
    pub fn least(&self) -> f64 {
        self.least
    }

    /// Height that the two columns under the list take.
    pub fn below_height(&self) -> f64 {
        if self.below.is_empty() { 0.0 } else { self.below.len().div_ceil(2) as f64 * self.size * LEADING + 6.0 }
    }

    /// Writes the box beside the dog, its left upper corner and width as told, and the two columns under the list.
    pub fn write(&self, out: &mut Vec<Part>, (x, y, width): (f64, f64, f64), (under, inner): (f64, f64), o: &Options) {
        let p = o.theme.palette();
        let used = HEAD + self.beside.len() as f64 * self.size * LEADING + PAD;
        out.push(Part::Ornament {
            svg: format!(
                "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{used:.1}\" rx=\"5\" fill=\"none\" stroke=\"{}\" stroke-width=\"1\"/>\n",
                p.ink
            ),
        });
        let mut svg = String::new();
        text(&mut svg, x + PAD, y + 14.5, 11.5, true, p.text, "start", TITLE);
        out.push(Part::Heading { level: 2, words: TITLE.to_owned(), svg });
        let mut items = Vec::new();
        self.lines(&mut items, &self.beside, x + PAD, y + HEAD, o);
        let half = self.below.len().div_ceil(2);
        let (left, right) = self.below.split_at(half);
        self.lines(&mut items, left, super::MARGIN, under, o);
        self.lines(&mut items, right, super::MARGIN + (inner + BETWEEN) / 2.0, under, o);
        if !items.is_empty() {
            out.push(Part::List { items });
        }
    }

    /// Lines as points of a list; a line without a mark goes on with the point before it.
    fn lines(&self, items: &mut Vec<Item>, lines: &[Line], x: f64, y: f64, o: &Options) {
        let p = o.theme.palette();
        let mut at = y + self.size;
        for (mark, words) in lines {
            if !mark.is_empty() || items.is_empty() {
                items.push(Item::default());
            }
            if let Some(item) = items.last_mut() {
                if !mark.is_empty() {
                    text(&mut item.mark, x, at, self.size, true, p.accent, "start", mark);
                }
                text_goes_on(&mut item.body, x + indent(self.size), at, self.size, false, p.text, "start", words);
            }
            at += self.size * LEADING;
        }
    }
}

const TITLE: &str = "Before you begin";
