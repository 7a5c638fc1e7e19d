//! What must be true of every database a test leaves behind, whatever it did.
//!
//! Asked of PostgreSQL in its own words, past the server: DOMAIN.md's rules 1, 2, 5, 8 and 9 as
//! far as rows show them.

use crate::postgres::Database;

/// What each query counts; every count must be 0.
const NEVER: [(&str, &str); 9] = [
    (
        "rule 1: a stage that its last stage-change row does not say",
        "SELECT count(*) AS n FROM work_orders w WHERE w.stage IS DISTINCT FROM
            (SELECT to_stage FROM stage_changes s WHERE s.work_order_id = w.id ORDER BY s.number DESC LIMIT 1)",
    ),
    (
        "rule 1: a stage change that does not begin where the one before ended",
        "SELECT count(*) AS n FROM stage_changes s LEFT JOIN stage_changes b
            ON b.work_order_id = s.work_order_id AND b.number = s.number - 1
          WHERE s.from_stage IS DISTINCT FROM b.to_stage",
    ),
    (
        "rule 1: a stage change without its live event",
        "SELECT abs((SELECT count(*) FROM stage_changes)
                  - (SELECT count(*) FROM events WHERE kind IN ('stage_changed', 'checked_in'))) AS n",
    ),
    (
        "rule 8: a stage change without a letter or the reason why none was sent",
        "SELECT count(*) AS n FROM stage_changes s WHERE NOT EXISTS
            (SELECT FROM letters l WHERE l.stage_change_id = s.id AND (l.state <> 'not_wanted' OR l.state_reason <> ''))",
    ),
    (
        "rule 8: a letter in the outbox that is not to be sent, or one to be sent that is not in it",
        "SELECT count(*) AS n FROM letters l LEFT JOIN outbox o ON o.letter_id = l.id
          WHERE (l.state IN ('waiting', 'sending')) AND o.letter_id IS NULL
             OR (l.state IN ('sent', 'bounced', 'given_up', 'not_wanted')) AND o.letter_id IS NOT NULL",
    ),
    (
        "rule 8: two letters with one Message-ID",
        "SELECT count(*) - count(DISTINCT message_id) AS n FROM letters",
    ),
    (
        "more than one clock running for one person",
        "SELECT count(*) AS n FROM (SELECT person_id FROM time_entries WHERE stopped_at IS NULL
            GROUP BY person_id HAVING count(*) > 1) two",
    ),
    (
        "a step that runs without a clock, or a clock on a step that does not run",
        "SELECT count(*) AS n FROM operations o FULL JOIN (SELECT * FROM time_entries WHERE stopped_at IS NULL) t
            ON t.operation_id = o.id WHERE (o.state = 'running') IS DISTINCT FROM (t.id IS NOT NULL)",
    ),
    (
        "events numbered with a gap or a repeat",
        "SELECT count(*) AS n FROM (SELECT shop_id FROM events WHERE number IS NOT NULL GROUP BY shop_id
            HAVING count(*) <> max(number) OR min(number) <> 1 OR count(DISTINCT number) <> count(*)) odd",
    ),
];

/// Checks all of them.
///
/// # Panics
/// With the first that does not hold.
pub fn hold(database: &Database) {
    let mut conn = database.superuser();
    for (what, query) in NEVER {
        assert_eq!(crate::postgres::count(&mut conn, query), 0, "{what}");
    }
}
