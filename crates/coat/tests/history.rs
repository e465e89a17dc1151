//! What each event of a history, and health and season, make of a coat (model page, 1 and 3).
use coat::{
    CoatType, Cycle, Day, Dog, DogCoat, Event, HistoryError, LagCalendar, LagClock, Law, Mode, Population, Pulled,
    Zone, ZoneCoat, ZoneRecord, ZoneSetup,
};
use std::sync::Arc;

const TODAY: Day = Day::from_days(20_000);

/// A dog of this age in days with this history, days ago first.
fn dog(age_d: i32, history: &[(i32, Event)]) -> Dog {
    let mut dog = Dog::new(TODAY - age_d, 8000.0, CoatType::Wire);
    dog.history = history.iter().map(|(ago, event)| (TODAY - *ago, event.clone())).collect();
    dog
}

fn coat(dog: &Dog) -> DogCoat {
    dog.coat_on(TODAY).expect("the history is in order")
}

fn zone(coat: &DogCoat, zone: Zone) -> &ZoneCoat {
    coat.zone(zone).expect("every dog has it")
}

fn record(zone: Zone, pulled: Option<Pulled>, carded: Option<bool>) -> ZoneRecord {
    ZoneRecord { zone, pulled, carded }
}

/// All follicles of a puppy were emptied 28 days before birth, and the first coat is soft; what nobody recorded of a
/// grown dog was left alone.
#[test]
fn a_puppy_grows_its_first_coat() {
    let law = zone(&coat(&dog(60, &[])), Zone::Back).top.law().clone();
    let mut first = Population::emptied(law, 0, 0.6, 0.1, 21);
    let visit = Event::Visit(vec![record(Zone::Back, None, None)]);
    for puppy in [dog(60, &[]), dog(60, &[(0, visit.clone())])] {
        let puppy = coat(&puppy);
        let back = &zone(&puppy, Zone::Back).top;
        first.step_to(60 + 28);
        assert_eq!((back.visible(), back.top_mm()), (first.visible(), first.top_mm()));
        assert!(back.hard().is_some_and(|h| (h - 0.1).abs() < 1e-6), "{:?}", back.hard());
    }
    let grown = coat(&dog(300, &[(0, visit)]));
    let grown = &zone(&grown, Zone::Back).top;
    assert!((grown.ripe() - 250.0 / 364.0).abs() < 1e-4 && grown.hard().is_some_and(|h| (h - 0.6).abs() < 1e-9));
}

/// Rolled by someone else: even layers in the jacket, shaped zones worked sparingly, zones never worked left alone.
#[test]
fn rolled_elsewhere() {
    let rolled = coat(&dog(2000, &[(0, Event::Rolled { every_d: 14 })]));
    let alone = coat(&dog(2000, &[(0, Event::LeftAlone)]));
    let (even, layers) = zone(&rolled, Zone::Back).top.evenness();
    assert!(even > 0.98 && layers >= 5, "{even} {layers}");
    assert!(zone(&rolled, Zone::Back).top.ripe() < 0.1 && zone(&alone, Zone::Back).top.ripe() > 0.6);
    assert!(zone(&rolled, Zone::Beard).top.visible() > 0.8);
    let never = |c: &DogCoat| (zone(c, Zone::InnerThighs).top.visible(), zone(c, Zone::InnerThighs).top.ripe());
    assert_eq!(never(&rolled), never(&alone));
    assert!(zone(&rolled, Zone::Back).wool() < 0.02 && zone(&rolled, Zone::Ears).wool() > 0.3);
}

/// Rolled elsewhere after something else comes to the same coat, undercoat included, and health goes on acting.
#[test]
fn rolled_elsewhere_since() {
    let since = [(900, Event::LeftAlone), (200, Event::Rolled { every_d: 14 })];
    let (since, first) = (dog(2000, &since), dog(2000, &since[1..]));
    for z in [Zone::Back, Zone::Beard, Zone::Ears, Zone::InnerThighs] {
        let of = |d: &Dog| {
            let coat = coat(d);
            let z = zone(&coat, z);
            (z.top.visible(), z.top.ripe(), z.wool())
        };
        let (a, b) = (of(&since), of(&first));
        assert!((a.0 - b.0).abs() < 1e-6 && (a.1 - b.1).abs() < 1e-6 && (a.2 - b.2).abs() < 1e-6, "{z}: {a:?} {b:?}");
    }
    let mut treated = since.clone();
    treated.steroids.push((TODAY - 150, None));
    let cover = |d: &Dog| zone(&coat(d), Zone::Back).top.visible();
    treated.history.push((TODAY - 30, Event::Flat));
    let mut plain = since;
    plain.history.push((TODAY - 30, Event::Flat));
    assert!(cover(&treated) < 0.5 * cover(&plain), "{} {}", cover(&treated), cover(&plain));
}

/// A clip shortens and softens every hair that is longer, and empties no follicle. The last clip decides: whatever
/// an earlier one cut, it cuts again.
#[test]
fn clipped_once_and_for_years() {
    let clip = |every_d, for_d| Event::Clipped { length_mm: 9.0, every_d, for_d };
    let once = coat(&dog(2000, &[(0, clip(None, 0))]));
    let often = coat(&dog(2000, &[(0, clip(Some(56), 540))]));
    let alone = coat(&dog(2000, &[(0, Event::LeftAlone)]));
    for clipped in [&once, &often] {
        let (clipped, alone) = (&zone(clipped, Zone::Back).top, &zone(&alone, Zone::Back).top);
        assert!((clipped.visible() - alone.visible()).abs() < 1e-6 && (clipped.ripe() - alone.ripe()).abs() < 1e-6);
        assert!(clipped.top_mm().is_some_and(|mm| (8.7..=9.4).contains(&mm)), "{:?}", clipped.top_mm());
    }
    let hard = |c: &DogCoat| zone(c, Zone::Back).top.hard().expect("visible");
    assert!(hard(&once) < 0.06 && (hard(&often) - hard(&once)).abs() < 1e-4, "{} {}", hard(&once), hard(&often));
    // A zone that is never worked is never clipped.
    let never = |c: &DogCoat| zone(c, Zone::InnerThighs).top.hard();
    assert_eq!(never(&often).map(|h| (h * 1e9).round()), never(&alone).map(|h| (h * 1e9).round()));
}

/// Hair pulled comes back hard, hair shed as the coat type starts, hair cut is soft for life.
#[test]
fn hardness_is_won_by_pulling_and_lost_by_cutting() {
    let law = zone(&coat(&dog(2000, &[(0, Event::LeftAlone)])), Zone::Back).top.law().clone();
    let mut p = Population::left_alone(law, 0, 0.6, 21);
    assert!(p.hard().is_some_and(|h| (h - 0.6).abs() < 1e-9));
    p.strip_flat();
    p.step_to(60);
    // What was empty on the day of the strip had been shed: it is the small rest.
    assert!(p.hard().is_some_and(|h| h > 0.96 && h < 1.0), "{:?}", p.hard());
    p.clip(0.1);
    assert!(p.hard().is_some_and(|h| h < 0.01), "{:?}", p.hard());
    p.step_to(90);
    assert!(p.hard().is_some_and(|h| h < 0.02), "cut hair stays soft: {:?}", p.hard());
    p.step_to(4000);
    assert!(p.hard().is_some_and(|h| (h - 0.6).abs() < 0.001), "left alone it sheds: {:?}", p.hard());
}

/// A record that exceeds the ripe hair takes the rest from hair not yet ripe; more than the visible hair is an error.
#[test]
fn a_record_takes_what_it_says() {
    let visit = |share| Event::Visit(vec![record(Zone::Back, Some(Pulled::Share(share)), None)]);
    let back = |history: &[(i32, Event)]| zone(&coat(&dog(2000, history)), Zone::Back).top.clone();
    let before = back(&[(100, Event::Flat)]);
    let after = back(&[(100, Event::Flat), (0, visit(0.5))]);
    assert!(before.ripe() < 0.25 && after.ripe() < 1e-9, "{} {}", before.ripe(), after.ripe());
    assert!((after.visible() - 0.5 * before.visible()).abs() < 1e-9, "{} {}", before.visible(), after.visible());
    let all_ripe = Event::Visit(vec![record(Zone::Back, Some(Pulled::AllRipe), None)]);
    let after = back(&[(100, Event::Flat), (0, all_ripe)]);
    assert!((before.visible() - after.visible() - before.ripe()).abs() < 1e-9);
    let wrong = dog(2000, &[(100, Event::Flat), (0, visit(1.01))]).coat_on(TODAY);
    assert!(matches!(wrong, Err(HistoryError::MoreThanVisible { zone: Zone::Back, .. })));
    let early = dog(2000, &[(100, Event::Flat)]).coat_on(TODAY - 101);
    assert!(matches!(early, Err(HistoryError::BeforeHistory { .. })));
}

/// Carding combs out all that is ripe of the undercoat: by the rule above 0.15 in the zones that are carded, or as
/// recorded. Nobody's wool is at 60 / 156 (mean hold over the cycle).
#[test]
fn carding_takes_the_wool() {
    let visit = |carded| Event::Visit(vec![record(Zone::Back, None, carded), record(Zone::Ears, None, carded)]);
    let wool = |event: Event| {
        let coat = coat(&dog(2000, &[(30, Event::LeftAlone), (0, event)]));
        [Zone::Back, Zone::Ears, Zone::InnerThighs].map(|z| zone(&coat, z).wool())
    };
    let full = 60.0 / 156.0;
    for (event, want) in [
        (Event::LeftAlone, [full, full, full]),
        (visit(None), [0.0, full, full]),
        (visit(Some(false)), [full, full, full]),
        (visit(Some(true)), [0.0, 0.0, full]),
        (Event::Flat, [0.0, 0.0, full]),
    ] {
        let got = wool(event.clone());
        assert!(got.iter().zip(want).all(|(g, w)| (g - w).abs() < 1e-6), "{event:?}: {got:?}");
    }
    // A week later there is less than the rule asks for: it is left.
    let twice = [(30, Event::LeftAlone), (7, visit(None)), (0, visit(None))];
    let left = zone(&coat(&dog(2000, &twice)), Zone::Back).wool();
    assert!(left > 0.01 && left < 0.15, "{left}");
}

/// Caps and floors of the modes (model page, 8); blending cuts one hair in twenty, and only where hair is pulled.
#[test]
fn modes_and_works() {
    let limits = Mode::ALL.map(|m| (m.cap(), m.floor()));
    assert_eq!(limits, [(0.25, 0.55), (0.6, 0.4), (0.1, 0.85), (0.0, 0.0)]);
    let hard = |pulled| {
        let visit = Event::Visit(vec![record(Zone::Throat, Some(Pulled::Share(pulled)), None)]);
        let coat = coat(&dog(2000, &[(30, Event::LeftAlone), (0, visit)]));
        zone(&coat, Zone::Throat).top.hard().expect("visible")
    };
    let alone = hard(0.0);
    assert!((alone - 0.6).abs() < 1e-6, "{alone}");
    assert!((hard(0.2) - 0.95 * alone).abs() < 1e-6, "{} {alone}", hard(0.2));
    assert!(zone(&coat(&dog(2000, &[(0, Event::Flat)])), Zone::InnerThighs).top.visible() > 0.9);
}

fn stripped(day: &str, edit: impl Fn(&mut Dog)) -> (Dog, Day) {
    let strip = Day::parse(day).expect("a date");
    let mut dog = Dog::new(strip - 1500, 8000.0, CoatType::Wire);
    dog.history.push((strip, Event::Flat));
    edit(&mut dog);
    (dog, strip)
}

fn back_cover(dog: &Dog, day: Day) -> f64 {
    dog.coat_on(day).expect("history").zone(Zone::Back).expect("back").top.visible()
}

/// Days until half of the back's hair is through again.
fn days_to_half(dog: &Dog, strip: Day) -> i32 {
    let mut back = dog.coat_on(strip).expect("history").zone(Zone::Back).expect("back").clone();
    let mut d = 0;
    while back.top.visible() < 0.5 && d < 400 {
        d += 1;
        back.step_to(strip + d);
    }
    d
}

/// Model page, 1: a steroid course makes the lag three times as long until eight weeks after its end.
#[test]
fn steroids_delay_the_next_coat_threefold() {
    let (plain, strip) = stripped("2026-06-01", |_| {});
    let (treated, _) = stripped("2026-06-01", |d| d.steroids.push((strip, None)));
    let (short, _) = stripped("2026-06-01", |d| d.steroids.push((strip - 90, Some(strip - 57))));
    let (a, b, c) = (days_to_half(&plain, strip), days_to_half(&treated, strip), days_to_half(&short, strip));
    let ratio = f64::from(b) / f64::from(a);
    assert!((2.8..=3.2).contains(&ratio), "{a} {b}");
    assert_eq!(a, c, "eight weeks after its end the course has no effect");
}

/// Model page, 1: outdoors in winter fewer hairs come through; indoors and in summer none are held back.
#[test]
fn winter_outdoors_holds_hair_back() {
    let (inside, strip) = stripped("2026-11-20", |_| {});
    let (outside, _) = stripped("2026-11-20", |d| d.outdoors_latitude_deg = Some(53.0));
    for day in [28, 35, 42] {
        let (a, b) = (back_cover(&inside, strip + day), back_cover(&outside, strip + day));
        assert!(b < a - 0.03, "day {day}: {a} {b}");
    }
    let (inside, strip) = stripped("2026-05-01", |_| {});
    let (outside, _) = stripped("2026-05-01", |d| d.outdoors_latitude_deg = Some(53.0));
    let (a, b) = (back_cover(&inside, strip + 30), back_cover(&outside, strip + 30));
    assert!((a - b).abs() < 0.02, "{a} {b}");
}

/// What was emptied under a calendar comes through by that calendar; on a plain one it is the law's own.
#[test]
fn a_layer_under_a_calendar() {
    let cycle = ZoneSetup::defaults(Zone::Back, CoatType::Wire).cycle;
    let law = Arc::new(Law::new(Cycle { hold_d: 3000.0, ..cycle }).expect("a law"));
    let on = |speed: f64| -> LagCalendar { Arc::new(move |_| LagClock { speed, chance: 1.0 }) };
    for (speed, factor) in [(1.0, 1.0), (0.5, 2.0)] {
        let mut p = Population::emptied_under(law.clone(), 0, 1.0, 21, Some(on(speed)));
        let half = (1..300).find(|d| {
            p.step_to(*d);
            p.visible() >= 0.5
        });
        let expected = 28.0 * factor;
        assert!(half.is_some_and(|d| (f64::from(d) - expected).abs() < 3.0), "{speed}: {half:?}");
        assert!(p.total() > 0.999);
    }
    let (through, mm) = law.layer_after(60);
    assert!(through > 0.999 && (mm - 32.0 * 0.33).abs() < 0.5, "{through} {mm}");
    assert!((law.half_ripe_d() - 113.2).abs() < 1.0, "{}", law.half_ripe_d());
}
