//! Databases of the test run's PostgreSQL, for the tests that speak SQL.

use bellbrace::cluster::SERVING;
use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::{Nullable, Text};
use harness::postgres::Postgres;
use serde_json::Value;
use std::process::Command;

/// A database of its own, owned by the migrating role; gone when dropped.
pub struct Database(harness::postgres::Database);

impl Database {
    /// An empty one.
    pub fn empty() -> Self {
        Self(Postgres::of_this_binary().empty())
    }

    /// One with every migration, and no shop.
    pub fn migrated() -> Self {
        let database = Self::empty();
        store::migrate::migrate(&database.owner_url(), SERVING).unwrap();
        database
    }

    pub fn owner_url(&self) -> String {
        self.0.owner_url()
    }

    pub fn as_owner(&self) -> PgConnection {
        PgConnection::establish(&self.0.owner_url()).unwrap()
    }

    pub fn as_serving(&self) -> PgConnection {
        PgConnection::establish(&self.0.serving_url()).unwrap()
    }

    pub fn as_superuser(&self) -> PgConnection {
        self.0.superuser()
    }

    /// The schema as `pg_dump` writes it, without the rights that `migrate` gives after the steps.
    pub fn dump(&self) -> String {
        let dump = Postgres::of_this_binary().binaries().join("pg_dump");
        let output = Command::new(&dump)
            .args([
                "--schema-only",
                "--no-privileges",
                "--exclude-table=__diesel_schema_migrations",
                "--dbname",
            ])
            .arg(self.0.superuser_url())
            .output()
            .unwrap_or_else(|cause| panic!("{}: {cause}", dump.display()));
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        // Each dump guards itself against psql's meta-commands with a random word of its own.
        let lines = String::from_utf8(output.stdout).unwrap();
        lines
            .lines()
            .filter(|line| !line.starts_with(r"\restrict") && !line.starts_with(r"\unrestrict"))
            .collect::<Vec<_>>()
            .join("\n")
    }
}

pub fn run(conn: &mut PgConnection, sql: &str) {
    conn.batch_execute(sql).unwrap_or_else(|cause| panic!("{cause}\n{sql}"));
}

#[derive(QueryableByName)]
struct Answer {
    #[diesel(sql_type = Nullable<Text>)]
    rows: Option<String>,
}

/// The rows of a query as JSON objects.
pub fn rows(conn: &mut PgConnection, sql: &str) -> Vec<Value> {
    try_rows(conn, sql).unwrap_or_else(|cause| panic!("{cause}\n{sql}"))
}

/// The rows of a query as JSON objects, or what PostgreSQL said.
pub fn try_rows(conn: &mut PgConnection, sql: &str) -> Result<Vec<Value>, String> {
    let whole = format!("SELECT json_agg(found)::text AS rows FROM ({sql}) found");
    let answer: Answer =
        diesel::sql_query(whole).get_result(conn).map_err(|cause| cause.to_string())?;
    Ok(answer.rows.map(|rows| serde_json::from_str(&rows).unwrap()).unwrap_or_default())
}

/// The texts of a query's only column, which is called `name`.
pub fn names(conn: &mut PgConnection, sql: &str) -> Vec<String> {
    rows(conn, sql).iter().map(|row| row["name"].as_str().unwrap().to_owned()).collect()
}
