//! How long, how much, how often: the limits of the site in one place. House shows those that people meet.

/// A session that nobody used for so long has ended: 12 hours.
pub const IDLE_MS: i64 = 12 * 60 * 60 * 1000;
/// A session has ended so long after it began, used or not: 14 days.
pub const ABSOLUTE_MS: i64 = 14 * 24 * 60 * 60 * 1000;
/// The use of a session is noted at most so often, so that reading pages does not write: a minute.
pub(crate) const TOUCH_MS: i64 = 60 * 1000;

/// Failed sign-ins are counted over a quarter of an hour.
pub(crate) const WINDOW_MS: i64 = 15 * 60 * 1000;
/// So many may fail for one name from one address.
pub(crate) const TRIES_PAIR: usize = 5;
/// So many may fail from one address.
pub(crate) const TRIES_ADDRESS: usize = 20;
/// So many may fail for one name, wherever they come from. Well above a person's own, so that a stranger who
/// guesses does not easily keep the person out.
pub(crate) const TRIES_NAME: usize = 60;

/// Password hashes worked out at the same time: each takes 19 MiB and a core for tens of milliseconds.
pub(crate) const HASHES_AT_ONCE: usize = 2;
/// Sign-ins that wait for their hash; more are asked to come back.
pub(crate) const HASHES_WAITING: usize = 32;

/// A form's body, bytes. Photos have a limit of their own.
pub(crate) const FORM_BYTES: usize = 256 * 1024;
/// Fields of a form.
pub(crate) const FORM_FIELDS: usize = 2000;

/// Shortest password, characters.
pub(crate) const PASSWORD_CHARS: usize = 15;
/// Shortest password where common ones are refused, characters.
pub(crate) const SHORT_PASSWORD_CHARS: usize = 8;
/// Longest password, characters: long enough for any sentence, short enough to be hashed.
pub(crate) const PASSWORD_MOST_CHARS: usize = 256;
