//! The way up and down, several instances at once, and what Diesel believes of the schema.

use crate::database::{Database, names, rows};
use bellbrace::cluster::SERVING;
use diesel::migration::{Migration, MigrationSource};
use diesel::pg::{Pg, PgConnection};
use diesel_migrations::{FileBasedMigrations, MigrationHarness};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

#[test]
fn each_step_down_leads_back_to_where_the_step_up_began() {
    let database = Database::empty();
    let mut conn = database.as_owner();
    let mut steps: Vec<Box<dyn Migration<Pg>>> =
        FileBasedMigrations::from_path(root().join("migrations")).unwrap().migrations().unwrap();
    steps.sort_by_key(|step| step.name().to_string());
    assert!(steps.len() >= 6);
    // Diesel makes its own table with the first question.
    conn.applied_migrations().unwrap();
    for step in &steps {
        let before = database.dump();
        conn.run_migration(step).unwrap();
        let after = database.dump();
        assert_ne!(before, after, "{} does nothing", step.name());
        conn.revert_migration(step).unwrap();
        similar(&before, &database.dump(), &format!("down of {}", step.name()));
        conn.run_migration(step).unwrap();
        similar(&after, &database.dump(), &format!("up again of {}", step.name()));
    }
    drop(conn);
    let full = database.dump();
    similar(&full, &Database::migrated().dump(), "the steps in the binary are those in the folder");
    store::migrate::undo_all(&database.owner_url()).unwrap();
    similar(&Database::empty().dump(), &database.dump(), "the whole way down");
}

fn similar(expected: &str, found: &str, what: &str) {
    let lines = |text: &str| {
        text.lines()
            .filter(|line| {
                !line.trim().is_empty() && !line.starts_with("-- PostgreSQL database dump")
            })
            .map(ToOwned::to_owned)
            .collect::<Vec<_>>()
    };
    let (expected, found) = (lines(expected), lines(found));
    let more: Vec<_> = found.iter().filter(|line| !expected.contains(line)).collect();
    let less: Vec<_> = expected.iter().filter(|line| !found.contains(line)).collect();
    assert!(expected == found, "{what}: the schema differs\nmore: {more:#?}\nless: {less:#?}");
}

#[test]
fn several_instances_may_start_together_and_each_step_is_run_once() {
    let database = Database::empty();
    let url = database.owner_url();
    let ran: Vec<usize> = std::thread::scope(|scope| {
        let instances: Vec<_> = (0..6)
            .map(|_| scope.spawn(|| store::migrate::migrate(&url, SERVING).unwrap().len()))
            .collect();
        instances.into_iter().map(|instance| instance.join().unwrap()).collect()
    });
    let steps = std::fs::read_dir(root().join("migrations")).unwrap().count();
    assert_eq!(ran.iter().sum::<usize>(), steps, "each step by one instance: {ran:?}");
    assert_eq!(
        ran.iter().filter(|count| **count > 0).count(),
        1,
        "one instance did it all: {ran:?}"
    );
    assert_eq!(store::migrate::migrate(&url, SERVING).unwrap().len(), 0, "again is harmless");
}

#[test]
fn a_schema_is_told_to_be_current_older_or_newer() {
    use store::migrate::{Schema, compare};
    let database = Database::migrated();
    let mut conn = database.as_serving();
    assert_eq!(compare(&mut conn).unwrap(), Schema::Current);
    let mut owner = database.as_owner();
    crate::database::run(
        &mut owner,
        "INSERT INTO __diesel_schema_migrations (version) VALUES ('9999')",
    );
    assert_eq!(compare(&mut conn).unwrap(), Schema::Newer);
    crate::database::run(
        &mut owner,
        "DELETE FROM __diesel_schema_migrations WHERE version IN ('9999', '0006')",
    );
    assert_eq!(compare(&mut conn).unwrap(), Schema::Older);
}

/// `server/store/src/schema.rs` as the database has it. `BELLBRACE_REWRITE=1` writes the file.
#[test]
fn diesel_sees_the_tables_as_they_are() {
    let file = root().join("server/store/src/schema.rs");
    let generated = generated(&mut Database::migrated().as_owner());
    if std::env::var_os("BELLBRACE_REWRITE").is_some() {
        std::fs::write(&file, &generated).unwrap();
    }
    let committed = std::fs::read_to_string(&file).unwrap();
    similar(&generated, &committed, "schema.rs is old; run this test with BELLBRACE_REWRITE=1");
}

fn generated(conn: &mut PgConnection) -> String {
    let mut text = String::from(
        "//! The tables as Diesel sees them: generated from the migrated database, compared by a test.\n\
         #![expect(missing_docs, reason = \"the comments stand in the migrations\")]\n",
    );
    let tables = names(
        conn,
        "SELECT relname::text AS name FROM pg_class
          WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND relname <> '__diesel_schema_migrations' ORDER BY relname",
    );
    for table in &tables {
        let key = names(
            conn,
            &format!(
                "SELECT attname::text AS name FROM pg_index, unnest(indkey) WITH ORDINALITY AS led (num, place), pg_attribute
                  WHERE indrelid = '{table}'::regclass AND indisprimary AND attrelid = indrelid AND attnum = led.num ORDER BY place"
            ),
        );
        text.push_str(&format!("\ndiesel::table! {{\n    {table} ({}) {{\n", key.join(", ")));
        let columns = rows(
            conn,
            &format!(
                "SELECT attname::text AS name, attnotnull AS sure,
                        (CASE typtype WHEN 'd' THEN typbasetype ELSE pg_type.oid END)::regtype::text AS kind
                   FROM pg_attribute JOIN pg_type ON pg_type.oid = atttypid
                  WHERE attrelid = '{table}'::regclass AND attnum > 0 AND NOT attisdropped ORDER BY attnum"
            ),
        );
        assert!(columns.len() <= 32, "{table}: Diesel is built for tables of 32 columns");
        for column in columns {
            let kind = match column["kind"].as_str().unwrap() {
                "uuid" => "Uuid",
                "text" => "Text",
                "boolean" => "Bool",
                "integer" => "Int4",
                "bigint" => "Int8",
                "numeric" => "Numeric",
                "date" => "Date",
                "timestamp with time zone" => "Timestamptz",
                "jsonb" => "Jsonb",
                "bytea" => "Bytea",
                other => panic!("{table}: how does Diesel call {other}?"),
            };
            let kind =
                if column["sure"] == true { kind.to_owned() } else { format!("Nullable<{kind}>") };
            text.push_str(&format!("        {} -> {kind},\n", column["name"].as_str().unwrap()));
        }
        text.push_str("    }\n}\n");
    }
    text.push_str("\ndiesel::allow_tables_to_appear_in_same_query!(\n");
    for table in &tables {
        text.push_str(&format!("    {table},\n"));
    }
    text.push_str(");\n");
    text
}
