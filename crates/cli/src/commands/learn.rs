//! `learn`: what the recorded visits taught of one dog.

use super::{input, label, labels, read, today};
use crate::args::LearnArgs;
use crate::out::{End, Out};
use app::learning::{LearnReport, SEED, ZoneLearned, report};
use learn::Effort;
use paper::Units;
use plan::{Highs, Solver};

pub(crate) fn run(args: &LearnArgs, out: &mut Out) -> Result<(), End> {
    out.inches(args.inches);
    let file = read(&args.dog)?;
    let solver: Option<&(dyn Solver + Sync)> = if args.quick { None } else { Some(&Highs) };
    let day = args.on.unwrap_or_else(today);
    let effort = if args.thorough { Effort::LONG } else { Effort::VISIT };
    let r = report(&file, day, None, SEED, effort, solver).map_err(input)?;
    if args.json {
        let text = serde_json::to_string(&r).map_err(std::io::Error::from)?;
        return Ok(out.line(&text)?);
    }
    print(out, &r)
}

fn print(out: &mut Out, r: &LearnReport) -> Result<(), End> {
    let title = out.paint(&format!("{}, what was learned by {}", r.dog, r.today), "1");
    out.line(&title)?;
    let counts = r.readings.iter().filter(|x| x.unused.is_none()).count();
    if counts == 0 {
        out.wrap("   ", "   ", "Nothing was read so far: all values are the defaults, and as unsure as they are.")?;
    }
    for s in r.sentences.iter().chain(&r.window_sentences) {
        out.wrap(" - ", "   ", s)?;
    }
    if counts > 0 {
        table(out, r)?;
    }
    windows(out, r)?;
    surprises(out, r)?;
    if let Some(n) = &r.next_reading {
        out.head("WHAT WOULD TEACH MOST")?;
        let zones = labels(&n.zones, " or ");
        let text = format!(
            "At the visit of {}: {} of the {}. The plan's cost is expected to fall by {:.1} % at least.",
            n.date,
            n.reading,
            zones,
            100.0 * n.of_cost
        );
        out.wrap("   ", "   ", &text)?;
    }
    out.head("TIME AT THE TABLE")?;
    match r.pace.mean {
        None => out.line("   No clock was read.")?,
        Some(m) => {
            let text = format!(
                "Visits of this dog take {m:.2} times the minutes reckoned, from {} clocks; 8 in 10: the hands' part \
                 {:.2} to {:.2}, the dog's {:.2} to {:.2}.",
                r.pace.clocks, r.pace.groomer_low, r.pace.groomer_high, r.pace.dog_low, r.pace.dog_high
            );
            out.wrap("   ", "   ", &text)?;
        }
    }
    let unused: Vec<_> = r.readings.iter().filter(|x| x.unused.is_some()).collect();
    if !unused.is_empty() {
        out.head("READINGS THAT SAY NOTHING")?;
        for u in unused {
            let why = u.unused.as_deref().unwrap_or_default();
            out.wrap(" - ", "   ", &format!("line {}, {} on {}: {why}.", u.line, u.reading, u.date))?;
        }
    }
    let d = &r.diagnostics;
    let figure = |x: Option<f64>| x.map_or_else(|| "-".to_owned(), |v| format!("{v:.2}"));
    out.line("")?;
    let text = format!(
        "{counts} readings, {} draws, effective {}, R-hat {}, k-hat {}; {} replays of the coat. {}",
        d.draws,
        figure(d.ess),
        figure(d.r_hat),
        figure(d.k_hat),
        d.replays,
        d.not_available.iter().map(|n| format!("Not available, {n}.")).collect::<Vec<_>>().join(" ")
    );
    out.quiet("", text.trim_end())?;
    out.quiet("", "Reminders, not a diagnosis: the law, licensed practice and the vet decide.")?;
    Ok(())
}

fn table(out: &mut Out, r: &LearnReport) -> Result<(), End> {
    out.head("THE ZONES THAT WERE READ (mean, 8 in 10; = still only the default)")?;
    out.line(" zone             value     mean       8 in 10   default  left of the spread")?;
    let mut shown: Vec<&ZoneLearned> = Vec::new();
    for z in r.zones.iter().filter(|z| !z.from_readings.is_empty()) {
        let twin = shown
            .iter()
            .find(|s| s.pull_to_ripe.mean_d == z.pull_to_ripe.mean_d && s.values[0].mean == z.values[0].mean);
        if let Some(s) = twin {
            out.line(&format!(" {:16} as {}", label(&z.zone), label(&s.zone)))?;
            continue;
        }
        shown.push(z);
        for (i, v) in z.values.iter().enumerate() {
            let name = if i == 0 { label(&z.zone) } else { "" };
            let length = v.unit.starts_with("mm");
            let n = |x: f64| if length { out.units().number(x) } else { x };
            let p = match (&*v.unit, out.units()) {
                ("d", _) => 0,
                (_, Units::Inch) if length => 3,
                _ => 2,
            };
            let line = format!(
                " {name:16} {:6} {:>7.p$} {} {:>6.p$} to {:>6.p$}  {:>7.p$} {:>8.0} %",
                v.value,
                n(v.mean),
                if v.only_default { "=" } else { " " },
                n(v.low),
                n(v.high),
                n(v.default),
                100.0 * v.of_prior_sd,
            );
            out.line(&line)?;
        }
        let ripe = &z.pull_to_ripe;
        out.line(&format!(
            " {:16} {:6} {:>7.0}   {:>6.0} to {:>6.0}  {:>7.0}  days, pull to ripe",
            "", "all", ripe.mean_d, ripe.low_d, ripe.high_d, ripe.default_d
        ))?;
    }
    Ok(())
}

fn windows(out: &mut Out, r: &LearnReport) -> Result<(), End> {
    if r.windows.is_empty() {
        return Ok(());
    }
    out.head("THE NEXT LAYER IS READY (half of what was taken then is ripe again), 8 in 10")?;
    out.line(" begun        from         to           by default   zones")?;
    let mut done: Vec<bool> = vec![false; r.windows.len()];
    for (i, w) in r.windows.iter().enumerate() {
        if done[i] {
            continue;
        }
        let mut zones = Vec::new();
        for (j, o) in r.windows.iter().enumerate() {
            if (&o.begun, &o.from, &o.until, &o.default) == (&w.begun, &w.from, &w.until, &w.default) {
                zones.push(label(&o.zone));
                done[j] = true;
            }
        }
        let head = format!(" {:12} {:12} {:12} {:12} ", w.begun, w.from, w.until, w.default);
        out.wrap(&head, &" ".repeat(53), &zones.join(", "))?;
    }
    Ok(())
}

fn surprises(out: &mut Out, r: &LearnReport) -> Result<(), End> {
    if r.surprises.is_empty() {
        return Ok(());
    }
    out.head("NOT AS FORETOLD")?;
    for s in &r.surprises {
        let Some(x) = r.readings.get(s.reading) else { continue };
        let chance = 100.0 * s.below.min(s.above);
        let text = format!(
            "{} of the {} on {}: {}. Earlier visits gave that {chance:.1} %. It may be {}.",
            x.reading,
            labels(&x.zones, ", "),
            x.date,
            x.answer,
            s.reasons.join("; ")
        );
        out.wrap(" - ", "   ", &text)?;
        if let Some(c) = &s.caution {
            out.wrap("   ! ", "     ", c)?;
        }
    }
    Ok(())
}
