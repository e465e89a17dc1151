//! Failed sign-ins, counted by name and by address over a moving quarter of an hour. In memory: a restart forgives.

use super::Address;
use crate::limits::{TRIES_ADDRESS, TRIES_NAME, TRIES_PAIR, WINDOW_MS};
use std::collections::HashMap;
use std::hash::Hash;

/// Above so many entries no further one is counted until old ones are forgotten.
const MOST: usize = 20_000;

/// Too many tries; how long to wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Wait {
    pub(crate) minutes: i64,
}

/// Failed tries.
#[derive(Default)]
pub(crate) struct Tries {
    swept_ms: i64,
    pairs: HashMap<(String, Address), Vec<i64>>,
    addresses: HashMap<Address, Vec<i64>>,
    names: HashMap<String, Vec<i64>>,
}

impl Tries {
    /// Counts a try before it is made, so that many at once do not slip through; says when there were too many.
    pub(crate) fn begin(&mut self, name: &str, address: Address, now_ms: i64) -> Result<(), Wait> {
        let address = address.counted();
        let pair = (name.to_owned(), address);
        self.sweep(now_ms);
        let held = [
            held(&mut self.pairs, &pair, TRIES_PAIR, now_ms),
            held(&mut self.addresses, &address, TRIES_ADDRESS, now_ms),
            held(&mut self.names, &pair.0, TRIES_NAME, now_ms),
        ];
        if let Some(until_ms) = held.into_iter().flatten().max() {
            return Err(Wait { minutes: ((until_ms - now_ms + 59_999) / 60_000).max(1) });
        }
        note(&mut self.names, pair.0.clone(), now_ms);
        note(&mut self.pairs, pair, now_ms);
        note(&mut self.addresses, address, now_ms);
        Ok(())
    }

    /// Forgets what is old, once a minute: a flood of names costs each of them no more than its own entry.
    fn sweep(&mut self, now_ms: i64) {
        if (0..60_000).contains(&(now_ms - self.swept_ms)) {
            return;
        }
        self.swept_ms = now_ms;
        let fresh = |times: &Vec<i64>| times.last().is_some_and(|t| now_ms - t < WINDOW_MS);
        self.pairs.retain(|_, t| fresh(t));
        self.addresses.retain(|_, t| fresh(t));
        self.names.retain(|_, t| fresh(t));
    }

    /// The try was right: what was counted for this name from this address is forgotten.
    pub(crate) fn right(&mut self, name: &str, address: Address) {
        let address = address.counted();
        let counted = self.pairs.remove(&(name.to_owned(), address)).map_or(0, |v| v.len());
        for times in [self.addresses.get_mut(&address), self.names.get_mut(name)].into_iter().flatten() {
            times.truncate(times.len().saturating_sub(counted));
        }
    }
}

/// Until when no try is allowed; none when one is.
fn held<K: Eq + Hash>(map: &mut HashMap<K, Vec<i64>>, key: &K, most: usize, now_ms: i64) -> Option<i64> {
    let times = map.get_mut(key)?;
    times.retain(|t| now_ms - t < WINDOW_MS);
    let first = times.len().checked_sub(most)?;
    times.get(first).map(|t| t + WINDOW_MS)
}

fn note<K: Eq + Hash>(map: &mut HashMap<K, Vec<i64>>, key: K, now_ms: i64) {
    if map.len() < MOST || map.contains_key(&key) {
        map.entry(key).or_default().push(now_ms);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Address {
        Address(text.parse().ok())
    }

    #[test]
    fn five_for_a_name_from_an_address_then_a_wait() {
        let (mut t, here) = (Tries::default(), at("192.0.2.1"));
        for k in 0..5 {
            assert_eq!(t.begin("ada", here, k * 1000), Ok(()));
        }
        assert_eq!(t.begin("ada", here, 5000), Err(Wait { minutes: 15 }));
        assert_eq!(t.begin("ada", at("192.0.2.2"), 5000), Ok(()), "elsewhere the person still gets in");
        assert_eq!(t.begin("ada", here, WINDOW_MS), Ok(()), "the first is forgotten after a quarter of an hour");
        assert!(t.begin("ada", here, WINDOW_MS).is_err());
        t.right("ada", here);
        assert_eq!(t.begin("ada", here, WINDOW_MS), Ok(()));
    }

    #[test]
    fn many_names_from_one_address_and_one_name_from_many() {
        let mut t = Tries::default();
        for k in 0..TRIES_ADDRESS {
            assert_eq!(t.begin(&format!("name {k}"), at("192.0.2.1"), 0), Ok(()));
        }
        assert!(t.begin("another", at("192.0.2.1"), 0).is_err());
        for k in 0..TRIES_NAME {
            assert_eq!(t.begin("ada", at(&format!("198.51.100.{k}")), 0), Ok(()));
        }
        assert!(t.begin("ada", at("203.0.113.9"), 0).is_err());
    }

    #[test]
    fn a_flood_does_not_fill_the_memory() {
        let mut t = Tries::default();
        for k in 0..(2 * MOST) {
            let _ = t.begin(&format!("n{k}"), Address(Some(std::net::Ipv4Addr::from(k as u32).into())), 0);
        }
        assert!(t.pairs.len() <= MOST && t.names.len() <= MOST && t.addresses.len() <= MOST);
    }
}
