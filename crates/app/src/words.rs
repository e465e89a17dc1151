//! Reasons and findings in whole sentences, as one says them at the next table.

use coat::{Mode, ZoneSetup};
use plan::{Amount, Bar, Closed, Term, Why};

/// The reason for an amount.
pub(crate) fn reason(setup: &ZoneSetup, amount: Amount, why: Why, hands_off: Option<String>) -> String {
    let percent = |x: f64| format!("{:.0} %", 100.0 * x);
    match (amount, why) {
        (_, Why::Limit(Bar::Closed(Closed::NotWorked))) => "Bare skin or not worked: look only.".to_owned(),
        (_, Why::Limit(Bar::Closed(Closed::HandsOff))) => {
            format!("Hands off until {}.", hands_off.unwrap_or_else(|| "it has healed".to_owned()))
        }
        (_, Why::Limit(Bar::Closed(Closed::Bare | Closed::Open))) => {
            format!("Cover is below {} already: let it grow.", percent(setup.floor - 0.15))
        }
        (Amount::Leave, Why::NothingRipe) => "Not enough is ripe for even one hair in twenty.".to_owned(),
        (Amount::AllRipe, _) => "Kept short: all that is dead comes out, the rest is firm.".to_owned(),
        (_, Why::NothingRipe | Why::Limit(Bar::Pool)) => "No more than this is ripe.".to_owned(),
        (_, Why::Limit(Bar::Cap)) => {
            format!("The most that one visit may take here is {} of what one sees.", percent(setup.cap))
        }
        (_, Why::Limit(Bar::Bare)) => {
            format!("More would bring cover below {}, the bare limit.", percent(setup.floor - 0.15))
        }
        (Amount::Leave, Why::Minutes) => "The table time is used up by zones where it counts for more.".to_owned(),
        (_, Why::Minutes) => "More would help, but the table time is used up.".to_owned(),
        (_, Why::Largest) => "The largest step there is.".to_owned(),
        (Amount::Leave, Why::Pays(Term::Cover)) => {
            format!("Taking any now would leave it thin later (cover below {}).", percent(setup.floor))
        }
        (_, Why::Pays(Term::Cover)) => {
            format!("More would leave it thin before new hair is through (cover below {}).", percent(setup.floor))
        }
        (Amount::Leave, Why::Pays(Term::Evenness)) => "What is ripe here is left to keep the layers even.".to_owned(),
        (_, Why::Pays(Term::Evenness)) => {
            "The step that evens the layers: more now would leave too little for the next visits.".to_owned()
        }
        (_, Why::Pays(Term::Outline)) => "This much keeps the outline for the day that matters.".to_owned(),
        (_, Why::Pays(Term::Ripe)) if setup.mode == Mode::Layered => {
            "The next step would leave more dead hair at later visits than it takes now.".to_owned()
        }
        (_, Why::Pays(Term::Ripe)) => "The outline is kept: only the dead hair, a little at each visit.".to_owned(),
    }
}

/// The reason where more is ripe than one visit may take.
pub(crate) fn capped(share: f64) -> String {
    format!(
        "Kept short: the dead hair comes out, the longest first, but today no more than {:.0} % of what one sees.",
        100.0 * share
    )
}

/// A date's distance in weeks, in words.
pub(crate) fn weeks(days: i32) -> String {
    let w = f64::from(days) / 7.0;
    if days < 7 { format!("{days} days") } else { format!("{w:.0} weeks") }
}
