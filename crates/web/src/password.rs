//! Passwords: what is asked of them, and their hashes. Argon2id with the crate's defaults (19 MiB, 2 passes, 1 lane:
//! the first choice of OWASP's password storage sheet, from memory).

use crate::common;
use crate::fault::Fault;
use crate::limits::{PASSWORD_CHARS, PASSWORD_MOST_CHARS, SHORT_PASSWORD_CHARS};
use crate::state::State;
use argon2::Argon2;
use argon2::password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash};
use std::sync::LazyLock;

/// What is wrong with a password, in whole sentences; none when it will do.
pub(crate) fn refused(password: &str, short_allowed: bool, names: &[&str]) -> Option<String> {
    let chars = password.chars().count();
    let least = if short_allowed { SHORT_PASSWORD_CHARS } else { PASSWORD_CHARS };
    if chars < least {
        return Some(format!(
            "The password has {chars} characters and needs {least} or more. A sentence is easy to remember."
        ));
    }
    if chars > PASSWORD_MOST_CHARS {
        return Some(format!(
            "The password has {chars} characters; the longest that is taken has {PASSWORD_MOST_CHARS}."
        ));
    }
    common::is_common(password, names).then(|| {
        "This password is one of the first that others try: a common one, a name of this shop, or one pattern repeated. \
         Choose another."
            .to_owned()
    })
}

/// The rule, for people.
pub(crate) fn rule(short_allowed: bool) -> String {
    let least = if short_allowed { SHORT_PASSWORD_CHARS } else { PASSWORD_CHARS };
    format!(
        "At least {least} characters; anything goes, blanks too. A few words in a row are easy to remember. \
         Pasting from a password keeper works."
    )
}

/// A hash that no password has, so that a name nobody has takes as long as one that somebody has.
static NOBODY: LazyLock<String> =
    LazyLock::new(|| hash_of("no password hashes to this, for the salt is its own").unwrap_or_default());

/// The hash of a password, PHC form.
///
/// # Errors
/// The library's words when the machine has no randomness or no memory for it.
pub fn hash_of(password: &str) -> Result<String, String> {
    Argon2::default().hash_password(password.as_bytes()).map(|h| h.to_string()).map_err(|e| e.to_string())
}

/// Runs on a thread for waiting, few at a time; more than can wait are turned away.
async fn aside<T: Send + 'static>(state: &State, work: impl FnOnce() -> T + Send + 'static) -> Result<T, Fault> {
    let _waits = state.0.waiting.try_acquire().map_err(|_| Fault::Busy)?;
    let _works = state.0.hashes.acquire().await.map_err(|e| Fault::Broken(e.to_string()))?;
    tokio::task::spawn_blocking(work).await.map_err(|e| Fault::Broken(e.to_string()))
}

/// The hash of a password, PHC form.
pub(crate) async fn hash(state: &State, password: &str) -> Result<String, Fault> {
    let password = password.to_owned();
    aside(state, move || hash_of(&password)).await?.map_err(Fault::Broken)
}

/// Whether the password has this hash; without a hash it never does, and takes as long.
pub(crate) async fn fits(state: &State, password: &str, hash: Option<&str>) -> Result<bool, Fault> {
    if password.chars().count() > PASSWORD_MOST_CHARS {
        return Ok(false);
    }
    let (password, hash) = (password.to_owned(), hash.map(str::to_owned));
    aside(state, move || {
        let against = hash.as_deref().unwrap_or(NOBODY.as_str());
        let right = PasswordHash::new(against)
            .is_ok_and(|h| Argon2::default().verify_password(password.as_bytes(), &h).is_ok());
        right && hash.is_some()
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn length_and_commonness() {
        assert!(refused("fourteen chars", false, &[]).unwrap().contains("14"));
        assert_eq!(refused("hard hair rolls well", false, &[]), None);
        assert_eq!(refused("žluťoučký kůň ú", false, &[]), None, "fifteen characters, more bytes");
        assert!(refused("w1re-c0", true, &[]).is_some());
        assert_eq!(refused("w1re-c0at", true, &[]), None);
        assert!(refused("password", true, &[]).is_some());
        assert!(refused(&"long".repeat(100), false, &[]).unwrap().contains("256"));
    }

    #[test]
    fn hashes_are_argon2id_with_their_own_salt() {
        let (a, b) = (hash_of("hard hair rolls well").unwrap(), hash_of("hard hair rolls well").unwrap());
        assert!(a.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{a}");
        assert_ne!(a, b);
    }
}
