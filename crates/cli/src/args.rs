//! The arguments, as `--help` and `docs/commands.md` show them.

use clap::{Parser, Subcommand};
use coat::{Day, Zone};
use std::net::SocketAddr;
use std::path::PathBuf;

/// Plans the coats of hand-stripped dogs: what to take today, where, how much, and when to come back.
#[derive(Parser, Debug)]
#[command(name = "coatwright", version, max_term_width = 100, arg_required_else_help = true)]
pub(crate) struct Args {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Subcommand, Debug)]
pub(crate) enum Command {
    /// The coat today, the table sheet, the visits that follow, milestones, rhythms, and what a late visit costs
    Plan(PlanArgs),
    /// The table sheet for the next visit, one page for the wall
    Sheet(SheetArgs),
    /// The coat on a day or over days; the default zones and coat types with their sources
    Coat(CoatArgs),
    /// The ladder of rhythms at their steady state, and which one to choose
    Rhythms(RhythmsArgs),
    /// What the recorded visits taught of this dog: its own times by zone, windows, surprises, what to read next
    Learn(LearnArgs),
    /// Reads a dog's file and explains every fault with its line
    Check(CheckArgs),
    /// The shop in the browser: its dogs, owners, visits and photos, kept in one file or in PostgreSQL
    Serve(ServeArgs),
    /// The same with an invented shop of about sixty dogs, thrown away at the end
    Demo(DemoArgs),
}

#[derive(clap::Args, Debug)]
pub(crate) struct PlanArgs {
    /// The dog's file
    pub(crate) dog: PathBuf,
    /// The day of the plan [default: today]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) on: Option<Day>,
    /// Days between visits [default: the file's, or the rule's]
    #[arg(long, value_name = "DAYS")]
    pub(crate) rhythm: Option<i32>,
    /// The last day of the plan [default: 26 weeks on]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) until: Option<Day>,
    /// A day that matters, such as a show; may be given again
    #[arg(long, value_name = "DATE[:NAME]", value_parser = named_day)]
    pub(crate) day_that_matters: Vec<(Day, Option<String>)>,
    /// Days on which no visit is possible; may be given again
    #[arg(long, value_name = "DATE[..DATE]", value_parser = span)]
    pub(crate) not_on: Vec<(Day, Day)>,
    /// Most minutes on the table at one visit [default: the file's]
    #[arg(long, value_name = "MIN", value_parser = minutes)]
    pub(crate) max_min: Option<f64>,
    /// Compute with the defaults, not with what the recorded visits taught
    #[arg(long)]
    pub(crate) defaults_only: bool,
    /// Print JSON for other programs (coatwright.plan/1)
    #[arg(long)]
    pub(crate) json: bool,
    /// Leave the times out of the JSON, so that it is the same to the byte each time
    #[arg(long)]
    pub(crate) no_timing: bool,
    /// Also write the whole linear programme as free MPS, for other solvers
    #[arg(long, value_name = "FILE")]
    pub(crate) programme: Option<PathBuf>,
    /// Also write the table sheet, coat section, drawing, measures and JSON into a folder, made if need be
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// What the coat section shows: a zone, for instance `hind_legs`, or `jacket`
    #[arg(long, value_name = "ZONE", value_parser = section_of, default_value = "back")]
    pub(crate) section_of: SectionOf,
    /// What the drawing of the dog is shaded by
    #[arg(long, value_enum, value_name = "MEASURE", default_value = "ripe")]
    pub(crate) shade: ShadeBy,
    /// Kind of file of section, drawing and measures; the sheet is always a PDF [default: svg]
    #[arg(long, value_enum)]
    pub(crate) format: Option<Format>,
    #[command(flatten)]
    pub(crate) pictures: PictureArgs,
}

#[derive(clap::Args, Debug)]
pub(crate) struct SheetArgs {
    /// The dog's file
    pub(crate) dog: PathBuf,
    /// The file to write; its ending says the kind: `.pdf`, `.svg` or `.png`
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Kind of file where the name does not say it [default: by the ending, else pdf]
    #[arg(long, value_enum)]
    pub(crate) format: Option<Format>,
    /// The day of the plan [default: today]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) on: Option<Day>,
    /// Compute with the defaults, not with what the recorded visits taught
    #[arg(long)]
    pub(crate) defaults_only: bool,
    #[command(flatten)]
    pub(crate) pictures: PictureArgs,
}

/// How pictures are made.
#[derive(clap::Args, Debug)]
pub(crate) struct PictureArgs {
    /// Size of sheets
    #[arg(long, value_enum, default_value = "a4")]
    pub(crate) paper: PaperSize,
    /// Surface that pictures are made for
    #[arg(long, value_enum, default_value = "light")]
    pub(crate) theme: Surface,
    /// Lengths in inches instead of millimetres; JSON stays in millimetres
    #[arg(long)]
    pub(crate) inches: bool,
    /// Replace files that are there already
    #[arg(long)]
    pub(crate) force: bool,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Svg,
    Png,
    Pdf,
}

impl Format {
    /// Its ending.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Format::Svg => "svg",
            Format::Png => "png",
            Format::Pdf => "pdf",
        }
    }
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PaperSize {
    A4,
    Letter,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Surface {
    Light,
    Dark,
    Print,
}

#[derive(clap::Args, Debug)]
pub(crate) struct CoatArgs {
    /// The dog's file
    #[arg(required_unless_present_any = ["defaults", "day_length"])]
    pub(crate) dog: Option<PathBuf>,
    /// The day [default: today]
    #[arg(long, value_name = "DATE", value_parser = day, conflicts_with_all = ["from", "to"])]
    pub(crate) on: Option<Day>,
    /// The first day of a series
    #[arg(long, value_name = "DATE", value_parser = day, requires = "to")]
    pub(crate) from: Option<Day>,
    /// The last day of a series
    #[arg(long, value_name = "DATE", value_parser = day, requires = "from")]
    pub(crate) to: Option<Day>,
    /// Days between the days of a series
    #[arg(long, value_name = "DAYS", default_value_t = 7)]
    pub(crate) step: i32,
    /// Show the default zones and coat types with their sources
    #[arg(long)]
    pub(crate) defaults: bool,
    /// Show the hours of daylight at a latitude on a day
    #[arg(long, num_args = 2, value_names = ["LATITUDE", "DATE"], allow_negative_numbers = true)]
    pub(crate) day_length: Option<Vec<String>>,
    /// Compute with the defaults, not with what the recorded visits taught
    #[arg(long)]
    pub(crate) defaults_only: bool,
    /// Lengths in inches instead of millimetres; JSON stays in millimetres
    #[arg(long)]
    pub(crate) inches: bool,
    /// Print JSON for other programs (coatwright.coat/1)
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(clap::Args, Debug)]
pub(crate) struct RhythmsArgs {
    /// The dog's file
    pub(crate) dog: PathBuf,
    /// The day [default: today]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) on: Option<Day>,
    /// Compute with the defaults, not with what the recorded visits taught
    #[arg(long)]
    pub(crate) defaults_only: bool,
    /// Lengths in inches instead of millimetres; JSON stays in millimetres
    #[arg(long)]
    pub(crate) inches: bool,
    /// Print JSON for other programs
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(clap::Args, Debug)]
pub(crate) struct LearnArgs {
    /// The dog's file
    pub(crate) dog: PathBuf,
    /// The last day that may be known [default: today]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(crate) on: Option<Day>,
    /// Draw fifty times as much and replay more, for checks: seconds instead of a fraction of one
    #[arg(long)]
    pub(crate) thorough: bool,
    /// Leave out which reading would teach most: it plans many times over
    #[arg(long)]
    pub(crate) quick: bool,
    /// Lengths in inches instead of millimetres; JSON stays in millimetres
    #[arg(long)]
    pub(crate) inches: bool,
    /// Print JSON for other programs (coatwright.learn/1)
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(clap::Args, Debug)]
pub(crate) struct CheckArgs {
    /// The dog's files
    #[arg(required = true)]
    pub(crate) dogs: Vec<PathBuf>,
}

#[derive(clap::Args, Debug)]
pub(crate) struct ServeArgs {
    /// A file, or postgres://USER@HOST/NAME; a server elsewhere over TLS, with sslrootcert=FILE where no public
    /// authority vouches for it [default: shop.db in the folder for such data]
    #[arg(long, value_name = "PATH|URL")]
    pub(crate) store: Option<String>,
    /// Address and port; beyond this machine only with a certificate or behind a proxy
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:8410")]
    pub(crate) listen: SocketAddr,
    /// Certificate chain, PEM
    #[arg(long, value_name = "FILE", requires = "key")]
    pub(crate) cert: Option<PathBuf>,
    /// Private key of the certificate, PEM
    #[arg(long, value_name = "FILE", requires = "cert")]
    pub(crate) key: Option<PathBuf>,
    /// A proxy in front speaks HTTPS and says in X-Forwarded-For where a visitor comes from
    #[arg(long, conflicts_with = "cert")]
    pub(crate) behind_proxy: bool,
}

#[derive(clap::Args, Debug)]
pub(crate) struct DemoArgs {
    /// Address and port on this machine; port 0 takes a free one
    #[arg(long, value_name = "ADDR", default_value = "127.0.0.1:0")]
    pub(crate) listen: SocketAddr,
}

fn day(text: &str) -> Result<Day, String> {
    Day::parse(text).ok_or_else(|| format!("`{text}` is no date; write year-month-day, for instance 2026-11-25"))
}

/// What a coat section shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SectionOf {
    Zone(Zone),
    Jacket,
}

/// A measure that the zones of the drawing are shaded by.
#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ShadeBy {
    Ripe,
    Cover,
    Evenness,
    Hard,
    Top,
    Wool,
}

fn section_of(text: &str) -> Result<SectionOf, String> {
    match Zone::parse(text) {
        Some(zone) => Ok(SectionOf::Zone(zone)),
        None if text == "jacket" => Ok(SectionOf::Jacket),
        None => Err(format!("`{text}` is neither `jacket` nor a zone; `coatwright coat --defaults` lists the zones")),
    }
}

fn named_day(text: &str) -> Result<(Day, Option<String>), String> {
    match text.split_once(':') {
        Some((d, name)) if !name.trim().is_empty() => Ok((day(d)?, Some(name.trim().to_owned()))),
        Some((d, _)) => Ok((day(d)?, None)),
        None => Ok((day(text)?, None)),
    }
}

fn span(text: &str) -> Result<(Day, Day), String> {
    let (a, b) = text.split_once("..").unwrap_or((text, text));
    let (a, b) = (day(a)?, day(b)?);
    if b < a { Err(format!("`{text}` ends before it begins")) } else { Ok((a, b)) }
}

fn minutes(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(m) if (1.0..=960.0).contains(&m) => Ok(m),
        _ => Err(format!("`{text} min` is outside `1..=960 min`")),
    }
}
