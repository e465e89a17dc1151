//! Reasons and findings in whole sentences, as one says them at the next table.

use coat::{Mode, ZoneSetup};
use plan::{Amount, Bar, Closed, PlannedZone, Term, Why};

fn percent(x: f64) -> String {
    format!("{:.0} %", 100.0 * x)
}

/// A cap as a hand means it.
fn cap_words(cap: f64) -> String {
    let words = ["two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    let whole = (2..).zip(words).find(|(n, _)| (1.0 / f64::from(*n) - cap).abs() < 1e-6);
    whole.map_or_else(|| format!("{} of what one sees", percent(cap)), |(_, word)| format!("one in {word}"))
}

/// An amount as one says it: what stops the hand comes with it.
pub(crate) fn amount(p: &PlannedZone) -> String {
    // Less is ripe than the step asks for, by more than one hair in two hundred.
    let short_of = |n: u8| p.share < 1.0 / f64::from(n) - 0.005;
    match p.amount {
        Amount::Leave => "leave".to_owned(),
        Amount::OneIn(n) if short_of(n) => format!("1 in {n}, as far as it is ripe"),
        Amount::OneIn(n) => format!("1 in {n}"),
        Amount::AllRipe if p.share < p.ripe - 1e-6 => {
            format!("ripe hair, up to {} of what one sees", percent(p.share))
        }
        Amount::AllRipe => "all that is ripe".to_owned(),
    }
}

/// The reason for an amount.
pub(crate) fn reason(setup: &ZoneSetup, p: &PlannedZone, hands_off: Option<String>, matters: Option<&str>) -> String {
    let floor = percent(setup.floor);
    let bare = percent(setup.floor - 0.15);
    match (p.amount, p.why) {
        (_, Why::Limit(Bar::Closed(Closed::NotWorked))) => "Bare skin or not worked: look only.".to_owned(),
        (_, Why::Limit(Bar::Closed(Closed::NotPulled))) => {
            "Nothing is pulled here; it is done at every visit, in the time that each visit needs.".to_owned()
        }
        (_, Why::Limit(Bar::Closed(Closed::HandsOff))) => {
            format!("Hands off until {}.", hands_off.unwrap_or_else(|| "it has healed".to_owned()))
        }
        (_, Why::Limit(Bar::Closed(Closed::Bare | Closed::Open))) => {
            format!("Cover is below {bare} already: let it grow.")
        }
        (Amount::Leave, Why::NothingRipe | Why::Limit(Bar::Pool)) => {
            "Not enough is ripe for even one hair in twenty.".to_owned()
        }
        (Amount::Leave, Why::Limit(Bar::Cap)) => {
            format!(
                "This zone's cap, {} of what one sees at a visit, is less than the smallest step.",
                percent(setup.cap)
            )
        }
        (Amount::AllRipe, Why::Limit(Bar::Cap)) => {
            format!("More is dead, but one visit takes no more than {} of what one sees here.", percent(setup.cap))
        }
        (Amount::AllRipe, Why::Limit(Bar::Bare)) => {
            format!("More is dead, but taking it would bring cover below {bare}, the bare limit.")
        }
        (Amount::AllRipe, _) => "Kept short: all that is dead comes out, the rest is firm.".to_owned(),
        (_, Why::NothingRipe | Why::Limit(Bar::Pool)) => "No more than this is ripe.".to_owned(),
        (_, Why::Limit(Bar::Cap)) => {
            format!("More is ripe, but one visit takes no more than {} here.", cap_words(setup.cap))
        }
        (Amount::Leave, Why::Limit(Bar::Bare)) => {
            format!("Taking any would bring cover below {bare}, the bare limit.")
        }
        (_, Why::Limit(Bar::Bare)) => format!("More would bring cover below {bare}, the bare limit."),
        (Amount::Leave, Why::Minutes) => "The table time is used up by zones where it counts for more.".to_owned(),
        (_, Why::Minutes) => "More would help, but the table time is used up.".to_owned(),
        (_, Why::Largest) => "The largest step there is.".to_owned(),
        (Amount::Leave, Why::Pays(Term::Cover)) => {
            format!("Taking any now would leave it thin later (cover below {floor}).")
        }
        (_, Why::Pays(Term::Cover)) => {
            format!("More would leave it thin before new hair is through (cover below {floor}).")
        }
        (Amount::Leave, Why::Pays(Term::Evenness)) => "What is ripe here is left to keep the layers even.".to_owned(),
        (_, Why::Pays(Term::Evenness)) => {
            "The step that evens the layers: more now would leave too little for the next visits.".to_owned()
        }
        (Amount::Leave, Why::Pays(Term::Outline)) => {
            format!("Left for the outline on {}.", matters.unwrap_or("the day that matters"))
        }
        (_, Why::Pays(Term::Outline)) => {
            format!("This much keeps the outline for {}.", matters.unwrap_or("the day that matters"))
        }
        (Amount::Leave, Why::Pays(Term::Ripe)) => {
            "What is ripe now is little; the next visit finds more and takes it in one go.".to_owned()
        }
        (_, Why::Pays(Term::Ripe)) if setup.mode == Mode::Layered => {
            "The next step would leave more dead hair at later visits than it takes now.".to_owned()
        }
        (_, Why::Pays(Term::Ripe)) => "The outline is kept: only the dead hair, a little at each visit.".to_owned(),
    }
}

/// A work with its kind of tool; on a puppy there are fingers, a soft comb, scissors and nothing else.
pub(crate) fn work(w: coat::Work, puppy: bool) -> String {
    let tool = match (puppy, w.verb) {
        (true, "pull") if w.tool.contains("knife") || w.tool.contains("cots") => "fingers",
        (true, "card") => "soft comb, lightly",
        _ => w.tool,
    };
    if tool.is_empty() { w.verb.to_owned() } else { format!("{} ({tool})", w.verb) }
}

/// What is left in a layered zone.
pub(crate) const YOUNGER: &str = "the younger layers";

/// What to leave in a zone: of the jacket the hair that is not taken.
pub(crate) fn leave(leave: &'static str) -> &'static str {
    if leave == "the jacket" { YOUNGER } else { leave }
}

/// A date's distance in weeks, in words.
pub(crate) fn weeks(days: i32) -> String {
    let w = f64::from(days) / 7.0;
    if days < 7 { format!("{days} days") } else { format!("{w:.0} weeks") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coat::{CoatType, Zone};

    fn planned(amount: Amount, share: f64, ripe: f64, why: Why) -> PlannedZone {
        PlannedZone { zone: Zone::Back, amount, share, ripe, min: 1.0, carded: false, why }
    }

    fn said(p: &PlannedZone) -> (String, String) {
        (amount(p), reason(&ZoneSetup::defaults(Zone::Back, CoatType::Wire), p, None, None))
    }

    /// What is said never names more than there is.
    #[test]
    fn an_amount_says_what_stops_it() {
        let pool = Why::Limit(Bar::Pool);
        let all = planned(Amount::AllRipe, 0.4, 0.4, pool);
        assert_eq!(said(&all).0, "all that is ripe");
        let capped = planned(Amount::AllRipe, 0.6, 0.8, Why::Limit(Bar::Cap));
        assert_eq!(said(&capped).0, "ripe hair, up to 60 % of what one sees");
        assert!(said(&capped).1.starts_with("More is dead"));
        let short = planned(Amount::OneIn(4), 0.22, 0.22, pool);
        assert_eq!(said(&short).0, "1 in 4, as far as it is ripe");
        assert_eq!(said(&short).1, "No more than this is ripe.");
        let whole = planned(Amount::OneIn(4), 0.25, 0.4, Why::Limit(Bar::Cap));
        assert_eq!(
            said(&whole),
            ("1 in 4".to_owned(), "More is ripe, but one visit takes no more than one in four here.".to_owned())
        );
    }

    #[test]
    fn caps_in_words() {
        assert_eq!(
            (cap_words(0.25), cap_words(0.1), cap_words(0.6)),
            ("one in four".into(), "one in ten".into(), "60 % of what one sees".into())
        );
    }
}
