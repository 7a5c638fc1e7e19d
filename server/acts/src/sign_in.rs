//! Signing in: a password that is checked slowly on purpose, and the turns of a session.

use crate::desk::{Acts, Halt};
use argon2::password_hash::phc::PasswordHash;
use argon2::{Algorithm, Argon2, Params, PasswordHasher, PasswordVerifier, Version};
use std::collections::HashSet;
use std::sync::{Arc, LazyLock};
use store::people::{self, PersonRow};
use store::sessions::{self, SessionRow, Turned};
use store::shops::{self, ShopRow};
use tokio::sync::Semaphore;
use trade::words::ids::{PersonId, ShopId};
use uuid::Uuid;

/// At most so many passwords are checked at once: each takes 64 MiB.
const AT_ONCE: usize = 2;
/// At most so many wait for their turn; the next is told to try again.
const IN_LINE: usize = 24;

static TURNS: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(AT_ONCE)));
static LINE: LazyLock<Arc<Semaphore>> = LazyLock::new(|| Arc::new(Semaphore::new(AT_ONCE + IN_LINE)));

/// Argon2id with 64 MiB, 3 passes and 4 lanes: the second choice of RFC 9106, section 4.
fn argon2() -> Argon2<'static> {
    let params = Params::new(64 * 1024, 3, 4, None).expect("the parameters lie within Argon2's ranges");
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// A hash to check unknown names against, so that they take as long as known ones.
static NOBODY: LazyLock<String> = LazyLock::new(|| hash("nobody has this password").unwrap_or_default());

/// Hashes a password, as a PHC string with its own salt. Takes about a fifth of a second.
///
/// # Errors
/// When the hash cannot be made.
pub fn hash(password: &str) -> Result<String, Halt> {
    argon2()
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(|e| Halt::Store(store::Error::Unreadable(format!("password hash: {e}"))))
}

/// [`hash`] on a blocking thread, in turn with the passwords that are being checked.
///
/// # Errors
/// When the hash cannot be made.
pub async fn hash_in_turn(password: String) -> Result<String, Halt> {
    let broken = |e: &dyn std::fmt::Display| Halt::Store(store::Error::Unreadable(format!("password hash: {e}")));
    let turn = Arc::clone(&TURNS).acquire_owned().await.map_err(|e| broken(&e))?;
    tokio::task::spawn_blocking(move || {
        let hashed = hash(&password);
        drop(turn);
        hashed
    })
    .await
    .map_err(|e| broken(&e))?
}

/// [`fits`] on a blocking thread, in turn with the passwords of whoever signs in.
///
/// # Errors
/// When it cannot be checked.
pub async fn check_in_turn(password: String, stored: String) -> Result<bool, Halt> {
    let broken = |e: &dyn std::fmt::Display| Halt::Store(store::Error::Unreadable(format!("password: {e}")));
    let turn = Arc::clone(&TURNS).acquire_owned().await.map_err(|e| broken(&e))?;
    tokio::task::spawn_blocking(move || {
        let is_it = fits(&password, &stored);
        drop(turn);
        is_it
    })
    .await
    .map_err(|e| broken(&e))
}

/// Whether the password fits a stored hash.
#[must_use]
pub fn fits(password: &str, stored: &str) -> bool {
    PasswordHash::new(stored).is_ok_and(|stored| argon2().verify_password(password.as_bytes(), &stored).is_ok())
}

/// Somebody signed in.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// The session.
    pub session: SessionRow,
    /// Who.
    pub person: PersonRow,
    /// Where.
    pub shop: ShopRow,
}

/// Why nobody was signed in.
#[derive(Debug)]
pub enum NotSignedIn {
    /// E-mail or password is wrong; which of them is not said.
    DoesNotFit,
    /// Too many passwords are being checked; try again in a few seconds.
    TooBusy,
    /// The session is over.
    Over,
    /// The records.
    Halt(Halt),
}

impl From<Halt> for NotSignedIn {
    fn from(halt: Halt) -> Self {
        Self::Halt(halt)
    }
}

impl From<store::Error> for NotSignedIn {
    fn from(error: store::Error) -> Self {
        Self::Halt(error.into())
    }
}

/// A session ends after so many days in any case.
const LONGEST_DAYS: i32 = 90;

impl Acts {
    /// Checks an e-mail address and a password, and begins a session.
    ///
    /// # Errors
    /// [`NotSignedIn`].
    pub async fn sign_in(&self, email: &str, password: &str, device: &str) -> Result<SignedIn, NotSignedIn> {
        let Ok(_in_line) = Arc::clone(&LINE).try_acquire_owned() else { return Err(NotSignedIn::TooBusy) };
        let email = email.trim().to_lowercase();
        let known = self.store.directory(move |conn| people::sign_in(conn, &email).map_err(NotSignedIn::from)).await?;
        let known = if known.is_empty() { vec![(NOBODY.clone(), Vec::new())] } else { known };
        let password = password.to_owned();
        let turn = Arc::clone(&TURNS).acquire_owned().await.map_err(|_| NotSignedIn::TooBusy)?;
        let members: Vec<(ShopId, PersonId)> = tokio::task::spawn_blocking(move || {
            let fitting = known.into_iter().filter(|(stored, _)| fits(&password, stored)).flat_map(|(_, members)| members).collect();
            drop(turn);
            fitting
        })
        .await
        .unwrap_or_default();
        let device: String = device.chars().take(200).collect();
        for (shop, person) in members {
            let here = self.member(shop, person).await?;
            if let Some((person, shop_row)) = here {
                let (id, device) = (PersonId(person.id), device.clone());
                let session = self
                    .store
                    .directory(move |conn| sessions::begin(conn, shop, id, &device).map_err(NotSignedIn::from))
                    .await?;
                return Ok(SignedIn { session, person, shop: shop_row });
            }
        }
        Err(NotSignedIn::DoesNotFit)
    }

    /// Turns a session on from the refresh token of `turn`; it is over after `idle_days` without use.
    ///
    /// # Errors
    /// [`NotSignedIn::Over`] for an ended session, and for one that this ends because an old
    /// token was used again.
    pub async fn turn_session(&self, id: Uuid, turn: i32, idle_days: i32) -> Result<SignedIn, NotSignedIn> {
        let turned = self
            .store
            .directory(move |conn| sessions::turn(conn, id, turn, idle_days, LONGEST_DAYS).map_err(NotSignedIn::from))
            .await?;
        let session = match turned {
            Turned::To(session) => session,
            Turned::Reused => {
                tracing::warn!(session.id = %id, "an old refresh token was used again; the session is ended");
                return Err(NotSignedIn::Over);
            }
            Turned::Over => return Err(NotSignedIn::Over),
        };
        let member = self.member(ShopId(session.shop_id), PersonId(session.person_id)).await?;
        let (person, shop) = member.ok_or(NotSignedIn::Over)?;
        Ok(SignedIn { session, person, shop })
    }

    async fn member(&self, shop: ShopId, person: PersonId) -> Result<Option<(PersonRow, ShopRow)>, NotSignedIn> {
        self.store
            .read(shop, move |conn| {
                let person = people::find(conn, person)?.filter(|p| p.is_active);
                Ok(match person {
                    Some(person) => Some((person, shops::current(conn)?)),
                    None => None,
                })
            })
            .await
    }

    /// Whether a session still runs and its person may still sign in; gives the person as they
    /// are now, so that roles taken away are gone with the next request.
    ///
    /// # Errors
    /// [`NotSignedIn::Over`].
    pub async fn current_person(&self, shop: ShopId, person: PersonId) -> Result<(PersonRow, ShopRow), NotSignedIn> {
        self.member(shop, person).await?.ok_or(NotSignedIn::Over)
    }

    /// Ends a session of this person; ending it twice is harmless.
    ///
    /// # Errors
    /// [`Halt::Absent`] for somebody else's.
    pub async fn sign_out(&self, shop: ShopId, person: PersonId, id: Uuid) -> Result<(), Halt> {
        self.store
            .directory(move |conn| {
                let session = sessions::find(conn, id)?.filter(|s| s.shop_id == shop.0 && s.person_id == person.0);
                if session.is_none() {
                    return Err(Halt::Absent);
                }
                sessions::end(conn, id)?;
                Ok(())
            })
            .await
    }

    /// The sessions that ended while an access token of theirs may still be good.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn sessions_ended_of_late(&self) -> Result<HashSet<Uuid>, store::Error> {
        self.store.directory(sessions::ended_of_late).await
    }

    /// The running sessions of this person, newest first.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn sessions(&self, shop: ShopId, person: PersonId) -> Result<Vec<SessionRow>, Halt> {
        self.store.directory(move |conn| Ok(sessions::of_person(conn, shop, person)?)).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use argon2::{AssociatedData, ParamsBuilder};

    /// RFC 9106, section 5.3: the Argon2id test vector, through the library the product uses.
    #[test]
    fn argon2id_is_that_of_rfc_9106() {
        let params = ParamsBuilder::new()
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .data(AssociatedData::new(&[4; 12]).unwrap())
            .output_len(32)
            .build()
            .unwrap();
        let argon2 = Argon2::new_with_secret(&[3; 8], Algorithm::Argon2id, Version::V0x13, params).unwrap();
        let mut tag = [0; 32];
        argon2.hash_password_into(&[1; 32], &[2; 16], &mut tag).unwrap();
        let expected = "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659";
        assert_eq!(tag.iter().map(|byte| format!("{byte:02x}")).collect::<String>(), expected);
    }

    /// A hash by the reference implementation in C (argon2-cffi 25.1.0, `hash_secret`, Argon2id
    /// with 64 MiB, 3 passes, 4 lanes, a salt of 16 bytes).
    #[test]
    fn a_hash_by_the_reference_implementation_fits_its_password_only() {
        let stored = "$argon2id$v=19$m=65536,t=3,p=4$YmVsbGJyYWNlLXNhbHQxNg$XOaa23/0OQ7PZ5AMxymFzOMlKE93s4FW10LW4xXL/B8";
        assert!(fits("Grüße vom Schalltrichter", stored));
        assert!(!fits("Grüße vom schalltrichter", stored));
    }

    #[test]
    fn a_new_hash_says_how_it_was_made_and_never_twice_the_same() {
        let (one, other) = (hash("valve oil").unwrap(), hash("valve oil").unwrap());
        assert!(one.starts_with("$argon2id$v=19$m=65536,t=3,p=4$"), "{one}");
        assert_ne!(one, other);
        assert!(fits("valve oil", &one) && fits("valve oil", &other) && !fits("valve oil ", &one));
    }
}
