//! Who is at the other end: sessions, cookies, addresses, and how often one may try.

mod session;
mod tries;

pub(crate) use session::{SignedIn, begin, drop_cookie, hash_of, look, random_token, set_look};
pub(crate) use tries::{Tries, Wait};

use crate::fault::Fault;
use crate::state::{Entrance, State};
use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::request::Parts;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};

/// Where a visitor comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Address(pub(crate) Option<IpAddr>);

impl Address {
    /// The visitor sits at this machine.
    pub(crate) fn is_here(self) -> bool {
        self.0.is_some_and(|ip| ip.is_loopback())
    }

    /// What attempts are counted by: one network of IPv6 is one visitor (a /64, as providers hand them out).
    pub(crate) fn counted(self) -> Self {
        Address(self.0.map(|ip| match ip {
            IpAddr::V6(v6) => IpAddr::V6(Ipv6Addr::from_bits(v6.to_bits() & !u128::from(u64::MAX))),
            v4 => v4,
        }))
    }
}

impl FromRequestParts<State> for Address {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, state: &State) -> Result<Self, Fault> {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|c| c.0.ip().to_canonical());
        if state.entrance() != Entrance::BehindProxy {
            return Ok(Address(peer));
        }
        // The proxy next to us wrote the last of them; those before it are what the visitor claims.
        let told = parts.headers.get_all("x-forwarded-for").iter().next_back();
        let told = told.and_then(|v| v.to_str().ok()).and_then(|v| v.rsplit(',').next());
        let told = told.and_then(|v| v.trim().parse::<IpAddr>().ok()).map(|ip| ip.to_canonical());
        Ok(Address(told.filter(|ip| !ip.is_loopback())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_in_a_network_are_one_visitor() {
        let at = |text: &str| Address(text.parse().ok()).counted();
        assert_eq!(at("2001:db8:1:2::3"), at("2001:db8:1:2:ffff::9"));
        assert_ne!(at("2001:db8:1:2::3"), at("2001:db8:1:3::3"));
        assert_ne!(at("192.0.2.1"), at("192.0.2.2"));
        assert!(at("127.0.0.1").is_here() && !at("192.0.2.1").is_here() && !Address(None).is_here());
    }
}
