//! Draws every picture for dogs made up on the spot, into the folder named (default `/tmp/pictures`).

use coat::{CoatType, Cycle, Day, Law, Population, Take, UNDERCOAT, Zone, ZoneCoat, ZoneSetup};
use paper::convert;
use paper::section::{SectionOptions, Step, section_of, section_svg};
use paper::theme::Theme;
use std::path::Path;
use std::sync::Arc;

type Failure = Box<dyn std::error::Error>;

fn start(zone: Zone, kind: &str) -> Result<ZoneCoat, Failure> {
    let setup = ZoneSetup::defaults(zone, CoatType::Wire);
    let law = Arc::new(Law::new(setup.cycle)?);
    let (lag, grow, set, hold_d, growth_mm_d) = UNDERCOAT;
    let under = Population::left_alone(Arc::new(Law::new(Cycle { lag, grow, set, hold_d, growth_mm_d })?), DAY, 0.6, 21);
    let mut top = match kind {
        "rolling" => Population::rolled(law, DAY - 21, 0.6, 21, false),
        _ => Population::left_alone(law, if kind == "alone" { DAY } else { DAY - 63 }, 0.6, 21),
    };
    match kind {
        "flat" => {
            top.strip_flat();
        }
        "clipped" => top.clip(6.0),
        _ => {}
    }
    top.step_to(DAY);
    Ok(ZoneCoat { setup, top, under })
}

const DAY: i32 = 20_782;

fn main() -> Result<(), Failure> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| "/tmp/pictures".to_owned());
    let dir = Path::new(&dir);
    std::fs::create_dir_all(dir)?;
    for (kind, zone) in [
        ("alone", Zone::Back),
        ("rolling", Zone::Back),
        ("flat", Zone::Back),
        ("clipped", Zone::Sides),
        ("alone", Zone::Beard),
        ("alone", Zone::Skull),
    ] {
        let mut coat = start(zone, kind)?;
        let first = coat.clone();
        let share = if zone == Zone::Skull { 0.6 } else { 0.2 };
        let take = |c: &ZoneCoat| Take::LongestFirst((share * c.top.visible()).min(c.top.ripe()));
        let mut steps = Vec::new();
        for k in 1..=6 {
            coat.top.visit(&take(&coat));
            let card = coat.under.ripe();
            coat.under.visit(&Take::LongestFirst(card));
            coat.step_to(Day::from_days(DAY + 21 * k));
            let even = coat.top.evenness().0;
            steps.push(Step {
                date: Day::from_days(DAY + 21 * k).to_string(),
                caption: format!("{:.0} % even", 100.0 * even),
                coat: coat.clone(),
                take: Some(take(&coat)),
            });
        }
        let date = Day::from_days(DAY).to_string();
        let section = section_of("Bracken", &date, &first, &take(&first), true, &steps);
        for theme in Theme::ALL {
            let clock = std::time::Instant::now();
            let svg = section_svg(&section, &SectionOptions { theme, inches: false });
            let spent = clock.elapsed();
            let name = format!("section-{kind}-{}-{theme:?}", zone.word()).to_lowercase();
            std::fs::write(dir.join(format!("{name}.svg")), &svg)?;
            std::fs::write(dir.join(format!("{name}.png")), convert::png(&svg, 1400)?)?;
            if theme == Theme::Light {
                eprintln_line(&format!("{name}: {} kB, {:.1} ms", svg.len() / 1000, spent.as_secs_f64() * 1e3));
            }
        }
    }
    Ok(())
}

#[expect(clippy::print_stderr, reason = "an example that a person runs")]
fn eprintln_line(line: &str) {
    eprintln!("{line}");
}
