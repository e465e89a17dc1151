//! Coats: all dogs, found as one types, by how their coats stand.

mod list;

use crate::access::SignedIn;
use crate::fault::Fault;
use crate::fields;
use crate::frame::Place;
use crate::state::State;
use app::shop::{Asked, Filter, RecordId};
use axum::Router;
use axum::routing::get;
use maud::{Markup, html};

pub(crate) fn routes() -> Router<State> {
    Router::new().route("/coats", get(page))
}

/// Dogs on a page of the list.
const PAGE: u32 = 50;

/// The filters: in the address, as spoken.
const FILTERS: [(&str, Filter, &str); 6] = [
    ("all", Filter::All, "All"),
    ("ready", Filter::ReadyThisWeek, "Ready this week"),
    ("past", Filter::PastItsDay, "Past their day"),
    ("rolling", Filter::Rolling, "Rolling"),
    ("hard", Filter::Hard, "Hard"),
    ("resting", Filter::Resting, "Resting"),
];

/// What the address asks for.
struct Wanted<'a> {
    words: &'a str,
    filter: (&'static str, Filter, &'static str),
    after: Option<(String, RecordId)>,
}

impl<'a> Wanted<'a> {
    fn of(asked: &'a fields::Fields) -> Self {
        let word = asked.text("filter");
        let filter = FILTERS.into_iter().find(|f| f.0 == word).unwrap_or(FILTERS[0]);
        let id = RecordId::new(asked.text("after")).ok();
        Wanted { words: asked.text("q"), filter, after: id.map(|id| (asked.raw("name").to_owned(), id)) }
    }

    /// The address of the first page with another filter.
    fn at(&self, filter: &str) -> String {
        let mut to = format!("/coats?filter={filter}");
        if !self.words.is_empty() {
            to.push_str("&q=");
            to.push_str(&crate::ui::coded(self.words));
        }
        to
    }
}

/// The page.
async fn page(
    axum::extract::State(state): axum::extract::State<State>,
    signed: SignedIn,
    fields::Asked(asked): fields::Asked,
) -> Result<Markup, Fault> {
    let wanted = Wanted::of(&asked);
    let ask = Asked {
        words: wanted.words.chars().take(200).collect(),
        filter: wanted.filter.1,
        after: wanted.after.clone(),
        most: PAGE,
    };
    let listed = state.desk().search(&signed.who, signed.today, &ask).await?;
    let main = html! {
        h1 { "Coats" }
        form.search method="get" action="/coats" role="search" {
            label.unseen for="q" { "Find dogs by name, owner, breed, chip or telephone" }
            input #q type="search" name="q" value=(wanted.words) placeholder="Dog, owner, breed, chip" autocomplete="off" maxlength="200"
                hx-get="/coats" hx-trigger="input changed delay:150ms, search" hx-target="#list" hx-select="#list"
                hx-swap="outerHTML" hx-replace-url="true" hx-include="#filter" hx-sync="this:replace";
            input #filter type="hidden" name="filter" value=(wanted.filter.0);
            button type="submit" { "Find" }
        }
        p { a.button href="/dogs/new" { "New dog" } }
        (list::list(&signed, &wanted, &listed))
    };
    Ok(signed.page(Some(Place::Coats), "Coats", &main))
}
