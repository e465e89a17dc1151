//! One file per command.

mod check;
mod coat;
mod demo;
mod learn;
mod pictures;
mod plan;
mod rhythms;
mod serve;
mod site;

use crate::args::{Args, Command};
use crate::out::{End, Out};
use ::coat::{Day, Zone};
use app::dog_file::{DogFile, load};
use app::planning::Failure;
use std::path::Path;

pub(crate) fn run(args: Args, mut out: Out) -> Result<(), End> {
    match args.command {
        Command::Plan(a) => plan::run(&a, &mut out),
        Command::Sheet(a) => pictures::run(&a, &mut out),
        Command::Coat(a) => coat::run(&a, &mut out),
        Command::Rhythms(a) => rhythms::run(&a, &mut out),
        Command::Learn(a) => learn::run(&a, &mut out),
        Command::Check(a) => check::run(&a, &mut out),
        Command::Serve(a) => serve::run(&a, &mut out),
        Command::Demo(a) => demo::run(&a, &mut out),
    }?;
    Ok(out.flush()?)
}

/// Today by the machine's clock and time zone.
fn today() -> Day {
    let d = jiff::ZonedDateTime::now().date();
    Day::from_ymd(d.year(), d.month(), d.day()).unwrap_or(Day::from_days(0))
}

fn read(path: &Path) -> Result<DogFile, End> {
    load(path).map_err(|e| End::Input { message: e.to_string(), hint: e.hint().to_owned() })
}

/// A dog's file with its values as the visits recorded by `day` taught them, unless only defaults are wanted.
fn read_learned(path: &Path, day: Day, defaults_only: bool) -> Result<DogFile, End> {
    let file = read(path)?;
    if defaults_only || day < file.born { Ok(file) } else { app::learning::as_learned(&file, day).map_err(input) }
}

/// A zone as spoken.
fn label(word: &str) -> &str {
    Zone::parse(word).map_or(word, |z| z.label())
}

/// Zones as spoken, in a row.
fn labels(words: &[String], between: &str) -> String {
    words.iter().map(|w| label(w)).collect::<Vec<_>>().join(between)
}

fn input(e: Failure) -> End {
    End::Input { hint: e.hint(), message: e.to_string() }
}
