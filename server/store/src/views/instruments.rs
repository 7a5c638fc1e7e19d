//! Instruments and what is known of them from earlier visits.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use super::{NameRef, PhotoCopy, PinnedTo};
use trade::words::ids::{FindingId, InstrumentId, PhotoId, WorkOrderId};
use trade::words::instrument::Family;
use utoipa::ToSchema;

views! {
    /// An instrument.
    Instrument {
        /// Which.
        id: InstrumentId,
        /// For `If-Match`.
        version: i32,
        /// Whose it is.
        owner: NameRef,
        /// Family.
        family: Family,
        /// As engraved, as text.
        maker: Option<String>,
        /// As engraved, as text.
        model: Option<String>,
        /// As engraved.
        serial_number: Option<String>,
        /// Year or age band, as text.
        age_text: Option<String>,
        /// Finish.
        finish: Option<String>,
        /// The owner's own number for it. Never a pupil's name.
        owners_number: Option<String>,
        /// The last check-in, as a date of the shop.
        last_here_on: Option<NaiveDate>,
    }
    /// Something left and watched on an earlier visit.
    WatchItem {
        /// The finding.
        finding_id: FindingId,
        /// What the head of its pin says on the instrument's map.
        head: String,
        /// Which part or joint of the map it is pinned to.
        pinned_to: Option<PinnedTo>,
        /// Which side.
        side: Option<String>,
        /// Along the part, mm.
        #[schema(value_type = Option<String>, pattern = r"^\d{1,5}(\.\d{1,3})?$", example = "12.5")]
        position_mm: Option<Decimal>,
        /// The order it was found on.
        claim_number: String,
        /// When, as a date of the shop.
        found_on: NaiveDate,
        /// What and where.
        words: String,
        /// What was noted about it.
        note: Option<String>,
    }
    /// A test or fit check of a visit.
    PastTest {
        /// As a date of the shop.
        on: NaiveDate,
        /// What was tested, how, and what it said.
        words: String,
    }
    /// A photo of an earlier visit.
    PastPhoto {
        /// Which.
        id: PhotoId,
        /// What is on it, in words.
        caption: Option<String>,
        /// What is fetched to show it in a list.
        small: PhotoCopy,
        /// What is fetched to look at it.
        large: PhotoCopy,
    }
    /// One earlier visit.
    Visit {
        /// The order.
        work_order_id: WorkOrderId,
        /// Its claim number.
        claim_number: String,
        /// As a date of the shop.
        checked_in_on: NaiveDate,
        /// As a date of the shop; none while it is here.
        closed_on: Option<NaiveDate>,
        /// In the customer's words.
        complaint: String,
        /// What was found and what became of it.
        words: Vec<String>,
        /// Tests and fit checks, oldest first.
        tests: Vec<PastTest>,
        /// Photos, oldest first.
        photos: Vec<PastPhoto>,
    }
    /// What was ever found and done on an instrument.
    History {
        /// Watch items first.
        watch: Vec<WatchItem>,
        /// Newest first.
        visits: Vec<Visit>,
    }
}
