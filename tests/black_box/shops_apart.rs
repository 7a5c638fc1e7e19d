//! Hand-made SQL through the serving role: PostgreSQL alone keeps two shops apart, whatever the
//! server forgets. Every table of the catalogue is tried, also the one that is added tomorrow.

use crate::database::{Database, names, rows, run, try_rows};
use diesel::PgConnection;
use std::sync::LazyLock;

const OURS: &str = "00000000-0000-7000-8000-0000000000aa";
const THEIRS: &str = "00000000-0000-7000-8000-0000000000bb";

static TWO_SHOPS: LazyLock<Database> = LazyLock::new(|| {
    let database = Database::migrated();
    let mut conn = database.as_serving();
    for (shop, digit) in [(OURS, "1"), (THEIRS, "2")] {
        let fill = include_str!("one_of_each.sql").replace("{shop}", shop).replace("{n}", digit);
        run(&mut conn, &format!("BEGIN; {fill} COMMIT"));
    }
    database
});

/// Every table that row-level security guards, with the columns that can be written.
fn guarded(conn: &mut PgConnection) -> Vec<(String, String)> {
    let found = rows(
        conn,
        "SELECT relname::text AS name, (SELECT string_agg(quote_ident(attname), ', ') FROM pg_attribute
                                         WHERE attrelid = pg_class.oid AND attnum > 0 AND NOT attisdropped AND attgenerated = '') AS columns
           FROM pg_class
          WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace AND relrowsecurity ORDER BY 1",
    );
    found
        .iter()
        .map(|row| {
            (row["name"].as_str().unwrap().to_owned(), row["columns"].as_str().unwrap().to_owned())
        })
        .collect()
}

/// Runs one statement of ours in a transaction that is thrown away.
fn as_us(conn: &mut PgConnection, statement: &str) -> Result<i64, String> {
    run(conn, &format!("BEGIN; SELECT set_config('bellbrace.shop', '{OURS}', true)"));
    let counted = counted(conn, statement);
    run(conn, "ROLLBACK");
    counted
}

/// How many rows a statement reads or writes.
fn counted(conn: &mut PgConnection, statement: &str) -> Result<i64, String> {
    use diesel::RunQueryDsl;
    if statement.starts_with("SELECT") {
        return try_rows(conn, statement).map(|rows| i64::try_from(rows.len()).unwrap());
    }
    diesel::sql_query(statement)
        .execute(conn)
        .map(|count| i64::try_from(count).unwrap())
        .map_err(|cause| cause.to_string())
}

const DENIED: &str = "permission denied for table";
const AGAINST_POLICY: &str = "new row violates row-level security policy";

#[test]
fn every_table_has_a_row_of_either_shop_to_look_for() {
    let mut all = TWO_SHOPS.as_superuser();
    let tables = names(
        &mut all,
        "SELECT relname::text AS name FROM pg_class
          WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace AND relname <> '__diesel_schema_migrations'",
    );
    for table in tables {
        let count = rows(&mut all, &format!("SELECT * FROM {table}")).len();
        assert_eq!(count, 2, "{table}: add a row to one_of_each.sql");
    }
}

#[test]
fn no_row_of_another_shop_can_be_read_changed_or_deleted() {
    let mut conn = TWO_SHOPS.as_serving();
    for (table, _) in guarded(&mut conn) {
        assert_eq!(
            as_us(&mut conn, &format!("SELECT 1 FROM {table}")),
            Ok(1),
            "{table}: our own row"
        );
        assert_eq!(
            as_us(&mut conn, &format!("SELECT 1 FROM {table} WHERE shop_id = '{THEIRS}'")),
            Ok(0),
            "{table}"
        );
        for statement in [
            format!("UPDATE {table} SET shop_id = shop_id WHERE shop_id = '{THEIRS}'"),
            format!("DELETE FROM {table} WHERE shop_id = '{THEIRS}'"),
        ] {
            match as_us(&mut conn, &statement) {
                Ok(count) => assert_eq!(count, 0, "{statement}"),
                Err(said) => assert!(said.contains(DENIED), "{statement}: {said}"),
            }
        }
    }
}

#[test]
fn no_row_can_be_put_into_another_shop_or_moved_there() {
    let mut conn = TWO_SHOPS.as_serving();
    for (table, columns) in guarded(&mut conn) {
        // Our own row under another shop's name: the policy speaks before any constraint does.
        let values =
            columns
                .split(", ")
                .map(|column| {
                    if column == "shop_id" {
                        format!("'{THEIRS}'::uuid")
                    } else {
                        column.to_owned()
                    }
                })
                .collect::<Vec<_>>()
                .join(", ");
        let said = as_us(
            &mut conn,
            &format!("INSERT INTO {table} ({columns}) SELECT {values} FROM {table}"),
        )
        .unwrap_err();
        assert!(said.contains(AGAINST_POLICY), "{table}: {said}");
        let said =
            as_us(&mut conn, &format!("UPDATE {table} SET shop_id = '{THEIRS}'")).unwrap_err();
        assert!(said.contains(AGAINST_POLICY) || said.contains(DENIED), "{table}: {said}");
    }
}

#[test]
fn without_a_shop_nothing_is_answered_but_an_error() {
    let mut conn = TWO_SHOPS.as_serving();
    let tables = guarded(&mut conn);
    for setting in [
        // Never set on this connection; set by an earlier transaction, which leaves an empty
        // one behind; no shop at all.
        "",
        "SELECT set_config('bellbrace.shop', '', true)",
        "SELECT set_config('bellbrace.shop', 'all', true)",
    ] {
        let mut fresh = TWO_SHOPS.as_serving();
        for (table, columns) in &tables {
            for statement in [
                format!("SELECT 1 FROM {table}"),
                format!("INSERT INTO {table} ({columns}) SELECT {columns} FROM {table}"),
                format!("UPDATE {table} SET shop_id = shop_id"),
            ] {
                run(&mut fresh, &format!("BEGIN; {setting}"));
                let said = counted(&mut fresh, &statement)
                    .expect_err(&format!("{statement} after {setting:?}"));
                run(&mut fresh, "ROLLBACK");
                assert!(
                    said.contains("unrecognized configuration parameter")
                        || said.contains("invalid input syntax for type uuid")
                        || said.contains(DENIED),
                    "{statement}: {said}"
                );
            }
        }
    }
    run(&mut conn, &format!("BEGIN; SELECT set_config('bellbrace.shop', '{OURS}', true); COMMIT"));
    let said = counted(&mut conn, "SELECT 1 FROM customers").unwrap_err();
    assert!(
        said.contains("invalid input syntax for type uuid"),
        "the setting outlived its transaction: {said}"
    );
}

#[test]
fn the_serving_role_cannot_put_the_policies_aside() {
    let mut conn = TWO_SHOPS.as_serving();
    for statement in [
        "ALTER TABLE customers DISABLE ROW LEVEL SECURITY",
        "ALTER TABLE customers NO FORCE ROW LEVEL SECURITY",
        "DROP POLICY customers_of_this_shop ON customers",
        "CREATE POLICY open ON customers USING (true)",
        "SET ROLE bellbrace_owner",
        "SET ROLE postgres",
        "TRUNCATE customers",
        "ALTER ROLE bellbrace_serving BYPASSRLS",
        "COPY customers TO PROGRAM 'cat'",
        "CREATE FUNCTION peep() RETURNS bigint LANGUAGE sql SECURITY DEFINER AS 'SELECT count(*) FROM customers'",
        "SET session_replication_role = replica",
    ] {
        assert!(as_us(&mut conn, statement).is_err(), "{statement}");
    }
    // Row security that is off is an error for whoever is bound, never an open door.
    run(&mut conn, "SET row_security = off");
    let said = as_us(&mut conn, "SELECT 1 FROM customers").unwrap_err();
    assert!(said.contains("would be affected by row-level security"), "{said}");
}

#[test]
fn the_owner_of_the_tables_is_bound_as_well() {
    let mut conn = TWO_SHOPS.as_owner();
    for (table, _) in guarded(&mut conn) {
        assert_eq!(
            as_us(&mut conn, &format!("SELECT 1 FROM {table} WHERE shop_id = '{THEIRS}'")),
            Ok(0),
            "{table}"
        );
    }
    assert!(counted(&mut conn, "SELECT 1 FROM customers").is_err(), "closed without a shop");
}

#[test]
fn the_planners_samples_hold_nothing_of_a_guarded_table() {
    run(&mut TWO_SHOPS.as_superuser(), "ANALYZE");
    let mut conn = TWO_SHOPS.as_serving();
    assert_eq!(
        as_us(&mut conn, "SELECT 1 FROM pg_stats WHERE tablename IN ('customers', 'work_orders')"),
        Ok(0)
    );
}

#[test]
fn a_row_of_ours_cannot_refer_to_one_of_theirs() {
    let mut owner = TWO_SHOPS.as_owner();
    let references = rows(
        &mut owner,
        "SELECT conname::text AS name, conrelid::regclass::text AS own, confrelid::regclass::text AS other, attname::text AS by_column,
                (SELECT string_agg(format('DROP CONSTRAINT %I', c.conname), ', ') FROM pg_constraint c
                  WHERE c.conrelid = pg_constraint.conrelid AND c.contype = 'c') AS without_checks
           FROM pg_constraint JOIN pg_attribute ON attrelid = conrelid AND attnum = conkey[2]
          WHERE contype = 'f' AND cardinality(conkey) = 2 AND connamespace = 'public'::regnamespace",
    );
    assert!(references.len() > 40, "{}", references.len());
    for reference in references {
        let part = |name: &str| reference[name].as_str();
        let (name, own, other) =
            (part("name").unwrap(), part("own").unwrap(), part("other").unwrap());
        let theirs = names(
            &mut TWO_SHOPS.as_superuser(),
            &format!("SELECT id::text AS name FROM {other} WHERE shop_id = '{THEIRS}'"),
        );
        run(&mut owner, &format!("BEGIN; SELECT set_config('bellbrace.shop', '{OURS}', true)"));
        // A directory's own keys are not the question here, nor what a row must hold besides.
        run(&mut owner, &format!("DELETE FROM {own} WHERE shop_id = '{THEIRS}'"));
        if let Some(without_checks) = part("without_checks") {
            run(&mut owner, &format!("ALTER TABLE {own} {without_checks}"));
        }
        let said = counted(
            &mut owner,
            &format!(
                "UPDATE {own} SET {} = '{}' WHERE shop_id = '{OURS}'",
                part("by_column").unwrap(),
                theirs[0]
            ),
        );
        run(&mut owner, "ROLLBACK");
        let said = said.unwrap_err();
        assert!(
            said.contains("violates foreign key constraint") && said.contains(name),
            "{name}: {said}"
        );
    }
}
