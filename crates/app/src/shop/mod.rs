//! The shop: its dogs, owners, people, visits and photos, and what is done with them.
//!
//! Everything the pages do goes through here, so that another way in (an interface for programs, the command line)
//! can follow. Knows no database, no page and no clock: the store is a port, the time comes in with [`Who`].
//!
//! [`Desk`] is where things are asked for; the rest is what it takes and gives.

mod bands;
mod bearing;
mod changes;
mod checks;
mod chip;
mod coat_at;
mod days;
pub mod demo;
mod desk;
mod dogs;
mod entries;
mod failure;
mod finish;
mod fold;
mod heavy;
mod history;
mod house;
mod ids;
mod learned;
mod made;
mod memo;
mod money;
mod owners;
mod paces;
mod phone;
mod photos;
mod plan;
mod port;
mod reckon;
mod records;
mod sheet;
mod take_in;
mod taught;
mod tried;
mod work;

pub use changes::Change;
pub use checks::{MOST_NAME, MOST_NOTE};
pub use chip::{chip_digits, chip_fault};
pub use coat_at::CoatAt;
pub use days::{TableLine, state_word};
pub use desk::Desk;
pub use dogs::{Asked, DogCard, Listed, MOST_FOUND};
pub use entries::Standing as StandingEntry;
pub use failure::{Held, Said, Saved, ShopFailure};
pub use finish::{Finished, Leftover, Proposed};
pub use fold::fold;
pub use history::{Correction, Standing};
pub use house::{Founded, Founding};
pub use ids::{BadId, Fresh, PersonId, RecordId, ShopId};
pub use learned::RestsOn;
pub use money::decimals;
pub use owners::{CONSENTS, OwnerCard};
pub use paces::{Minutes, Times};
pub use phone::{Phone, phone};
pub use photos::{MEDIA, POSES};
pub use plan::{Changes, Planned};
pub use port::{Credential, Filter, Found, Kind, Record, Search, Session, Store, StoreError, Who, Write};
pub use reckon::{Reckoned, reckoned};
pub use records::*;
pub use take_in::{LookedOver, Newcomer, Whose};
pub use taught::Taught;
pub use tried::Tried;
pub use work::{Advised, Delivered, Work, WorkZone, ZoneState, bearing_note};
