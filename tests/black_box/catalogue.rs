//! What PostgreSQL's own catalogue says of the schema: every table keeps the promises, also the
//! table that is added tomorrow.

use crate::database::{Database, names, rows};
use bellbrace::cluster::SERVING;
use diesel::PgConnection;
use serde_json::Value;
use std::sync::LazyLock;
use trade::words::spelling::Spelt;
use trade::bench::shop_limits;
use trade::words::{instrument, paperwork, stage};

static DATABASE: LazyLock<Database> = LazyLock::new(Database::migrated);

/// Read before the shop is known, or by the relay for all shops at once; they hold hashes, ids
/// and instants, and no row-level security. Whoever adds one says here why.
const DIRECTORIES: [&str; 7] = [
    "identities",       // an e-mail address leads to its memberships
    "memberships",      // an identity leads to its shops
    "session_families", // a refresh token leads to its shop
    "one_time_links",   // a first link comes before there is a shop
    "link_directory",   // a customer's link leads to its shop
    "outbox",           // one sender serves all shops in turn
    "event_queue",      // one relay numbers the events of all shops
];

/// Rows that are only ever added (domain rule 9).
const APPEND_ONLY: [&str; 16] = [
    "calls",
    "stage_changes",
    "tests",
    "pressure_tests",
    "fit_checks",
    "decisions",
    "disputes",
    "payments",
    "struck_payments",
    "order_changes",
    "bench_looks",
    "handovers",
    "waivers",
    "audit",
    "notes",
    "counter_marks",
];

const OURS: &str =
    "pg_class.relkind IN ('r', 'p') AND pg_class.relnamespace = 'public'::regnamespace
    AND pg_class.relname <> '__diesel_schema_migrations'";

fn migrated() -> PgConnection {
    DATABASE.as_owner()
}

/// Fails with every name that the query finds.
fn none(what: &str, sql: &str) {
    let found = names(&mut migrated(), sql);
    assert!(found.is_empty(), "{what}: {found:#?}");
}

fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("'{name}'")).collect::<Vec<_>>().join(", ")
}

#[test]
fn there_are_tables_and_every_directory_is_one() {
    let tables =
        names(&mut migrated(), &format!("SELECT relname::text AS name FROM pg_class WHERE {OURS}"));
    assert!(tables.len() >= 33, "{tables:?}");
    for name in DIRECTORIES.iter().chain(&APPEND_ONLY) {
        assert!(tables.iter().any(|table| table == name), "{name} is listed here and is no table");
    }
}

#[test]
fn every_table_but_the_directories_is_closed_to_other_shops() {
    none(
        "row-level security is not enabled and forced",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND relname NOT IN ({}) AND NOT (relrowsecurity AND relforcerowsecurity)",
            listed(&DIRECTORIES)
        ),
    );
    none(
        "a directory with row-level security belongs off the list",
        &format!(
            "SELECT relname::text AS name FROM pg_class WHERE {OURS} AND relname IN ({}) AND relrowsecurity",
            listed(&DIRECTORIES)
        ),
    );
    // One policy, for every command and role, that reads and checks the same thing: a second
    // permissive policy would open what the first one closes.
    let the_setting = "(shop_id = (current_setting('bellbrace.shop'::text))::uuid)";
    none(
        "has not exactly the policy of its shop",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND relrowsecurity
                AND (SELECT array_agg((polpermissive, polcmd, polroles, pg_get_expr(polqual, polrelid), pg_get_expr(polwithcheck, polrelid))::text)
                       FROM pg_policy WHERE polrelid = pg_class.oid)
                    IS DISTINCT FROM ARRAY[(true, '*'::\"char\", '{{0}}'::oid[], $sql${the_setting}$sql$, $sql${the_setting}$sql$)::text]"
        ),
    );
}

#[test]
fn no_view_or_function_looks_past_the_policies() {
    none(
        "a view answers as its owner, who is bound too, but nobody has thought about it",
        "SELECT relname::text AS name FROM pg_class WHERE relkind IN ('v', 'm') AND relnamespace = 'public'::regnamespace",
    );
    none(
        "runs with the rights of its owner",
        "SELECT proname::text AS name FROM pg_proc
          WHERE prosecdef AND pronamespace = 'public'::regnamespace
            AND NOT EXISTS (SELECT 1 FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e')",
    );
}

#[test]
fn every_row_names_its_shop_and_every_key_leads_with_it() {
    none(
        "has no shop_id, or one that may be missing",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND relname NOT IN ('identities', 'one_time_links')
                AND NOT EXISTS (SELECT 1 FROM pg_attribute
                                 WHERE attrelid = pg_class.oid AND attname = 'shop_id' AND attnotnull AND atttypid = 'uuid'::regtype)"
        ),
    );
    none(
        "its primary key does not begin with the shop, or is missing",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND relname NOT IN ({})
                AND NOT EXISTS (SELECT 1 FROM pg_index JOIN pg_attribute ON attrelid = indrelid AND attnum = indkey[0]
                                 WHERE indrelid = pg_class.oid AND indisprimary AND attname = 'shop_id')",
            listed(&DIRECTORIES)
        ),
    );
    none(
        "this index does not begin with the shop",
        &format!(
            "SELECT indexrelid::regclass::text AS name
               FROM pg_index JOIN pg_class ON pg_class.oid = indrelid JOIN pg_attribute ON attrelid = indrelid AND attnum = indkey[0]
              WHERE {OURS} AND relname NOT IN ({}) AND attname <> 'shop_id'",
            listed(&DIRECTORIES)
        ),
    );
}

#[test]
fn every_reference_carries_the_shop_and_has_an_index() {
    none(
        "this foreign key does not carry the shop on both sides",
        "SELECT conname::text AS name FROM pg_constraint
          WHERE contype = 'f' AND conrelid <> 'memberships'::regclass
            AND NOT EXISTS (SELECT 1 FROM generate_subscripts(conkey, 1) AS place
                              JOIN pg_attribute own ON own.attrelid = conrelid AND own.attnum = conkey[place]
                              JOIN pg_attribute other ON other.attrelid = confrelid AND other.attnum = confkey[place]
                             WHERE own.attname = 'shop_id' AND other.attname = 'shop_id')",
    );
    none(
        "this foreign key lets a delete or an update cascade",
        "SELECT conname::text AS name FROM pg_constraint WHERE contype = 'f' AND (confdeltype <> 'a' OR confupdtype <> 'a')",
    );
    none(
        "no whole index begins with the columns of this foreign key",
        "SELECT conname::text AS name FROM pg_constraint
          WHERE contype = 'f'
            AND NOT EXISTS (SELECT 1 FROM pg_index
                             WHERE indrelid = conrelid AND indpred IS NULL
                               AND (SELECT array_agg(led) FROM (SELECT unnest(indkey::smallint[]) AS led LIMIT cardinality(conkey)) AS led) @> conkey)",
    );
    none(
        "an id points somewhere and no foreign key says where",
        &format!(
            "SELECT attrelid::regclass::text || '.' || attname AS name
               FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
              WHERE {OURS} AND attnum > 0 AND NOT attisdropped AND atttypid = 'uuid'::regtype
                AND attname <> 'id' AND relname || '.' || attname <> 'shops.shop_id'
                AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE contype = 'f' AND conrelid = attrelid AND attnum = ANY (conkey))"
        ),
    );
}

#[test]
fn no_constraint_was_named_by_postgresql() {
    // Since PostgreSQL 18 NOT NULL is a constraint with a name of its own; it is left out.
    none(
        "name it for what it promises",
        "SELECT conrelid::regclass::text || ' ' || conname AS name FROM pg_constraint
          WHERE connamespace = 'public'::regnamespace AND contype IN ('c', 'u', 'p', 'f', 'x')
            AND conname ~ '_(check|key|excl)[0-9]*$'",
    );
    none(
        "does not say which table it belongs to",
        "SELECT conrelid::regclass::text || ' ' || conname AS name FROM pg_constraint
          WHERE connamespace = 'public'::regnamespace AND contype IN ('c', 'u', 'p', 'f', 'x') AND conrelid <> 0
            AND conrelid <> '__diesel_schema_migrations'::regclass
            AND NOT starts_with(conname, conrelid::regclass::text || '_')",
    );
    none(
        "was never checked against what was there before",
        "SELECT conname::text AS name FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND NOT convalidated",
    );
}

#[test]
fn every_table_column_and_word_says_what_it_is() {
    none(
        "this table has no comment",
        &format!(
            "SELECT relname::text AS name FROM pg_class WHERE {OURS} AND obj_description(oid, 'pg_class') IS NULL"
        ),
    );
    none(
        "this column has no comment, or none that is a sentence",
        &format!(
            "SELECT attrelid::regclass::text || '.' || attname AS name
               FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
              WHERE {OURS} AND attnum > 0 AND NOT attisdropped
                AND coalesce(col_description(attrelid, attnum), '') !~ '^[A-Z0-9].*[.]$'"
        ),
    );
    none(
        "this domain has no comment",
        "SELECT typname::text AS name FROM pg_type
          WHERE typtype = 'd' AND typnamespace = 'public'::regnamespace AND obj_description(oid, 'pg_type') IS NULL",
    );
    none(
        "this function has no comment",
        "SELECT proname::text AS name FROM pg_proc
          WHERE pronamespace = 'public'::regnamespace AND obj_description(oid, 'pg_proc') IS NULL
            AND NOT EXISTS (SELECT 1 FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e')",
    );
}

#[test]
fn units_stand_in_names_or_in_comments() {
    none(
        "an instant must say by whose clock, unless its name and comment say it is none",
        &format!(
            "SELECT attrelid::regclass::text || '.' || attname AS name
               FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
              WHERE {OURS} AND attnum > 0 AND atttypid = 'timestamptz'::regtype
                AND col_description(attrelid, attnum) !~ 'by the (business|database''s) clock'"
        ),
    );
    none(
        "an instant without zone, a float, or a width for a text",
        &format!(
            "SELECT attrelid::regclass::text || '.' || attname AS name
               FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
              WHERE {OURS} AND attnum > 0 AND (atttypid IN ('timestamp'::regtype, 'real'::regtype, 'float8'::regtype, 'money'::regtype,
                                                           'json'::regtype, 'varchar'::regtype, 'bpchar'::regtype))"
        ),
    );
    none(
        "a number that is no count says neither its unit in its name nor in its comment",
        &format!(
            "SELECT attrelid::regclass::text || '.' || attname AS name
               FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
              WHERE {OURS} AND attnum > 0 AND atttypid = 'numeric'::regtype
                AND attname !~ '_mm$' AND col_description(attrelid, attnum) !~ 'in the shop''s currency'"
        ),
    );
}

#[test]
fn the_serving_role_owns_nothing_and_cannot_lift_the_barrier() {
    let role = rows(
        &mut migrated(),
        &format!(
            "SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb, rolreplication FROM pg_roles WHERE rolname = '{SERVING}'"
        ),
    );
    assert_eq!(
        role,
        [
            serde_json::json!({"rolsuper": false, "rolbypassrls": false, "rolcreaterole": false, "rolcreatedb": false, "rolreplication": false})
        ]
    );
    none(
        "the serving role is a member of",
        &format!(
            "SELECT roleid::regrole::text AS name FROM pg_auth_members WHERE member = '{SERVING}'::regrole"
        ),
    );
    none(
        "the serving role owns",
        &format!(
            "SELECT classid::regclass || ' ' || objid AS name FROM pg_shdepend WHERE refobjid = '{SERVING}'::regrole AND deptype = 'o'"
        ),
    );
    none(
        "the serving role may create in",
        &format!(
            "SELECT nspname::text AS name FROM pg_namespace
              WHERE nspname !~ '^pg_(toast|temp)' AND has_schema_privilege('{SERVING}', oid, 'CREATE')"
        ),
    );
    none(
        "the serving role may empty, refer to or put a trigger on",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND (has_table_privilege('{SERVING}', oid, 'TRUNCATE') OR has_table_privilege('{SERVING}', oid, 'REFERENCES')
                                OR has_table_privilege('{SERVING}', oid, 'TRIGGER'))"
        ),
    );
    none(
        "everybody has rights on",
        &format!(
            "SELECT relname::text AS name FROM pg_class WHERE {OURS} AND relacl::text ~ '[{{,]='"
        ),
    );
}

#[test]
fn what_was_recorded_can_be_neither_changed_nor_deleted_by_the_serving_role() {
    none(
        "can be changed or deleted",
        &format!(
            "SELECT relname::text AS name FROM pg_class
              WHERE {OURS} AND relname IN ({})
                AND (has_any_column_privilege('{SERVING}', oid, 'UPDATE') OR has_table_privilege('{SERVING}', oid, 'DELETE'))",
            listed(&APPEND_ONLY)
        ),
    );
    let deletable = names(
        &mut migrated(),
        &format!(
            "SELECT relname::text AS name FROM pg_class WHERE {OURS} AND has_table_privilege('{SERVING}', oid, 'DELETE') ORDER BY 1"
        ),
    );
    assert_eq!(
        deletable,
        ["event_queue", "idempotency_keys", "one_time_links", "outbox"],
        "nothing the shop learned is deleted"
    );
}

/// The words of a domain, in the order of its check.
fn words_of(conn: &mut PgConnection, domain: &str) -> Vec<String> {
    let check = rows(
        conn,
        &format!(
            "SELECT pg_get_constraintdef(oid) AS said FROM pg_constraint WHERE contypid = '{domain}'::regtype"
        ),
    );
    let [Value::Object(check)] = check.as_slice() else {
        panic!("{domain} has {} checks", check.len())
    };
    check["said"].as_str().unwrap().split('\'').skip(1).step_by(2).map(ToOwned::to_owned).collect()
}

fn spelt<T: Spelt>() -> Vec<&'static str> {
    T::ALL.iter().map(|word| word.spelling()).collect()
}

#[test]
fn the_words_in_sql_are_the_words_in_rust_in_their_order() {
    let words: [(&str, Vec<&str>); 27] = [
        ("stage", spelt::<stage::Stage>()),
        ("move_reason", spelt::<stage::Because>()),
        ("staff_role", spelt::<stage::Role>()),
        ("hold_reason", spelt::<stage::HoldReason>()),
        ("family", spelt::<instrument::Family>()),
        ("mark_kind", spelt::<instrument::MarkKind>()),
        ("finding_kind", spelt::<instrument::FindingKind>()),
        ("leaks", spelt::<instrument::Leaks>()),
        ("found_when", spelt::<instrument::FoundWhen>()),
        ("disposition", spelt::<instrument::Disposition>()),
        ("operation_kind", spelt::<instrument::OperationKind>()),
        ("heat", spelt::<instrument::Heat>()),
        ("operation_state", spelt::<instrument::OperationState>()),
        ("test_kind", spelt::<instrument::TestKind>()),
        ("test_method", spelt::<instrument::TestMethod>()),
        ("verdict", spelt::<instrument::Verdict>()),
        ("fit_kind", spelt::<shop_limits::FitKind>()),
        ("customer_kind", spelt::<paperwork::CustomerKind>()),
        ("mail_wanted", spelt::<paperwork::MailWanted>()),
        ("quote_state", spelt::<paperwork::QuoteState>()),
        ("answer", spelt::<paperwork::Answer>()),
        ("answer_how", spelt::<paperwork::AnswerHow>()),
        ("payment_kind", spelt::<paperwork::PaymentKind>()),
        ("payment_how", spelt::<paperwork::PaymentHow>()),
        ("call_outcome", spelt::<paperwork::CallOutcome>()),
        ("letter_state", spelt::<paperwork::LetterState>()),
        ("link_purpose", spelt::<paperwork::LinkPurpose>()),
    ];
    let mut conn = migrated();
    for (domain, expected) in &words {
        assert_eq!(words_of(&mut conn, domain), *expected, "{domain}");
    }
    let domains = names(
        &mut conn,
        "SELECT typname::text AS name FROM pg_type WHERE typtype = 'd' AND typnamespace = 'public'::regnamespace",
    );
    for domain in domains {
        assert!(words.iter().any(|(name, _)| *name == domain), "{domain} is compared with nothing");
    }
    let roles = rows(
        &mut conn,
        "SELECT pg_get_constraintdef(oid) AS said FROM pg_constraint WHERE conname = 'people_roles_known'",
    );
    let said = roles[0]["said"].as_str().unwrap();
    let list = said.split('\'').find(|part| part.contains('[')).unwrap();
    assert_eq!(serde_json::from_str::<Vec<String>>(list).unwrap(), spelt::<stage::Role>());
}
