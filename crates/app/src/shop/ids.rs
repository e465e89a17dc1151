//! Names of things in a shop. Made outside (`Fresh`), so that nothing here draws a random number.

use serde::{Deserialize, Serialize};
use std::fmt;

/// The longest id, characters.
pub const MOST_CHARS: usize = 40;

/// An id that is not one.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("id `{0}` is not 8 to 40 letters, digits or `-`")]
pub struct BadId(pub String);

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// Takes a text as an id.
            ///
            /// # Errors
            /// [`BadId`] unless it is 8 to 40 letters, digits or hyphens (ASCII).
            pub fn new(text: impl Into<String>) -> Result<Self, BadId> {
                let text = text.into();
                let fits = (8..=MOST_CHARS).contains(&text.len())
                    && text.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
                if fits { Ok($name(text)) } else { Err(BadId(text.chars().take(MOST_CHARS).collect())) }
            }

            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl TryFrom<String> for $name {
            type Error = BadId;
            fn try_from(text: String) -> Result<Self, BadId> {
                $name::new(text)
            }
        }

        impl From<$name> for String {
            fn from(id: $name) -> String {
                id.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )+};
}

ids! {
    /// A shop. Every row belongs to one.
    ShopId,
    /// A person who works there.
    PersonId,
    /// Any record of the shop: an owner, a dog, an event, a visit, an entry, a photo.
    RecordId,
}

/// Makes ids that nobody has used; random ones in the program, counted ones in tests.
pub trait Fresh: Send + Sync {
    /// The text of a new id, fit for [`RecordId::new`].
    fn text(&self) -> String;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_plain() {
        assert!(RecordId::new("0199f0c2-8a7e-7bb0-9c1d-000000000001").is_ok());
        for bad in ["", "short", "../../etc/passwd", "a b c d e f g", "ééééééééé", &"x".repeat(41)] {
            assert!(RecordId::new(bad).is_err(), "{bad}");
        }
        assert!(serde_json::from_str::<RecordId>("\"<script>\"").is_err());
    }
}
