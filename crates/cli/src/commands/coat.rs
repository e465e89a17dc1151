//! `coat`: the coat on a day or over days, and the defaults.

use super::{input, read_learned, today};
use crate::args::CoatArgs;
use crate::out::{End, Out, percent};
use app::planning::coat_series;
use app::report::CoatReport;
use coat::{CoatType, Day, UNDERCOAT, Wait, ZONES, ZoneSetup, day_length_h};
use paper::Units;
use serde_json::json;

pub(crate) fn run(args: &CoatArgs, out: &mut Out) -> Result<(), End> {
    out.inches(args.inches);
    if args.defaults {
        return defaults(args.json, out);
    }
    if let Some(place) = &args.day_length {
        return day_length(place, args.json, out);
    }
    let Some(path) = &args.dog else { return Ok(()) };
    let on = args.on.unwrap_or_else(today);
    let (from, to) = (args.from.unwrap_or(on), args.to.unwrap_or(on));
    let file = read_learned(path, to, args.defaults_only)?;
    let series = coat_series(&file, from, to, args.step).map_err(input)?;
    if args.json {
        let text = serde_json::to_string(&series).map_err(std::io::Error::from)?;
        return Ok(out.line(&text)?);
    }
    for report in &series.series {
        out.head(&format!("{} on {}{}", file.name, report.date, at(report.at)))?;
        table(out, report)?;
    }
    Ok(())
}

fn at(at: &str) -> String {
    if at == "day" { String::new() } else { format!(", {at} what was done that day") }
}

pub(crate) fn table(out: &mut Out, report: &CoatReport) -> Result<(), End> {
    out.line(" zone               cover   ripe   top   layers   even   hard   wool")?;
    for z in report.zones.iter().filter(|z| z.cover.is_some()) {
        out.line(&format!(
            " {:17} {:>6} {:>6} {:>6} {:>7} {:>6} {:>6} {:>6}",
            super::label(z.zone),
            percent(z.cover),
            percent(z.ripe),
            z.top_mm.map_or("-".to_owned(), |t| out.units().length(t)),
            z.layers.map_or("-".to_owned(), |l| l.to_string()),
            percent(z.evenness),
            percent(z.hard),
            percent(z.wool),
        ))?;
    }
    let d = report.dog;
    let line = format!(
        " {:17} {:>6} {:>6} {:>6} {:>7} {:>6} {:>6}",
        "the dog",
        percent(d.cover),
        percent(d.ripe),
        "",
        "",
        percent(d.evenness),
        percent(d.hard)
    );
    let line = out.paint(&line, "1");
    out.line(&line)?;
    Ok(())
}

fn day_length(place: &[String], as_json: bool, out: &mut Out) -> Result<(), End> {
    let bad = |message: String| End::Input { message, hint: "For instance `--day-length 53 2026-12-21`.".to_owned() };
    let latitude = place.first().and_then(|t| t.parse::<f64>().ok()).filter(|l| l.abs() <= 90.0);
    let latitude = latitude.ok_or_else(|| bad("the latitude is outside `-90..=90 degrees`".to_owned()))?;
    let day = place.get(1).and_then(|t| Day::parse(t)).ok_or_else(|| bad("the date is no date".to_owned()))?;
    let hours = day_length_h(latitude, day);
    let text = if as_json { json!({ "hours": hours }).to_string() } else { format!("{hours:.2} h") };
    Ok(out.line(&text)?)
}

fn wait(w: Wait) -> serde_json::Value {
    json!([w.mean_d(), w.sd_d()])
}

fn defaults(as_json: bool, out: &mut Out) -> Result<(), End> {
    if as_json {
        let types: Vec<_> = CoatType::ALL
            .iter()
            .map(|t| {
                let d = t.defaults();
                let zones: Vec<_> = ZONES
                    .iter()
                    .map(|z| {
                        let s = ZoneSetup::defaults(z.zone, *t);
                        json!({
                            "zone": z.zone.word(), "mode": s.mode.word(), "tender": s.tender, "target_mm": s.target_mm,
                            "floor": s.floor, "cap": s.cap, "area": z.area, "jacket": z.jacket, "leave": z.leave,
                            "lag_d": wait(s.cycle.lag), "grow_d": wait(s.cycle.grow), "set_d": wait(s.cycle.set),
                            "hold_d": s.cycle.hold_d, "growth_mm_d": s.cycle.growth_mm_d,
                            "carded": s.is_carded(), "cut_share": s.cut_share(), "source": z.source,
                        })
                    })
                    .collect();
                json!({
                    "coat": t.word(), "lag_d": wait(d.lag), "grow_d": wait(d.grow), "set_d": wait(d.set),
                    "hold_d": d.hold_d, "growth_mm_d": d.growth_mm_d, "start_hard": d.start_hard,
                    "source": d.source, "zones": zones,
                })
            })
            .collect();
        let (lag, grow, set, hold, growth) = UNDERCOAT;
        let text = json!({
            "schema": "coatwright.defaults/1", "coats": types,
            "undercoat": { "lag_d": wait(lag), "grow_d": wait(grow), "set_d": wait(set), "hold_d": hold, "growth_mm_d": growth },
        });
        return Ok(out.line(&text.to_string())?);
    }
    let unit = out.units().word();
    let p = if out.units() == Units::Inch { 3 } else { 2 };
    out.head("Coat types (mean days; a dog's own history may replace them)")?;
    for t in CoatType::ALL {
        let d = t.defaults();
        out.line(&format!(
            " {:10} lag {:.0}, grow {:.0}, set {:.0}, hold {:.0} d; {:.p$} {unit}/d; starts {:.0} % hard",
            t.word(),
            d.lag.mean_d(),
            d.grow.mean_d(),
            d.set.mean_d(),
            d.hold_d,
            out.units().number(d.growth_mm_d),
            100.0 * d.start_hard
        ))?;
        out.quiet("   ", d.source)?;
    }
    out.head("Zones of a wire coat")?;
    out.line(&format!(
        " zone              mode     lag grow  set  {unit}/d{} target  area floor  cap",
        " ".repeat(p - 2)
    ))?;
    for z in &ZONES {
        let s = ZoneSetup::defaults(z.zone, CoatType::Wire);
        out.line(&format!(
            " {:17} {:8} {:3.0} {:4.0} {:4.0}  {:.p$} {:>6}  {:.3} {:>5} {:>4}{}",
            z.zone.label(),
            s.mode.word(),
            s.cycle.lag.mean_d(),
            s.cycle.grow.mean_d(),
            s.cycle.set.mean_d(),
            out.units().number(s.cycle.growth_mm_d),
            s.target_mm.map_or("-".to_owned(), |t| out.units().length(t)),
            z.area,
            format!("{:.2}", s.floor),
            format!("{:.2}", s.cap),
            if s.tender { "  tender" } else { "" }
        ))?;
    }
    out.quiet(
        " ",
        "Short zones turn over in weeks, leg furnishings take about two months longer than the jacket, the \
                    croup grows slower than the thigh (Diaz et al. 2006, Vet Dermatol 17:45-50, direction). All other \
                    zone values are assumed. Sources of every value: docs/coat-model.md.",
    )?;
    Ok(())
}
