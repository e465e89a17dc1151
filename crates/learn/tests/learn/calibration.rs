use crate::cases::*;
use coat::Zone;
use learn::*;
use std::time::Instant;

#[test]
fn probe() {
    let d = dog(10, 21);
    for zones in [&[Zone::Back][..], &[Zone::Back, Zone::Sides, Zone::HindLegs][..]] {
        let pat = patterns(10, 21, zones);
        let c = case(&d, &pat, Effort::VISIT);
        let s = simulate(&c, 3).expect("simulated");
        let t = Instant::now();
        let l = learn(&Case { readings: &s.readings, ..c }).expect("learned");
        println!("{:?} {:?}", t.elapsed(), l.diagnostics);
        let z = l.zone(Zone::Back).expect("zone");
        for (k, p) in z.params.iter().enumerate() {
            println!(
                "{:7} {:.3} [{:.3} {:.3}] default {:.3} ratio {:.2} only {} truth {:.3}",
                p.param.word(),
                p.mean,
                p.low,
                p.high,
                p.default,
                p.of_prior_sd,
                p.only_default,
                s.truth[0].1[k].exp() * p.default
            );
        }
        let t = Instant::now();
        println!("{:?}", l.windows().iter().find(|w| w.zone == Zone::Back));
        println!("windows {:?}", t.elapsed());
        let t = Instant::now();
        println!("{:?}", l.last_visit().expect("ok").len());
        println!("last {:?}", t.elapsed());
    }
}
