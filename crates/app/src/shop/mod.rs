//! The shop: its dogs, owners, people, visits and photos, and what is done with them.
//!
//! Everything the pages do goes through here, so that another way in (an interface for programs, the command line)
//! can follow. Knows no database, no page and no clock: the store is a port, the time comes in with [`Who`].

mod ids;
mod port;
mod records;

pub use ids::{BadId, Fresh, PersonId, RecordId, ShopId};
pub use port::{Credential, Filter, Found, Kind, Record, Search, Session, Store, StoreError, Who, Write};
pub use records::*;
