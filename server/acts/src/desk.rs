//! Who asks, what time it is, and what can be in the way.

use crate::since_seen::{SinceSeen, since_seen};
use chrono::{DateTime, NaiveDate, Utc};
use std::sync::Arc;
use store::order_rows::{self, OrderRows};
use store::photo_files::PhotoFiles;
use store::work_orders;
use store::{Store, Tx};
use trade::calculation::{Fault, Refused};
use trade::rules::Refusal;
use trade::rules::facts::{By, Who};
use trade::words::ids::{PersonId, ShopId, WorkOrderId};
use trade::words::stage::Role;

/// The one clock of business instants. Tests and the demo set it; leases and windows use the
/// database's own.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>);

impl Clock {
    /// A clock that asks this function.
    pub fn new(now: impl Fn() -> DateTime<Utc> + Send + Sync + 'static) -> Self {
        Self(Arc::new(now))
    }

    /// What time it is, to the microsecond, as PostgreSQL keeps it.
    #[must_use]
    pub fn now(&self) -> DateTime<Utc> {
        use chrono::SubsecRound;
        (self.0)().trunc_subsecs(6)
    }
}

impl std::fmt::Debug for Clock {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Clock")
    }
}

/// Who asks, in which shop, and how the record names them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Actor {
    /// The shop, by the sign-in or the link; never by anything the request says.
    pub shop: ShopId,
    /// Staff with their roles, the owner, or the clock.
    pub who: Who,
    /// As the record shows it.
    pub words: String,
}

impl Actor {
    /// A staff member.
    #[must_use]
    pub fn staff(shop: ShopId, person: PersonId, name: &str, roles: Vec<Role>) -> Self {
        Self { shop, who: Who::Staff { person, roles }, words: name.to_owned() }
    }

    /// The owner by a link, with the name typed.
    #[must_use]
    pub fn owner(shop: ShopId, name: &str) -> Self {
        Self { shop, who: Who::Owner, words: name.to_owned() }
    }

    /// What the clock does.
    #[must_use]
    pub fn clock(shop: ShopId) -> Self {
        Self { shop, who: Who::Clock, words: "the clock".to_owned() }
    }

    /// As the shop's screens name whoever did something: staff by name. What an owner typed stays on the record.
    #[must_use]
    pub fn told_as(&self) -> &str {
        match &self.who {
            Who::Staff { .. } => &self.words,
            Who::Owner => "the owner",
            Who::Clock => "the clock",
        }
    }

    /// The staff member, or a refusal.
    ///
    /// # Errors
    /// `not-yours` for anyone else.
    pub fn person(&self) -> Result<PersonId, Halt> {
        self.who.person().ok_or_else(|| Refusal::new("not-yours", "Only staff of the shop may do this.").into())
    }

    /// Lets only these roles on.
    ///
    /// # Errors
    /// `not-yours`.
    pub fn must_be(&self, any_of: &[By]) -> Result<(), Halt> {
        if any_of.iter().any(|by| self.who.is(*by)) {
            return Ok(());
        }
        let names: Vec<&str> = any_of
            .iter()
            .map(|by| match by {
                By::FrontDesk => "the front desk",
                By::Technician => "a technician",
                By::Proprietor => "the proprietor",
                By::Owner => "the owner",
                By::Clock => "the clock",
            })
            .collect();
        Err(Refusal::new("not-yours", format!("This is for {}.", names.join(" or "))).into())
    }
}

/// Why an act was not done. Nothing was changed.
#[derive(Debug)]
pub enum Halt {
    /// There is no such thing in this shop.
    Absent,
    /// It was changed since it was looked at.
    Stale {
        /// The current version.
        version: i32,
        /// Who changed it last.
        changed_by: String,
        /// When.
        changed_at: DateTime<Utc>,
        /// The thing as it is now.
        current: Option<serde_json::Value>,
        /// What was done on an order since it was looked at; nothing for other things. Boxed, because
        /// every act carries room for this in its answer.
        since: Box<SinceSeen>,
    },
    /// A rule is in the way.
    Refused(Refusal),
    /// The question was understood but is invalid.
    Invalid(Vec<Fault>),
    /// A computation gives no answer, for a reason with a slug of its own.
    NotComputed(Refused),
    /// Somebody else was first (rule 5).
    Claimed {
        /// Who has it.
        by: String,
        /// Since when.
        at: DateTime<Utc>,
    },
    /// The records.
    Store(store::Error),
}

impl From<store::Error> for Halt {
    fn from(error: store::Error) -> Self {
        Self::Store(error)
    }
}

impl From<Refusal> for Halt {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl From<Refused> for Halt {
    fn from(refused: Refused) -> Self {
        if refused.slug == "invalid-input" { Self::Invalid(refused.faults) } else { Self::NotComputed(refused) }
    }
}

impl Halt {
    /// The halt of whoever saw an older version of a thing; of an order [`Desk::open`] tells more.
    #[must_use]
    pub fn stale(version: i32, changed_by: &str, changed_at: DateTime<Utc>, current: &impl serde::Serialize) -> Self {
        Self::Stale { version, changed_by: changed_by.to_owned(), changed_at, current: serde_json::to_value(current).ok(), since: Box::default() }
    }

    /// A refusal in words.
    #[must_use]
    pub fn refused(slug: &'static str, words: impl Into<String>) -> Self {
        Self::Refused(Refusal::new(slug, words))
    }

    /// The same, with its pointers below the part of the request that was looked at.
    #[must_use]
    pub fn below(mut self, at: &str) -> Self {
        if let Self::Invalid(faults) | Self::NotComputed(Refused { faults, .. }) = &mut self {
            for fault in faults {
                fault.pointer.insert_str(0, at);
            }
        }
        self
    }

    /// One invalid field.
    #[must_use]
    pub fn invalid(pointer: impl Into<String>, message: impl Into<String>) -> Self {
        Self::Invalid(vec![Fault { pointer: pointer.into(), message: message.into() }])
    }
}

/// The acts of this installation: the store, the clock, and where its pages are.
#[derive(Debug, Clone)]
pub struct Acts {
    /// The records.
    pub store: Store,
    /// The clock.
    pub clock: Clock,
    /// The address under which customers reach the pages, without a slash at its end.
    pub public_url: Arc<str>,
    /// Letters are written but kept back, with this reason; for the demo's history.
    pub mute: Option<&'static str>,
    /// Where the pictures of photos lie.
    pub photo_files: Arc<dyn PhotoFiles>,
}

/// One act under way: who, when, and where the pages are.
#[derive(Debug, Clone)]
pub(crate) struct Desk {
    pub actor: Actor,
    pub now: DateTime<Utc>,
    pub public_url: Arc<str>,
    pub mute: Option<&'static str>,
}

impl Acts {
    pub(crate) fn desk(&self, actor: &Actor) -> Desk {
        Desk { actor: actor.clone(), now: self.clock.now(), public_url: Arc::clone(&self.public_url), mute: self.mute }
    }
}

impl Desk {
    /// Locks an order, checks the version that was seen, and loads everything on it.
    pub fn open(&self, tx: &mut Tx<'_>, id: WorkOrderId, seen: Option<i32>) -> Result<OrderRows, Halt> {
        let order = work_orders::lock(tx, id)?.ok_or(Halt::Absent)?;
        if let Some(seen) = seen
            && seen != order.version
        {
            let (version, changed_by, changed_at) = (order.version, order.changed_by.clone(), order.changed_at);
            let rows = order_rows::load(tx.conn(), order)?;
            let current = serde_json::to_value(rows.view(&self.actor.who, self.now)?).ok();
            let since = Box::new(since_seen(tx, &rows, seen)?);
            return Err(Halt::Stale { version, changed_by, changed_at, current, since });
        }
        Ok(order_rows::load(tx.conn(), order)?)
    }

    /// Today in the shop of these rows.
    pub fn today(&self, rows: &OrderRows) -> Result<NaiveDate, Halt> {
        Ok(rows.shop.date_at(self.now)?)
    }
}
