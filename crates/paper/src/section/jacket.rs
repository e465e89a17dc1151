//! The jacket as one section: the hairs of all its zones together, each zone by its area.

use super::data::{Sight, Walk, before_and_after, captions, each, even, rank, step_panel, strip_words, title, walk};
use super::{HairClass, Panel, Phase, Section};
use crate::dates;
use app::report::PlanReport;
use coat::{DogCoat, Mode, Zone};

/// The section of the jacket through the visits of a plan; none when the dog has no jacket zone
/// or the plan has no visit.
pub fn jacket_of_plan(report: &PlanReport, coat: &DogCoat) -> Option<Section> {
    let parts: Vec<(f64, Walk)> = Zone::ALL
        .into_iter()
        .filter(|z| z.defaults().jacket)
        .filter_map(|z| Some((z.defaults().area, walk(report, coat, z)?)))
        .collect();
    let area: f64 = parts.iter().map(|p| p.0).sum();
    // Zones that fare alike are drawn once.
    let mut groups: Vec<(f64, Walk)> = Vec::new();
    for (a, w) in parts {
        match groups.iter_mut().find(|g| g.1.is_as(&w)) {
            Some(g) => g.0 += a / area,
            None => groups.push((a / area, w)),
        }
    }
    let parts = groups;
    let (_, first) = parts.first()?;

    let pairs: Vec<(f64, [Panel; 2])> =
        each(&parts, |(a, w)| (*a, before_and_after(&w.date, &w.coat, &w.take, w.card)));
    let mut panels = together_before_and_after(&pairs).to_vec();

    let ways: Vec<(usize, usize)> =
        (0..first.steps.len()).flat_map(|k| (0..parts.len()).map(move |i| (k, i))).collect();
    let drawn = each(&ways, |(k, i)| Some((parts[*i].0, step_panel(parts[*i].1.steps.get(*k)?))));
    for (k, steps) in drawn.chunks(parts.len()).enumerate() {
        let steps: Vec<&(f64, Panel)> = steps.iter().flatten().collect();
        let evenness = parts.iter().filter_map(|(a, w)| Some((a, w.steps.get(k)?.evenness)));
        let evenness = evenness.fold((0.0, 0.0), |s, (a, e)| (s.0 + a * e.0, s.1 + a * e.1));
        panels.push(one_of(steps.iter().map(|(a, p)| (*a, p)), even(evenness)));
    }
    let now = parts.iter().fold(Sight::default(), |sum, (a, w)| {
        let s = Sight::of(&w.coat);
        Sight { visible: sum.visible + a * s.visible, ripe: sum.ripe + a * s.ripe, cut: sum.cut + a * s.cut }
    });
    let rolls = report.milestones.rolling.as_deref().map(dates::spoken);
    Some(Section {
        title: title("jacket", Mode::Layered, now, &first.date, rolls.as_deref()),
        zone: format!("{} · jacket", report.dog),
        panels,
        strip: strip_words(first.steps.len(), report.visits.len() - 1),
    })
}

/// The jacket before and after a visit, from its zones' panels, each with its part of the jacket's area.
///
/// The two panels keep their pairs, so that the places of the pulled hair stay where they were.
pub fn together_before_and_after(zones: &[(f64, [Panel; 2])]) -> [Panel; 2] {
    let mut hairs: Vec<(HairClass, HairClass)> = Vec::new();
    for (a, [before, after]) in zones {
        for (b, f) in before.hairs.iter().zip(&after.hairs) {
            match hairs.iter_mut().find(|(x, y)| alike(x, b) && alike(y, f)) {
                Some((x, y)) => {
                    add(x, b, *a);
                    add(y, f, *a);
                }
                None => hairs.push((scaled(b, *a), scaled(f, *a))),
            }
        }
    }
    hairs.sort_by_key(|(b, _)| rank(b));
    let (before, after): (Vec<HairClass>, Vec<HairClass>) = hairs.into_iter().unzip();
    let taken: f64 = before.iter().filter(|h| h.to_take).map(|h| h.share).sum();
    let (words, cover) = captions(taken / visible(&before).max(1e-9), visible(&after));
    let both = |k: usize| zones.iter().map(move |(a, p)| (*a, &p[k]));
    [together(both(0), words, before), together(both(1), cover, after)]
}

/// The jacket as it stands, from its zones' panels, each with its part of the jacket's area; `words` come before how
/// much of the skin is covered.
pub fn together_panel(zones: &[(f64, Panel)], words: &str) -> Panel {
    let mut one = one_of(zones.iter().map(|(a, p)| (*a, p)), String::new());
    one.caption = format!("{words}{:.0} % of the skin covered", 100.0 * visible(&one.hairs));
    one
}

/// The share of the follicles that show a hair.
fn visible(hairs: &[HairClass]) -> f64 {
    hairs.iter().filter(|h| h.phase != Phase::Empty).map(|h| h.share).sum()
}

fn one_of<'a>(zones: impl Iterator<Item = (f64, &'a Panel)> + Clone, caption: String) -> Panel {
    let mut hairs: Vec<HairClass> = Vec::new();
    for (a, panel) in zones.clone() {
        for h in &panel.hairs {
            match hairs.iter_mut().find(|x| alike(x, h)) {
                Some(x) => add(x, h, a),
                None => hairs.push(scaled(h, a)),
            }
        }
    }
    hairs.sort_by_key(rank);
    together(zones, caption, hairs)
}

/// The panels of the zones as one, with hairs already put together.
fn together<'a>(parts: impl Iterator<Item = (f64, &'a Panel)>, caption: String, hairs: Vec<HairClass>) -> Panel {
    let mut all = Panel { date: String::new(), caption, hairs, under: 0.0, wool: 0.0, target_mm: None };
    let (mut weight, mut aimed) = (0.0, 0.0);
    for (a, panel) in parts {
        all.date.clone_from(&panel.date);
        all.under += a * panel.under;
        all.wool += a * panel.wool;
        if let Some(mm) = panel.target_mm {
            weight += a;
            aimed += a * mm;
        }
    }
    all.target_mm = (weight > 0.0).then(|| aimed / weight);
    all
}

fn alike(a: &HairClass, b: &HairClass) -> bool {
    a.phase == b.phase && a.to_take == b.to_take && a.cut == b.cut && a.class == b.class
}

fn scaled(hair: &HairClass, by: f64) -> HairClass {
    HairClass { share: hair.share * by, ..hair.clone() }
}

/// Adds the hairs of a zone: shares add up, lengths and hardness are means.
fn add(sum: &mut HairClass, hair: &HairClass, by: f64) {
    let share = hair.share * by;
    let all = sum.share + share;
    let mean = |a: f64, b: f64| (sum.share * a + share * b) / all;
    let mm = mean(sum.mm, hair.mm);
    let square = mean(sum.sd_mm.powi(2) + sum.mm.powi(2), hair.sd_mm.powi(2) + hair.mm.powi(2));
    let hard = mean(sum.hard, hair.hard);
    (sum.mm, sum.sd_mm, sum.hard, sum.share) = (mm, (square - mm * mm).max(0.0).sqrt(), hard, all);
}

#[cfg(test)]
mod tests {
    use super::*;
    use coat::Day;

    fn examples() -> Vec<(PlanReport, DogCoat)> {
        let today = Day::parse("2026-11-25").unwrap();
        ["overgrown", "rolling", "flat"]
            .iter()
            .map(|name| {
                let path = format!("{}/../../examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
                let file = app::dog_file::load(std::path::Path::new(&path)).unwrap();
                let options = app::planning::Options::on(today);
                let case = app::planning::Case::new(&file, &options).unwrap();
                (case.report(&plan::Highs, None).unwrap(), case.coat.clone())
            })
            .collect()
    }

    /// The day from which it rolls is one day, in the jacket's section, beside a zone's, and over the measures.
    #[test]
    fn one_day_of_rolling_in_every_picture() {
        for (report, coat) in examples() {
            let jacket = jacket_of_plan(&report, &coat).unwrap();
            let back = crate::section::of_plan(&report, &coat, Zone::Back).unwrap();
            let headline = crate::measures::headline(&report);
            let first = &report.visits[0].date;
            let own = report.rolling_from(Zone::Back);
            match &report.milestones.rolling {
                Some(d) if d == first => {
                    assert!(jacket.title.starts_with("The jacket rolls"), "{}", jacket.title);
                    assert_eq!(headline, "The jacket rolls and keeps rolling");
                    assert!(back.zone.ends_with("the whole jacket rolls"), "{}", back.zone);
                }
                Some(d) => {
                    let from = format!("rolls from {}", dates::spoken(d));
                    for said in [&jacket.title, &headline, &back.zone] {
                        assert!(said.ends_with(&from), "{said}, not {from}");
                    }
                }
                None => assert!(headline.contains("does not roll before"), "{headline}"),
            }
            match own {
                Some(d) if d == first => assert!(back.title.starts_with("The back rolls"), "{}", back.title),
                Some(d) => assert!(back.title.ends_with(&dates::spoken(d)), "{}", back.title),
                None => assert!(!back.title.contains(" from "), "{}", back.title),
            }
            for section in [&jacket, &back] {
                let shown: Vec<String> = section.panels[1..].iter().map(|p| p.date.clone()).collect();
                let visits: Vec<String> = report.visits.iter().map(|v| dates::spoken(&v.date)).collect();
                assert_eq!(shown, visits, "every visit is shown");
                assert!(section.strip.contains(&format!("each of the {} visits", visits.len() - 1)));
            }
        }
    }

    #[test]
    fn a_zone_rolls_from_the_visit_after_which_it_stays_even() {
        let mut report = crate::fixture::plan("x", 0);
        assert_eq!(report.rolling_from(Zone::Back), Some(report.visits[8].date.as_str()));
        assert_eq!(report.rolling_from(Zone::Skull), None);
        for c in &mut report.forecast {
            c.zones.iter_mut().for_each(|z| z.evenness = Some(if c.at == "before" { 0.2 } else { 0.9 }));
        }
        assert_eq!(report.rolling_from(Zone::Back), Some(report.visits[0].date.as_str()));
        report.forecast.iter_mut().rfind(|c| c.at == "after").unwrap().zones[10].evenness = Some(0.84);
        assert_eq!(report.rolling_from(Zone::Back), None);
    }

    /// The jacket's section is the mean of its zones' sections by area, hair for hair.
    #[test]
    fn the_jacket_is_its_zones_by_area() {
        for (report, coat) in examples() {
            let jacket = jacket_of_plan(&report, &coat).unwrap();
            let zones: Vec<Zone> = Zone::ALL.into_iter().filter(|z| z.defaults().jacket).collect();
            let all: f64 = zones.iter().map(|z| z.defaults().area).sum();
            let parts: Vec<(f64, Section)> = zones
                .iter()
                .map(|z| (z.defaults().area / all, crate::section::of_plan(&report, &coat, *z).unwrap()))
                .collect();
            for (k, panel) in jacket.panels.iter().enumerate() {
                assert!((panel.hairs.iter().map(|h| h.share).sum::<f64>() - 1.0).abs() < 1e-6, "panel {k}");
                let sums = |panel: &Panel, keep: &dyn Fn(&HairClass) -> bool| {
                    let kept = panel.hairs.iter().filter(|h| keep(h));
                    kept.fold((0.0, 0.0), |s, h| (s.0 + h.share, s.1 + h.share * h.mm))
                };
                for phase in Phase::ALL {
                    for take in [false, true] {
                        let keep = |h: &HairClass| h.phase == phase && h.to_take == take;
                        let got = sums(panel, &keep);
                        let wanted = parts.iter().fold((0.0, 0.0), |s, (a, part)| {
                            let one = sums(&part.panels[k], &keep);
                            (s.0 + a * one.0, s.1 + a * one.1)
                        });
                        assert!((got.0 - wanted.0).abs() < 1e-9 && (got.1 - wanted.1).abs() < 1e-7, "{phase:?} {take}");
                    }
                }
            }
            let (before, after) = (&jacket.panels[0], &jacket.panels[1]);
            assert_eq!(before.hairs.len(), after.hairs.len());
            for (b, a) in before.hairs.iter().zip(&after.hairs) {
                assert!((b.share - a.share).abs() < 1e-12, "a hair keeps its place");
                assert_eq!(b.to_take, b.phase != a.phase, "only what comes out changes");
            }
            assert!(jacket.title.contains("jacket"), "{}", jacket.title);
        }
    }
}
