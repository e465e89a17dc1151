use super::geometry::{Pt, bounds, inside, pt, widest_circle};
use super::hair::Clear;
use super::labels::{Note, fits, place, target_at, targets};
use super::shapes::{View, placed, topmost};
use super::*;
use std::collections::BTreeMap;

/// Zones whose widest circle is narrower than 14 units, with the diameter they have at least.
/// Each has a wider target outside as well.
const NARROW: &[(Zone, f64)] = &[(Zone::TailBack, 10.5), (Zone::Tail, 10.5)];

fn looks(label: &str, caution: bool) -> Vec<ZoneLook> {
    Zone::ALL
        .into_iter()
        .enumerate()
        .map(|(i, zone)| ZoneLook {
            zone,
            value: Some(i as f64 / 23.0),
            label: label.to_owned(),
            caution,
            emphasised: i % 5 == 0,
        })
        .collect()
}

fn options(theme: Theme) -> DrawingOptions {
    DrawingOptions {
        theme,
        title: "Dog & <zones>".to_owned(),
        description: "All \"zones\".".to_owned(),
        scale_caption: "0 %|ripe|100 %".to_owned(),
        legend: true,
        labels: true,
    }
}

/// The widest visible circle of each zone.
fn circles() -> BTreeMap<Zone, (Pt, f64)> {
    let mut out: BTreeMap<Zone, (Pt, f64)> = BTreeMap::new();
    for (i, s) in placed().iter().enumerate() {
        let over: Vec<&[Pt]> = placed()[i + 1..].iter().map(|o| o.outline.as_slice()).collect();
        let circle = widest_circle(&s.outline, &over);
        let best = out.entry(s.shape.zone).or_insert(circle);
        if circle.1 > best.1 {
            *best = circle;
        }
    }
    out
}

#[test]
fn every_zone_is_one_element_and_the_document_is_well_formed() {
    for theme in Theme::ALL {
        let svg = dog_svg(&looks("42", true), &options(theme));
        for zone in Zone::ALL {
            assert_eq!(svg.matches(&format!("id=\"zone-{}\"", zone.word())).count(), 1, "{zone}");
        }
        assert!(
            svg.contains("role=\"img\"") && svg.contains("<title id=\"dog-title\">Dog &amp; &lt;zones&gt;</title>")
        );
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
        let mut open: Vec<&str> = Vec::new();
        for piece in svg.split('<').skip(1) {
            let tag = piece.split('>').next().unwrap_or("");
            let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap_or("");
            if tag.starts_with('/') {
                assert_eq!(open.pop(), Some(name));
            } else if !tag.ends_with('/') {
                open.push(name);
            }
        }
        assert!(open.is_empty());
    }
}

#[test]
fn the_same_looks_give_the_same_bytes() {
    let o = options(Theme::Light);
    assert_eq!(dog_svg(&looks("7", false), &o), dog_svg(&looks("7", false), &o));
    assert!(
        dog_group(&looks("7", false), &o, 10.0, 20.0, 320.0)
            .starts_with("<g transform=\"translate(10.00 20.00) scale(0.4665)\">")
    );
}

#[test]
fn odd_values_do_no_harm() {
    let mut some = looks("", false);
    for (l, v) in some.iter_mut().zip([f64::NAN, f64::INFINITY, -4.0, 9.0]) {
        l.value = Some(v);
    }
    for theme in Theme::ALL {
        assert!(!dog_svg(&some, &options(theme)).contains("NaN"));
    }
    assert!(dog_svg(&[], &options(Theme::Dark)).contains("zone-feet"));
}

#[test]
fn each_zone_can_be_hit() {
    for (zone, (middle, radius)) in circles() {
        let least = NARROW.iter().find(|n| n.0 == zone).map_or(14.0, |n| n.1);
        assert!(2.0 * radius >= least, "{zone}: {:.1}", 2.0 * radius);
        assert_eq!(zone_at(middle.x, middle.y), Some(zone));
        if least < 14.0 {
            assert!(targets(zone).is_some(), "{zone}");
        }
    }
    assert_eq!(zone_at(2.0, 2.0), None);
    assert_eq!(zone_at(f64::NAN, 2.0), None);
}

#[test]
fn targets_outside_are_free_and_belong_to_one_zone() {
    for zone in Zone::ALL {
        let Some((c, r)) = targets(zone) else { continue };
        assert_eq!(target_at(c), Some(zone));
        assert_eq!(zone_at(c.x, c.y), Some(zone), "{zone}");
        assert!(c.x - r >= 0.0 && c.x + r <= WIDTH && c.y - r >= 0.0 && c.y + r <= HEIGHT, "{zone}");
        for other in Zone::ALL.into_iter().filter(|o| *o != zone) {
            if let Some((d, s)) = targets(other) {
                assert!((c - d).length() > 0.8 * (r + s), "{zone} {other}");
            }
        }
    }
}

fn clear_of_the_dog(b: &Clear) -> bool {
    (0..=10).all(|i| {
        (0..=4).all(|j| {
            let p = pt(b.x0 + (b.x1 - b.x0) * f64::from(i) / 10.0, b.y0 + (b.y1 - b.y0) * f64::from(j) / 4.0);
            topmost(p).is_none()
        })
    })
}

#[test]
fn numbers_stay_apart_and_on_their_zone_or_outside() {
    for label in ["", "7", "42", "100", "1/5", "1/12", "all", "12.5"] {
        for caution in [false, true] {
            let notes: Vec<Note> = place(&looks(label, caution), true);
            assert_eq!(notes.len(), if label.is_empty() && !caution { 0 } else { 24 });
            for (i, n) in notes.iter().enumerate() {
                let b = &n.clear;
                assert!(b.x0 >= 0.0 && b.x1 <= WIDTH && b.y0 >= 0.0 && b.y1 <= HEIGHT, "{} {label} {b:?}", n.zone);
                if let Some(spot) = n.target {
                    assert!(clear_of_the_dog(b), "{} {label} {caution}", n.zone);
                    assert_eq!(topmost(spot), Some(n.zone));
                } else {
                    assert!(fits(n.zone, b), "{} {label} {caution}", n.zone);
                }
                if let Some(line) = super::labels::leader_line(n) {
                    let crossed = notes.iter().find(|o| {
                        o.zone != n.zone
                            && (0..=60).any(|k| o.clear.holds(line.0 + (line.1 - line.0) * (f64::from(k) / 60.0)))
                    });
                    assert!(crossed.is_none(), "{} line, {:?} {label} {caution}", n.zone, crossed.map(|o| o.zone));
                }
                for o in &notes[i + 1..] {
                    assert!(!b.meets(&o.clear), "{} {} {label:?} {caution}", n.zone, o.zone);
                }
            }
        }
    }
}

#[test]
fn zones_of_the_near_side_share_lines_and_do_not_overlap() {
    let near: Vec<_> =
        placed().iter().filter(|s| !s.shape.far && !matches!(s.shape.zone, Zone::Ears | Zone::Brows)).collect();
    let mut twice = 0;
    for gy in 0..400 {
        for gx in 0..640 {
            let p = pt(f64::from(gx) + 0.37, f64::from(gy) + 0.41);
            twice += usize::from(near.iter().filter(|s| inside(&s.outline, p)).count() > 1);
        }
    }
    assert!(twice < 60, "{twice} overlapping points");
}

#[test]
fn the_dog_is_about_as_long_as_high_with_a_deep_chest() {
    let of = |zone: Zone| {
        let near = placed().iter().filter(|s| s.shape.zone == zone && s.shape.view == View::Side && !s.shape.far);
        near.fold((f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY), |b, s| {
            let c = bounds(&s.outline);
            (b.0.min(c.0), b.1.min(c.1), b.2.max(c.2), b.3.max(c.3))
        })
    };
    let height = of(Zone::Feet).3 - of(Zone::Back).1;
    let length = of(Zone::Seat).2 - of(Zone::Forechest).0;
    assert!((length / height - 1.0).abs() < 0.08, "{length} {height}");
    let chest = (of(Zone::Underline).3 - of(Zone::Back).1) / height;
    assert!((0.48..0.58).contains(&chest), "{chest}");
}

/// The edge of a zone is told from what it encloses, and a number from what it stands on (WCAG 2.2: 3:1 and 4.5:1).
#[test]
fn edges_and_numbers_stand_out_from_every_fill() {
    use crate::theme::{contrast, text_on};
    for theme in Theme::ALL {
        let p = theme.palette();
        let values = (0..=200).map(|k| Some(f64::from(k) / 200.0)).chain([None]);
        for value in values {
            for any in [false, true] {
                let d = dress(value, theme, &p, any);
                assert!(contrast(d.edge, d.fill) >= 3.0, "{theme:?} {value:?}: edge {} on {}", d.edge, d.fill);
                let number = if value.is_some() && theme != Theme::Print { text_on(d.fill) } else { p.text };
                assert!(contrast(number, d.fill) >= 4.5, "{theme:?} {value:?}: {number} on {}", d.fill);
            }
        }
        // The scale's own frame, leader lines and numbers outside stand on the ground.
        assert!(contrast(p.ink, p.paper) >= 3.0 && contrast(p.text, p.paper) >= 4.5, "{theme:?}");
    }
}

/// No letter of the drawing is smaller than 17.5 units of 686: 8 px on the narrowest screen, 8.3 points on a sheet.
#[test]
fn letters_can_be_read_on_a_narrow_screen() {
    let svg = dog_svg(&looks("42", true), &options(Theme::Light));
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let sizes: Vec<f64> = doc.descendants().filter_map(|n| n.attribute("font-size")?.parse().ok()).collect();
    assert!(sizes.len() >= 2 && sizes.iter().all(|s| s * 320.0 / WIDTH >= 8.0), "{sizes:?}");
    const { assert!(labels::SIZE * 320.0 / WIDTH >= 9.0) };
}

#[test]
fn more_is_denser_in_print() {
    let length = |v: f64| {
        let mut l = looks("", false);
        for x in &mut l {
            x.value = Some(v);
        }
        dog_svg(&l, &options(Theme::Print)).len()
    };
    let sizes: Vec<usize> = (0..6).map(|k| length((f64::from(k) + 0.5) / 6.0)).collect();
    assert!(sizes.windows(2).all(|w| w[0] < w[1]), "{sizes:?}");
}
