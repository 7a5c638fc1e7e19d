//! What was done on an order since somebody looked at it: whoever comes second is told (rule 6).

use crate::desk::Halt;
use chrono::{DateTime, Utc};
use store::order_rows::OrderRows;
use store::{Tx, events};
use trade::words::ids::WorkOrderId;
use trade::words::stage::Stage;

/// What was done on an order since it was looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SinceSeen {
    /// Oldest first.
    pub changes: Vec<ChangeSince>,
}

/// One thing that was done on an order since it was looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangeSince {
    /// The version of the order after it.
    pub version: i32,
    /// What, in words.
    pub words: String,
    /// Who, where the record of the change says so.
    pub by: Option<String>,
    /// When.
    pub at: DateTime<Utc>,
    /// Which fields of the order it touched; none where the words alone can say it.
    pub fields: &'static [&'static str],
    /// Where the order stood before, of a move.
    pub stage_before: Option<Stage>,
}

/// Which fields of an order an event of this kind tells of.
fn fields_of(kind: &str) -> &'static [&'static str] {
    match kind {
        "stage_changed" => &["stage"],
        "claimed" | "given_back" => &["claimed_by"],
        "ending" | "ending_taken_back" => &["ending"],
        "finding_recorded" | "finding_amended" => &["findings"],
        "clock" | "operation_added" | "operation_amended" | "operation_claimed" | "plan_fixed" | "way_chosen" => &["operations"],
        "quote_drafted" | "quote_sent" | "quote_struck" | "quote_expired" | "decided" => &["quotes"],
        "photo_added" | "photo_amended" | "photo_struck" => &["photos"],
        "test_recorded" => &["tests"],
        "fit_checked" => &["fit_checks"],
        "held" | "lifted" => &["holds"],
        "note_added" => &["notes"],
        "payment_taken" | "payment_struck" => &["payments", "money"],
        "order_amended" => &["changes"],
        "link_issued" | "link_withdrawn" => &["links"],
        "letter_sent_again" | "reminded" => &["letters"],
        _ => &[],
    }
}

/// What was done on a locked order after version `seen`. One statement.
pub(crate) fn since_seen(tx: &mut Tx<'_>, rows: &OrderRows, seen: i32) -> Result<SinceSeen, Halt> {
    // A tag that is none of ours says nothing of what was seen.
    if seen < 0 {
        return Ok(SinceSeen::default());
    }
    let done = events::on_order_since(tx.conn(), WorkOrderId(rows.order.id), seen)?;
    // Every move is one event and one row: the last so many rows are those of the moves since then.
    let moves = done.iter().filter(|one| one.kind == "stage_changed").count();
    let mut left = rows.stage_changes.iter().skip(rows.stage_changes.len().saturating_sub(moves)).map(|row| row.from_stage.map(|word| word.0));
    let changes = done
        .into_iter()
        .map(|one| ChangeSince {
            stage_before: if one.kind == "stage_changed" { left.next().flatten() } else { None },
            version: one.version,
            fields: fields_of(&one.kind),
            words: one.words,
            by: one.by,
            at: one.at,
        })
        .collect();
    Ok(SinceSeen { changes })
}
