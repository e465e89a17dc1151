//! The coat against `reference/fixtures`: expected values by another program, and single follicles by Monte Carlo.
use coat::{Cycle, Law, Population, Take, Wait};
use serde_json::Value;
use std::sync::Arc;

fn read(name: &str) -> Value {
    let path = format!("{}/../../reference/fixtures/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).expect("the fixture is there");
    serde_json::from_str(&text).expect("the fixture is JSON")
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("a number")
}

fn start(zone: &Value) -> Population {
    let wait = |key: &str| Wait::from_days(number(&zone[key][0]), number(&zone[key][1])).expect("in range");
    let cycle = Cycle {
        lag: wait("lag"),
        grow: wait("grow"),
        set: wait("set"),
        hold_d: number(&zone["hold"]),
        growth_mm_d: number(&zone["growth_mm_d"]),
    };
    let law = Arc::new(Law::new(cycle).expect("in range"));
    Population::left_alone(law, 0, number(&zone["start_hard"]), number(&zone["rhythm_days"]) as i32)
}

fn happen(p: &mut Population, event: &Value) {
    match event["kind"].as_str().expect("a kind") {
        "left_alone" => {}
        "flat" => {
            p.strip_flat();
        }
        "clip" => p.clip(number(&event["length_mm"])),
        "take_share_of_visible" => {
            let amount = number(&event["share"]) * p.visible();
            p.visit(&Take::LongestFirst(amount));
        }
        "take_all_ripe" => {
            let ripe = p.ripe();
            p.visit(&Take::LongestFirst(ripe));
        }
        other => panic!("unknown event {other}"),
    }
}

/// Replays a fixture and compares every row; gives all that disagrees.
fn disagreements(name: &str) -> Vec<String> {
    let f = read(name);
    let events = f["events"].as_array().expect("events");
    let clipped = events.iter().any(|e| e["kind"] == "clip");
    let mut p = start(&f["zone"]);
    let mut next = 0;
    let mut bad = Vec::new();
    let rows = f["rows"].as_array().expect("rows");
    assert!(rows.len() > 10, "{name} has rows");
    for row in rows {
        let day = number(&row["day"]) as i32;
        let at = row["at"].as_str().expect("before, after or day");
        // Events of earlier days, in case a row leaves them out.
        while let Some(e) = events.get(next)
            && (number(&e["day"]) as i32) < day + i32::from(at == "after")
        {
            p.step_to(number(&e["day"]) as i32);
            happen(&mut p, e);
            next += 1;
        }
        p.step_to(day);
        let ours = [
            ("cover", Some(p.visible())),
            ("ripe", Some(p.ripe())),
            ("top_mm", p.top_mm()),
            ("hard", p.hard()),
            ("evenness", Some(p.evenness().0)),
        ];
        for (key, got) in ours {
            let exact = match key {
                "top_mm" => 0.4,
                "hard" if clipped => 0.03,
                _ => 1e-6,
            };
            match (got, row["expected"][key].as_f64()) {
                (Some(a), Some(b)) if (a - b).abs() <= exact => {}
                (None, None) => {}
                (a, b) => bad.push(format!("{name} day {day} {at} {key}: {a:?}, exact {b:?}")),
            }
            let (Some(a), Some(pair)) = (got, row["follicles"][key].as_array()) else { continue };
            let (mean, error) = (number(&pair[0]), number(&pair[1]));
            let room = match key {
                "top_mm" => 0.4,
                "hard" if clipped => 0.03,
                _ => 0.004,
            };
            if (a - mean).abs() > 4.0 * error + room {
                bad.push(format!("{name} day {day} {at} {key}: {a}, follicles {mean} +- {error}"));
            }
        }
        if f64::from(p.evenness().1) != number(&row["expected"]["layers"]) {
            bad.push(format!("{name} day {day} {at} layers: {}, exact {}", p.evenness().1, row["expected"]["layers"]));
        }
    }
    assert_eq!(next, events.len(), "every event of {name} was replayed");
    bad
}

fn agrees(name: &str) {
    let bad = disagreements(name);
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

/// `reference/fixtures/rolling.json`: a coat left alone, then one in five every three weeks.
#[test]
fn rolling() {
    agrees("rolling");
}

/// `reference/fixtures/flat.json`: a flat strip, then rolled from week 18.
#[test]
fn flat() {
    agrees("flat");
}

/// `reference/fixtures/clip.json`: clipped short, then worked.
#[test]
fn clip() {
    agrees("clip");
}

/// `reference/fixtures/clip_long.json`: clipped near full length, then worked.
#[test]
fn clip_long() {
    agrees("clip_long");
}

/// `reference/fixtures/ears_all_ripe.json`: a short zone, all that is ripe each time.
#[test]
fn ears_all_ripe() {
    agrees("ears_all_ripe");
}

/// `reference/fixtures/hard_from_zero.json`: hardness won visit by visit.
#[test]
fn hard_from_zero() {
    agrees("hard_from_zero");
}

/// `reference/fixtures/long_wire.json`: the long coat type, one in five every three weeks.
#[test]
fn long_wire() {
    agrees("long_wire");
}
