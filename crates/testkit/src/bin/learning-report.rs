//! Regenerates the report on learning and its pictures: `learning-report.md` in the folder `docs`.
//!
//! `learning-report [--quick] [--dogs N] [--out FOLDER] [--keep FILE] [--study]`: `--dogs` runs the study on fewer
//! dogs of each kind; `--keep` keeps the study's years in a file as they come and takes them from it the next
//! time; `--study` runs these alone.
#![allow(clippy::print_stdout, reason = "it tells how far it is")]

use std::path::Path;
use testkit::report::{Size, write};

fn main() -> std::io::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let is = |name: &str| args.iter().any(|a| a == name);
    let of = |name: &str| args.iter().position(|a| a == name).and_then(|i| args.get(i + 1)).map(Path::new);
    let mut size = if is("--quick") { Size::QUICK } else { Size::FULL };
    if let Some(i) = args.iter().position(|a| a == "--dogs") {
        let bad = || std::io::Error::other("`--dogs` wants a whole number of dogs, at least 2");
        let n: u64 = args.get(i + 1).and_then(|n| n.parse().ok()).filter(|n| *n > 1).ok_or_else(bad)?;
        size.study = (n, n.min(size.study.1));
    }
    if is("--study") {
        let years = testkit::study::run(size.study.0, size.study.1, of("--keep"))?;
        println!("{} years", years.len());
        return Ok(());
    }
    write(of("--out").unwrap_or(Path::new("docs")), &size, of("--keep"), &mut |s| println!("{s}"))
}
