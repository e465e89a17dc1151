//! The shop in the browser: routes, handlers, pages and static files. Knows no SQL.
//!
//! Pages are made on the server and work without script where they can. Everything they do goes through the use cases
//! of `app::shop`. The time and the day come from a [`Clock`]; nothing here reads one.

mod access;
mod assets;
mod clock;
mod coats;
mod common;
mod conflict;
mod dog;
mod door;
mod fault;
mod fields;
mod frame;
mod guard;
mod house;
mod limits;
mod new_dog;
mod packed;
mod password;
mod people;
mod photo;
mod reckoner;
mod state;
mod table;
mod ui;
mod words;

pub use clock::Clock;
pub use door::FoundingCode;
pub use limits::{ABSOLUTE_MS, IDLE_MS};
pub use password::hash_of as password_hash;
pub use reckoner::keep_reckoned;
pub use state::{Entrance, Parts, State};

use axum::Router;

/// The whole site.
pub fn app(state: State) -> Router {
    let places = Router::new()
        .merge(door::routes())
        .merge(coats::routes())
        .merge(dog::routes())
        .merge(new_dog::routes())
        .merge(people::routes())
        .merge(house::routes())
        .merge(frame::routes())
        .merge(table::routes())
        .merge(photo::routes());
    guard::around(places, state.entrance()).with_state(state).merge(assets::routes()).merge(table::files::routes())
}
