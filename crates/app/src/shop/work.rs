//! The work at the table: zones in working order with what was planned, and where each stands after what was tapped.

use super::bearing::factor;
use super::desk::{Desk, revision};
use super::entries::{self, Standing};
use super::failure::{Held, Said, ShopFailure};
use super::ids::RecordId;
use super::port::{Kind, Who};
use super::records::{DogBody, Entry, EntryBody, VisitBody, VisitState};
use super::sheet;
use crate::cautions;
use crate::dog_file::{DogFile, Temper};
use crate::report::{VisitReport, ZoneReport};
use coat::{Day, Mode, Zone};

/// What the page says where a zone will not come.
const STOP: &str = "Stop here: the zone is set, not ripe. Go on to the next; what has come out counts.";
/// Ease from which a zone is left.
const STOPS_AT: u8 = 4;

/// What came of a delivery.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Delivered {
    /// Kept for good, now or before; the browser may forget them.
    pub accepted: Vec<RecordId>,
    /// Not kept, each with what is wrong; delivering them again does not help.
    pub refused: Vec<(RecordId, Said)>,
    /// The visit was finished before these came: finish it again to take them into its record.
    pub finished: bool,
}

/// The work on a dog.
#[derive(Clone, Debug)]
pub struct Work {
    /// The visit.
    pub visit: Held<VisitBody>,
    /// The dog.
    pub dog: Held<DogBody>,
    /// Cautions for the whole dog.
    pub cautions: Vec<String>,
    /// Minutes planned.
    pub planned_min: Option<f64>,
    /// What ten more minutes would do.
    pub ten_more_min: Option<String>,
    /// The worked zones, in working order.
    pub zones: Vec<WorkZone>,
    /// How the dog bears it now.
    pub bearing: Temper,
    /// What follows from that; none while it is calm.
    pub bearing_note: Option<String>,
    /// Ease over the whole dog.
    pub ease: Option<u8>,
    /// Seconds by the clock of the whole visit, as far as it was run.
    pub seconds: i64,
    /// That clock runs.
    pub running: bool,
    /// What was tapped, in order, without what was taken back: skin findings, products, notes and all.
    pub entries: Vec<Standing>,
}

/// Where a zone stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ZoneState {
    /// To be done.
    Open,
    /// Done, or as far as it would come.
    Done,
    /// Left.
    Left,
}

/// How much is advised now.
#[derive(Clone, Debug, PartialEq)]
pub struct Advised {
    /// `1 in 5`, `all ripe` or `leave`.
    pub amount: String,
    /// Share of the visible hair.
    pub share: f64,
    /// Why it is less than was planned.
    pub lowered: Option<String>,
}

/// A zone at the table.
#[derive(Clone, Debug)]
pub struct WorkZone {
    /// The zone.
    pub zone: Zone,
    /// Fingers or fine knife only.
    pub tender: bool,
    /// The plan for it; none where nothing was planned.
    pub planned: Option<ZoneReport>,
    /// What is advised now, for how the dog bears it.
    pub advised: Advised,
    /// Where it stands.
    pub state: ZoneState,
    /// Share of the visible hair that was pulled.
    pub pulled: Option<f64>,
    /// All that was ripe was pulled.
    pub all_ripe: bool,
    /// It was carded; none where nobody said.
    pub carded: Option<bool>,
    /// Ease, 1 to 5.
    pub ease: Option<u8>,
    /// Longest hair, mm.
    pub longest_mm: Option<f64>,
    /// Longest hair, comb depth.
    pub longest_depth: Option<u8>,
    /// New layer, mm.
    pub new_layer_mm: Option<f64>,
    /// New layer, comb depth.
    pub new_layer_depth: Option<u8>,
    /// New hair was through the skin.
    pub new_hair: Option<bool>,
    /// `soft`, `between` or `harsh`.
    pub feel: Option<String>,
    /// Cover by eye, share.
    pub cover: Option<f64>,
    /// Kind of tool used last.
    pub tool: Option<String>,
    /// Seconds on its clock.
    pub seconds: i64,
    /// Its clock runs.
    pub running: bool,
    /// Ease of 4 or 5: what to do.
    pub stop: Option<&'static str>,
    /// The zone's cap, share of the visible hair.
    cap: f64,
}

impl WorkZone {
    /// Whether anything was recorded that is worth keeping.
    pub fn touched(&self) -> bool {
        self.state == ZoneState::Done
            || self.carded == Some(true)
            || self.ease.is_some()
            || self.longest_mm.is_some()
            || self.longest_depth.is_some()
            || self.new_layer_mm.is_some()
            || self.new_layer_depth.is_some()
            || self.new_hair.is_some()
            || self.feel.is_some()
            || self.cover.is_some()
    }

    fn new(zone: Zone, file: &DogFile, planned: Option<ZoneReport>) -> Self {
        let own = file.zone(zone);
        let mode = own.and_then(|z| z.mode).unwrap_or(zone.defaults().mode);
        let mut z = WorkZone {
            zone,
            tender: own.and_then(|z| z.tender).unwrap_or(zone.defaults().tender),
            planned,
            advised: Advised { amount: "leave".into(), share: 0.0, lowered: None },
            state: ZoneState::Open,
            pulled: None,
            all_ripe: false,
            carded: None,
            ease: None,
            longest_mm: None,
            longest_depth: None,
            new_layer_mm: None,
            new_layer_depth: None,
            new_hair: None,
            feel: None,
            cover: None,
            tool: None,
            seconds: 0,
            running: false,
            stop: None,
            cap: own.and_then(|z| z.cap).unwrap_or(file.groomer.caps.of(mode)),
        };
        z.advise(Temper::Calm);
        z
    }

    /// What would be advised under a bearing: no more than the lowered cap, in a step that a hand can do.
    pub fn advice(&self, bearing: Temper) -> Advised {
        let Some(p) = &self.planned else { return self.advised.clone() };
        let mut advised = Advised { amount: p.amount.clone(), share: p.share, lowered: None };
        if p.amount != "leave" && bearing != Temper::Calm {
            let most = self.cap * factor(bearing);
            if bearing == Temper::Objects && self.tender {
                advised = Advised {
                    amount: "leave".into(),
                    share: 0.0,
                    lowered: Some("It objects: a tender zone is left today.".into()),
                };
            } else if p.share > most + 1e-9 {
                let step = plan::STEPS.into_iter().rev().find_map(|s| match s {
                    plan::Amount::OneIn(n) => Some(n).filter(|n| 1.0 / f64::from(*n) <= most + 1e-9),
                    _ => None,
                });
                let why = if bearing == Temper::Objects { "It objects" } else { "It fidgets" };
                let (amount, share) =
                    step.map_or(("leave".to_owned(), 0.0), |n| (format!("1 in {n}"), 1.0 / f64::from(n)));
                advised =
                    Advised { amount, share, lowered: Some(format!("{why}: less than the {} planned.", p.amount)) };
            }
        }
        advised
    }

    fn advise(&mut self, bearing: Temper) {
        self.advised = self.advice(bearing);
    }

    fn tap(&mut self, what: &Entry) {
        match what {
            Entry::AsPlanned => {
                self.state = ZoneState::Done;
                self.all_ripe = self.advised.amount == "all ripe";
                self.pulled = (self.advised.share > 0.0 && !self.all_ripe).then_some(self.advised.share);
                if self.carded.is_none() {
                    let planned = self.planned.as_ref();
                    self.carded = Some(planned.is_some_and(|p| p.works.iter().any(|w| w.starts_with("card"))));
                }
            }
            Entry::Pulled { share } => {
                self.state = ZoneState::Done;
                (self.pulled, self.all_ripe) = (Some(*share), false);
            }
            Entry::AllRipe => {
                self.state = ZoneState::Done;
                (self.pulled, self.all_ripe) = (None, true);
            }
            Entry::Left => {
                self.state = ZoneState::Left;
                (self.pulled, self.all_ripe) = (None, false);
            }
            Entry::Carded { yes } => self.carded = Some(*yes),
            Entry::Ease { ease } => {
                self.ease = Some(*ease);
                self.stop = (*ease >= STOPS_AT).then_some(STOP);
                // It will not come: as far as it went it is done.
                if self.stop.is_some() && self.state == ZoneState::Open {
                    self.state = ZoneState::Done;
                }
            }
            Entry::LongestMm { mm } => (self.longest_mm, self.longest_depth) = (Some(*mm), None),
            Entry::LongestDepth { depth } => (self.longest_mm, self.longest_depth) = (None, Some(*depth)),
            Entry::NewLayerMm { mm } => (self.new_layer_mm, self.new_layer_depth) = (Some(*mm), None),
            Entry::NewLayerDepth { depth } => (self.new_layer_mm, self.new_layer_depth) = (None, Some(*depth)),
            Entry::NewHair { yes } => self.new_hair = Some(*yes),
            Entry::Feel { feel } => self.feel = Some(feel.clone()),
            Entry::Cover { share } => self.cover = Some(*share),
            Entry::Tool { tool } => self.tool = Some(tool.clone()),
            Entry::Clock { seconds, running } => (self.seconds, self.running) = (*seconds, *running),
            Entry::Bearing { .. }
            | Entry::Skin { .. }
            | Entry::Product { .. }
            | Entry::Disinfected { .. }
            | Entry::Note { .. }
            | Entry::Undo { .. } => {}
        }
    }
}

/// Plays the entries of a visit.
pub(super) fn played(
    visit: Held<VisitBody>,
    dog: Held<DogBody>,
    file: &DogFile,
    today: Day,
    entries: Vec<Standing>,
) -> Work {
    let report: Option<VisitReport> = visit.body.planned.as_ref().and_then(|v| serde_json::from_value(v.clone()).ok());
    let of = |zone: Zone| report.as_ref().and_then(|r| r.zones.iter().find(|z| z.zone == zone.word()).cloned());
    let worked = |zone: &Zone| file.zone(*zone).and_then(|z| z.mode).unwrap_or(zone.defaults().mode) != Mode::Never;
    let order = Zone::WORKING_ORDER.into_iter().filter(worked);
    let mut zones: Vec<WorkZone> = order.map(|z| WorkZone::new(z, file, of(z))).collect();
    let (mut bearing, mut ease, mut seconds, mut running) = (Temper::Calm, None, 0, false);
    for Standing { entry, .. } in &entries {
        let zone = entry.zone.as_deref().and_then(Zone::parse);
        match (&entry.what, zone) {
            (Entry::Bearing { bearing: word }, _) => {
                bearing = Temper::parse(word).unwrap_or(bearing);
                for z in zones.iter_mut().filter(|z| z.state == ZoneState::Open) {
                    z.advise(bearing);
                }
            }
            (Entry::Ease { ease: e }, None) => ease = Some(*e),
            (Entry::Clock { seconds: s, running: r }, None) => (seconds, running) = (*s, *r),
            (what, Some(zone)) => {
                if let Some(z) = zones.iter_mut().find(|z| z.zone == zone) {
                    z.tap(what);
                }
            }
            _ => {}
        }
    }
    Work {
        cautions: cautions::for_dog(file, today),
        planned_min: report.as_ref().map(|r| r.min),
        ten_more_min: report.and_then(|r| r.ten_more_min),
        zones,
        bearing,
        bearing_note: bearing_note(bearing).map(str::to_owned),
        ease,
        seconds,
        running,
        entries,
        visit,
        dog,
    }
}

/// What follows from how a dog bears the work; none while it is calm.
pub const fn bearing_note(bearing: Temper) -> Option<&'static str> {
    match bearing {
        Temper::Calm => None,
        Temper::Fidgets => Some("It fidgets: rests, tender zones last, and at most three quarters of each cap."),
        Temper::Objects => {
            Some("It objects: at most half of each cap, tender zones are left; stop before it turns into a fight.")
        }
    }
}

impl Desk {
    /// Keeps what was tapped at the table: each entry once, however often and in whatever order it comes.
    ///
    /// Entries are kept in every state of the visit; nothing that was tapped is lost because somebody finished first.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`] when there is no such visit; of the store: then nothing was kept, deliver again.
    pub async fn deliver(
        &self,
        who: &Who,
        visit: &RecordId,
        entries: Vec<(RecordId, EntryBody)>,
    ) -> Result<Delivered, ShopFailure> {
        let held: Held<VisitBody> = self.held(who, visit).await?;
        let mut out = Delivered { finished: held.body.state == VisitState::Done, ..Delivered::default() };
        let mut writes = Vec::new();
        for (id, body) in &entries {
            match entries::fault(body) {
                Some(said) => out.refused.push((id.clone(), said)),
                None if writes.iter().any(|w: &super::port::Write| w.id == *id) => {}
                None => writes.push(revision(id, Some(visit), None, 0, body)?),
            }
        }
        match self.write(who, &writes, &[]).await {
            Ok(()) => out.accepted.extend(writes.into_iter().map(|w| w.id)),
            // One of them has the id of something else: the others must not wait for it.
            Err(ShopFailure::Conflict { .. }) => {
                for write in writes {
                    match self.write(who, std::slice::from_ref(&write), &[]).await {
                        Ok(()) => out.accepted.push(write.id),
                        Err(ShopFailure::Conflict { .. }) => {
                            let said = Said::new("id", "the id belongs to another visit", "Make a new one.");
                            out.refused.push((write.id, said));
                        }
                        Err(other) => return Err(other),
                    }
                }
            }
            Err(other) => return Err(other),
        }
        Ok(out)
    }

    /// The work on a visit as it stands.
    ///
    /// # Errors
    /// [`ShopFailure::NotFound`].
    pub async fn work(&self, who: &Who, visit: &RecordId) -> Result<Work, ShopFailure> {
        let visit: Held<VisitBody> = self.held(who, visit).await?;
        let of = visit.of.clone().ok_or_else(|| ShopFailure::NotFound { kind: Kind::Dog, id: visit.id.clone() })?;
        let dog: Held<DogBody> = self.held(who, &of).await?;
        let house = self.house(who).await?.body;
        // Zones, caps and cautions do not need the history.
        let (file, _) = sheet::dog_file(&dog.body, &house, 1.0, &[]).map_err(ShopFailure::Refused)?;
        let day = Day::parse(&visit.body.day).unwrap_or(file.born);
        let entries = self.standing_entries(who, &visit.id).await?;
        Ok(played(visit, dog, &file, day, entries))
    }

    pub(super) async fn standing_entries(&self, who: &Who, visit: &RecordId) -> Result<Vec<Standing>, ShopFailure> {
        let records = self.store().of(&who.shop, Kind::Entry, visit).await.map_err(ShopFailure::Store)?;
        let mut read = Vec::with_capacity(records.len());
        for r in records {
            let body = Held::<EntryBody>::of(r.clone())?.body;
            read.push((r, body));
        }
        Ok(entries::in_order(&read))
    }
}
