//! Passwords that others try first. The list is kept as hashes; `tools/common-passwords.py` says what it was made from.

use app::shop::fold;
use sha2::{Digest, Sha256};

/// The first eight bytes of the SHA-256 of each password, sorted.
static LIST: &[u8] = include_bytes!("../assets/common-passwords.bin");

/// Rows of digits, letters and keys.
const RUNS: [&str; 6] = [
    "01234567890123456789",
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm",
];

/// Whether the password is common, one pattern repeated, a run of keys, or one of the names of this shop and a few
/// more characters.
pub(crate) fn is_common(password: &str, names: &[&str]) -> bool {
    let lower = password.to_lowercase();
    let bare: String = lower.trim_end_matches(|c: char| !c.is_alphabetic()).to_owned();
    listed(&lower) || listed(&bare) || repeated(&lower) || is_run(&lower) || names.iter().any(|n| is_name(&lower, n))
}

fn listed(lower: &str) -> bool {
    let hash = Sha256::digest(lower.as_bytes());
    let (entries, _) = LIST.as_chunks::<8>();
    entries.binary_search_by(|e| e.as_slice().cmp(&hash[..8])).is_ok()
}

/// `abababab`, `aaaaaaaa`, `passwordpassword`: a piece over and over.
fn repeated(lower: &str) -> bool {
    let chars: Vec<char> = lower.chars().collect();
    (1..=chars.len() / 2).any(|n| chars.iter().enumerate().all(|(i, c)| *c == chars[i % n]))
}

/// The whole is one stretch of a row, forwards or backwards.
fn is_run(lower: &str) -> bool {
    let back: String = lower.chars().rev().collect();
    RUNS.iter().any(|r| r.contains(lower) || r.contains(&back))
}

/// A name of the shop or the person, with less than six other characters around it.
fn is_name(lower: &str, name: &str) -> bool {
    let plain = |t: &str| fold(t).replace(' ', "");
    let (password, name) = (plain(lower), plain(name));
    name.len() >= 3 && password.contains(&name) && password.chars().count() < name.chars().count() + 6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_others_try_first() {
        for bad in [
            "password",
            "PassWord1",
            "iloveyou",
            "sunshine!!",
            "qwertyuiop",
            "87654321",
            "abcdefgh",
            "hahahahaha",
            "passwordpassword",
        ] {
            assert!(is_common(bad, &[]), "{bad}");
        }
        for good in ["w1re-c0at", "hard hair rolls well", "correct horse battery staple", "tbjnqxkw"] {
            assert!(!is_common(good, &[]), "{good}");
        }
        assert!(is_common("Thistle2026", &["The Wiry End", "Thistle"]));
        assert!(!is_common("thistle on the back step", &["Thistle"]));
    }

    #[test]
    fn the_list_is_sorted_and_whole() {
        let (entries, rest) = LIST.as_chunks::<8>();
        assert!(rest.is_empty() && entries.len() > 8000);
        assert!(entries.windows(2).all(|w| w[0] < w[1]));
    }
}
