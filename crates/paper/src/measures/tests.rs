use super::*;
use crate::fixture::plan;
use crate::theme::Theme;

#[test]
fn the_titles_say_what_the_numbers_say() {
    let report = plan("Žofka", 1);
    assert_eq!(headline(&report), "The jacket rolls from 17 Feb 2027");
    assert_eq!(row_title(&report, Measure::Hard, Units::Mm), "Hard: harsh hair in the jacket rises from 60 to 91 %");
    assert_eq!(
        row_title(&report, Measure::Top, Units::Inch),
        "Top length: the jacket comes down from 1.2 in to 0.9 in"
    );
    let mut never = report.clone();
    never.milestones.rolling = None;
    assert!(headline(&never).contains("does not roll before"));
    never.forecast.clear();
    assert!(headline(&never).starts_with("The jacket does not roll"));
    roxmltree::Document::parse(&measures_svg(&never, None, &Options::default())).unwrap();
}

#[test]
fn every_chart_stands_with_its_line_visits_and_units() {
    let report = plan("<Ž> & \"co\"", 1);
    for (theme, width) in Theme::ALL.into_iter().flat_map(|t| Width::ALL.map(|w| (t, w))) {
        let o = Options { theme, width, ..Options::default() };
        let svg = measures_svg(&report, None, &o);
        assert_eq!(svg, measures_svg(&report, None, &o));
        assert!(svg.len() < 300_000 && !svg.contains("NaN"));
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let of = |c: &str| doc.descendants().filter(|n| n.attribute("class") == Some(c)).count();
        // Five measures of four groups, less the head's evenness.
        assert_eq!((of("chart"), of("line"), of("visits"), of("matters"), of("milestone")), (20, 19, 19, 19, 2));
        let words: Vec<&str> = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
        assert!(words.contains(&"100 %") && words.iter().any(|w| w.ends_with(" mm")), "{words:?}");
        assert!(doc.descendants().any(|n| n.has_tag_name("desc") && n.text().is_some_and(|t| t.contains("jacket"))));
    }
}

/// On a phone half of the charts stand under the other half, all words within the picture and none over another's.
#[test]
fn a_narrow_picture_holds_all_that_a_wide_one_does() {
    let report = plan("A name that goes on for longer than a phone is wide", 1);
    let bands = bands(&report);
    for width in Width::ALL {
        let svg = measures_svg(&report, Some(&bands), &Options { width, ..Options::default() });
        let doc = roxmltree::Document::parse(&svg).unwrap();
        let size = |k: &str| doc.root_element().attribute(k).unwrap().parse::<f64>().unwrap();
        let mut boxes: Vec<[f64; 4]> = Vec::new();
        for t in doc.descendants().filter(|n| n.has_tag_name("text")) {
            let get = |k: &str| t.attribute(k).unwrap().parse::<f64>().unwrap();
            let weight = if t.attribute("font-weight").is_some() { Weight::Bold } else { Weight::Regular };
            let wide = fonts::width(t.text().unwrap_or(""), get("font-size"), weight);
            let from = match t.attribute("text-anchor") {
                Some("end") => get("x") - wide,
                Some("middle") => get("x") - wide / 2.0,
                _ => get("x"),
            };
            let b = [from, get("y") - 0.7 * get("font-size"), from + wide, get("y")];
            assert!(b[0] >= 0.0 && b[2] <= size("width") && b[3] < size("height"), "{width:?} {:?}", t.text());
            let over = |a: &[f64; 4]| a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
            assert!(!boxes.iter().any(over), "{width:?}: {:?} is written over other words", t.text());
            boxes.push(b);
        }
    }
}

#[test]
fn a_group_is_the_mean_by_area() {
    let report = plan("x", 0);
    let first = series(&report, Group::Jacket, Measure::Cover)[0];
    assert!((first.value - 0.9).abs() < 1e-12);
    assert!(series(&report, Group::Head, Measure::Evenness).is_empty());
    let zones: usize = Group::ALL.iter().map(|g| coat::Zone::ALL.iter().filter(|z| Group::of(**z) == *g).count()).sum();
    assert_eq!(zones, 24);
    for z in coat::Zone::ALL {
        assert_eq!(Group::of(z) == Group::Jacket, z.defaults().jacket, "{z}");
    }
}

#[test]
fn the_table_has_a_line_for_every_day_and_group() {
    let report = plan("x", 0);
    let table = measures_table(&report, Units::Inch);
    assert_eq!(table.lines().count(), 1 + 4 * report.forecast.len());
    assert!(table.starts_with("date\tat\tgroup\t") && table.contains("top length in"));
    assert!(table.contains("2026-11-25\tbefore\tjacket\t45\t90\t40\t60\t1.2"), "{table}");
    assert!(table.contains("2026-11-25\tafter\thead\t-\t80\t30\t60\t1.2"), "{table}");
}

/// Bands of five points on either side of the plan's lines.
fn bands(report: &app::report::PlanReport) -> Bands {
    Bands::from_ends(|g, m| {
        let wide = if m == Measure::Top { 3.0 } else { 0.05 };
        let at = |coat| app::measures::measured(coat, g, m).map(|v| [f64::max(v - wide, 0.0), v + wide]);
        report.forecast.iter().map(at).collect()
    })
}

#[test]
fn bands_stand_behind_their_lines_and_are_named() {
    let report = plan("Žofka", 1);
    let bands = bands(&report);
    for theme in Theme::ALL {
        let o = Options { theme, ..Options::default() };
        let svg = measures_svg(&report, Some(&bands), &o);
        assert_eq!(svg, measures_svg(&report, Some(&bands), &o));
        assert!(svg.len() < 300_000 && !svg.contains("NaN"));
        let doc = roxmltree::Document::parse(&svg).unwrap();
        // One for each line, before it, and edges for who sees no fill.
        for chart in doc.descendants().filter(|n| n.attribute("class") == Some("chart")) {
            let parts: Vec<&str> = chart.children().filter_map(|n| n.attribute("class")).collect();
            let at = |c: &str| parts.iter().position(|p| *p == c);
            assert_eq!(at("band").is_some(), at("line").is_some(), "{parts:?}");
            assert!(at("band") <= at("edges") && at("edges") <= at("line"), "{parts:?}");
        }
        let words: Vec<&str> = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
        assert!(words.contains(&"shaded: 8 in 10"), "{words:?}");
        let told = doc.descendants().find(|n| n.has_tag_name("desc")).and_then(|n| n.text()).unwrap_or_default();
        assert!(told.contains("shaded: 8 in 10; the jacket's on the last day: evenness "), "{told}");
        // Words that stand on a band read, and lines on it.
        let (p, fill) = (theme.palette(), band_fill(&theme.palette()));
        for (colour, least) in [(p.accent, 4.5), (p.ink, 3.0), (p.quiet, 3.0)] {
            assert!(crate::theme::contrast(colour, fill) >= least, "{theme:?} {colour}");
        }
    }
    let without = measures_svg(&report, None, &Options::default());
    assert!(!without.contains("shaded") && !without.contains("class=\"band\""));
}

#[test]
fn an_axis_reaches_as_far_as_its_bands() {
    let report = plan("x", 0);
    let high =
        Bands::from_ends(|_, m| vec![Some([0.0, if m == Measure::Top { 59.0 } else { 0.9 }]); report.forecast.len()]);
    let svg = measures_svg(&report, Some(&high), &Options::default());
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let words: Vec<&str> = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    assert!(words.contains(&"60 mm"), "{words:?}");
    assert!(!words.contains(&"50 %"), "all shares reach beyond a half: {words:?}");
}
