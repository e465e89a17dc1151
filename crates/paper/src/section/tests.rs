use super::*;
use crate::theme::Theme;
use coat::{CoatType, Law, Population, Take, Zone, ZoneCoat, ZoneSetup};
use std::collections::BTreeMap;
use std::sync::Arc;

fn alone(zone: Zone) -> ZoneCoat {
    let setup = ZoneSetup::defaults(zone, CoatType::Wire);
    let (lag, grow, set, hold_d, growth_mm_d) = coat::UNDERCOAT;
    let under = Arc::new(Law::new(coat::Cycle { lag, grow, set, hold_d, growth_mm_d }).unwrap());
    let law = Arc::new(Law::new(setup.cycle).unwrap());
    ZoneCoat { top: Population::left_alone(law, 0, 0.6, 21), under: Population::left_alone(under, 0, 0.6, 21), setup }
}

fn rolling() -> Section {
    let mut coat = alone(Zone::Back);
    let first = coat.clone();
    let take = |c: &ZoneCoat| Take::LongestFirst((0.2 * c.top.visible()).min(c.top.ripe()));
    let mut steps = Vec::new();
    for k in 1..=6 {
        coat.top.visit(&take(&coat));
        coat.step_to(coat::Day::from_days(21 * k));
        steps.push(Step {
            date: format!("day {}", 21 * k),
            caption: "as it stands".into(),
            coat: coat.clone(),
            take: Some(take(&coat)),
            evenness: (0.5, 0.6),
        });
    }
    section_of("Žofka", "day 0", &first, &take(&first), true, &steps, Some("day 42"))
}

fn options(theme: Theme) -> Options {
    Options { theme, ..Options::default() }
}

#[test]
fn hairs_follow_the_shares_to_one_hair() {
    let section = rolling();
    for theme in Theme::ALL {
        let svg = section_svg(&section, &options(theme));
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let mut seen = 0;
        for panel in doc.descendants().filter(|n| n.attribute("class") == Some("panel")) {
            let nth: usize = panel.attribute("data-panel").unwrap().parse().unwrap();
            let n = if nth < 2 { LARGE } else { small(section.panels.len() - 2) };
            let mut drawn: BTreeMap<usize, usize> = BTreeMap::new();
            for hair in panel.children().filter(|n| n.attribute("class").is_some_and(|c| c.starts_with("hair "))) {
                let k: usize = hair.attribute("data-class").unwrap().parse().unwrap();
                let class = &section.panels[nth].hairs[k];
                let words: Vec<&str> = hair.attribute("class").unwrap().split(' ').collect();
                assert_eq!(words[1], class.phase.word());
                assert_eq!(words.contains(&"take"), class.to_take);
                *drawn.entry(k).or_default() += 1;
            }
            assert_eq!(drawn.values().sum::<usize>(), n);
            for (k, class) in section.panels[nth].hairs.iter().enumerate() {
                let got = drawn.get(&k).copied().unwrap_or(0) as f64;
                assert!((got - class.share * n as f64).abs() < 1.0, "panel {nth} {class:?}: {got}");
            }
            for phase in Phase::ALL {
                let of = |k: &usize| section.panels[nth].hairs[*k].phase == phase;
                let got = drawn.iter().filter(|(k, _)| of(k)).map(|x| *x.1).sum::<usize>() as f64;
                let all = &section.panels[nth].hairs;
                let share: f64 = all.iter().filter(|h| h.phase == phase).map(|h| h.share).sum();
                assert!((got - share * n as f64).abs() < 2.0, "panel {nth} {phase:?}: {got}");
            }
            seen += 1;
        }
        assert_eq!(seen, 8);
    }
}

#[test]
fn what_is_marked_before_is_empty_after_and_nothing_else_moves() {
    let section = rolling();
    let (before, after) = (&section.panels[0].hairs, &section.panels[1].hairs);
    assert_eq!(before.len(), after.len());
    let mut taken = 0.0;
    for (b, a) in before.iter().zip(after) {
        assert!((a.share - b.share).abs() < 1e-12);
        if b.to_take {
            assert_eq!(a.phase, Phase::Empty);
            taken += b.share;
        } else {
            assert_eq!(a.phase, b.phase);
        }
    }
    let visible: f64 = before.iter().filter(|h| h.phase != Phase::Empty).map(|h| h.share).sum();
    assert!((taken / visible - 0.2).abs() < 1e-6, "{taken} of {visible}");
}

#[test]
fn shares_become_whole_hairs() {
    assert_eq!(counts(&[0.5, 0.25, 0.25], 4), [2, 1, 1]);
    // Ten hairs of 4 % each: four of a hundred are not lost to rounding.
    assert_eq!(counts(&[0.04; 25], 50).iter().sum::<usize>(), 50);
    assert_eq!(counts(&[0.016, 0.016, 0.016, 0.016, 0.936], 26)[..4].iter().sum::<usize>(), 2);
    assert_eq!(counts(&[1.0 / 3.0; 3], 10).iter().sum::<usize>(), 10);
    assert_eq!(counts(&[0.0, f64::NAN], 10), [0, 0]);
    assert_eq!(counts(&[], 10), Vec::<usize>::new());
}

#[test]
fn contrasts_hold() {
    for theme in Theme::ALL {
        for (what, a, b, least) in ink::meaningful(theme) {
            let got = crate::theme::contrast(a, b);
            assert!(got >= least, "{theme:?} {what}: {got:.2}");
        }
    }
}

#[test]
fn the_same_section_gives_the_same_bytes_and_not_too_many() {
    for theme in Theme::ALL {
        let a = section_svg(&rolling(), &options(theme));
        assert_eq!(a, section_svg(&rolling(), &options(theme)));
        assert!(a.len() < 300_000, "{}", a.len());
        assert!(!a.contains("NaN") && !a.contains("inf "));
    }
}

#[test]
fn an_empty_section_is_still_a_picture() {
    let nothing =
        Section { title: "<Bare> & \"odd\"".into(), zone: String::new(), panels: Vec::new(), strip: String::new() };
    let svg = section_svg(&nothing, &options(Theme::Light));
    roxmltree::Document::parse(&svg).unwrap();
}

#[test]
fn the_description_says_the_numbers() {
    let said = describe(&rolling(), &Options { units: Units::Inch, ..Options::default() });
    assert!(said.contains("are to come out") && said.contains(" in."), "{said}");
}

/// With many visits the strip takes two rows; with very many it says how many of them it shows.
#[test]
fn a_long_strip_stays_within_the_picture() {
    let mut section = rolling();
    let step = section.panels[2].clone();
    for (panels, width) in [1, 6, 7, 8, 9, 11, 12].into_iter().flat_map(|n| Width::ALL.map(|w| (n, w))) {
        section.panels.truncate(2);
        section.panels.extend((0..panels).map(|_| step.clone()));
        let svg = section_svg(&section, &Options { width, ..Options::default() });
        assert!(svg.len() < 300_000, "{panels}: {}", svg.len());
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let drawn = doc.descendants().filter(|n| n.attribute("class") == Some("panel")).count();
        assert_eq!(drawn, 2 + panels);
        let high: f64 = doc.root_element().attribute("height").unwrap().parse().unwrap();
        for t in doc.descendants().filter(|n| n.has_tag_name("text")) {
            let get = |k: &str| t.attribute(k).unwrap().parse::<f64>().unwrap();
            let weight =
                if t.attribute("font-weight").is_some() { fonts::Weight::Bold } else { fonts::Weight::Regular };
            let wide = fonts::width(t.text().unwrap_or(""), get("font-size"), weight);
            let within = t.attribute("text-anchor") == Some("end") || get("x") + wide <= width.units();
            assert!(within && get("y") < high, "{width:?} {:?}", t.text());
        }
    }
    assert_eq!(data::strip_words(8, 8), "The coat just before each of the 8 visits that follow");
    assert_eq!(data::strip_words(12, 25), "The coat just before 12 of the 25 visits that follow");
}
