//! Files of pictures: the whole set beside a plan, and the table sheet alone.

use super::{input, read, today};
use crate::args::{Format, PaperSize, PictureArgs, SheetArgs, Surface};
use crate::out::{End, Out};
use app::planning::{Case, Options};
use app::report::PlanReport;
use coat::Zone;
use paper::drawing::{DrawingOptions, ZoneLook, dog_svg};
use paper::theme::Theme;
use paper::{Paper, convert, measures, section, sheet};
use plan::Highs;
use std::fs;
use std::io::Write as _;
use std::path::Path;

/// Width of a PNG, pixels: no picture over 300 kB.
const PNG_PX: u32 = 780;

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
    let file = read(&args.dog)?;
    let wanted = Options::on(args.on.unwrap_or_else(today));
    let case = Case::new(&file, &wanted).map_err(input)?;
    let report = case.report(&Highs, None).map_err(input)?;
    let options = options(&args.pictures);
    let bytes = match args.pictures.format.unwrap_or(Format::Pdf) {
        Format::Pdf => sheet::sheet_pdf(&report, 0, &options).map_err(ours)?,
        Format::Svg => sheet::sheet_svg(&report, 0, &options).map(String::into_bytes),
        Format::Png => match sheet::sheet_svg(&report, 0, &options) {
            Some(svg) => Some(convert::png(&svg, PNG_PX).map_err(ours)?),
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
    zone: Zone,
    args: &PictureArgs,
    out: &mut Out,
) -> Result<(), End> {
    fs::create_dir_all(dir).map_err(|e| unwritable(dir, &e))?;
    let o = options(args);
    let mut files: Vec<(String, Vec<u8>)> = vec![("plan.json".to_owned(), format!("{json}\n").into_bytes())];
    if let Some(pdf) = sheet::sheet_pdf(report, 0, &o).map_err(ours)? {
        files.push(("sheet.pdf".to_owned(), pdf));
    }
    let mut pictures = vec![("drawing", drawing(report, o.theme)), ("measures", measures::measures_svg(report, &o))];
    if let Some(s) = section::of_plan(report, &case.coat, zone) {
        pictures.push(("section", section::section_svg(&s, &o)));
    }
    for (name, svg) in pictures {
        let (ending, bytes) = match args.format.unwrap_or(Format::Svg) {
            Format::Svg => ("svg", svg.into_bytes()),
            Format::Png => ("png", convert::png(&svg, PNG_PX).map_err(ours)?),
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
    for (name, bytes) in &files {
        write_new(&dir.join(name), bytes, true)?;
        out.line(&format!("{}", dir.join(name).display()))?;
    }
    Ok(())
}

/// The dog, each zone shaded by its ripe share of the visible hair today.
fn drawing(report: &PlanReport, theme: Theme) -> String {
    let coat = report.forecast.first();
    let looks: Vec<ZoneLook> = Zone::ALL
        .into_iter()
        .map(|zone| {
            let z = coat.and_then(|c| c.zones.iter().find(|z| z.zone == zone.word()));
            let value = z.and_then(|z| Some(z.ripe? / z.cover.filter(|c| *c > 0.02)?));
            let label = value.map_or(String::new(), |v| format!("{:.0} %", 100.0 * v));
            ZoneLook { zone, value, label, caution: false, emphasised: false }
        })
        .collect();
    let said: Vec<String> =
        looks.iter().filter(|l| l.value.is_some()).map(|l| format!("{} {}", l.zone.label(), l.label)).collect();
    let options = DrawingOptions {
        theme,
        title: format!("{} on {}: how much of the hair one sees is ripe", report.dog, report.today),
        description: said.join(", "),
        scale_caption: "0 %|ripe share of the hair one sees|100 %".to_owned(),
        legend: true,
        labels: true,
    };
    dog_svg(&looks, &options)
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

/// Writes a whole file or nothing: to a neighbour first, then moved into place.
pub(crate) fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), End> {
    if !force && path.exists() {
        return Err(exists(path));
    }
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.part", std::process::id()));
    let part = path.with_file_name(name);
    let written = fs::File::create(&part)
        .and_then(|mut f| f.write_all(bytes).and_then(|()| f.sync_all()))
        .and_then(|()| fs::rename(&part, path));
    written.map_err(|e| {
        let _ = fs::remove_file(&part);
        unwritable(path, &e)
    })
}
