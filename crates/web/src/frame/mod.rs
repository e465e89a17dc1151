//! What stands on every page: head, places, foot, light and dark.

mod look;

pub(crate) use look::{Look, routes};

use crate::access::SignedIn;
use crate::assets;
use crate::fault::Told;
use maud::{DOCTYPE, Markup, html};

/// The main places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// The dogs of the day, and the work.
    Table,
    /// All dogs.
    Coats,
    /// Owners and colleagues.
    People,
    /// Settings.
    House,
}

impl Place {
    const ALL: [Place; 4] = [Place::Table, Place::Coats, Place::People, Place::House];

    const fn word(self) -> &'static str {
        match self {
            Place::Table => "Table",
            Place::Coats => "Coats",
            Place::People => "People",
            Place::House => "House",
        }
    }

    const fn at(self) -> &'static str {
        match self {
            Place::Table => "/table",
            Place::Coats => "/coats",
            Place::People => "/people",
            Place::House => "/house",
        }
    }
}

fn head(title: &str, look: Look, header: &Markup, main: &Markup, foot: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" data-look=(look.word()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(look.scheme());
                // The library may add no style of its own and run no text as script: the policy forbids both.
                meta name="htmx-config" content=r#"{"includeIndicatorStyles":false,"allowEval":false,"allowScriptTags":false,"attributesToSettle":[],"historyCacheSize":0,"refreshOnHistoryMiss":true}"#;
                title { (title) " · Coatwright" }
                link rel="icon" href=(assets::ICON.at()) type="image/svg+xml";
                link rel="stylesheet" href=(assets::STYLE.at());
                script src=(assets::HTMX.at()) defer {}
                script src=(assets::SCRIPT.at()) defer {}
            }
            body {
                a.skip href="#main" { "Skip to the page" }
                (header)
                main #main tabindex="-1" { (main) }
                (foot)
            }
        }
    }
}

impl SignedIn {
    /// A page of the shop; `place` is none where it belongs to no main place.
    pub(crate) fn page(&self, place: Option<Place>, title: &str, main: &Markup) -> Markup {
        let header = html! {
            header.top {
                p.shop { a href="/" { (self.house.name) } }
                nav aria-label="Places" {
                    ul {
                        @for p in Place::ALL {
                            li { a href=(p.at()) aria-current=[(place == Some(p)).then_some("page")] { (p.word()) } }
                        }
                    }
                }
                @if self.house.demo {
                    p.invented { "Everything in this shop is invented, and thrown away when the program ends." }
                }
            }
        };
        let foot = html! {
            footer.foot {
                p { a href="/you" { (self.person.name) } }
                form method="post" action="/sign-out" { button.plain type="submit" { "Sign out" } }
                (look::choice(self.look))
            }
        };
        self.dates().in_page(head(title, self.look, &header, main, &foot))
    }
}

/// A page for somebody who is not signed in.
pub(crate) fn outside(look: Look, title: &str, main: &Markup) -> Markup {
    let header = html! { header.top { p.shop { a href="/" { "Coatwright" } } } };
    let foot = html! { footer.foot { (look::choice(look)) } };
    head(title, look, &header, main, &foot)
}

/// The page of a fault.
pub(crate) fn fault(look: Look, told: &Told) -> Markup {
    let title = match told.status.as_u16() {
        403 => "Not allowed",
        404 => "Nothing here",
        405 => "Not like this",
        413 => "Too much",
        415 => "Another kind",
        503 => "A moment, please",
        400..=499 => "That cannot be read",
        _ => "Something broke",
    };
    let main = html! {
        h1 { (title) }
        p { (told.text) }
        @if let Some(reference) = &told.reference {
            p { "If it happens again, tell whoever looks after the program this reference: " strong.reference { (reference) } }
        }
        p { a href="/" { "Back to the shop" } }
    };
    outside(look, title, &main)
}
