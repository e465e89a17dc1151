//! The whole study: every kind, every dog, every groomer, with results kept in a file as they come.

use super::{Cost, Knows, year};
use crate::shop::kinds;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::{File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;
use std::sync::Mutex;

/// First line of a file of results. Another design or another code of the study must have another line.
const HEAD: &str = "coatwright.learning-study/1 kind,dog,groomer,cover,ripe,evenness";

/// One year: kind, dog of the kind, groomer.
pub type Key = (usize, u64, usize);

/// Costs of all years.
pub type Years = BTreeMap<Key, Cost>;

fn parsed(line: &str) -> Option<(Key, Cost)> {
    let mut w = line.split(',');
    let key = (w.next()?.parse().ok()?, w.next()?.parse().ok()?, w.next()?.parse().ok()?);
    let mut n = || -> Option<f64> { w.next()?.parse().ok() };
    Some((key, Cost { cover: n()?, ripe: n()?, evenness: n()? }))
}

/// Years already in a file; none when it is not there.
///
/// # Errors
/// When the file cannot be read, or is of another study.
pub fn kept(file: &Path) -> io::Result<Years> {
    let text = match std::fs::read_to_string(file) {
        Ok(t) => t,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Years::new()),
        Err(e) => return Err(e),
    };
    let mut lines = text.lines();
    if lines.next() != Some(HEAD) {
        let what = format!("`{}` does not begin with `{HEAD}`", file.display());
        return Err(io::Error::new(io::ErrorKind::InvalidData, what));
    }
    // A line cut off by an interruption is not whole: it is computed again.
    Ok(lines.filter_map(parsed).collect())
}

/// The years of `dogs` dogs of each kind; the groomer who knows the truth has the first `truth` of each.
/// Those in `file` are taken from it, new ones added to it.
///
/// # Errors
/// When the file cannot be read or written, or a year fails.
pub fn run(dogs: u64, truth: u64, file: Option<&Path>) -> io::Result<Years> {
    let kinds = kinds();
    let mut years = file.map_or_else(|| Ok(Years::new()), kept)?;
    let keep: Option<Mutex<File>> = match file {
        Some(f) => {
            let mut out = OpenOptions::new().create(true).append(true).open(f)?;
            if out.metadata()?.len() == 0 {
                writeln!(out, "{HEAD}")?;
            } else {
                // Ends a line that an interruption may have cut off.
                writeln!(out)?;
            }
            Some(Mutex::new(out))
        }
        None => None,
    };
    let mut todo: Vec<Key> = Vec::new();
    for dog in 0..dogs {
        for kind in 0..kinds.len() {
            let groomers = if dog < truth { 3 } else { 2 };
            todo.extend((0..groomers).map(|g| (kind, dog, g)).filter(|k| !years.contains_key(k)));
        }
    }
    let new: Vec<io::Result<(Key, Cost)>> = todo
        .par_iter()
        .map(|&(kind, dog, groomer)| {
            let seed = 1000 * kind as u64 + dog;
            let cost = year(&kinds[kind], seed, Knows::ALL[groomer]).map_err(io::Error::other)?;
            let mut line = String::new();
            let _ = write!(line, "{kind},{dog},{groomer},{:?},{:?},{:?}", cost.cover, cost.ripe, cost.evenness);
            if let Some(keep) = &keep
                && let Ok(mut f) = keep.lock()
            {
                writeln!(f, "{line}")?;
            }
            Ok(((kind, dog, groomer), cost))
        })
        .collect();
    for n in new {
        let (key, cost) = n?;
        years.insert(key, cost);
    }
    years.retain(|k, _| k.1 < dogs && (k.2 < 2 || k.1 < truth));
    Ok(years)
}
