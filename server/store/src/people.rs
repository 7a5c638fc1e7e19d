//! Staff of a shop, and the directory by which they sign in.

use crate::schema::{identities, memberships, people as table};
use crate::{Error, Tx};
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use serde_json::Value;
use trade::bench::promise_date::Absence;
use trade::rules::promises::Skills;
use trade::words::ids::{PersonId, ShopId};
use trade::words::stage::Role;
use uuid::Uuid;

use crate::views::PersonRef;

/// One staff member as stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = crate::schema::people, check_for_backend(diesel::pg::Pg), treat_none_as_null = true)]
#[expect(missing_docs, reason = "the columns are described in the migration")]
pub struct PersonRow {
    pub shop_id: Uuid,
    pub id: Uuid,
    pub name: String,
    pub initials: String,
    pub email: String,
    pub roles: Value,
    pub is_active: bool,
    pub version: i32,
    pub changed_by: String,
    pub changed_at: DateTime<Utc>,
    pub skills: Value,
    pub weekly_bench_hours: Option<i32>,
    pub absent: Value,
}

impl PersonRow {
    /// What this person may do here.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn roles(&self) -> Result<Vec<Role>, Error> {
        serde_json::from_value(self.roles.clone()).map_err(|e| Error::Unreadable(format!("roles: {e}")))
    }

    /// What this person can do at the bench.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn skills(&self) -> Result<Skills, Error> {
        serde_json::from_value(self.skills.clone()).map_err(|e| Error::Unreadable(format!("skills: {e}")))
    }

    /// When this person is away.
    ///
    /// # Errors
    /// [`Error::Unreadable`].
    pub fn absent(&self) -> Result<Vec<Absence>, Error> {
        serde_json::from_value(self.absent.clone()).map_err(|e| Error::Unreadable(format!("absences: {e}")))
    }

    /// The short form that other things show.
    #[must_use]
    pub fn short(&self) -> PersonRef {
        PersonRef { id: PersonId(self.id), name: self.name.clone(), initials: self.initials.clone() }
    }
}

/// A staff member as other things name them.
#[derive(Debug, Clone, Queryable, Selectable)]
#[diesel(table_name = crate::schema::people, check_for_backend(diesel::pg::Pg))]
pub(crate) struct ShortPerson {
    pub id: Uuid,
    name: String,
    initials: String,
    pub is_active: bool,
}

impl ShortPerson {
    /// The short form that other things show.
    pub fn short(&self) -> PersonRef {
        PersonRef { id: PersonId(self.id), name: self.name.clone(), initials: self.initials.clone() }
    }
}

/// Everyone of this shop, by name. One statement.
///
/// # Errors
/// When the database refuses.
pub fn all(conn: &mut PgConnection) -> Result<Vec<PersonRow>, Error> {
    Ok(table::table.select(PersonRow::as_select()).order((table::name, table::id)).load(conn)?)
}

/// One staff member.
///
/// # Errors
/// When the database refuses.
pub fn find(conn: &mut PgConnection, id: PersonId) -> Result<Option<PersonRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(PersonRow::as_select()).first(conn).optional()?)
}

/// One staff member, locked until the end of the transaction.
///
/// # Errors
/// When the database refuses.
pub fn lock(tx: &mut Tx<'_>, id: PersonId) -> Result<Option<PersonRow>, Error> {
    Ok(table::table.filter(table::id.eq(id.0)).select(PersonRow::as_select()).for_update().first(tx.conn()).optional()?)
}

/// Writes a staff member back.
///
/// # Errors
/// When the database refuses.
pub fn save(tx: &mut Tx<'_>, person: &PersonRow) -> Result<(), Error> {
    diesel::update(table::table.filter(table::id.eq(person.id))).set(person).execute(tx.conn())?;
    Ok(())
}

/// Adds a staff member who signs in here with `password_hash`. The same e-mail address in another
/// shop has a password of its own there: no shop chooses one that opens another.
///
/// # Errors
/// When the database refuses, for one with the constraint `people_email_once`.
pub fn add(tx: &mut Tx<'_>, person: &PersonRow, password_hash: &str) -> Result<(), Error> {
    diesel::insert_into(table::table).values(person).execute(tx.conn())?;
    let identity = Uuid::now_v7();
    diesel::insert_into(identities::table)
        .values((
            identities::id.eq(identity),
            identities::email.eq(&person.email),
            identities::password_hash.eq(password_hash),
            identities::changed_at.eq(person.changed_at),
        ))
        .execute(tx.conn())?;
    diesel::insert_into(memberships::table)
        .values((
            memberships::identity_id.eq(identity),
            memberships::shop_id.eq(person.shop_id),
            memberships::person_id.eq(person.id),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The password hash with which somebody signs in to a shop.
///
/// # Errors
/// When the database refuses.
pub fn password_of(conn: &mut PgConnection, shop: ShopId, person: PersonId) -> Result<Option<String>, Error> {
    Ok(identities::table
        .inner_join(memberships::table.on(memberships::identity_id.eq(identities::id)))
        .filter(memberships::shop_id.eq(shop.0))
        .filter(memberships::person_id.eq(person.0))
        .select(identities::password_hash)
        .first(conn)
        .optional()?)
}

/// Sets the password with which somebody signs in to this shop.
///
/// # Errors
/// When the database refuses.
pub fn set_password(tx: &mut Tx<'_>, person: PersonId, password_hash: &str, at: DateTime<Utc>) -> Result<(), Error> {
    let shop = tx.shop();
    let whose = memberships::table
        .filter(memberships::shop_id.eq(shop.0))
        .filter(memberships::person_id.eq(person.0))
        .select(memberships::identity_id);
    diesel::update(identities::table.filter(identities::id.eq_any(whose)))
        .set((identities::password_hash.eq(password_hash), identities::changed_at.eq(at)))
        .execute(tx.conn())?;
    Ok(())
}

/// A password hash, and who signs in with it where.
pub type Known = (String, Vec<(ShopId, PersonId)>);

/// At most so many passwords of one e-mail address are tried.
const MOST_PASSWORDS: i64 = 8;

/// What the directory knows of an e-mail address: its passwords, oldest first.
///
/// # Errors
/// When the database refuses.
pub fn sign_in(conn: &mut PgConnection, email: &str) -> Result<Vec<Known>, Error> {
    let identities: Vec<(Uuid, String)> = identities::table
        .filter(identities::email.eq(email))
        .order(identities::id)
        .limit(MOST_PASSWORDS)
        .select((identities::id, identities::password_hash))
        .load(conn)?;
    let all: Vec<Uuid> = identities.iter().map(|(id, _)| *id).collect();
    let members: Vec<(Uuid, Uuid, Uuid)> = memberships::table
        .filter(memberships::identity_id.eq_any(&all))
        .select((memberships::identity_id, memberships::shop_id, memberships::person_id))
        .order((memberships::shop_id, memberships::person_id))
        .load(conn)?;
    let of = |id: Uuid| members.iter().filter(move |(whose, ..)| *whose == id).map(|(_, shop, person)| (ShopId(*shop), PersonId(*person))).collect();
    Ok(identities.into_iter().map(|(id, hash)| (hash, of(id))).collect())
}
