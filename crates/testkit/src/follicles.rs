//! One zone as single follicles, lives drawn from the Gamma laws in continuous time.
//!
//! Conventions of the daily grid as in `reference/coatref/follicles.py`: a follicle is emptied at noon,
//! a day is read at its midnight, lengths at noon; ripe hair is first at risk the day after it ripened.

use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma};

/// How the follicles of a zone live: mean and sd in days, growth in mm a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// Empty.
    pub lag: (f64, f64),
    /// Growing.
    pub grow: (f64, f64),
    /// Firm.
    pub set: (f64, f64),
    /// Mean time that ripe hair stays, days.
    pub hold_d: f64,
    /// Growth, mm a day.
    pub growth_mm_d: f64,
    /// Chance that hair grown after shedding is hard.
    pub start_hard: f64,
}

#[derive(Clone, Copy)]
struct Hair {
    emptied: i32,
    through: f64,
    grown: f64,
    ripe: f64,
    shed: i32,
    growth_mm_d: f64,
    hard: bool,
}

/// The follicles of one zone.
#[derive(Clone)]
pub struct Follicles {
    life: Life,
    hair: Vec<Hair>,
    day: i32,
    rng: ChaCha8Rng,
}

fn gamma(law: (f64, f64), rng: &mut ChaCha8Rng) -> f64 {
    let (mean, sd) = law;
    Gamma::new((mean / sd).powi(2), sd * sd / mean).map_or(mean, |g| g.sample(rng))
}

fn life(l: &Life, day: i32, pulled: bool, rng: &mut ChaCha8Rng) -> Hair {
    let through = f64::from(day) + gamma(l.lag, rng);
    let grown = through + gamma(l.grow, rng);
    let ripe = grown + gamma(l.set, rng);
    let stays = ((1.0 - rng.random::<f64>()).ln() / (1.0 - 1.0 / l.hold_d).ln()).floor() as i32 + 1;
    let hard = pulled || rng.random::<f64>() < l.start_hard;
    Hair {
        emptied: day,
        through,
        grown,
        ripe,
        shed: (ripe - 0.5).ceil() as i32 + stays,
        growth_mm_d: l.growth_mm_d,
        hard,
    }
}

impl Follicles {
    /// `n` follicles of a coat that nobody worked, on `day`.
    pub fn left_alone(life_: Life, n: usize, day: i32, mut rng: ChaCha8Rng) -> Self {
        let cycle = life_.lag.0 + life_.grow.0 + life_.set.0 + life_.hold_d;
        let begin = day - 2500;
        let hair = (0..n)
            .map(|_| {
                let emptied = begin - (rng.random::<f64>() * cycle) as i32;
                life(&life_, emptied, false, &mut rng)
            })
            .collect();
        let mut f = Follicles { life: life_, hair, day, rng };
        f.shed_until(day);
        f
    }

    /// The day.
    pub fn day(&self) -> i32 {
        self.day
    }

    /// From now on new hairs live differently; those on their way finish as they began.
    pub fn change(&mut self, life: Life) {
        self.life = life;
    }

    fn shed_until(&mut self, day: i32) {
        for i in 0..self.hair.len() {
            while self.hair[i].shed <= day {
                let at = self.hair[i].shed;
                self.hair[i] = life(&self.life, at, false, &mut self.rng);
            }
        }
    }

    /// Lets the coat live until `day`.
    pub fn advance(&mut self, day: i32) {
        self.day = day;
        self.shed_until(day);
    }

    fn end(&self) -> f64 {
        f64::from(self.day) + 0.5
    }

    /// Share of follicles with a hair that shows.
    pub fn visible(&self) -> f64 {
        self.share(|h| h.through <= self.end())
    }

    /// Share of follicles with ripe hair.
    pub fn ripe(&self) -> f64 {
        self.share(|h| h.ripe <= self.end())
    }

    /// Share of follicles whose hair came through within so many days and grows.
    pub fn young(&self, days: i32) -> f64 {
        let (end, since) = (self.end(), self.end() - f64::from(days));
        self.share(|h| h.through <= end && h.through > since && h.grown > end)
    }

    /// Hard share of what shows.
    pub fn hard(&self) -> f64 {
        let end = self.end();
        self.share(|h| h.through <= end && h.hard) / self.visible().max(1e-9)
    }

    fn share(&self, is: impl Fn(&Hair) -> bool) -> f64 {
        self.hair.iter().filter(|h| is(h)).count() as f64 / self.hair.len() as f64
    }

    fn mm(&self, h: &Hair) -> f64 {
        (f64::from(self.day).min(h.grown) - h.through).max(0.0) * h.growth_mm_d
    }

    /// Quantile of the length of what shows, mm; 0 where nothing does.
    pub fn quantile_mm(&self, q: f64) -> f64 {
        let end = self.end();
        let mut mm: Vec<f64> = self.hair.iter().filter(|h| h.through <= end).map(|h| self.mm(h)).collect();
        if mm.is_empty() {
            return 0.0;
        }
        mm.sort_by(f64::total_cmp);
        mm[((mm.len() - 1) as f64 * q) as usize]
    }

    /// Of the follicles emptied on a day and not since: share whose hair is through, its mean length in mm.
    pub fn layer(&self, emptied: i32) -> (f64, f64) {
        let end = self.end();
        let all: Vec<&Hair> = self.hair.iter().filter(|h| h.emptied == emptied).collect();
        let through: Vec<f64> = all.iter().filter(|h| h.through <= end).map(|h| self.mm(h)).collect();
        let n = through.len().max(1) as f64;
        (through.len() as f64 / all.len().max(1) as f64, through.iter().sum::<f64>() / n)
    }

    /// Pulls up to this share of all follicles from ripe hair, earliest emptied first; gives the share pulled.
    pub fn pull_ripe(&mut self, share: f64) -> f64 {
        let end = self.end();
        let mut who: Vec<usize> = (0..self.hair.len()).filter(|i| self.hair[*i].ripe <= end).collect();
        // Ties by place: places carry no meaning.
        who.sort_by_key(|i| (self.hair[*i].emptied, *i));
        who.truncate((share * self.hair.len() as f64).round() as usize);
        for &i in &who {
            self.hair[i] = life(&self.life, self.day, true, &mut self.rng);
        }
        who.len() as f64 / self.hair.len() as f64
    }

    /// Share of follicles last emptied after one day and up to another.
    pub fn emptied_between(&self, after: i32, until: i32) -> f64 {
        self.share(|h| h.emptied > after && h.emptied <= until)
    }

    /// Days from emptying until half of many freshly drawn hairs are ripe.
    pub fn half_ripe_d(life_: &Life, n: usize, rng: ChaCha8Rng) -> f64 {
        Self::ripe_times(life_, n, rng)[n / 2]
    }

    /// Days from emptying until ripe of many freshly drawn hairs, sorted.
    pub fn ripe_times(life_: &Life, n: usize, mut rng: ChaCha8Rng) -> Vec<f64> {
        let mut t: Vec<f64> = (0..n).map(|_| life(life_, 0, true, &mut rng).ripe).collect();
        t.sort_by(f64::total_cmp);
        t
    }
}
