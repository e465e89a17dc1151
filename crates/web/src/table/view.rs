//! What the pages of the table show: plain values, made from the use cases' answers.

use app::shop::Entry;

/// Millimetres or inches, as the house says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lengths {
    pub(crate) inches: bool,
}

impl Lengths {
    /// A length for people.
    pub(crate) fn say(self, mm: f64) -> String {
        if self.inches { format!("{:.1} in", mm / 25.4) } else { format!("{mm:.0} mm") }
    }

    /// The unit's word.
    pub(crate) fn word(self) -> &'static str {
        if self.inches { "inches" } else { "mm" }
    }

    /// The letter before a form field's name that says how its number is read.
    pub(crate) fn letter(self) -> &'static str {
        if self.inches { "i" } else { "n" }
    }
}

/// One zone as the plan has it for this visit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ZoneView {
    /// Its word.
    pub(crate) zone: String,
    /// Its name as spoken.
    pub(crate) label: String,
    /// Works in order, with their kind of tool.
    pub(crate) works: Vec<String>,
    /// `1 in 5`, `all ripe` or `leave`.
    pub(crate) amount: String,
    /// Share of the visible hair.
    pub(crate) share: f64,
    /// Mean length of the hair to be taken, mm.
    pub(crate) layer_mm: Option<f64>,
    /// What to leave.
    pub(crate) leave: String,
    /// Minutes.
    pub(crate) work_min: f64,
    /// Why it is less than was planned.
    pub(crate) lowered: Option<String>,
    /// Why so much.
    pub(crate) reason: String,
    /// How the hair should feel.
    pub(crate) feel: Option<String>,
    /// Cautions.
    pub(crate) cautions: Vec<String>,
    /// What would be advised: bearing, amount, why it is less than was planned.
    pub(crate) advice: Vec<(&'static str, String, String)>,
}

impl ZoneView {
    /// There is something to do.
    pub(crate) fn is_worked(&self) -> bool {
        self.amount != "leave" || self.works.iter().any(|w| w != "look only")
    }
}

/// An entry that the shop has kept.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct KeptEntry {
    /// Its id.
    pub(crate) id: String,
    /// Its body as JSON, as the browser keeps it too.
    pub(crate) body: app::shop::EntryBody,
}

/// The work on one dog.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct WorkView {
    /// The shop.
    pub(crate) shop: String,
    /// The visit.
    pub(crate) visit: String,
    /// The dog.
    pub(crate) dog: String,
    /// The dog's name.
    pub(crate) name: String,
    /// Breed, owner: a line under the name.
    pub(crate) about: String,
    /// Day of the visit.
    pub(crate) day: String,
    /// Cautions for the whole dog.
    pub(crate) cautions: Vec<String>,
    /// The zones in working order.
    pub(crate) zones: Vec<ZoneView>,
    /// Entries that stand, in order.
    pub(crate) entries: Vec<KeptEntry>,
    /// Ids of all entries that the shop has, also of those taken back.
    pub(crate) known: Vec<String>,
    /// How the dog bears it.
    pub(crate) bearing: &'static str,
    /// What follows from each bearing.
    pub(crate) bearings: Vec<(&'static str, String)>,
    /// Units.
    pub(crate) lengths: Lengths,
    /// The zone that is open; for pages without script.
    pub(crate) open: Option<String>,
    /// Makes the entries of this page's forms ones of their own.
    pub(crate) once: String,
    /// Today, for date fields.
    pub(crate) today: String,
    /// The visit was finished: it can be re-opened.
    pub(crate) done: bool,
}

/// Which reading an entry sets; a later one of the same place replaces it.
pub(crate) fn place(what: &Entry) -> &'static str {
    match what {
        Entry::AsPlanned | Entry::Pulled { .. } | Entry::AllRipe | Entry::Left => "amount",
        Entry::LongestDepth { .. } | Entry::LongestMm { .. } => "longest",
        Entry::NewLayerDepth { .. } | Entry::NewLayerMm { .. } => "new_layer",
        Entry::Carded { .. } => "carded",
        Entry::Ease { .. } => "ease",
        Entry::NewHair { .. } => "new_hair",
        Entry::Feel { .. } => "feel",
        Entry::Cover { .. } => "cover",
        Entry::Bearing { .. } => "bearing",
        Entry::Tool { .. } => "tool",
        Entry::Clock { .. } => "clock",
        Entry::Skin { .. } | Entry::Product { .. } | Entry::Disinfected { .. } | Entry::Note { .. } => "more",
        Entry::Undo { .. } => "undo",
    }
}

/// An entry in words.
pub(crate) fn in_words(what: &Entry, lengths: Lengths) -> String {
    match what {
        Entry::AsPlanned => "as planned".into(),
        Entry::Pulled { share } => format!("{} pulled", one_in(*share)),
        Entry::AllRipe => "all that was ripe".into(),
        Entry::Left => "left".into(),
        Entry::Carded { yes } => if *yes { "carded" } else { "not carded" }.into(),
        Entry::Ease { ease } => format!("ease {ease}"),
        Entry::LongestDepth { depth } => format!("longest hair: comb depth {depth}"),
        Entry::LongestMm { mm } => format!("longest hair {}", lengths.say(*mm)),
        Entry::NewLayerDepth { depth } => format!("new layer: comb depth {depth}"),
        Entry::NewLayerMm { mm } => format!("new layer {}", lengths.say(*mm)),
        Entry::NewHair { yes } => if *yes { "new hair is through" } else { "no new hair yet" }.into(),
        Entry::Feel { feel } => format!("feels {feel}"),
        Entry::Cover { share } => format!("cover {:.0} %", 100.0 * share),
        Entry::Bearing { bearing } if bearing == "calm" => "is calm".into(),
        Entry::Bearing { bearing } => bearing.clone(),
        Entry::Tool { tool } => tool.clone(),
        Entry::Skin { note, .. } if note.is_empty() => "on the skin: something".into(),
        Entry::Skin { note, .. } => format!("on the skin: {note}"),
        Entry::Clock { seconds, running } => {
            format!("clock {} at {}:{:02}", if *running { "runs" } else { "stands" }, seconds / 60, seconds % 60)
        }
        Entry::Product { what, batch, opened } => {
            let or = |t: &str| if t.is_empty() { "not noted".to_owned() } else { t.to_owned() };
            format!("{what}, batch {}, opened {}", or(batch), or(opened))
        }
        Entry::Disinfected { agent, contact_min } => format!("tools into the {agent}, {contact_min} min"),
        Entry::Note { note } => note.clone(),
        Entry::Undo { .. } => "taken back".into(),
    }
}

/// A share as one says it.
pub(crate) fn one_in(share: f64) -> String {
    let n = (1.0 / share).round();
    if share > 0.0 && n <= 100.0 && (1.0 / n - share).abs() < 0.004 {
        format!("1 in {n:.0}")
    } else {
        format!("{:.0} %", 100.0 * share)
    }
}

/// The last entry of each place of a zone (none: the whole dog); those taken back are not among the entries.
pub(crate) fn standing<'a>(entries: &'a [KeptEntry], zone: Option<&str>) -> Vec<(&'static str, &'a KeptEntry)> {
    let mut out: Vec<(&'static str, &KeptEntry)> = Vec::new();
    for e in entries.iter().filter(|e| e.body.zone.as_deref() == zone) {
        match place(&e.body.what) {
            "undo" => {}
            "more" => out.push(("more", e)),
            p => match out.iter_mut().find(|o| o.0 == p) {
                Some(o) => o.1 = e,
                None => out.push((p, e)),
            },
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use app::shop::EntryBody;

    fn kept(n: usize, zone: Option<&str>, what: Entry) -> KeptEntry {
        let body =
            EntryBody { zone: zone.map(str::to_owned), count: n as i64, browser: "b".into(), browser_ms: 0, what };
        KeptEntry { id: format!("entry-{n:03}"), body }
    }

    #[test]
    fn later_replaces() {
        let all = [
            kept(1, Some("back"), Entry::AsPlanned),
            kept(2, Some("back"), Entry::Ease { ease: 4 }),
            kept(3, Some("back"), Entry::Pulled { share: 0.2 }),
            kept(4, Some("loin"), Entry::Left),
        ];
        let back = standing(&all, Some("back"));
        assert_eq!(
            back.iter().map(|(p, e)| (*p, e.id.as_str())).collect::<Vec<_>>(),
            [("amount", "entry-003"), ("ease", "entry-002")]
        );
        assert!(standing(&all, None).is_empty());
    }

    #[test]
    fn shares_are_said_as_a_hand_counts() {
        assert_eq!(
            [0.25, 0.1667, 0.05, 0.6, 1.0, 0.0].map(one_in),
            ["1 in 4", "1 in 6", "1 in 20", "60 %", "1 in 1", "0 %"]
        );
    }

    #[test]
    fn lengths_follow_the_house() {
        assert_eq!(Lengths { inches: false }.say(24.6), "25 mm");
        assert_eq!(Lengths { inches: true }.say(25.4), "1.0 in");
    }
}
