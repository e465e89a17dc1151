//! Dogs of a simulated shop: true values, and readings with the errors that hands make.

use crate::follicles::{Follicles, Life};
use coat::{Cycle, Day, Zone};
use learn::{Feel, Logs, Prior, Reading, What, scaled};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};

/// A kind of dog: its name, medians and spread over the prior's, and what changes it half-way.
pub type Prism = (&'static str, Logs, f64, Option<Logs>);

/// The six kinds of `docs/learning.md`, in the order of its table.
pub fn kinds() -> [Prism; 6] {
    let ln = |lag: f64, grow: f64, growth: f64| [lag.ln(), grow.ln(), 0.0, 0.0, growth.ln()];
    [
        ("book", ln(1.0, 1.0, 1.0), 1.0, None),
        ("quick", ln(0.8, 0.8, 1.0), 0.5, None),
        ("slow", ln(1.25, 1.25, 1.0), 0.5, None),
        ("late starter", ln(1.5, 1.0, 1.0), 0.5, None),
        ("fast grower", ln(1.0, 0.85, 1.25), 0.5, None),
        ("changing", ln(1.0, 1.0, 1.0), 1.0, Some(ln(1.3, 1.3, 1.0))),
    ]
}

/// A dog that is known, to us.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueDog {
    /// Logarithms of its values over the defaults.
    pub x: Logs,
    /// What is added when it changes.
    pub change: Option<Logs>,
}

impl TrueDog {
    /// A dog of a kind.
    pub fn of(kind: &Prism, rng: &mut impl Rng) -> Self {
        let sd = Prior::STANDARD.total_sd();
        let x = std::array::from_fn(|k| {
            let z: f64 = StandardNormal.sample(rng);
            kind.1[k] + kind.2 * sd[k] * z
        });
        TrueDog { x, change: kind.3 }
    }

    /// Its logarithms, changed or not.
    pub fn at(&self, changed: bool) -> Logs {
        std::array::from_fn(|k| self.x[k] + self.change.filter(|_| changed).map_or(0.0, |c| c[k]))
    }

    /// How its follicles live, changed or not.
    pub fn life(&self, base: &Cycle, start_hard: f64, changed: bool) -> Life {
        let c = scaled(base, &self.at(changed));
        let pair = |w: coat::Wait| (w.mean_d(), w.sd_d());
        Life {
            lag: pair(c.lag),
            grow: pair(c.grow),
            set: pair(c.set),
            hold_d: c.hold_d,
            growth_mm_d: c.growth_mm_d,
            start_hard,
        }
    }
}

/// What one visit's hands and eyes do, drawn beforehand so that two groomers can have the same luck.
#[derive(Clone, Debug)]
pub struct Luck {
    missed: f64,
    done: [f64; 6],
    wrong: [f64; 6],
    any: [f64; 6],
    normal: [f64; 6],
    t: [f64; 6],
    layer: f64,
}

impl Luck {
    /// Draws one visit's luck.
    pub fn new(rng: &mut impl Rng) -> Self {
        let t4 = |rng: &mut dyn Rng| -> f64 { StudentT::new(4.0).map_or(0.0, |d| d.sample(rng)) };
        Luck {
            missed: rng.random(),
            done: std::array::from_fn(|_| rng.random()),
            wrong: std::array::from_fn(|_| rng.random()),
            any: std::array::from_fn(|_| rng.random()),
            normal: std::array::from_fn(|_| StandardNormal.sample(rng)),
            t: std::array::from_fn(|_| t4(rng)),
            layer: rng.random(),
        }
    }

    /// Whether the visit does not take place (one in twenty).
    pub fn is_missed(&self) -> bool {
        self.missed < 0.05
    }
}

/// How a dog's readings are made.
#[derive(Clone, Copy, Debug)]
pub struct Answers {
    /// In comb depths, not whole millimetres.
    pub by_comb: bool,
    /// The zone.
    pub zone: Zone,
}

impl Answers {
    /// The same kinds of record for a dog of this seed.
    pub fn of(seed: u64, zone: Zone) -> Self {
        Answers { by_comb: seed % 2 == 1, zone }
    }

    /// Readings off a coat just before the work; `layers` are earlier days of work, newest first;
    /// `asked` is the share of the visible hair that the hands are about to take.
    pub fn read(&self, coat: &Follicles, layers: &[Day], asked: Option<f64>, luck: &Luck) -> Vec<Reading> {
        let mut out = Vec::new();
        let day = Day::from_days(coat.day());
        let mut add = |what| out.push(Reading { day, zones: vec![self.zone], what });
        let wrong = |i: usize| luck.wrong[i] < 0.02;
        let length = |i: usize, mm: f64, relative: f64| -> f64 {
            let sd = (1.0 + (relative * mm).powi(2)).sqrt();
            (if wrong(i) { 100.0 * luck.any[i] } else { mm + sd * luck.t[i] }).clamp(0.0, 400.0)
        };
        let depth = |mm: f64| 1 + learn::COMB_MM.iter().filter(|c| mm >= **c).count() as u8;
        if luck.done[0] < 0.8 {
            let mm = length(0, coat.quantile_mm(0.99), 0.05);
            add(if self.by_comb { What::LongestDepth(depth(mm)) } else { What::LongestMm(mm.round()) });
        }
        if luck.done[1] < 0.8 && !layers.is_empty() {
            // The newest layer that shows: each is seen with the chance that its hair is through.
            let mut left = luck.layer;
            let mut seen = None;
            for d in layers.iter().take(3) {
                let (through, mm) = coat.layer(d.days());
                if left < through {
                    seen = Some(mm);
                    break;
                }
                left = (left - through) / (1.0 - through).max(1e-9);
            }
            if let Some(mm) = seen {
                let mm = length(1, mm, 0.08);
                add(if self.by_comb { What::NewLayerDepth(depth(mm)) } else { What::NewLayerMm(mm.round()) });
            }
        }
        if let Some(x) = asked {
            out.extend(self.ease(coat, x, luck));
        }
        let mut add = |what| out.push(Reading { day, zones: vec![self.zone], what });
        if luck.done[3] < 0.8 {
            let z = ((coat.young(12) + 0.002).ln() - 0.04_f64.ln()) / 0.5;
            add(What::NewHair(if wrong(3) { luck.any[3] < 0.5 } else { luck.normal[3] < z }));
        }
        if luck.done[4] < 0.3 {
            let c = if wrong(4) { luck.any[4] } else { coat.visible() + 0.08 * luck.t[4] };
            add(What::Cover((20.0 * c.clamp(0.0, 1.0)).round() / 20.0));
        }
        if luck.done[5] < 0.3 {
            let h = coat.hard() + 0.15 * luck.normal[5];
            let k =
                if wrong(5) { (3.0 * luck.any[5]) as usize } else { [0.35, 0.75].iter().filter(|c| h > **c).count() };
            add(What::Feel([Feel::Soft, Feel::Between, Feel::Harsh][k.min(2)]));
        }
        out
    }

    /// How easily this share of the visible hair comes, where it is noted; before the work.
    pub fn ease(&self, coat: &Follicles, asked: f64, luck: &Luck) -> Option<Reading> {
        let z = ((coat.ripe() / coat.visible().max(1e-9) + 0.02) / (asked + 0.02)).ln() + 0.4 * luck.normal[2];
        let e = 1 + [0.9, 0.3, -0.2, -0.8].iter().filter(|c| z < **c).count() as u8;
        let e = if luck.wrong[2] < 0.02 { 1 + (5.0 * luck.any[2]) as u8 } else { e };
        let what = What::Ease(e, Some(asked));
        let day = Day::from_days(coat.day());
        (luck.done[2] < 0.8).then(|| Reading { day, zones: vec![self.zone], what })
    }

    /// A generator for a dog: `stream` 0 its values, 1 its luck, 2 its follicles.
    pub fn rng(seed: u64, stream: u64) -> ChaCha8Rng {
        let mut r = ChaCha8Rng::seed_from_u64(seed);
        r.set_stream(stream);
        r
    }
}
