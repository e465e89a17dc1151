//! Clips and cuts, and the hardness that they cost.

use super::State;
use super::state::{Clip, Removed, look_back};
use super::step::far_sum;
use crate::dot::dot;
use crate::law::linger_at;
use pulp::Arch;

impl State {
    pub(super) fn clip(&mut self, len_mm: f64) -> f64 {
        let len_d = len_mm / self.law.cycle().growth_mm_d;
        let t = self.t();
        self.clipped_to.resize(t + 1, f64::INFINITY);
        self.kept_hard.resize(t + 1, 1.0);
        for i in 0..=t {
            let was = self.clipped_to[i];
            if (t - i) as f64 > len_d && len_d < was {
                let kept = not_longer(&self.law.p_grow, len_d, was);
                self.eh[i] *= kept;
                self.kept_hard[i] *= kept;
                self.clipped_to[i] = len_d;
            }
        }
        let was = self.clips.iter().map(|c| c.len_d).fold(f64::INFINITY, f64::min);
        if len_d < was {
            self.old.hard *= not_longer(&self.law.p_old, len_d, was);
        }
        self.clips.push(Clip { day: self.today, len_d });
        self.far.hard = self.far_hard_on(t);
        let far: Vec<f64> = self.removed.iter().map(|r| self.far_hard_on(self.idx(r.day))).collect();
        for (rem, far) in self.removed.iter_mut().zip(far) {
            rem.forget();
            rem.far_hard = far;
        }
        0.0
    }

    pub(super) fn soften(&mut self, share: f64) -> f64 {
        let (t, kept) = (self.t(), 1.0 - share);
        self.kept_hard.reserve(self.b.capacity().saturating_sub(self.kept_hard.len()));
        self.kept_hard.resize(t + 1, 1.0);
        Arch::new().dispatch(|| {
            self.eh[..=t].iter_mut().for_each(|x| *x *= kept);
            self.kept_hard.iter_mut().for_each(|x| *x *= kept);
        });
        self.old.hard *= kept;
        self.far.hard *= kept;
        for rem in &mut self.removed {
            rem.far_hard *= kept;
            if let Some(hard) = rem.known.hard.get_mut() {
                *hard *= kept;
            }
        }
        0.0
    }

    pub(super) fn hard(&self) -> Option<f64> {
        let visible = self.visible();
        if visible < 1e-9 {
            return None;
        }
        let mut hard = self.old.hard + self.far.hard + look_back(&self.eh, self.t(), &self.law.r_seen);
        for rem in &self.removed {
            hard -= self.law.stay(self.today - rem.day) * rem.known.hard.get_or_init(|| self.hard_removed(rem));
        }
        Some((hard / visible).clamp(0.0, 1.0))
    }

    /// Hard mass of the hair in a removal, on its day.
    fn hard_removed(&self, rem: &Removed) -> f64 {
        let (law, t) = (&self.law, self.idx(rem.day));
        let (from, mass) = self.through_removed(rem);
        let from = *from;
        let mut hard = 0.0;
        if rem.whole > 0 {
            let near = (t + 1).saturating_sub(law.h_gs.len());
            hard = if from >= near {
                rem.far_hard + self.ripe_of_through(&self.eh[near..from], near, t)
            } else {
                self.ripe_of_through(&self.eh[..from], 0, t)
            };
        }
        let mut grown = mass.iter().map(|m| m * self.start_hard).collect::<Vec<f64>>();
        for &(i, h) in self.hard_cohorts.iter().filter(|c| (rem.lo..rem.lo + rem.w.len()).contains(&c.0)) {
            let more = rem.w[i - rem.lo] * (h - self.start_hard);
            let row = self.rows.get(&i).unwrap_or(&law.p_lag);
            // Of the row and of what came through, the days that both have.
            let (skip, start) = (from.saturating_sub(i), i.saturating_sub(from));
            let days = row.iter().skip(skip).zip(grown.iter_mut().skip(start));
            days.for_each(|(q, x)| *x += more * q);
        }
        let kept = self.kept_hard.iter().skip(from);
        grown.iter_mut().zip(kept).for_each(|(x, kept)| *x *= kept);
        hard + self.ripe_of_through(&grown, from, t)
    }

    /// The ripe hair on day index `t` of what came through from day index `first` on.
    fn ripe_of_through(&self, through: &[f64], first: usize, t: usize) -> f64 {
        let (law, n) = (&self.law, self.law.r_h_gs.len());
        let near = (t + 1).saturating_sub(n).clamp(first, first + through.len());
        let (far, close) = through.split_at(near - first);
        let faded = far_sum(far, linger_at(&law.h_gs, law.delta, (t + 1 - near) as i32), law.delta);
        faded + dot(close, &law.r_h_gs[n + near - (t + 1).min(n + near)..])
    }

    /// Coming-through masses, up to the day of a removal, of the cohorts in it: from this day
    /// index on. Before it all that came through is in the removal if its cohorts are `whole`,
    /// else nothing.
    pub(super) fn through_removed<'a>(&self, rem: &'a Removed) -> &'a (usize, Vec<f64>) {
        rem.known.through.get_or_init(|| self.through_of(rem))
    }

    fn through_of(&self, rem: &Removed) -> (usize, Vec<f64>) {
        let (law, t) = (&self.law, self.idx(rem.day));
        let from = if rem.whole > 0 { (rem.whole + law.lag.head()).min(t) } else { rem.lo };
        let end = (t + 1).min(self.longest_row(rem) + rem.lo + rem.w.len());
        if end <= from {
            return (from, Vec::new());
        }
        let mut plain = &rem.w[..];
        let without_rows: Vec<f64>;
        let rows = self.rows.range(rem.lo..rem.lo + rem.w.len());
        if rows.clone().next().is_some() {
            let zero_where = |(k, w): (usize, &f64)| if self.rows.contains_key(&(rem.lo + k)) { 0.0 } else { *w };
            without_rows = rem.w.iter().enumerate().map(zero_where).collect();
            plain = &without_rows;
        }
        let mut mass = law.lag.convolve(plain, from - rem.lo, end - rem.lo);
        for (&i, row) in rows {
            for (day, q) in (i..).zip(row) {
                if let Some(x) = day.checked_sub(from).and_then(|d| mass.get_mut(d)) {
                    *x += rem.w[i - rem.lo] * q;
                }
            }
        }
        (from, mass)
    }

    fn longest_row(&self, rem: &Removed) -> usize {
        let rows = self.rows.range(rem.lo..rem.lo + rem.w.len());
        rows.map(|r| r.1.len()).fold(self.law.p_lag.len(), usize::max)
    }
}

/// Of hair not longer than `was`, in days of growth, the part not longer than `len_d`.
fn not_longer(p: &[f64], len_d: f64, was: f64) -> f64 {
    let below = |len: f64| p.iter().enumerate().take_while(|(g, _)| *g as f64 <= len).map(|x| x.1).sum::<f64>();
    let all = below(was);
    if all > 0.0 { below(len_d) / all } else { 1.0 }
}
