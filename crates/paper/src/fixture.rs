//! A plan made up for tests: every zone worked, with cautions.

use app::report::{
    CoatReport, Delays, DogCoatReport, MatterReport, Milestones, ObjectiveReport, PlanReport, VisitReport,
    ZoneCoatReport, ZoneReport,
};
use coat::{Day, Zone};

const TODAY: i32 = 20_782;

/// A plan of nine visits three weeks apart; `cautions` to every zone, besides one that all share.
pub(crate) fn plan(dog: &str, cautions: usize) -> PlanReport {
    let day = |k: i32| Day::from_days(TODAY + 21 * k).to_string();
    let visits = (0..9)
        .map(|k| VisitReport {
            date: day(k),
            min: 95.0,
            ten_more_min: None,
            zones: Zone::WORKING_ORDER.iter().map(|z| zone(*z, cautions)).collect(),
        })
        .collect();
    let mut forecast = Vec::new();
    for k in 0..9 {
        for (at, drop) in [("before", 0.0), ("after", 0.1)] {
            forecast.push(coat(&day(k), at, f64::from(k) / 9.0, drop));
        }
    }
    PlanReport {
        schema: "coatwright.plan/1",
        dog: dog.to_owned(),
        today: day(0),
        until: day(9),
        rhythm_days: 21,
        visits,
        forecast,
        milestones: Milestones { rolling: Some(day(4)), furnishings: None, hard: Some(day(7)) },
        delays: Delays { rolling: String::new(), furnishings: String::new(), hard: String::new() },
        ways: Vec::new(),
        ladder: Vec::new(),
        ladder_reason: String::new(),
        late: Vec::new(),
        days_that_matter: vec![MatterReport { date: day(6), name: Some("spring show".into()), coat: String::new() }],
        cautions: app::cautions::ALWAYS.iter().map(|s| (*s).to_owned()).collect(),
        objective: ObjectiveReport { lp_value: 1.0, bound: 1.0, gap: 0.0, rounded_value: 1.0 },
        timing: None,
    }
}

fn zone(zone: Zone, cautions: usize) -> ZoneReport {
    let d = zone.defaults();
    let works: Vec<String> = d
        .works
        .iter()
        .map(|w| if w.tool.is_empty() { w.verb.to_owned() } else { format!("{} ({})", w.verb, w.tool) })
        .collect();
    let mut said = vec![app::cautions::TENDER.to_owned()];
    said.extend(
        (0..cautions)
            .map(|i| format!("Noted on the {} ({}): the vet decides when it may be touched.", zone.label(), i + 1)),
    );
    ZoneReport {
        zone: zone.word(),
        works: if works.is_empty() { vec!["pull".into()] } else { works },
        amount: "1 in 5".to_owned(),
        amount_words: "1 in 5".to_owned(),
        share: 0.2,
        of_follicles: 0.17,
        layer_mm: Some(24.0),
        leave: d.leave,
        min: 3.2,
        reason: String::new(),
        cautions: said,
    }
}

fn coat(date: &str, at: &'static str, t: f64, drop: f64) -> CoatReport {
    CoatReport {
        date: date.to_owned(),
        at,
        dog: DogCoatReport { cover: None, ripe: None, evenness: None, hard: None },
        zones: Zone::ALL
            .into_iter()
            .map(|z| ZoneCoatReport {
                zone: z.word(),
                cover: Some(0.9 - drop),
                ripe: Some(0.4 - 0.3 * t - drop),
                top_mm: Some(30.0 - 8.0 * t),
                layers: None,
                evenness: (z.defaults().mode == coat::Mode::Layered).then_some(0.45 + 0.5 * t),
                hard: Some(0.6 + 0.35 * t),
                wool: Some(0.1),
            })
            .collect(),
    }
}
