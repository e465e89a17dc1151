//! The coat taken apart: for every age class its hair by phase, with lengths, as a picture needs it.
//!
//! Only reads a population; what it gives sums to what the measures say.

use crate::law::{at, linger_at};
use crate::moments::{Moments, OfAge};
use crate::population::State;

/// The phase of a visible hair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum HairPhase {
    /// Lengthening.
    Growing,
    /// Full length, firm.
    Set,
    /// Loose.
    Ripe,
}

/// Hair of one class that is alike in phase and in having been cut or not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strand {
    /// Its phase.
    pub phase: HairPhase,
    /// Whether a clip shortened it.
    pub cut: bool,
    /// Share of all follicles.
    pub share: f64,
    /// Mean length, mm.
    pub mean_mm: f64,
    /// Standard deviation of the length, mm.
    pub sd_mm: f64,
    /// Hard share of it.
    pub hard: f64,
}

/// One age class: the follicles last emptied between two days.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Emptied after this day (days since 1970-01-01); none for the class of all older.
    pub after: Option<i32>,
    /// And up to this day.
    pub until: i32,
    /// Share of all follicles that is empty.
    pub empty: f64,
    /// The hair; phases that are not there are left out.
    pub hair: Vec<Strand>,
}

impl Layer {
    /// Share of all follicles in the class.
    pub fn share(&self) -> f64 {
        self.empty + self.hair.iter().map(|s| s.share).sum::<f64>()
    }
}

#[derive(Clone, Copy, Default)]
struct Sum {
    share: f64,
    mm: f64,
    mm2: f64,
    hard: f64,
}

/// Sums by phase, whole and cut.
struct Sums {
    sums: [[Sum; 2]; 3],
    growth_mm_d: f64,
}

impl Sums {
    fn add_moments(&mut self, phase: HairPhase, share: f64, hard: f64, m: Moments) {
        let s = &mut self.sums[phase as usize][0];
        let mm = self.growth_mm_d;
        s.share += share * m[0];
        s.mm += share * m[1] * mm;
        s.mm2 += share * m[2] * mm * mm;
        s.hard += hard * m[0];
    }

    fn add(&mut self, phase: HairPhase, share: f64, hard: f64, len_d: f64, grown_d: f64) {
        let mm = len_d * self.growth_mm_d;
        let s = &mut self.sums[phase as usize][usize::from(len_d + 1e-9 < grown_d)];
        s.share += share;
        s.mm += share * mm;
        s.mm2 += share * mm * mm;
        s.hard += hard;
    }

    fn strands(&self) -> Vec<Strand> {
        let mut out = Vec::new();
        for (phase, pair) in [HairPhase::Growing, HairPhase::Set, HairPhase::Ripe].into_iter().zip(&self.sums) {
            for (cut, s) in [false, true].into_iter().zip(pair) {
                if s.share > 1e-9 {
                    let mean = (s.mm / s.share).max(0.0);
                    let var = (s.mm2 / s.share - mean * mean).max(0.0);
                    let hard = (s.hard / s.share).clamp(0.0, 1.0);
                    out.push(Strand { phase, cut, share: s.share, mean_mm: mean, sd_mm: var.sqrt(), hard });
                }
            }
        }
        out
    }
}

impl State {
    pub(crate) fn layers(&self, classes: usize) -> Vec<Layer> {
        let classes = classes.max(1);
        let bounds = self.class_bounds(classes);
        (0..classes).map(|j| self.layer(&bounds, j, j + 1 == classes, self.law.of_age())).collect()
    }

    fn layer(&self, bounds: &[i32], j: usize, last: bool, grown: &OfAge) -> Layer {
        let whole_from = self.clips.last().map_or(0, |c| self.idx(c.day) + 1);
        let (lo, hi) = self.class_range(bounds, j, last);
        let t = self.idx(self.today());
        let law = self.law.clone();
        let mut sums = Sums { sums: Default::default(), growth_mm_d: law.cycle().growth_mm_d };
        let (mass, hard, to_come) = self.through(lo, hi, t, |i| self.b[i]);
        for day in lo..lo + mass.len() {
            let (m, h) = (mass[day - lo], hard[day - lo]);
            if m == 0.0 {
                continue;
            }
            let age = t - day;
            let growing = at_zero(&law.s_grow, age);
            if growing > 0.0 {
                sums.add(HairPhase::Growing, m * growing, h * growing, self.length_of(day, age as f64, t), age as f64);
            }
            if day >= whole_from {
                sums.add_moments(HairPhase::Set, m, h, grown.set(age));
                sums.add_moments(HairPhase::Ripe, m, h, grown.ripe(age));
                continue;
            }
            for g in 0..law.p_grow.len().min(age + 1) {
                let since = (age - g) as i32;
                let len = self.length_of(day, g as f64, t);
                let (set, ripe) = (at(&law.s_set, since), linger_at(&law.h_set, law.delta, since));
                let p = law.p_grow[g];
                if set > 0.0 {
                    sums.add(HairPhase::Set, m * p * set, h * p * set, len, g as f64);
                }
                if ripe > 0.0 {
                    sums.add(HairPhase::Ripe, m * p * ripe, h * p * ripe, len, g as f64);
                }
            }
        }
        for rem in &self.removed {
            let (from, to) = (lo.max(rem.lo), hi.min(rem.lo + rem.w.len()));
            if from >= to {
                continue;
            }
            let then = self.idx(rem.day);
            let stay = law.delta.powi(self.today() - rem.day);
            let (mass, hard, _) = self.through(from, to, then, |i| rem.w[i - rem.lo]);
            for (k, (m, h)) in mass.iter().zip(&hard).enumerate() {
                let day = from + k;
                if *m == 0.0 {
                    continue;
                }
                if day >= whole_from {
                    sums.add_moments(HairPhase::Ripe, -m * stay, -h * stay, grown.ripe(then - day));
                    continue;
                }
                for g in 0..law.p_grow.len().min(then.saturating_sub(day) + 1) {
                    let x = stay * law.p_grow[g] * linger_at(&law.h_set, law.delta, (then - day - g) as i32);
                    if x * m != 0.0 {
                        sums.add(HairPhase::Ripe, -m * x, -h * x, self.length_of(day, g as f64, t), g as f64);
                    }
                }
            }
        }
        if last && self.old.ripe > 0.0 {
            let shortest = self.clips.iter().map(|c| c.len_d).reduce(f64::min).unwrap_or(f64::INFINITY);
            for (g, p) in law.p_old.iter().enumerate() {
                let g = g as f64;
                sums.add(HairPhase::Ripe, self.old.ripe * p, self.old.hard * p, g.min(shortest), g);
            }
        }
        Layer {
            after: (!last).then(|| bounds[j + 1]),
            until: if j == 0 { self.today().max(bounds[0]) } else { bounds[j] },
            empty: to_come,
            hair: sums.strands(),
        }
    }

    /// Mass and hard mass coming through on each day from `lo` to `t` of the cohorts `lo..hi`, and
    /// what comes later.
    fn through(&self, lo: usize, hi: usize, t: usize, weight: impl Fn(usize) -> f64) -> (Vec<f64>, Vec<f64>, f64) {
        let longest = self.rows.values().map(Vec::len).fold(self.law.p_lag.len(), usize::max);
        let n = (t + 1).saturating_sub(lo).min(hi.saturating_sub(lo) + longest);
        let (mut mass, mut hard, mut later) = (vec![0.0; n], vec![0.0; n], 0.0);
        for i in lo..hi {
            let w = weight(i);
            if w == 0.0 {
                continue;
            }
            let row = self.rows.get(&i).map_or(&self.law.p_lag[..], |r| &r[..]);
            let (come, to_come) = row.split_at((t + 1).saturating_sub(i).min(row.len()));
            let w_hard = w * self.hard_of(i);
            for ((m, h), q) in mass[i - lo..].iter_mut().zip(&mut hard[i - lo..]).zip(come) {
                *m += w * q;
                *h += w_hard * q;
            }
            later += w * to_come.iter().sum::<f64>();
        }
        for (k, h) in hard.iter_mut().enumerate() {
            *h *= self.kept_hard_at(lo + k);
        }
        (mass, hard, later)
    }
}

fn at_zero(v: &[f64], i: usize) -> f64 {
    v.get(i).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{CoatType, Law, Population, Take, Zone, ZoneSetup};
    use std::sync::Arc;

    fn law() -> Arc<Law> {
        Arc::new(Law::new(ZoneSetup::defaults(Zone::Back, CoatType::Wire).cycle).unwrap())
    }

    fn check(p: &Population, what: &str) {
        let n = p.class_count();
        let layers = p.layers(n);
        let classes = p.classes(n);
        let total: f64 = layers.iter().map(Layer::share).sum();
        assert!((total - 1.0).abs() < 1e-6, "{what}: {total}");
        for (j, (l, c)) in layers.iter().zip(&classes.shares).enumerate().filter(|_| what != "unripe") {
            assert!((l.share() - c).abs() < 1e-6, "{what}: class {j}: {} and {c}", l.share());
        }
        let of = |phase| layers.iter().flat_map(|l| &l.hair).filter(|s| s.phase == phase).map(|s| s.share).sum::<f64>();
        let ph = p.phases();
        for (a, b) in
            [(of(HairPhase::Growing), ph.growing), (of(HairPhase::Set), ph.set), (of(HairPhase::Ripe), ph.ripe)]
        {
            assert!((a - b).abs() < 1e-6, "{what}: {a} and {b}");
        }
        let hard: f64 = layers.iter().flat_map(|l| &l.hair).map(|s| s.share * s.hard).sum::<f64>() / p.visible();
        assert!((hard - p.hard().unwrap()).abs() < 1e-6, "{what}: hard {hard} and {:?}", p.hard());
        let mm = |h: &[(f64, f64, bool)]| h.iter().map(|x| x.0 * x.1).sum::<f64>();
        let ours: f64 = layers.iter().flat_map(|l| &l.hair).map(|s| s.share * s.mean_mm).sum();
        // Clipped hair is gathered by days and eighths of a day's growth there.
        let near = if what == "clipped" { 0.1 } else { 1e-6 };
        let theirs = mm(&p.hair_by_length());
        assert!((ours - theirs).abs() < near, "{what}: lengths {ours} and {theirs}");
    }

    #[test]
    fn layers_sum_to_the_measures() {
        let mut p = Population::left_alone(law(), 0, 0.6, 21);
        check(&p, "left alone");
        for k in 1..=6 {
            p.step_to(21 * k);
            let amount = 0.2 * p.visible();
            p.visit(&Take::LongestFirst(amount));
            check(&p, "rolling");
        }
        let mut p = Population::left_alone(law(), 0, 0.6, 21);
        p.strip_flat();
        p.step_to(75);
        check(&p, "flat");
        let mut p = Population::left_alone(law(), 0, 0.6, 21);
        p.clip(6.0);
        p.step_to(30);
        p.visit(&Take::LongestFirst(0.1));
        p.step_to(40);
        check(&p, "clipped");
        let ripe = |s: &&Strand| s.phase == HairPhase::Ripe && s.cut;
        assert!(p.layers(4).iter().flat_map(|l| &l.hair).filter(ripe).any(|s| (5.99..8.0).contains(&s.mean_mm)));
        let mut p = Population::left_alone(law(), 0, 0.6, 21);
        p.pull_unripe(0.1, 5.0);
        p.step_to(10);
        check(&p, "unripe");
    }
}
