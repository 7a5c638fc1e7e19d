//! What every request can reach.

use crate::live::Live;
use crate::tokens::Keys;
use acts::Acts;
use actix_web::HttpRequest;
use actix_web::http::header::HeaderName;
use actix_web::web::Data;
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::collections::HashSet;
use std::num::NonZeroU32;
use std::time::Duration;
use tokio::sync::watch;
use uuid::Uuid;

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
    /// Asking for a new password, by e-mail and network address together.
    pub resets_by_name: DefaultKeyedRateLimiter<String>,
    /// Asking for a new password, by e-mail address, from wherever it is asked.
    pub resets_by_name_everywhere: DefaultKeyedRateLimiter<String>,
    /// Live events.
    pub live: Live,
    /// After so many days without coming back somebody signs in again.
    pub renewal_days: i32,
    /// The folder on this machine where letters are laid while no mail server is set up.
    pub mailbox_folder: Option<String>,
    /// How many web servers stand in front, each of which adds to `X-Forwarded-For` whom it serves.
    pub proxies: usize,
    /// Sessions that ended while an access token of theirs may still be good. Streams watch it.
    ended: watch::Sender<HashSet<Uuid>>,
    /// One look at a time: an earlier one must not overwrite what a later one saw.
    looking: tokio::sync::Mutex<()>,
}

impl Parts {
    /// Forgets who has not tried for a while, so that the limits hold no more names than they count.
    pub fn forget_old_tries(&self) {
        for limit in [
            &self.tries_by_name,
            &self.tries_by_name_everywhere,
            &self.tries_by_address,
            &self.resets_by_name,
            &self.resets_by_name_everywhere,
        ] {
            limit.retain_recent();
        }
    }
}

const FORWARDED_FOR: HeaderName = HeaderName::from_static("x-forwarded-for");

fn a_minute(count: u32) -> Quota {
    Quota::per_minute(NonZeroU32::new(count).unwrap_or(NonZeroU32::MIN))
}

fn an_hour(count: u32) -> Quota {
    Quota::per_hour(NonZeroU32::new(count).unwrap_or(NonZeroU32::MIN))
}

impl Parts {
    /// The parts, with the usual limits: ten tries a minute for a name from one address, a hundred for a
    /// name from all, two hundred for an address; a new password is asked for three times an hour for a
    /// name from one address, ten times from all.
    #[must_use]
    pub fn new(acts: Acts, keys: Keys, live: Live) -> Self {
        Self {
            acts,
            keys,
            tries_by_name: RateLimiter::keyed(a_minute(10)),
            tries_by_name_everywhere: RateLimiter::keyed(a_minute(100)),
            tries_by_address: RateLimiter::keyed(a_minute(200)),
            resets_by_name: RateLimiter::keyed(an_hour(3)),
            resets_by_name_everywhere: RateLimiter::keyed(an_hour(10)),
            live,
            renewal_days: 14,
            mailbox_folder: None,
            proxies: 0,
            ended: watch::Sender::default(),
            looking: tokio::sync::Mutex::default(),
        }
    }

    /// Whether this session was ended, as known here; another process hears of it within a second.
    #[must_use]
    pub fn is_ended(&self, session: Uuid) -> bool {
        self.ended.borrow().contains(&session)
    }

    /// The sessions that ended of late, for whoever has to hang up on one of them.
    #[must_use]
    pub fn endings(&self) -> watch::Receiver<HashSet<Uuid>> {
        self.ended.subscribe()
    }

    /// Looks which sessions ended of late.
    ///
    /// # Errors
    /// When the database refuses; what was known stays known.
    pub async fn look_for_ended(&self) -> Result<(), store::Error> {
        let _alone = self.looking.lock().await;
        let found = self.acts.sessions_ended_of_late().await?;
        self.ended.send_if_modified(|known| {
            let is_news = *known != found;
            *known = found;
            is_news
        });
        Ok(())
    }

    /// The network address that a request came from. With web servers in front it is the one that
    /// the first of them saw; what stands further left anybody may have written.
    #[must_use]
    pub fn address_of(&self, request: &HttpRequest) -> String {
        let peer = request.peer_addr().map(|a| a.ip().to_string()).unwrap_or_default();
        if self.proxies == 0 {
            return peer;
        }
        let named: Vec<String> = request
            .headers()
            .get_all(FORWARDED_FOR)
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split(','))
            .map(|address| address.trim().chars().take(64).collect())
            .collect();
        named.iter().rev().nth(self.proxies - 1).cloned().unwrap_or(peer)
    }
}

/// Hears every second of sessions that other processes ended, until the process stops.
pub async fn follow_endings(parts: Data<Parts>, mut stop: watch::Receiver<bool>) {
    loop {
        // What cannot be read now is read with the next look; tokens run out by themselves.
        if let Err(error) = parts.look_for_ended().await {
            tracing::debug!(%error, "could not look for ended sessions");
        }
        tokio::select! {
            () = tokio::time::sleep(Duration::from_secs(1)) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}
