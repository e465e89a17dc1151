//! Files of pictures: the whole set beside a plan, and the table sheet alone.

use super::{input, read_learned, today};
use crate::args::{Format, PaperSize, PictureArgs, PlanArgs, SectionOf, ShadeBy, SheetArgs, Surface};
use crate::out::{End, Out};
use app::planning::{Case, Options};
use app::report::PlanReport;
use paper::drawing::shade::{self, Shade};
use paper::theme::Theme;
use paper::{Paper, convert, measures, section, sheet};
use plan::Highs;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

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
    }
}

/// `sheet`: the table sheet alone.
pub(crate) fn run(args: &SheetArgs, out: &mut Out) -> Result<(), End> {
    let on = args.on.unwrap_or_else(today);
    let file = read_learned(&args.dog, on, args.defaults_only)?;
    let wanted = Options::on(on);
    let case = Case::new(&file, &wanted).map_err(input)?;
    let report = case.report(&Highs, None).map_err(input)?;
    let options = options(&args.pictures);
    let bytes = match args.pictures.format.unwrap_or(Format::Pdf) {
        Format::Pdf => sheet::sheet_pdf(&report, 0, &options).map_err(ours)?,
        Format::Svg => sheet::sheet_svg(&report, 0, &options).map(String::into_bytes),
        Format::Png => match sheet::sheet_svg(&report, 0, &options) {
            Some(svg) => Some(convert::png(&svg, convert::PNG_PX).map_err(ours)?),
            None => None,
        },
    };
    let bytes = bytes.ok_or_else(|| ours("the plan has no visit"))?;
    write_new(&args.out, &bytes, args.pictures.force)?;
    Ok(out.line(&format!("{}", args.out.display()))?)
}

/// The set beside a plan: sheet, section, drawing, measures, JSON.
pub(crate) fn write_set(
    dir: &Path,
    report: &PlanReport,
    case: &Case<'_>,
    json: &str,
    wanted: &PlanArgs,
    out: &mut Out,
) -> Result<(), End> {
    fs::create_dir_all(dir).map_err(|e| unwritable(dir, &e))?;
    let args = &wanted.pictures;
    let o = options(args);
    let mut files: Vec<(String, Vec<u8>)> = vec![("plan.json".to_owned(), format!("{json}\n").into_bytes())];
    if let Some(pdf) = sheet::sheet_pdf(report, 0, &o).map_err(ours)? {
        files.push(("sheet.pdf".to_owned(), pdf));
    }
    let mut pictures = vec![("measures", measures::measures_svg(report, &o))];
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
    for (name, svg) in pictures {
        let (ending, bytes) = match args.format.unwrap_or(Format::Svg) {
            Format::Svg => ("svg", svg.into_bytes()),
            Format::Png => ("png", convert::png(&svg, convert::PNG_PX).map_err(ours)?),
            Format::Pdf => {
                let about = convert::About { title: format!("{}: {name}", report.dog), language: "en".to_owned() };
                ("pdf", convert::pdf(&[svg], &about).map_err(ours)?)
            }
        };
        files.push((format!("{name}.{ending}"), bytes));
    }
    files.sort();
    // Nothing is written unless everything can be.
    if !args.force
        && let Some((name, _)) = files.iter().find(|(name, _)| dir.join(name).exists())
    {
        return Err(exists(&dir.join(name)));
    }
    let files: Vec<(PathBuf, Vec<u8>)> = files.into_iter().map(|(name, bytes)| (dir.join(name), bytes)).collect();
    write_all(&files)?;
    for (path, _) in &files {
        out.line(&format!("{}", path.display()))?;
    }
    Ok(())
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

fn exists(path: &Path) -> End {
    End::Input {
        message: format!("`{}` is there already and was kept", path.display()),
        hint: "Name another file, or give `--force` to replace it.".to_owned(),
    }
}

pub(crate) fn unwritable(path: &Path, e: &std::io::Error) -> End {
    End::Input {
        message: format!("cannot write `{}`: {e}", path.display()),
        hint: "Name a place that exists, can be written and has room; nothing half-written was kept.".to_owned(),
    }
}

/// Writes a whole file or nothing.
pub(crate) fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), End> {
    if !force && path.exists() {
        return Err(exists(path));
    }
    write_all(&[(path.to_owned(), bytes.to_vec())])
}

/// Writes all of the files or none: first each to a neighbour, and only when all are down, into place.
fn write_all(files: &[(PathBuf, Vec<u8>)]) -> Result<(), End> {
    let mut parts: Vec<(PathBuf, &Path)> = Vec::new();
    let written = files.iter().try_for_each(|(path, bytes)| {
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(format!(".{}.part", std::process::id()));
        let part = path.with_file_name(name);
        parts.push((part.clone(), path));
        fs::File::create(&part)
            .and_then(|mut f| f.write_all(bytes).and_then(|()| f.sync_all()))
            .map_err(|e| unwritable(path, &e))
    });
    let moved = written.and_then(|()| {
        parts.iter().try_for_each(|(part, path)| fs::rename(part, path).map_err(|e| unwritable(path, &e)))
    });
    if moved.is_err() {
        for (part, _) in &parts {
            let _ = fs::remove_file(part);
        }
    }
    moved
}
