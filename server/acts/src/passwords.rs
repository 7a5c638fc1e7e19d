//! Passwords of the shop's own people: chosen by a link that is mailed, or changed by oneself.
//!
//! The link is kept as a hash, works once and not for long (ASVS 6.4.1, 6.4.3, 6.5.1). Whoever asks
//! at the door for a new password is told the same whether or not the address works here (6.3.8).

use crate::checks::{Checks, LINE};
use crate::desk::{Actor, Acts, Desk, Halt};
use crate::links::{hash_of, new_secret};
use crate::shop::{PASSWORD_AT_LEAST, PASSWORD_AT_MOST, person_view};
use crate::sign_in::{check_in_turn, hash_in_turn};
use chrono::Duration;
use mail::facts::Shop;
use mail::{PasswordFacts, PasswordLetter, compose_password};
use serde::{Deserialize, Serialize};
use store::letters::{self, LetterRow};
use store::one_time_links::{self, PersonLink, Purpose};
use store::people::{self, PersonRow};
use store::shops::{self, ShopRow};
use store::views::Person;
use store::{Once, Tx, Word, audit, sessions};
use trade::rules::facts::By;
use trade::words::ids::{PersonId, ShopId};
use trade::words::paperwork::LetterState;
use trade::words::said::moment;
use trade::words::zone::Zone;
use utoipa::ToSchema;
use uuid::Uuid;

/// An invitation works for so many hours.
const INVITED_HOURS: i32 = 7 * 24;
/// A link for a new password works for so many hours.
const RESET_HOURS: i32 = 1;

/// For whom a link is, as its page shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PasswordFor {
    /// Whether somebody new is invited; else it is a new password.
    pub is_invitation: bool,
    /// The name as it is known so far.
    pub name: String,
    /// With which address they sign in.
    pub email: String,
    /// Where.
    pub shop_name: String,
}

/// One's own new password.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PasswordChange {
    /// The password so far.
    pub old_password: String,
    /// The new one, ten letters or more.
    pub new_password: String,
}

/// Ten letters or more, and among the first that anybody tries (from memory; ASVS 6.2.4 asks for a
/// longer list, most of which is shorter than ten letters anyway).
const TRIED_FIRST: [&str; 12] = [
    "1234567890", "0123456789", "0987654321", "12345678910", "1q2w3e4r5t", "qwertyuiop", "qwertzuiop", "qwerty12345", "password12",
    "password123", "administrator", "changemenow",
];

/// What can be wrong with a password. Any letters of any script are taken, in any mixture, but not
/// what everybody tries first, nor what is known `about` the person (ASVS 6.2.11).
pub(crate) fn check_password(checks: &mut Checks, at: &str, password: &str, about: &[&str]) {
    let letters = password.chars().count();
    if !(PASSWORD_AT_LEAST..=PASSWORD_AT_MOST).contains(&letters) {
        checks.fault(at, format!("must have {PASSWORD_AT_LEAST} to {PASSWORD_AT_MOST} letters"));
    } else if is_guessed(password, about) {
        checks.fault(at, "is among the first that anybody would try; take several words of your own");
    }
}

/// Whether it is one letter over and over, what everybody tries, or a name or address of the person.
fn is_guessed(password: &str, about: &[&str]) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
    let said = plain(password);
    let first = said.chars().next();
    said.chars().all(|c| Some(c) == first) || TRIED_FIRST.contains(&said.as_str()) || about.iter().any(|known| plain(known) == said)
}

impl Desk {
    /// Issues the link and queues its letter; only the newest link of a person and purpose works.
    pub(crate) fn mail_password_link(&self, tx: &mut Tx<'_>, person: &PersonRow, kind: PasswordLetter) -> Result<(), Halt> {
        let (purpose, hours) = match kind {
            PasswordLetter::Invitation => (Purpose::Invitation, INVITED_HOURS),
            PasswordLetter::Reset => (Purpose::PasswordReset, RESET_HOURS),
        };
        let secret = new_secret();
        let id = PersonId(person.id);
        one_time_links::forget_unused_of(tx, purpose, id)?;
        one_time_links::issue_to(tx, &hash_of(&secret), purpose, id, hours)?;
        let shop = shops::current(tx.conn())?;
        let zone = Zone::named(&shop.time_zone).unwrap_or_else(Zone::utc);
        let letter = compose_password(
            kind,
            &PasswordFacts {
                shop: writing(&shop),
                reader_name: person.name.clone(),
                invited_by: self.actor.who.person().map(|_| self.actor.words.clone()),
                email: person.email.clone(),
                url: format!("{}/password/{secret}", self.public_url),
                until: moment(self.now + Duration::hours(i64::from(hours)), &zone, shop.date_at(self.now)?),
            },
        );
        let id = Uuid::now_v7();
        let row = LetterRow {
            shop_id: self.actor.shop.0,
            id,
            work_order_id: None,
            stage_change_id: None,
            kind: kind.spelling().to_owned(),
            state: Word(LetterState::Waiting),
            state_reason: None,
            to_customer_id: None,
            to_name: person.name.clone(),
            to_email: Some(person.email.clone()),
            message_id: format!("{id}@{}", crate::letter_facts::message_domain(&shop.email)),
            subject: letter.subject,
            text: letter.text,
            html: letter.html,
            queued_at: self.now,
            sent_at: None,
            attempts: 0,
            next_try_at: None,
            last_trouble: None,
            to_person_id: Some(person.id),
        };
        Ok(letters::queue(tx, &row)?)
    }

}

fn writing(shop: &ShopRow) -> Shop {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    Shop {
        name: shop.name.clone(),
        phone: some(&shop.phone),
        address: some(&shop.address),
        email: some(&shop.email),
        hours: None,
        time_zone: shop.time_zone.clone(),
        language: shop.language.clone(),
    }
}

impl Acts {
    /// Invites somebody once more: a new link by mail, and the one before opens nothing any more.
    ///
    /// # Errors
    /// [`Halt::Absent`]; `not-yours`; `not-active`; `has-password` once they chose one.
    pub async fn invite(&self, actor: &Actor, id: PersonId, once: Once) -> Result<Person, Halt> {
        let desk = self.desk(actor);
        self.store
            .write_once(actor.shop, once, move |tx| {
                desk.actor.must_be(&[By::Proprietor])?;
                let row = people::lock(tx, id)?.ok_or(Halt::Absent)?;
                if !row.is_active {
                    return Err(Halt::refused("not-active", format!("{} may not sign in. Allow that first.", row.name)));
                }
                let invited = one_time_links::invited_until(tx.conn(), desk.actor.shop)?;
                if !invited.contains_key(&row.id) {
                    return Err(Halt::refused(
                        "has-password",
                        format!("{} has a password. Whoever forgot theirs asks for a new one where they sign in.", row.name),
                    ));
                }
                desk.mail_password_link(tx, &row, PasswordLetter::Invitation)?;
                audit::write(tx, "person_invited", None, desk.actor.who.person(), &desk.actor.words, desk.now)?;
                let invited = one_time_links::invited_until(tx.conn(), desk.actor.shop)?;
                Ok(person_view(&row, invited.get(&row.id).copied())?)
            })
            .await
    }

    /// Mails a link for a new password to whoever signs in with this address, in each shop where
    /// they do; nothing where nobody does. Says nothing of which it was.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn ask_for_password(&self, email: &str) -> Result<(), Halt> {
        let email = email.trim().to_lowercase();
        let known = self.store.directory(move |conn| people::sign_in(conn, &email).map_err(Halt::from)).await?;
        for (shop, person) in known.into_iter().flat_map(|(_, members)| members) {
            let desk = self.desk(&Actor::clock(shop));
            self.store
                .write(shop, move |tx| {
                    let Some(row) = people::lock(tx, person)?.filter(|row| row.is_active) else { return Ok::<_, Halt>(()) };
                    desk.mail_password_link(tx, &row, PasswordLetter::Reset)?;
                    Ok(audit::write(tx, "password_asked_for", None, None, &row.email, desk.now)?)
                })
                .await?;
        }
        Ok(())
    }

    /// For whom a link for a password is; none when it was used, ran out or never was.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn password_link(&self, secret: &str) -> Result<Option<PasswordFor>, Halt> {
        let hash = hash_of(secret);
        let found = self.store.directory(move |conn| Ok::<_, Halt>(one_time_links::of_person(conn, &hash)?)).await?;
        let Some(PersonLink { shop, person, purpose }) = found else { return Ok(None) };
        self.store
            .read(shop, move |conn| {
                let Some(row) = people::find(conn, person)?.filter(|row| row.is_active) else { return Ok(None) };
                Ok(Some(PasswordFor {
                    is_invitation: purpose == Purpose::Invitation,
                    name: row.name,
                    email: row.email,
                    shop_name: shops::current(conn)?.name,
                }))
            })
            .await
    }

    /// Chooses a password by a link, which works once, and for somebody new the name; every session
    /// of the person ends.
    ///
    /// # Errors
    /// [`Halt::Absent`] when the link opens nothing (any more); [`Halt::Invalid`].
    pub async fn choose_password(&self, secret: &str, name: Option<String>, password: String) -> Result<PasswordFor, Halt> {
        // A password is hashed slowly on purpose: not for whoever has no link.
        let known = self.password_link(secret).await?.ok_or(Halt::Absent)?;
        let name = name.filter(|_| known.is_invitation);
        let mut checks = Checks::default();
        if let Some(name) = &name {
            checks.said("/name", name, LINE);
        }
        let about = [known.email.as_str(), name.as_deref().unwrap_or(&known.name), known.shop_name.as_str()];
        check_password(&mut checks, "/password", &password, &about);
        checks.done()?;
        let hash = hash_of(secret);
        let found = {
            let hash = hash.clone();
            self.store.directory(move |conn| Ok::<_, Halt>(one_time_links::of_person(conn, &hash)?)).await?
        };
        let PersonLink { shop, person, purpose } = found.ok_or(Halt::Absent)?;
        let password_hash = hash_in_turn(password).await?;
        let desk = self.desk(&Actor::clock(shop));
        self.store
            .write(shop, move |tx| {
                // First the person, then the link, as whoever issues one locks them.
                let mut row = people::lock(tx, person)?.filter(|row| row.is_active).ok_or(Halt::Absent)?;
                if !one_time_links::use_up(tx.conn(), &hash, purpose.spelling())? {
                    return Err(Halt::Absent);
                }
                if let Some(name) = name.as_deref().map(str::trim).filter(|name| *name != row.name) {
                    row.name = name.to_owned();
                    row.version += 1;
                    row.changed_by.clone_from(&row.name);
                    row.changed_at = desk.now;
                    people::save(tx, &row)?;
                }
                people::set_password(tx, person, &password_hash, desk.now)?;
                // A password just chosen makes every other link for one useless.
                one_time_links::forget_unused_of(tx, Purpose::Invitation, person)?;
                one_time_links::forget_unused_of(tx, Purpose::PasswordReset, person)?;
                sessions::end_with_password(tx, person, None)?;
                audit::write(tx, "password_chosen", None, Some(person), &row.name, desk.now)?;
                Ok(PasswordFor { name: row.name, ..known })
            })
            .await
    }

    /// Changes one's own password; every other session of the person ends, this one goes on.
    ///
    /// # Errors
    /// [`Halt::Invalid`], also when the old password does not fit.
    pub async fn change_password(&self, actor: &Actor, session: Uuid, change: PasswordChange) -> Result<(), Halt> {
        let person = actor.person()?;
        let mut checks = Checks::default();
        checks.short("/old_password", Some(&change.old_password), PASSWORD_AT_MOST);
        check_password(&mut checks, "/new_password", &change.new_password, &[&actor.words]);
        if change.new_password == change.old_password {
            checks.fault("/new_password", "is the old one");
        }
        checks.done()?;
        let stored = self.store.directory({
            let shop: ShopId = actor.shop;
            move |conn| Ok::<_, Halt>(people::password_of(conn, shop, person)?)
        });
        let stored = stored.await?.ok_or(Halt::Absent)?;
        if !check_in_turn(change.old_password, stored.clone()).await? {
            return Err(Halt::invalid("/old_password", "is not your password"));
        }
        let hash = hash_in_turn(change.new_password).await?;
        let desk = self.desk(actor);
        self.store
            .write(actor.shop, move |tx| {
                // Of two changes at once the second finds another password than it was asked for.
                people::lock(tx, person)?.filter(|row| row.is_active).ok_or(Halt::Absent)?;
                if people::password_of(tx.conn(), desk.actor.shop, person)?.as_deref() != Some(stored.as_str()) {
                    return Err(Halt::invalid("/old_password", "is not your password"));
                }
                people::set_password(tx, person, &hash, desk.now)?;
                one_time_links::forget_unused_of(tx, Purpose::PasswordReset, person)?;
                sessions::end_with_password(tx, person, Some(session))?;
                Ok(audit::write(tx, "password_changed", None, Some(person), &desk.actor.words, desk.now)?)
            })
            .await
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_anybody_would_try_first_is_no_password_and_everything_else_is() {
        let about = ["ruth@shop.example", "Ruth Amsel-Holm"];
        for bad in ["aaaaaaaaaaaa", "          ", "Password 123", "RUTH@shop.example", "ruth amsel-holm", "QwertyUiop"] {
            assert!(is_guessed(bad, &about), "{bad:?}");
        }
        for good in ["a long word for the bench", "ruth@shop.example 2", "ÜÜÜÜÜÜÜÜÜÜÖ", "שרה כהן שרה כהן", "password1234 of mine"] {
            assert!(!is_guessed(good, &about), "{good:?}");
        }
    }
}
