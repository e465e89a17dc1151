//! From the coat of a zone to the panels of its section.

use super::{HairClass, Panel, Phase, STRIP, Section};
use crate::dates;
use app::report::PlanReport;
use coat::{Day, DogCoat, HairPhase, Layer, Take, Zone, ZoneCoat, ZoneWork};
use std::sync::Arc;

/// One coming visit (or a day without one) in the strip.
#[derive(Clone)]
pub struct Step {
    /// Date.
    pub date: String,
    /// A few words on what is seen.
    pub caption: String,
    /// The coat as it stands then, before the visit.
    pub coat: ZoneCoat,
    /// What the visit takes; none on a day without one.
    pub take: Option<Take>,
    /// Evenness before the visit and after it.
    pub evenness: (f64, f64),
}

/// The age of a class in words, from days.
fn age(days: i32) -> String {
    match days {
        ..=13 => format!("{} days", days.max(0)),
        14..=182 => format!("{} weeks", (days + 3) / 7),
        _ => format!("{} months", (f64::from(days) / 30.44).round()),
    }
}

fn layers(coat: &ZoneCoat) -> Vec<Layer> {
    coat.top.layers(coat.top.class_count())
}

/// The follicles of the layers, oldest first; of each class the share in `taken` marked.
fn classes(layers: &[Layer], today: i32, taken: &[f64], out: bool) -> Vec<HairClass> {
    let mut all = Vec::new();
    for (j, layer) in layers.iter().enumerate().rev() {
        let middle = layer.after.map_or(layer.until, |a| (a + 1 + layer.until) / 2);
        let name = match layer.after {
            None => format!("over {}", age(today - layer.until)),
            Some(_) => age(today - middle),
        };
        let ripe: f64 = layer.hair.iter().filter(|s| s.phase == HairPhase::Ripe).map(|s| s.share).sum();
        let goes = if ripe > 0.0 { (taken.get(j).copied().unwrap_or(0.0) / ripe).clamp(0.0, 1.0) } else { 0.0 };
        let mut push = |phase, share: f64, strand: Option<&coat::Strand>, to_take| {
            if share > 1e-9 {
                all.push(HairClass {
                    class: name.clone(),
                    phase,
                    share,
                    mm: strand.map_or(0.0, |s| s.mean_mm),
                    sd_mm: strand.map_or(0.0, |s| s.sd_mm),
                    hard: strand.map_or(1.0, |s| s.hard),
                    cut: strand.is_some_and(|s| s.cut),
                    to_take,
                });
            }
        };
        for s in layer.hair.iter().rev() {
            let phase = match s.phase {
                HairPhase::Growing => Phase::Growing,
                HairPhase::Set => Phase::Set,
                HairPhase::Ripe => Phase::Ripe,
            };
            if phase == Phase::Ripe && goes > 0.0 {
                // Keeps the places of the pulled hair, so that the eye finds them empty afterwards.
                let (phase, strand) = if out { (Phase::Empty, None) } else { (Phase::Ripe, Some(s)) };
                push(phase, s.share * goes, strand, !out);
                push(Phase::Ripe, s.share * (1.0 - goes), Some(s), false);
            } else {
                push(phase, s.share, Some(s), false);
            }
        }
        push(Phase::Empty, layer.empty, None, false);
    }
    all
}

/// What comes out first, then from the loosest to the empty.
pub(super) fn rank(hair: &HairClass) -> u8 {
    match (hair.to_take, hair.phase) {
        (true, _) => 0,
        (_, Phase::Ripe) => 1,
        (_, Phase::Set) => 2,
        (_, Phase::Growing) => 3,
        (_, Phase::Empty) => 4,
    }
}

/// Puts neighbours of one phase together, what is to come out first: two panels the same way.
fn in_order(before: &[HairClass], panel: Vec<HairClass>) -> Vec<HairClass> {
    let mut pairs: Vec<(u8, HairClass)> = before.iter().map(rank).zip(panel).collect();
    pairs.sort_by_key(|p| p.0);
    pairs.into_iter().map(|p| p.1).collect()
}

fn dressed(date: String, caption: String, coat: &ZoneCoat, hairs: Vec<HairClass>) -> Panel {
    Panel { date, caption, hairs, under: coat.under.visible(), wool: coat.wool(), target_mm: coat.setup.target_mm }
}

/// The coat of a zone as it stands.
pub fn panel_of(date: String, caption: String, coat: &ZoneCoat) -> Panel {
    let hairs = classes(&layers(coat), coat.top.today(), &[], false);
    let hairs = in_order(&hairs.clone(), hairs);
    dressed(date, caption, coat, hairs)
}

/// Before a visit on its day, what is to come out marked, and after it.
fn pair(coat: &ZoneCoat, take: &Take, card: bool) -> (ZoneCoat, Vec<HairClass>, ZoneCoat, Vec<HairClass>, f64) {
    let mut before = coat.clone();
    before.top.mark_visit();
    let n = before.top.class_count();
    let pools = before.top.classes(n).pools;
    let layers = before.top.layers(n);
    let mut after = before.clone();
    let share = after.top.visit(take).share;
    let left = after.top.classes(n).pools;
    let taken: Vec<f64> = pools.iter().zip(&left).map(|(a, b)| (a - b).max(0.0)).collect();
    if card {
        let wool = after.under.ripe();
        after.under.visit(&Take::LongestFirst(wool));
    }
    let today = before.top.today();
    let marked = classes(&layers, today, &taken, false);
    let emptied = in_order(&marked, classes(&layers, today, &taken, true));
    let marked = in_order(&marked.clone(), marked);
    (before, marked, after, emptied, share)
}

/// The coat of a zone before and after a visit on its day, what is to come out marked.
///
/// The two panels keep every follicle in its place.
pub fn before_and_after(date: &str, coat: &ZoneCoat, take: &Take, card: bool) -> [Panel; 2] {
    let (before, marked, after, emptied, share) = pair(coat, take, card);
    let (words, cover) = captions(share / before.top.visible().max(1e-9), after.top.visible());
    [dressed(date.to_owned(), words, &before, marked), dressed(date.to_owned(), cover, &after, emptied)]
}

/// What is said over the two panels, from the share of the hair one sees that comes out and the cover that stays.
pub(super) fn captions(of_visible: f64, cover: f64) -> (String, String) {
    let words = if of_visible >= 0.005 {
        format!("before: {:.0} % of the hair comes out", 100.0 * of_visible)
    } else {
        "before: nothing to take".to_owned()
    };
    (words, format!("after: {:.0} % of the skin stays covered", 100.0 * cover))
}

/// One panel of the strip.
pub(super) fn step_panel(step: &Step) -> Panel {
    match &step.take {
        None => panel_of(step.date.clone(), step.caption.clone(), &step.coat),
        Some(take) => {
            let (before, marked, ..) = pair(&step.coat, take, false);
            dressed(step.date.clone(), step.caption.clone(), &before, marked)
        }
    }
}

/// The whole section: today's visit before and after, then the days to come.
///
/// The title is made from what the coat does; `rolls` is the day from which the zone rolls, if it is to.
pub fn section_of(
    dog: &str,
    date: &str,
    coat: &ZoneCoat,
    take: &Take,
    card: bool,
    steps: &[Step],
    rolls: Option<&str>,
) -> Section {
    let mut panels = before_and_after(date, coat, take, card).to_vec();
    panels.extend(each(steps, step_panel));
    let zone = coat.setup.zone.label();
    let title = title(zone, coat.setup.mode, Sight::of(coat), date, rolls);
    Section { title, zone: format!("{dog} · {zone}"), panels, strip: strip_words(steps.len(), steps.len()) }
}

/// What the title is made from.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sight {
    /// Share of follicles with hair one sees.
    pub(super) visible: f64,
    /// Ripe share of follicles.
    pub(super) ripe: f64,
    /// Share of follicles whose hair was cut.
    pub(super) cut: f64,
}

impl Sight {
    pub(super) fn of(coat: &ZoneCoat) -> Self {
        let cut = layers(coat).iter().flat_map(|l| &l.hair).filter(|s| s.cut).map(|s| s.share).sum();
        Sight { visible: coat.top.visible(), ripe: coat.top.ripe(), cut }
    }
}

/// What to see on a date; `rolls` is the date from which the coat rolls.
pub(super) fn title(name: &str, mode: coat::Mode, now: Sight, date: &str, rolls: Option<&str>) -> String {
    let many = name.ends_with('s');
    let (is, does, it) = if many { ("are", "roll", "they roll") } else { ("is", "rolls", "it rolls") };
    if mode != coat::Mode::Layered {
        let ripe = 100.0 * now.ripe / now.visible.max(1e-9);
        return format!("{}: {ripe:.0} of 100 hairs are ripe today", capital(name));
    }
    if rolls == Some(date) {
        return format!("The {name} {does}: hair of every age, and only the oldest comes out");
    }
    let today = if now.cut > 0.5 * now.visible {
        "clipped and soft today"
    } else if now.visible < 0.05 {
        "bare today"
    } else {
        "nearly all of one age today"
    };
    match rolls {
        Some(date) => format!("The {name} {is} {today}; layer by layer, {it} from {date}"),
        None => format!("The {name} {is} {today}; each visit starts a new layer"),
    }
}

fn capital(word: &str) -> String {
    let mut c = word.chars();
    c.next().map_or_else(String::new, |f| f.to_uppercase().chain(c).collect())
}

/// A zone on the day of the first visit, and at the visits of the strip.
pub(super) struct Walk {
    pub(super) date: String,
    pub(super) coat: ZoneCoat,
    pub(super) take: Take,
    pub(super) card: bool,
    pub(super) steps: Vec<Step>,
}

impl Walk {
    /// Whether the panels of both would be the same but for the length aimed at.
    pub(super) fn is_as(&self, other: &Walk) -> bool {
        let measures = |c: &ZoneCoat| {
            (c.setup.mode, c.top.hard(), c.top.top_mm(), c.top.visible(), c.top.ripe(), c.under.visible(), c.wool())
        };
        let pools = |c: &ZoneCoat| c.top.classes(c.top.class_count()).pools;
        let alike = |a: &ZoneCoat, b: &ZoneCoat| {
            Arc::ptr_eq(a.top.law(), b.top.law()) && measures(a) == measures(b) && pools(a) == pools(b)
        };
        alike(&self.coat, &other.coat)
            && (&self.take, self.card) == (&other.take, other.card)
            && self.steps.len() == other.steps.len()
            && self.steps.iter().zip(&other.steps).all(|(a, b)| alike(&a.coat, &b.coat) && a.take == b.take)
    }
}

/// Works out each item on its own, on as many processors as there are; the order is kept.
pub(super) fn each<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let hands = std::thread::available_parallelism().map_or(1, std::num::NonZero::get).min(items.len()).min(4);
    if hands < 2 {
        return items.iter().map(work).collect();
    }
    let work = &work;
    std::thread::scope(|s| {
        let parts = items.chunks(items.len().div_ceil(hands));
        let busy: Vec<_> = parts.map(|p| s.spawn(move || p.iter().map(work).collect::<Vec<R>>())).collect();
        let done = busy.into_iter().map(|b| b.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        done.flatten().collect()
    })
}

/// A zone walked through the visits of a plan; the hair to come out is what the report says, oldest first.
pub(super) fn walk(report: &PlanReport, coat: &DogCoat, zone: Zone) -> Option<Walk> {
    let mut now = coat.zone(zone)?.clone();
    let last = report.visits.len().checked_sub(1)?;
    // The next visit and the last, and others spread between.
    let shown = last.min(STRIP);
    let wanted: Vec<usize> = (0..shown).map(|k| 1 + k * (last - 1) / shown.saturating_sub(1).max(1)).collect();
    let mut first = None;
    let mut steps = Vec::new();
    for (i, visit) in report.visits.iter().enumerate() {
        let day = Day::parse(&visit.date)?;
        now.step_to(day);
        let planned = visit.zones.iter().find(|z| z.zone == zone.word());
        let work = visit.work_on(&now);
        if i == 0 {
            first = Some((dates::spoken(&visit.date), now.clone(), work.clone()));
        } else if wanted.contains(&i) {
            let share = planned.map_or(0.0, |z| z.share);
            let mut then = now.clone();
            then.work(&work);
            let evenness = (now.top.evenness().0, then.top.evenness().0);
            let caption = match (now.setup.mode == coat::Mode::Layered, share > 0.005) {
                (true, _) => even(evenness),
                (false, true) => format!("{:.0} % comes out", 100.0 * share),
                (false, false) => "left as it is".to_owned(),
            };
            let take = Some(work.take.clone());
            steps.push(Step { date: dates::spoken(&visit.date), caption, coat: now.clone(), take, evenness });
        }
        now.work(&work);
    }
    let (date, coat, ZoneWork { take, card, .. }) = first?;
    Some(Walk { date, coat, take, card, steps })
}

/// Evenness before a visit and after it.
pub(super) fn even((before, after): (f64, f64)) -> String {
    let whole = |x: f64| (100.0 * x).round();
    if whole(before) == whole(after) {
        format!("{:.0} % even", whole(before))
    } else {
        format!("{:.0} → {:.0} % even", whole(before), whole(after))
    }
}

/// What a strip of so many of the visits that follow shows.
pub(super) fn strip_words(shown: usize, of: usize) -> String {
    match (shown, of) {
        (1, 1) => "The coat just before the visit that follows".to_owned(),
        _ if shown == of => format!("The coat just before each of the {of} visits that follow"),
        _ => format!("The coat just before {shown} of the {of} visits that follow"),
    }
}

/// The section of one zone through the visits of a plan; none when the dog is not set up with it
/// or the plan has no visit.
///
/// `coat` is the coat on the day of the plan. The hair to come out is what the report says, oldest first.
pub fn of_plan(report: &PlanReport, coat: &DogCoat, zone: Zone) -> Option<Section> {
    let w = walk(report, coat, zone)?;
    let rolls = report.rolling_from(zone).map(dates::spoken);
    let section = section_of(&report.dog, &w.date, &w.coat, &w.take, w.card, &w.steps, rolls.as_deref());
    let strip = strip_words(w.steps.len(), report.visits.len() - 1);
    let jacket = match &report.milestones.rolling {
        _ if !zone.defaults().jacket => String::new(),
        Some(d) if report.visits.first().is_some_and(|v| v.date == *d) => " · the whole jacket rolls".to_owned(),
        Some(d) => format!(" · the whole jacket rolls from {}", dates::spoken(d)),
        None => format!(" · the whole jacket does not roll before {}", dates::spoken(&report.until)),
    };
    Some(Section { strip, zone: format!("{}{jacket}", section.zone), ..section })
}
