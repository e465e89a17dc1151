//! How a dog bears the work lowers how much is taken: `common practice`, the shares are ours.
//!
//! - *calm*: as planned;
//! - *fidgets*: at most three quarters of each zone's cap;
//! - *objects*: at most half of each zone's cap, and tender zones are left.
//!
//! It holds from the tap on for zones that are still open, and the last bearing of a visit lowers the caps of the plans
//! that follow until another visit is finished.

use crate::dog_file::{DogFile, Temper, ZoneSettings};
use coat::{Mode, Zone};

/// What a bearing leaves of a cap.
pub(super) fn factor(bearing: Temper) -> f64 {
    match bearing {
        Temper::Calm => 1.0,
        Temper::Fidgets => 0.75,
        Temper::Objects => 0.5,
    }
}

/// Lowers the caps of a file; says so in a sentence, none where nothing is lowered.
pub(super) fn lower(file: &mut DogFile, bearing: Temper) -> Option<String> {
    if bearing == Temper::Calm {
        return None;
    }
    for zone in Zone::ALL {
        let at = file.zones.iter().position(|z| z.zone == zone);
        let own = at.and_then(|i| file.zones.get(i));
        let mode = own.and_then(|z| z.mode).unwrap_or(zone.defaults().mode);
        if mode == Mode::Never {
            continue;
        }
        let cap = own.and_then(|z| z.cap).unwrap_or(file.groomer.caps.of(mode)) * factor(bearing);
        match at {
            Some(i) => file.zones[i].cap = Some(cap),
            None => file.zones.push(ZoneSettings { cap: Some(cap), ..ZoneSettings::bare(zone) }),
        }
    }
    Some(match bearing {
        Temper::Objects => "It objected at its last visit: each zone's cap is halved until a visit goes better.".into(),
        _ => "It fidgeted at its last visit: each zone's cap is lowered by a quarter until a visit goes better.".into(),
    })
}
