//! Visible hair by its length.

use super::State;
use super::state::{Clip, Removed};
use crate::dot::dot;
use crate::law::{at, linger_at};
use crate::taps::BLOCK;

/// Visible hair by length.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lengths {
    /// Share of follicles by whole days of growth.
    pub(crate) unripe: Vec<f64>,
    pub(crate) ripe: Vec<f64>,
    /// (days of growth, share, ripe) of hair that met a clip.
    pub(crate) cut: Vec<(f64, f64, bool)>,
    cut_bins: Vec<f64>,
}

/// Ripe hair that grew at least so many days, the longest first, down to some length.
#[derive(Clone, Debug)]
pub(crate) struct RipeHair(Vec<f64>);

impl RipeHair {
    /// The share of the hair that stands at place `k` from the longest.
    fn share(&self, k: usize) -> f64 {
        self.0[k] - k.checked_sub(1).map_or(0.0, |longer| self.0[longer])
    }
}

/// Bins of cut hair in a day of growth.
const CUT_BINS: f64 = 8.0;

/// Below this much visible hair no length is given, share of follicles.
const TOO_LITTLE: f64 = 0.02;

impl Lengths {
    fn empty(n: usize) -> Self {
        Lengths { unripe: vec![0.0; n], ripe: vec![0.0; n], ..Lengths::default() }
    }

    /// Adds hair that met a clip, `len` days of growth long.
    fn add_cut(&mut self, len: f64, share: f64, ripe: bool) {
        if share == 0.0 {
            return;
        }
        let i = 2 * (len * CUT_BINS).round().max(0.0) as usize + usize::from(ripe);
        if self.cut_bins.len() <= i {
            self.cut_bins.resize(i + 2, 0.0);
        }
        self.cut_bins[i] += share;
    }

    /// Makes the list of cut hair from the bins.
    fn finish(&mut self) {
        let bins = std::mem::take(&mut self.cut_bins);
        let hair = bins.into_iter().enumerate().filter(|(_, m)| *m != 0.0);
        self.cut = hair.map(|(i, m)| ((i / 2) as f64 / CUT_BINS, m, i % 2 == 1)).collect();
    }

    /// The length, in days of growth, below which this share of the visible hair lies.
    fn quantile(&self, q: f64) -> Option<f64> {
        let whole: f64 = self.unripe.iter().chain(&self.ripe).sum::<f64>();
        let total: f64 = whole + self.cut.iter().map(|c| c.1).sum::<f64>();
        if total < TOO_LITTLE {
            return None;
        }
        let mut above = (1.0 - q) * total;
        // Hair of k days is spread evenly over k - 1/2 to k + 1/2; cut hair stands at its length.
        let mut cut: Vec<(f64, f64)> = self.cut.iter().map(|c| (c.0, c.1)).collect();
        cut.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut next = cut.into_iter().peekable();
        for k in (0..self.unripe.len()).rev() {
            let (low, m) = (k as f64 - 0.5, self.unripe[k] + self.ripe[k]);
            while let Some(&(len, mass)) = next.peek() {
                if len < low {
                    break;
                }
                next.next();
                above -= mass;
                if above <= 0.0 {
                    return Some(len.max(0.0));
                }
            }
            if m >= above && m > 0.0 {
                return Some((low + 1.0 - above / m).max(0.0));
            }
            above -= m;
        }
        Some(0.0)
    }
}

impl State {
    /// The length, in days of growth, below which this share of the visible hair lies.
    pub(super) fn quantile_d(&self, q: f64) -> Option<f64> {
        if !self.clips.is_empty() {
            return self.lengths().quantile(q);
        }
        let total = self.visible();
        if total < TOO_LITTLE {
            return None;
        }
        let above = (1.0 - q) * total;
        let removed: Vec<(f64, &Removed)> =
            self.removed.iter().map(|r| (self.law.stay(self.today - r.day), r)).collect();
        // From the longest hair down: first all that few hairs outgrow, then a few lengths at a time.
        let n = self.law.p_grow.len();
        let mut low = self.law.long_d;
        let mut shed = self.shed_between(low, n);
        let mut beyond = self.share_beyond(low, shed, &removed);
        if beyond >= above {
            low = n / BLOCK * BLOCK;
            let mut left = above;
            for k in (low..n).rev() {
                let m = self.share_of_length(k, &removed);
                if m >= left && m > 0.0 {
                    return Some((k as f64 + 0.5 - left / m).max(0.0));
                }
                left -= m;
            }
            shed = self.shed_between(low, n);
            beyond = self.share_beyond(low, shed, &removed);
        }
        while low > 0 {
            let high = low;
            low -= BLOCK;
            shed += self.shed_between(low, high);
            let longer = std::mem::replace(&mut beyond, self.share_beyond(low, shed, &removed));
            if beyond < above {
                continue;
            }
            let mut left = above - longer;
            for (k, m) in (low..high).zip(self.shares_of_lengths(low, &removed)).rev() {
                if m >= left && m > 0.0 {
                    return Some((k as f64 + 0.5 - left / m).max(0.0));
                }
                left -= m;
            }
        }
        Some(0.0)
    }

    /// Visible hair grown at least `low` days, so much of what came through and could grow so long being
    /// shed; no clips.
    fn share_beyond(&self, low: usize, shed: f64, removed: &[(f64, &Removed)]) -> f64 {
        let (law, n) = (&self.law, self.law.p_grow.len());
        if low >= n {
            return 0.0;
        }
        let come = (law.s_grow[low] + law.p_grow[low]) * self.ungrown.come[self.t() - low];
        let share = come - shed + self.old.ripe * law.old_above[low];
        removed.iter().fold(share, |share, (stay, rem)| share - stay * self.ripe_removed(rem, low).0[n - 1 - low])
    }

    /// Of hair that could grow `low..high` days, what was shed.
    fn shed_between(&self, low: usize, high: usize) -> f64 {
        let (t, n) = (self.t(), self.law.p_grow.len());
        dot(&self.ungrown.shed[t + 1 - high..t + 1 - low], &self.law.r_p_grow[n - high..n - low])
    }

    /// Share of the visible hair grown `k` days; no clips.
    fn share_of_length(&self, k: usize, removed: &[(f64, &Removed)]) -> f64 {
        let (law, u, day) = (&self.law, &self.ungrown, self.t() - k);
        let mut share = law.p_grow[k] * (u.come[day] - u.shed[day]) + law.s_grow[k] * self.e[day];
        share += self.old.ripe * law.p_old[k];
        for (stay, rem) in removed {
            share -= stay * self.ripe_removed(rem, k).share(law.p_grow.len() - 1 - k);
        }
        share
    }

    /// Share of the visible hair at the block of lengths from `low` on; no clips.
    fn shares_of_lengths(&self, low: usize, removed: &[(f64, &Removed)]) -> [f64; BLOCK] {
        let (law, t) = (&self.law, self.t());
        let block = |v: &[f64], from: usize| -> [f64; BLOCK] {
            v.get(from..from + BLOCK).and_then(|v| v.try_into().ok()).unwrap_or_default()
        };
        let first = t + 1 - low - BLOCK;
        let (come, shed, e) =
            (block(&self.ungrown.come, first), block(&self.ungrown.shed, first), block(&self.e, first));
        let (p, s) = (block(&law.p_grow, low), block(&law.s_grow, low));
        let mut out = [0.0; BLOCK];
        for (j, out) in out.iter_mut().enumerate() {
            let day = BLOCK - 1 - j;
            *out = p[j] * (come[day] - shed[day]) + s[j] * e[day];
        }
        if self.old.ripe > 0.0 {
            for (out, p) in out.iter_mut().zip(block(&law.p_old, low)) {
                *out += self.old.ripe * p;
            }
        }
        let shortest = law.p_grow.len() - 1 - low;
        for (stay, rem) in removed {
            let hair = self.ripe_removed(rem, low);
            for (j, out) in out.iter_mut().enumerate() {
                *out -= stay * hair.share(shortest - j);
            }
        }
        out
    }

    pub(super) fn hair_by_length(&self) -> Vec<(f64, f64, bool)> {
        let mm = self.law.cycle().growth_mm_d;
        let l = self.lengths();
        let whole = |v: &[f64], ripe: bool| -> Vec<(f64, f64, bool)> {
            v.iter().enumerate().map(|(k, m)| (k as f64 * mm, *m, ripe)).collect()
        };
        let mut out = whole(&l.unripe, false);
        out.extend(whole(&l.ripe, true));
        out.extend(l.cut.iter().map(|c| (c.0 * mm, c.1, c.2)));
        out.retain(|x| x.1.abs() > 1e-15);
        out
    }

    /// Visible hair by length, ripe and unripe.
    ///
    /// Index k of the vectors holds hair of k days' growth; the list holds hair cut by a clip at
    /// lengths between whole days.
    pub(super) fn lengths(&self) -> Lengths {
        let (law, t) = (&self.law, self.t());
        let n = law.p_grow.len();
        let mut out = Lengths::empty(n + 1);
        match self.clips.last() {
            None => {
                for g in 0..n {
                    let (u, day) = (&self.ungrown, t - g);
                    let firm = u.come[day] - u.shed[day] - u.ripe[day];
                    out.unripe[g] = law.p_grow[g] * firm + law.s_grow[g] * self.e[day];
                    out.ripe[g] = law.p_grow[g] * u.ripe[day];
                }
            }
            Some(c) => self.add_lengths(&mut out, &self.e, 0, t, self.idx(c.day) + 1, true),
        }
        for rem in &self.removed {
            let stay = law.stay(self.today - rem.day);
            let Some(clip) = self.clips.last() else {
                let hair = self.ripe_removed(rem, 0);
                for (g, o) in out.ripe.iter_mut().enumerate().take(n) {
                    *o -= stay * hair.share(n - 1 - g);
                }
                continue;
            };
            let hair = self.clipped_removed(rem, clip);
            for (o, r) in out.ripe.iter_mut().zip(&hair.ripe) {
                *o -= stay * r;
            }
            for &(len, share, ripe) in &hair.cut {
                out.add_cut(len, -stay * share, ripe);
            }
        }
        if self.old.ripe > 0.0 {
            for (g, p) in law.p_old.iter().enumerate() {
                let mass = self.old.ripe * p;
                match self.clips.iter().map(|c| c.len_d).reduce(f64::min) {
                    Some(len) if (g as f64) > len => out.add_cut(len, mass, true),
                    _ => out.ripe[g] += mass,
                }
            }
        }
        out.finish();
        out
    }

    /// Lengths of the hair in a removal, on its day, after a clip.
    fn clipped_removed<'a>(&self, rem: &'a Removed, last: &Clip) -> &'a Lengths {
        rem.known.clipped.get_or_init(|| {
            let (from, mass) = self.through_removed(rem);
            let t = self.idx(rem.day);
            let mut hair = Lengths::empty(self.law.p_grow.len() + 1);
            let first = rem.lo + rem.w.iter().position(|w| *w != 0.0).unwrap_or(0);
            let lo = if rem.whole > 0 { first.min(*from) } else { *from };
            let whole = &self.e[lo..*from];
            let mut all = [whole, mass].concat();
            all.resize(t + 1 - lo, 0.0);
            self.add_lengths(&mut hair, &all, lo, t, self.idx(last.day) + 1, false);
            hair.finish();
            hair
        })
    }

    /// Lengths of the ripe hair in a removal, on its day, no clip having met it: at least those from `low` on.
    fn ripe_removed<'a>(&self, rem: &'a Removed, low: usize) -> &'a RipeHair {
        let short = self.law.short_d;
        if low >= short {
            rem.known.long.get_or_init(|| self.ripe_hair(rem, short))
        } else {
            rem.known.all.get_or_init(|| self.ripe_hair(rem, 0))
        }
    }

    /// Works [`State::ripe_removed`] out down to `low`.
    fn ripe_hair(&self, rem: &Removed, low: usize) -> RipeHair {
        let (law, t) = (&self.law, self.idx(rem.day));
        let (from, mass) = self.through_removed(rem);
        let (from, n) = (*from, law.p_grow.len());
        // Hair grown g days stands as hair that takes no time to grow stood g days ago: the removal's is
        // the whole coat's up to `from`, or nothing.
        let (first, end) = (t + 1 - n, t + 1 - low);
        let own = from.clamp(first, end);
        let mut shares = if rem.whole > 0 { self.ungrown.ripe[first..own].to_vec() } else { vec![0.0; own - first] };
        if own < end {
            let before = if rem.whole > 0 { from.min(law.p_set.len()) } else { 0 };
            let through = [&self.e[from - before..from], mass].concat();
            // What ripens later than this is nothing.
            let last = (before + end - from).min(through.len() + law.p_set.len());
            let mut ripe = if rem.whole > 0 && from > 0 { self.ungrown.ripe[from - 1] } else { 0.0 };
            let mut stands = law.set.convolve(&through, before, last);
            for x in &mut stands {
                ripe = law.delta * ripe + *x;
                *x = ripe;
            }
            stands.resize_with(end - from, || {
                ripe *= law.delta;
                ripe
            });
            shares.extend_from_slice(&stands[own - from..]);
        }
        let mut longer = 0.0;
        for (x, p) in shares.iter_mut().zip(&law.r_p_grow) {
            longer += *x * p;
            *x = longer;
        }
        RipeHair(shares)
    }

    /// Adds the hair of a coming-through sequence as it stands on day index `t`, the last clip
    /// on the day before index `from`.
    fn add_lengths(&self, out: &mut Lengths, e: &[f64], lo: usize, t: usize, from: usize, unripe: bool) {
        let law = &self.law;
        // Hair that came through after the last clip: by the day it stopped growing.
        let first = lo.max(from);
        if first <= t {
            let n = law.p_grow.len();
            let since = e.get(first - lo..).unwrap_or(&[]);
            let since = &since[..since.len().min(t + 1 - first)];
            let ripens = law.set.convolve(since, 0, t + 1 - first);
            let (mut ripe, mut firm) = (0.0, 0.0);
            for (u, x) in ripens.iter().enumerate() {
                let through = since.get(u).copied().unwrap_or(0.0);
                ripe = law.delta * ripe + x;
                firm += through - x;
                let g = t - first - u;
                if g < n {
                    out.ripe[g] += law.p_grow[g] * ripe;
                    if unripe {
                        out.unripe[g] += law.p_grow[g] * firm + law.s_grow[g] * through;
                    }
                }
            }
        }
        // Hair that was there at the last clip, followed through every clip. What came through long
        // before it stands at the clip's length, so days are gathered: by the week, later by the month.
        let end = from.min(t + 1);
        let mut day = end;
        while day > lo {
            let before_clip = end - day;
            let width = if before_clip < 120 {
                1
            } else if before_clip < 300 {
                7
            } else {
                30
            };
            let first = day.saturating_sub(width).max(lo);
            let x = e.get(first - lo..day - lo).map_or(0.0, |v| v.iter().sum::<f64>());
            let mid = (first + day - 1) / 2;
            day = first;
            if x != 0.0 {
                self.add_clipped(out, mid, t, x, unripe);
            }
        }
    }

    /// Adds hair `x` that came through on day index `day`, before the last clip.
    fn add_clipped(&self, out: &mut Lengths, day: usize, t: usize, x: f64, unripe: bool) {
        let law = &self.law;
        let age = t - day;
        if unripe && age < law.s_grow.len() && law.s_grow[age] > 0.0 {
            out.add_cut(self.length_of(day, age as f64, t), x * law.s_grow[age], false);
        }
        for g in 0..law.p_grow.len().min(age + 1) {
            let p = x * law.p_grow[g];
            if p.abs() < 1e-12 {
                continue;
            }
            let since = (age - g) as i32;
            let len = self.length_of(day, g as f64, t);
            if unripe {
                out.add_cut(len, p * at(&law.s_set, since), false);
            }
            out.add_cut(len, p * linger_at(&law.h_set, law.delta, since), true);
        }
    }

    /// Length, in days of growth, of hair come through on day index `day` that grew `g` days.
    pub(crate) fn length_of(&self, day: usize, g: f64, t: usize) -> f64 {
        let mut len = 0.0;
        let mut at_day = day as f64;
        let stop = (day as f64 + g).min(t as f64);
        for c in &self.clips {
            let c_day = self.idx(c.day) as f64;
            if c_day < day as f64 {
                continue;
            }
            let grown_to = stop.min(c_day);
            if grown_to > at_day {
                len += grown_to - at_day;
                at_day = grown_to;
            }
            if len > c.len_d {
                len = c.len_d;
            }
        }
        len + (stop - at_day).max(0.0)
    }
}
