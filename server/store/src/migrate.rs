//! Bringing the schema up, as the owning role; the serving role is granted what it needs.

use crate::Error;
use diesel::connection::SimpleConnection;
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::Text;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

const MIGRATIONS: EmbeddedMigrations = embed_migrations!("../../migrations");

/// What the serving role may do; `{serving}` stands for its name.
const GRANTS: &str = include_str!("grants.sql");

/// The one lock under which migrations run, so that several instances may start together.
const LOCK: &str = "SELECT pg_advisory_lock(7216054280)";
const UNLOCK: &str = "SELECT pg_advisory_unlock(7216054280)";

/// How the schema of a database compares with what this program knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Schema {
    /// As this program knows it.
    Current,
    /// Older: `bellbrace migrate` brings it up.
    Older,
    /// Newer: a newer program has been here; this one must not serve.
    Newer,
}

/// Runs every migration that has not run yet, under one lock, and grants the serving role its
/// rights. Safe to call from several processes at once and again at any time.
///
/// # Errors
/// When the database cannot be reached or a migration fails (it is then undone).
pub fn migrate(owner_url: &str, serving_role: &str) -> Result<Vec<String>, Error> {
    let mut conn = PgConnection::establish(owner_url).map_err(|e| Error::Away(e.to_string()))?;
    conn.batch_execute(LOCK)?;
    let ran = conn
        .run_pending_migrations(MIGRATIONS)
        .map(|versions| versions.iter().map(ToString::to_string).collect())
        .map_err(|e| Error::Unreadable(format!("migration failed: {e}")))?;
    let quoted: Quoted =
        diesel::sql_query("SELECT quote_ident($1) AS name").bind::<Text, _>(serving_role).get_result(&mut conn)?;
    conn.batch_execute(&GRANTS.replace("{serving}", &quoted.name))?;
    conn.batch_execute(UNLOCK)?;
    Ok(ran)
}

/// Undoes every migration, newest first. For the test that proves the way down.
///
/// # Errors
/// When a step down fails.
pub fn undo_all(owner_url: &str) -> Result<(), Error> {
    let mut conn = PgConnection::establish(owner_url).map_err(|e| Error::Away(e.to_string()))?;
    conn.revert_all_migrations(MIGRATIONS)
        .map(|_| ())
        .map_err(|e| Error::Unreadable(format!("way down failed: {e}")))
}

#[derive(QueryableByName)]
struct Quoted {
    #[diesel(sql_type = Text)]
    name: String,
}

#[derive(QueryableByName)]
struct Ran {
    #[diesel(sql_type = Text)]
    version: String,
}

/// Compares the schema with what this program knows. One statement.
///
/// # Errors
/// When the database refuses.
pub fn compare(conn: &mut PgConnection) -> Result<Schema, Error> {
    use diesel::migration::{Migration, MigrationSource};
    let ran: Vec<Ran> = diesel::sql_query("SELECT version::text AS version FROM __diesel_schema_migrations").load(conn)?;
    let known: Vec<Box<dyn Migration<diesel::pg::Pg>>> =
        MIGRATIONS.migrations().map_err(|e| Error::Unreadable(format!("own migrations: {e}")))?;
    let known: Vec<String> = known.iter().map(|m| m.name().version().to_string()).collect();
    Ok(if ran.iter().any(|r| !known.contains(&r.version)) {
        Schema::Newer
    } else if ran.len() < known.len() {
        Schema::Older
    } else {
        Schema::Current
    })
}

/// Which role a URL signs in as.
///
/// # Errors
/// When the database cannot be reached.
pub fn role_of(url: &str) -> Result<String, Error> {
    let mut conn = PgConnection::establish(url).map_err(|e| Error::Away(e.to_string()))?;
    let role: Quoted = diesel::sql_query("SELECT current_user::text AS name").get_result(&mut conn)?;
    Ok(role.name)
}
