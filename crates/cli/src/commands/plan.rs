//! `plan`: the main job.

use super::{input, label, pictures, read, read_learned, rhythms, today};
use crate::args::PlanArgs;
use crate::files::{self, File};
use crate::out::{End, Out, note, patiently, percent};
use app::dog_file::DogFile;
use app::learning::{self, Bands, SEED};
use app::planning::{Case, Options};
use app::report::{PlanReport, VisitReport, ZoneReport};
use coat::Day;
use learn::Effort;
use plan::Highs;
use std::time::Instant;

pub(crate) fn run(args: &PlanArgs, out: &mut Out) -> Result<(), End> {
    let start = Instant::now();
    out.inches(args.pictures.inches);
    let force = args.pictures.force;
    files::check(args.programme.iter().map(std::path::PathBuf::as_path), force)?;
    if let Some(dir) = &args.out {
        pictures::check_set(dir, args)?;
    }
    let on = args.on.unwrap_or_else(today);
    let file = read_learned(&args.dog, on, args.defaults_only)?;
    let options = Options {
        today: on,
        rhythm_days: args.rhythm,
        until: args.until,
        matter: args.day_that_matters.clone(),
        not_on: args.not_on.clone(),
        max_min: args.max_min,
    };
    let case = Case::new(&file, &options).map_err(input)?;
    let mut written = Vec::new();
    if let Some(path) = &args.programme {
        let text = case.programme_mps(&Highs).map_err(input)?;
        written.push(File { path: path.clone(), bytes: text.into_bytes() });
    }
    let clock = || (start.elapsed().as_secs_f64() * 1e6).round() / 1e3;
    let clock: Option<&dyn Fn() -> f64> = if args.no_timing { None } else { Some(&clock) };
    let report = patiently(|| case.report(&Highs, clock)).map_err(input)?;
    let json = serde_json::to_string(&report).map_err(std::io::Error::from)?;
    match &args.out {
        Some(dir) => {
            let bands = bands(args, on, &file, &report)?;
            written.extend(pictures::set(dir, &report, &bands, &case, &json, args)?);
            files::in_folder(dir, || files::write_all(&written, force))?;
        }
        None => files::write_all(&written, force)?,
    }
    if args.json {
        out.line(&json)?;
    } else {
        print(out, &report)?;
    }
    out.flush()?;
    for f in &written {
        note(&format!("written: {}", f.path.display()));
    }
    Ok(())
}

/// How unsure the forecast is: by the readings, or by the coat type alone where they are left out.
fn bands(args: &PlanArgs, on: Day, counted: &DogFile, report: &PlanReport) -> Result<Bands, End> {
    let file = read(&args.dog)?;
    let l = if args.defaults_only {
        learning::unread(&file, on, None, SEED, Effort::VISIT)
    } else {
        learning::learned(&file, on, None, SEED, Effort::VISIT).map(|(l, _)| l)
    };
    l.and_then(|l| learning::bands(&file, &l, counted, report)).map_err(input)
}

fn print(out: &mut Out, r: &PlanReport) -> Result<(), End> {
    let title = out.paint(&format!("{}, {}", r.dog, r.today), "1");
    out.line(&title)?;
    for c in &r.cautions {
        out.wrap(" ! ", "   ", c)?;
    }
    out.head("THE COAT TODAY")?;
    if let Some(c) = r.forecast.first() {
        super::coat::table(out, c)?;
    }
    match r.visits.first() {
        Some(v) if v.date == r.today => sheet(out, v, "TABLE SHEET FOR TODAY")?,
        Some(v) => sheet(out, v, &format!("NO VISIT TODAY; TABLE SHEET FOR {}", v.date))?,
        None => {}
    }
    visits(out, r)?;
    milestones(out, r)?;
    ways(out, r)?;
    out.head("RHYTHMS (at their steady state; > is the rule's choice)")?;
    rhythms::table(out, &r.ladder, &r.ladder_reason)?;
    late(out, r)?;
    out.line("")?;
    let o = r.objective;
    let text = format!(
        "Exact plan {:.4}, proven within {:.4} % of the best; in hand steps {:.4} ({:+.1} %).{}",
        o.lp_value,
        100.0 * o.gap,
        o.rounded_value,
        100.0 * (o.share(o.rounded_value) - 1.0),
        r.timing.map_or(String::new(), |t| format!(" Computed in {:.0} ms.", t.total_ms))
    );
    out.quiet("", &text)?;
    out.quiet("", "Reminders, not a diagnosis: the law, licensed practice and the vet decide.")?;
    Ok(())
}

fn sheet(out: &mut Out, v: &VisitReport, title: &str) -> Result<(), End> {
    out.head(&format!("{title}: {:.0} min", v.min))?;
    out.wrap(
        "   ",
        "   ",
        "Look over and feel the skin, ears, nails; brush out; then in this order. Shares are of the hair one sees.",
    )?;
    let (worked, left): (Vec<&ZoneReport>, Vec<&ZoneReport>) =
        v.zones.iter().partition(|z| z.amount != "leave" || z.works.iter().any(|w| w != "look only"));
    // Neighbours in the working order that want the same are said once.
    for same in worked.chunk_by(|a, b| alike(a, b)) {
        let z = same[0];
        let names: Vec<&str> = same.iter().map(|z| label(z.zone)).collect();
        let amount = match z.amount.as_str() {
            "leave" if z.works.iter().any(|w| w.starts_with("card")) => "card only",
            "leave" => "nothing pulled",
            _ => z.amount_words.as_str(),
        };
        let layer = z.layer_mm.map_or(String::new(), |l| format!(" the {} layer", out.units().length(l)));
        let min: f64 = same.iter().map(|z| z.min).sum();
        let head = format!("{amount},{layer}: {}", names.join(", "));
        let head = if layer.is_empty() { format!("{amount}: {}", names.join(", ")) } else { head };
        let min = match min {
            m if m <= 0.0 => String::new(),
            m if m < 0.5 => " (under 1 min)".to_owned(),
            m => format!(" ({m:.0} min)"),
        };
        out.wrap_bold(" [ ] ", "     ", &format!("{head}{min}"))?;
        let mut notes = z.works.join(", then ");
        if !z.leave.is_empty() {
            notes = format!("{notes}{}leave: {}", if notes.is_empty() { "" } else { "; " }, z.leave);
        }
        if !notes.is_empty() {
            out.wrap("       ", "       ", &format!("{notes}."))?;
        }
        out.quiet("       ", &z.reason)?;
        for c in &z.cautions {
            out.wrap("     ! ", "       ", c)?;
        }
    }
    out.wrap("   ", "   ", "Then pads and feet, comb up, look from three sides, take what stands out.")?;
    if !left.is_empty() {
        out.head("LEFT TODAY, AND WHY")?;
        for z in left {
            out.wrap(&format!(" {:17} ", label(z.zone)), &" ".repeat(19), &z.reason)?;
            for c in z.cautions.iter().filter(|c| c.starts_with("Hands off") || c.starts_with("Noted")) {
                out.wrap("     ! ", "       ", c)?;
            }
        }
    }
    if let Some(t) = &v.ten_more_min {
        out.wrap("   ", "   ", t)?;
    }
    Ok(())
}

/// Whether two zones can be said in one breath.
fn alike(a: &ZoneReport, b: &ZoneReport) -> bool {
    let whole = |l: Option<f64>| l.map(|l| l.round() as i64);
    (&a.amount_words, &a.works, a.leave, &a.reason, &a.cautions, whole(a.layer_mm))
        == (&b.amount_words, &b.works, b.leave, &b.reason, &b.cautions, whole(b.layer_mm))
}

fn visits(out: &mut Out, r: &PlanReport) -> Result<(), End> {
    out.head("THE VISITS THAT FOLLOW (the coat just before each)")?;
    out.line(" date           min   cover   ripe   even   hard   the back's share")?;
    for v in &r.visits {
        let c = r.forecast.iter().find(|c| c.date == v.date && c.at == "before");
        let d = c.map(|c| c.dog);
        let back = v.zones.iter().find(|z| z.zone == "back").map_or("", |z| z.amount.as_str());
        out.line(&format!(
            " {}    {:4.0}  {:>6} {:>6} {:>6} {:>6}   {}",
            v.date,
            v.min,
            percent(d.and_then(|d| d.cover)),
            percent(d.and_then(|d| d.ripe)),
            percent(d.and_then(|d| d.evenness)),
            percent(d.and_then(|d| d.hard)),
            back
        ))?;
    }
    for m in &r.days_that_matter {
        let name = m.name.as_deref().map_or(String::new(), |n| format!(" ({n})"));
        out.wrap(" * ", "   ", &format!("{}{name}: {}", m.date, m.coat))?;
    }
    Ok(())
}

fn milestones(out: &mut Out, r: &PlanReport) -> Result<(), End> {
    out.head("MILESTONES")?;
    for (name, text) in
        [("rolling", &r.delays.rolling), ("furnishings", &r.delays.furnishings), ("hard", &r.delays.hard)]
    {
        out.wrap(&format!(" {name:12} "), "              ", text)?;
    }
    Ok(())
}

fn ways(out: &mut Out, r: &PlanReport) -> Result<(), End> {
    if r.ways.is_empty() {
        return Ok(());
    }
    out.head("WAYS TO BEGIN, SIDE BY SIDE")?;
    out.line(" way                             rolling      weeks  weeks bare  first  hours")?;
    for w in &r.ways {
        out.line(&format!(
            " {:31} {:12} {:>5} {:>11.0} {:>4.0} m {:>5.1}",
            w.way,
            w.rolling.as_deref().unwrap_or("later"),
            w.weeks_to_rolling.map_or("-".to_owned(), |x| format!("{x:.0}")),
            w.weeks_bare,
            w.first_min,
            w.min / 60.0
        ))?;
    }
    for w in &r.ways {
        out.wrap(" - ", "   ", &format!("{}: {}", w.way, w.note))?;
        for c in &w.cautions {
            out.wrap("   ! ", "     ", c)?;
        }
    }
    Ok(())
}

fn late(out: &mut Out, r: &PlanReport) -> Result<(), End> {
    if r.late.is_empty() {
        return Ok(());
    }
    out.head("IF THE NEXT VISIT IS LATE")?;
    out.line(" days late   cost of the plan   visits until it is as even as planned")?;
    for l in &r.late {
        let visits = match l.visits_to_recover {
            Some(0) => "at once".to_owned(),
            Some(n) => n.to_string(),
            None => format!("not before {}", l.until),
        };
        out.line(&format!(" {:9}   {:+15.1} %   {visits}", l.days_late, 100.0 * r.objective.share(l.cost)))?;
    }
    out.wrap("   ", "   ", &format!("A visit missed altogether counts as {} days late.", r.rhythm_days))?;
    Ok(())
}
