//! What every request can reach.

use crate::live::Live;
use crate::tokens::Keys;
use acts::Acts;
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::num::NonZeroU32;

/// The parts of the server that handlers use.
#[derive(Debug)]
pub struct Parts {
    /// What people do.
    pub acts: Acts,
    /// For tokens.
    pub keys: Keys,
    /// Tries to sign in, by e-mail and network address together.
    pub tries_by_name: DefaultKeyedRateLimiter<String>,
    /// Tries to sign in, by e-mail address, from wherever they come.
    pub tries_by_name_everywhere: DefaultKeyedRateLimiter<String>,
    /// Tries to sign in or to open a link, by network address.
    pub tries_by_address: DefaultKeyedRateLimiter<String>,
    /// Live events.
    pub live: Live,
}

impl Parts {
    /// Forgets who has not tried for a while, so that the limits hold no more than a minute's names.
    pub fn forget_old_tries(&self) {
        for limit in [&self.tries_by_name, &self.tries_by_name_everywhere, &self.tries_by_address] {
            limit.retain_recent();
        }
    }
}

fn a_minute(count: u32) -> Quota {
    Quota::per_minute(NonZeroU32::new(count).unwrap_or(NonZeroU32::MIN))
}

impl Parts {
    /// The parts, with the usual limits: ten tries a minute for a name from one address, a hundred for a
    /// name from all, two hundred for an address.
    #[must_use]
    pub fn new(acts: Acts, keys: Keys, live: Live) -> Self {
        Self {
            acts,
            keys,
            tries_by_name: RateLimiter::keyed(a_minute(10)),
            tries_by_name_everywhere: RateLimiter::keyed(a_minute(100)),
            tries_by_address: RateLimiter::keyed(a_minute(200)),
            live,
        }
    }
}
