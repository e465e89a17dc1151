//! Files of pictures: the whole set beside a plan, and the table sheet alone.

use super::{input, read_learned, today};
use crate::args::{Format, PaperSize, PictureArgs, PlanArgs, SectionOf, ShadeBy, SheetArgs, Surface};
use crate::files::{self, File};
use crate::out::{End, Out, note, patiently};
use app::learning::Bands;
use app::planning::{Case, Options};
use app::report::PlanReport;
use paper::drawing::shade::{self, Shade};
use paper::theme::Theme;
use paper::{Paper, convert, fonts, measures, section, sheet};
use plan::Highs;
use std::path::Path;

pub(crate) fn options(args: &PictureArgs) -> paper::Options {
    paper::Options {
        theme: match args.theme {
            Surface::Light => Theme::Light,
            Surface::Dark => Theme::Dark,
            Surface::Print => Theme::Print,
        },
        paper: match args.paper {
            PaperSize::A4 => Paper::A4,
            PaperSize::Letter => Paper::Letter,
        },
        units: if args.inches { paper::Units::Inch } else { paper::Units::Mm },
        width: paper::Width::Wide,
    }
}

/// `sheet`: the table sheet alone.
pub(crate) fn run(args: &SheetArgs, out: &mut Out) -> Result<(), End> {
    let format = format_of(&args.out, args.format)?;
    files::check([args.out.as_path()], args.pictures.force)?;
    let on = args.on.unwrap_or_else(today);
    let file = read_learned(&args.dog, on, args.defaults_only)?;
    let wanted = Options::on(on);
    let case = Case::new(&file, &wanted).map_err(input)?;
    let report = patiently(|| case.report(&Highs, None)).map_err(input)?;
    let options = options(&args.pictures);
    let svg = sheet::sheet_svg(&report, 0, &options).ok_or_else(|| ours("the plan has no visit"))?;
    let boxed = fonts::missing(&svg);
    let bytes = match format {
        Format::Pdf => sheet::sheet_pdf(&report, 0, &options).map_err(ours)?.unwrap_or_default(),
        Format::Svg => svg.into_bytes(),
        Format::Png => convert::png_within(&svg, convert::SHEET_PX).map_err(ours)?,
    };
    files::write_all(&[File { path: args.out.clone(), bytes }], args.pictures.force)?;
    out.flush()?;
    say_boxed(&boxed);
    note(&format!("written: {}", args.out.display()));
    Ok(())
}

/// Says which letters are boxes in a picture, where there are any.
fn say_boxed(letters: &str) {
    if !letters.is_empty() {
        note(&format!(
            "`{letters}` cannot be drawn: the letters that ship are Latin, Greek, Cyrillic, Hebrew and Arabic; boxes \
             stand in their place"
        ));
    }
}

/// The kind of file: what was asked for, else what the name ends in; the two may not contradict each other.
fn format_of(path: &Path, asked: Option<Format>) -> Result<Format, End> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    let named = match ending.as_deref() {
        Some("pdf") => Some(Format::Pdf),
        Some("svg") => Some(Format::Svg),
        Some("png") => Some(Format::Png),
        _ => None,
    };
    match (asked, named, ending) {
        (Some(asked), Some(named), _) if asked != named => Err(End::Input {
            message: format!(
                "`{}` ends in `.{}`, and `--format {}` was given",
                path.display(),
                named.word(),
                asked.word()
            ),
            hint: format!(
                "Name a file that ends in `.{}`, or leave `--format` out: the ending says the kind.",
                asked.word()
            ),
        }),
        (Some(format), ..) | (None, Some(format), _) => Ok(format),
        (None, None, None) => Ok(Format::Pdf),
        (None, None, Some(other)) => Err(End::Input {
            message: format!("`.{other}` of `{}` is no kind of file that can be made", path.display()),
            hint: "Name a file that ends in `.pdf`, `.svg` or `.png`, or give `--format`.".to_owned(),
        }),
    }
}

/// Fails early when the set beside a plan could not be written.
pub(crate) fn check_set(dir: &Path, args: &PlanArgs) -> Result<(), End> {
    if !dir.exists() {
        return Ok(());
    }
    let ending = args.format.unwrap_or(Format::Svg).word();
    let names = ["measures", "drawing", "section"].map(|n| format!("{n}.{ending}"));
    let names = names.iter().map(String::as_str).chain(["plan.json", "sheet.pdf"]);
    let paths: Vec<_> = names.map(|n| dir.join(n)).collect();
    files::check(paths.iter().map(std::path::PathBuf::as_path), args.pictures.force)
}

/// The set beside a plan: sheet, section, drawing, measures, JSON.
pub(crate) fn set(
    dir: &Path,
    report: &PlanReport,
    bands: &Bands,
    case: &Case<'_>,
    json: &str,
    wanted: &PlanArgs,
) -> Result<Vec<File>, End> {
    let o = options(&wanted.pictures);
    let mut files: Vec<(String, Vec<u8>)> = vec![("plan.json".to_owned(), format!("{json}\n").into_bytes())];
    if let Some(pdf) = sheet::sheet_pdf(report, 0, &o).map_err(ours)? {
        files.push(("sheet.pdf".to_owned(), pdf));
    }
    let mut pictures = vec![("measures", measures::measures_svg(report, Some(bands), &o))];
    if let Some(today) = report.forecast.first() {
        pictures.push(("drawing", shade::shaded_svg(&report.dog, today, shade_by(wanted.shade), o.theme, o.units)));
    }
    let section = match wanted.section_of {
        SectionOf::Zone(zone) => section::of_plan(report, &case.coat, zone),
        SectionOf::Jacket => section::jacket_of_plan(report, &case.coat),
    };
    if let Some(s) = section {
        pictures.push(("section", section::section_svg(&s, &o)));
    }
    say_boxed(&fonts::missing(&pictures.iter().map(|p| p.1.as_str()).collect::<String>()));
    let format = wanted.format.unwrap_or(Format::Svg);
    for (name, svg) in pictures {
        let bytes = match format {
            Format::Svg => svg.into_bytes(),
            Format::Png => convert::png_within(&svg, convert::PNG_PX).map_err(ours)?,
            Format::Pdf => {
                let about = convert::About { title: format!("{}: {name}", report.dog), language: "en".to_owned() };
                convert::pdf(&svg, &about).map_err(ours)?
            }
        };
        files.push((format!("{name}.{}", format.word()), bytes));
    }
    files.sort();
    Ok(files.into_iter().map(|(name, bytes)| File { path: dir.join(name), bytes }).collect())
}

fn shade_by(arg: ShadeBy) -> Shade {
    match arg {
        ShadeBy::Ripe => Shade::Ripe,
        ShadeBy::Cover => Shade::Cover,
        ShadeBy::Evenness => Shade::Evenness,
        ShadeBy::Hard => Shade::Hard,
        ShadeBy::Top => Shade::Top,
        ShadeBy::Wool => Shade::Wool,
    }
}

fn ours(e: impl std::fmt::Display) -> End {
    End::Input {
        message: format!("the picture could not be made: {e}"),
        hint: "This is our fault, not the file's.".into(),
    }
}
