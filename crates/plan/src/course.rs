//! One zone followed through its visits: what amounts come to, and which limit stops one.

use crate::hand::{Amount, Bar, STEPS, Terms, step_below};
use crate::outline::Parts;
use crate::programme::Days;
use crate::response::Response;
use crate::weights::{Table, Weights};
use crate::zone_model::{Closed, NOTHING, ZoneModel};
use coat::Mode;

/// What one zone's amounts come to.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    pub(crate) terms: Terms,
    /// Share of the visible hair taken at each visit.
    pub(crate) share: Vec<f64>,
    /// Cover before each visit.
    pub(crate) visible: Vec<f64>,
    /// Share of the visible hair that was ripe, at visits that take some by hand.
    pub(crate) ripe: Vec<f64>,
    /// Evenness after each visit.
    pub(crate) evenness: Vec<f64>,
    /// Why an amount could not be done as it stands, by visit.
    pub(crate) barred: Option<(usize, Bar)>,
}

/// How the amounts of a zone are given.
pub(crate) enum Amounts<'a> {
    Hand(&'a [Amount]),
    /// By class, oldest first (the exact plan).
    Exact(&'a [Vec<f64>]),
}

/// One zone's evaluation against days and weights.
pub(crate) struct Eval<'a> {
    pub(crate) m: &'a ZoneModel,
    pub(crate) days: &'a Days,
    pub(crate) w: &'a Weights,
    /// Visits at which the zone is carded; none when minutes are not asked for.
    pub(crate) carded: &'a [bool],
    /// Wool above its limit, summed over weighted days.
    pub(crate) wool_sum: f64,
}

/// A zone's plan followed up to a visit.
pub(crate) struct Course {
    /// Shares of follicles taken at each visit so far.
    y: Vec<f64>,
    /// The same as shares of the visible hair.
    pub(crate) share: Vec<f64>,
    /// Of each class, what earlier visits took and would still be there.
    gone: Vec<f64>,
    /// Room to work out the classes of the visit at hand.
    classes: Vec<f64>,
    /// Cover short of the floor, summed over weighted days up to the next visit.
    thin: f64,
    evenness: f64,
    order: f64,
    ripe_change: f64,
    /// Of each class, the outline's parts of what visits took and would still be there.
    gone_parts: Vec<Parts>,
    means: Vec<Vec<Parts>>,
    keeps_means: bool,
    /// By day that matters, the parts of what visits took and would still be there.
    missing: Vec<Parts>,
    /// Minutes so far, at their price.
    paid: f64,
}

impl Course {
    /// Goes back to where another course of the zone stands; the memory held is used again.
    pub(crate) fn go_back_to(&mut self, other: &Course) {
        let Course {
            y,
            share,
            gone,
            classes: _,
            thin,
            evenness,
            order,
            ripe_change,
            gone_parts,
            means,
            keeps_means,
            missing,
            paid,
        } = other;
        self.y.clone_from(y);
        self.share.clone_from(share);
        self.gone.clone_from(gone);
        self.gone_parts.clone_from(gone_parts);
        self.means.clone_from(means);
        self.missing.clone_from(missing);
        (self.thin, self.evenness, self.order) = (*thin, *evenness, *order);
        (self.ripe_change, self.paid, self.keeps_means) = (*ripe_change, *paid, *keeps_means);
    }

    /// Takes a share of follicles from class c.
    fn take(&mut self, c: usize, x: f64, means: &[Parts]) {
        self.gone[c] += x;
        if let Some(mean) = means.get(c) {
            for (gone, part) in self.gone_parts[c].iter_mut().zip(mean) {
                *gone += x * part;
            }
        }
    }
}

/// A pool under this has no length worth knowing, unless hair of it is taken.
const LEAST: f64 = 1e-3;

/// What is taken counts with its own length, however little there is.
fn keep(kept: &mut [Parts], c: usize, x: f64, means: &[Parts]) {
    if let (true, Some(kept), Some(mean)) = (x > 0.0, kept.get_mut(c), means.get(c)) {
        *kept = *mean;
    }
}

/// The table, and the price of a minute at each visit.
pub(crate) type Priced<'a> = (&'a Table, &'a [f64]);

/// What is taken at a visit.
enum Wish<'a> {
    Hand(Amount),
    Exact(&'a [f64]),
}

/// What a visit came to.
struct Step {
    visible: f64,
    ripe: f64,
    evenness: f64,
}

impl Eval<'_> {
    pub(crate) fn run(&self, amounts: &Amounts<'_>) -> Outcome {
        self.follow_through(amounts, false).0
    }

    /// By visit and class, the parts of the outline that a unit of its ripe hair has under these
    /// amounts, up to the last day that matters; nothing where none does.
    pub(crate) fn found_by(&self, amounts: &Amounts<'_>) -> Vec<Vec<Parts>> {
        if self.m.outlines.is_empty() { Vec::new() } else { self.follow_through(amounts, true).1 }
    }

    fn follow_through(&self, amounts: &Amounts<'_>, keeps_means: bool) -> (Outcome, Vec<Vec<Parts>>) {
        let visits = self.m.at.len();
        let mut out = Outcome {
            terms: Terms::default(),
            share: vec![0.0; visits],
            visible: vec![1.0; visits],
            ripe: vec![0.0; visits],
            evenness: vec![1.0; visits],
            barred: None,
        };
        if !self.m.setup.is_worked() {
            return (out, Vec::new());
        }
        let mut course = self.start();
        course.keeps_means = keeps_means;
        for i in 0..visits {
            let wish = match amounts {
                Amounts::Hand(a) => Wish::Hand(a[i]),
                Amounts::Exact(t) => Wish::Exact(&t[i]),
            };
            match self.step(&mut course, i, &wish) {
                Ok(s) => {
                    (out.share[i], out.visible[i]) = (course.share[i], s.visible);
                    (out.ripe[i], out.evenness[i]) = (s.ripe, s.evenness);
                }
                Err(bar) => {
                    out.barred = Some((i, bar));
                    return (out, course.means);
                }
            }
        }
        out.terms = self.terms(&course);
        (out, course.means)
    }

    pub(crate) fn start(&self) -> Course {
        let m = self.m;
        let mut evenness = 0.0;
        if m.is_layered() {
            let first = m.at.first().copied().unwrap_or(self.days.w.len());
            evenness = (1.0 - m.first_evenness) * self.days.between(0, first);
        }
        Course {
            y: Vec::with_capacity(m.at.len()),
            share: Vec::with_capacity(m.at.len()),
            gone: Vec::with_capacity(m.first_classes + m.at.len()),
            classes: Vec::with_capacity(m.first_classes + m.at.len()),
            thin: self.thin(0, m.at.first().copied().unwrap_or(self.days.w.len()), &[]),
            evenness,
            order: 0.0,
            ripe_change: 0.0,
            gone_parts: Vec::new(),
            means: Vec::new(),
            keeps_means: false,
            missing: vec![[0.0; 2]; m.outlines.len()],
            paid: 0.0,
        }
    }

    /// Works one visit; tells the limit that stops it, and then leaves the course unusable.
    fn step(&self, course: &mut Course, i: usize, wish: &Wish<'_>) -> Result<Step, Bar> {
        let m = self.m;
        let o = m.at[i];
        let classes = m.classes_at(i);
        course.gone.resize(classes, 0.0);
        for g in &mut course.gone {
            *g *= m.stay[i];
        }
        self.part_stay(course, i);
        let means = self.means(course, i, NOTHING);
        let mut kept = if course.keeps_means { self.means(course, i, LEAST) } else { Vec::new() };
        let visible = m.cover_on(o, &course.y);
        let wants = match wish {
            Wish::Hand(a) => *a != Amount::Leave,
            Wish::Exact(t) => t.iter().any(|x| *x > NOTHING),
        };
        let (mut taken, mut ripe, mut order) = (0.0, 0.0, 0.0);
        if wants {
            match wish {
                Wish::Exact(t) => {
                    for (c, x) in t.iter().enumerate() {
                        taken += x;
                        order += c as f64 * x;
                        course.take(c, *x, &means);
                        keep(&mut kept, c, *x, &means);
                    }
                }
                Wish::Hand(a) => {
                    let pool = self.ripe_pools(course, i);
                    ripe = pool;
                    let mut left = self.wanted(*a, i, visible, pool)?;
                    taken = left;
                    // The longest first.
                    for c in 0..classes {
                        let x = left.min(course.classes[c]);
                        left -= x;
                        order += c as f64 * x;
                        course.take(c, x, &means);
                        keep(&mut kept, c, x, &means);
                        if left <= 0.0 {
                            break;
                        }
                    }
                    taken -= left.max(0.0);
                }
            }
            course.order += order;
            course.ripe_change += taken * m.ripe_rate[i];
        }
        if course.keeps_means {
            course.means.push(kept);
        }
        course.y.push(taken);
        self.miss(course, i);
        let next = m.at.get(i + 1).copied().unwrap_or(self.days.w.len());
        course.thin += self.thin(o, next, &course.y);
        let mut evenness = 1.0;
        if m.is_layered() {
            let short = self.short_of_ideal(course, i);
            evenness = 1.0 - short;
            course.evenness += short * self.days.between(o, next);
        }
        let of_visible = |x: f64| if visible > 0.0 { x / visible } else { 0.0 };
        course.share.push(of_visible(taken));
        Ok(Step { visible, ripe: of_visible(ripe), evenness })
    }

    /// Ripe hair of each class before visit i, left in `course.classes`; gives the sum.
    fn ripe_pools(&self, course: &mut Course, i: usize) -> f64 {
        self.leave_classes(course, i, &self.m.pools[i], |r| &r.pools);
        for pool in &mut course.classes {
            *pool = pool.max(0.0);
        }
        course.classes.iter().sum()
    }

    /// What the classes lack of their ideal shares after visit i.
    fn short_of_ideal(&self, course: &mut Course, i: usize) -> f64 {
        self.leave_classes(course, i, &self.m.shares[i], |r| &r.shares);
        let lack = |(ideal, share): (&f64, &f64)| if *ideal > 0.0 { (ideal - share).max(0.0) } else { 0.0 };
        self.m.ideal[i].iter().zip(&course.classes).map(lack).sum()
    }

    /// Leaves in `course.classes` what there is of each class at visit i: of `alone`, which is there without visits,
    /// what none has taken, and what grew since by this table of the responses.
    fn leave_classes(&self, course: &mut Course, i: usize, alone: &[f64], table: fn(&Response) -> &Vec<Vec<f64>>) {
        course.classes.clear();
        course.classes.extend(alone.iter().zip(&course.gone).map(|(all, gone)| all - gone));
        self.m.add_later(&mut course.classes, &course.y, i, table);
    }

    /// Cover short of the floor, summed over the weighted days from `from` up to, not including, `to`, when the visits
    /// up to there took these shares.
    fn thin(&self, from: usize, to: usize, taken: &[f64]) -> f64 {
        let mut sum = 0.0;
        let mut cover = [0.0; 32];
        for t in (from..to).step_by(cover.len()) {
            let cover = &mut cover[..(to - t).min(32)];
            self.m.cover_from(t, cover, taken);
            let short = |(c, w): (&f64, &f64)| w * (self.m.setup.floor - c).max(0.0);
            sum += cover.iter().zip(&self.days.w[t..]).map(short).sum::<f64>();
        }
        sum
    }

    /// Lets what visits took shed on, as it would have, up to visit i.
    fn part_stay(&self, course: &mut Course, i: usize) {
        if let Some(base) = self.m.contents.base.get(i) {
            course.gone_parts.resize(base.len(), [0.0; 2]);
            for g in &mut course.gone_parts {
                *g = g.map(|x| x * self.m.stay[i]);
            }
        }
    }

    /// The outline's parts of a unit of each class's ripe hair before visit i, as far as one matters;
    /// of a pool under `least` as if nothing had been taken.
    fn means(&self, course: &Course, i: usize, least: f64) -> Vec<Parts> {
        let m = self.m;
        let Some(base) = m.contents.base.get(i) else { return Vec::new() };
        let born = m.first_classes - 1;
        let mean = |(c, parts): (usize, &Parts)| {
            let (alone, whole) = (m.pools[i][c], *parts);
            let (mut pool, mut parts) = (alone - course.gone[c], *parts);
            parts[0] -= course.gone_parts[c][0];
            parts[1] -= course.gone_parts[c][1];
            // Where nothing feeds a class, as the hair that would.
            let (mut feed, mut feed_parts) = (0.0, [0.0; 2]);
            if c >= born {
                for (k, fed) in m.contents.fed[i][c - born].iter().enumerate() {
                    let of_pool = m.class_response(&m.responses[k].pools, k, i, c);
                    pool += of_pool * course.y[k];
                    feed += of_pool;
                    for ((part, feed), by) in parts.iter_mut().zip(&mut feed_parts).zip(fed) {
                        *part += by * course.y[k];
                        *feed += by;
                    }
                }
            }
            // Of next to nothing no length is known; as if nothing had been taken before.
            if pool > least {
                parts.map(|x| x / pool)
            } else if alone > least {
                whole.map(|x| x / alone)
            } else if feed > NOTHING {
                feed_parts.map(|x| x / feed)
            } else {
                [0.0; 2]
            }
        };
        base.iter().enumerate().map(mean).collect()
    }

    /// Carries what visits took on to the days that matter before the next visit.
    fn miss(&self, course: &mut Course, i: usize) {
        let m = self.m;
        let (from, to) = (m.at[i], m.at.get(i + 1).copied().unwrap_or(usize::MAX));
        for (line, missing) in m.outlines.iter().zip(&mut course.missing) {
            if (from..to).contains(&line.t) {
                let stay = m.delta.powi((line.t - from) as i32);
                for (p, missing) in missing.iter_mut().enumerate() {
                    *missing = stay * course.gone_parts.iter().map(|g| g[p]).sum::<f64>();
                }
            }
        }
    }

    /// The share of follicles that an amount asks for at visit i, or the limit against it.
    fn wanted(&self, amount: Amount, i: usize, visible: f64, pool: f64) -> Result<f64, Bar> {
        let m = self.m;
        let room = (visible - (m.setup.floor - 0.15)).max(0.0);
        let want = match amount {
            // A step that is not quite there is all that is ripe, as long as that is
            // more than the step below.
            Amount::OneIn(k) if pool > visible * step_below(k) + NOTHING => pool.min(visible / f64::from(k)),
            Amount::OneIn(k) => visible / f64::from(k),
            _ => pool.min(m.setup.cap * visible).min(room),
        };
        if m.open[i] != Closed::Open {
            Err(Bar::Closed(m.open[i]))
        } else if want > pool + NOTHING {
            Err(Bar::Pool)
        } else if want > m.setup.cap * visible + NOTHING {
            Err(Bar::Cap)
        } else if want > room + NOTHING {
            Err(Bar::Bare)
        } else {
            Ok(want)
        }
    }

    /// The cost of a course followed to its end.
    pub(crate) fn terms(&self, course: &Course) -> Terms {
        let (m, w, days) = (self.m, self.w, self.days);
        let unit = m.area / days.sum;
        let mut terms = Terms {
            cover: unit * w.cover * course.thin,
            ripe: unit * m.ripe_weight(w) * (m.ripe_sum + course.ripe_change),
            evenness: unit * w.evenness * course.evenness,
            wool: unit * w.wool * self.wool_sum,
            outline: 0.0,
            order: w.order * m.area * course.order,
        };
        for (line, missing) in m.outlines.iter().zip(&course.missing) {
            let part = |p: usize| {
                let grown = line.by.iter().zip(&course.y).map(|(by, y)| by[p] * y).sum::<f64>();
                line.base[p] + grown - missing[p]
            };
            let error = part(0) + part(1).max(0.0);
            terms.outline += unit * w.outline * days.w[line.t] * error;
        }
        terms
    }

    /// Cost of these amounts, minutes at their price included; none where a limit stops one.
    pub(crate) fn cost(&self, amounts: &[Amount], priced: Option<Priced<'_>>) -> Option<f64> {
        self.cost_on(&mut self.start(), 0, amounts, priced)
    }

    /// The same, a course followed on from visit `from`.
    pub(crate) fn cost_on(
        &self,
        course: &mut Course,
        from: usize,
        amounts: &[Amount],
        priced: Option<Priced<'_>>,
    ) -> Option<f64> {
        self.follow_to_end(course, from, amounts, priced)?;
        Some(self.terms(course).sum() + course.paid)
    }

    /// All visits from `from` on; none where a limit stops an amount.
    pub(crate) fn follow_to_end(
        &self,
        course: &mut Course,
        from: usize,
        amounts: &[Amount],
        priced: Option<Priced<'_>>,
    ) -> Option<()> {
        amounts.iter().enumerate().skip(from).try_for_each(|(i, a)| self.follow(course, i, *a, priced))
    }

    /// One visit on; none where a limit stops the amount.
    pub(crate) fn follow(
        &self,
        course: &mut Course,
        i: usize,
        amount: Amount,
        priced: Option<Priced<'_>>,
    ) -> Option<()> {
        self.step(course, i, &Wish::Hand(amount)).ok()?;
        if let Some((table, price)) = priced
            && price[i] > 0.0
        {
            course.paid += price[i] * self.minutes(table, course.share[i], i);
        }
        Some(())
    }

    pub(crate) fn minutes(&self, table: &Table, share: f64, i: usize) -> f64 {
        let z = self.m.setup.zone.defaults();
        table.zone_min(z.area, self.m.setup.tender, share, self.carded.get(i) == Some(&true))
    }

    /// The amounts open to the zone, smallest first.
    pub(crate) fn steps(&self) -> Vec<Amount> {
        let mut s: Vec<Amount> = STEPS
            .into_iter()
            .filter(|a| match a {
                Amount::OneIn(n) => 1.0 / f64::from(*n) <= self.m.setup.cap + NOTHING,
                _ => true,
            })
            .collect();
        if self.m.setup.mode == Mode::Short {
            s.push(Amount::AllRipe);
        }
        s
    }
}
