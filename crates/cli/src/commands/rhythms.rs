//! `rhythms`: the ladder of rhythms.

use super::{input, read_learned, today};
use crate::args::RhythmsArgs;
use crate::out::{End, Out, percent};
use app::planning::{Case, Options};
use app::report::Rung;
use paper::Units;

pub(crate) fn run(args: &RhythmsArgs, out: &mut Out) -> Result<(), End> {
    out.inches(args.inches);
    let on = args.on.unwrap_or_else(today);
    let file = read_learned(&args.dog, on, args.defaults_only)?;
    let options = Options::on(on);
    let case = Case::new(&file, &options).map_err(input)?;
    let (ladder, reason) = case.ladder();
    if args.json {
        let text = serde_json::json!({ "schema": "coatwright.rhythms/1", "ladder": ladder, "reason": reason });
        return Ok(out.line(&text.to_string())?);
    }
    out.line(&format!("{}: rhythms at their steady state", file.name))?;
    table(out, &ladder, &reason)
}

fn outline(out: &Out, mm: f64) -> String {
    match out.units() {
        Units::Mm => format!("{mm:.1} mm"),
        Units::Inch => format!("{:.2} in", Units::Inch.number(mm)),
    }
}

pub(crate) fn table(out: &mut Out, ladder: &[Rung], reason: &str) -> Result<(), End> {
    let priced = ladder.iter().any(|r| r.price_per_year.is_some());
    let currency = ladder.iter().find_map(|r| r.currency.as_deref()).unwrap_or("price");
    let price_head = if priced { format!("{:>12}", format!("{currency}/year")) } else { String::new() };
    out.line(&format!("   every   take  cover  even  outline  min/visit  hours/year{price_head}"))?;
    for r in ladder {
        let mark = if r.recommended { ">" } else { " " };
        let price = r.price_per_year.map_or(String::new(), |p| format!("{p:12.0}"));
        let line = format!(
            " {mark} {:3} d  {}  {} {}  {:>7}  {:9.0}  {:10.0}{price}",
            r.rhythm_days,
            percent(Some(r.share)),
            percent(Some(r.cover)),
            percent(Some(r.evenness)),
            outline(out, r.outline_mm),
            r.min_per_visit,
            r.min_per_year / 60.0,
        );
        let line = if r.recommended { out.paint(&line, "1") } else { line };
        out.line(&line)?;
    }
    Ok(out.wrap("   ", "   ", reason)?)
}
