//! Photos of an order.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use super::PersonRef;
use trade::words::ids::{FindingId, PhotoId};
use trade::words::photo::PhotoSize;
use utoipa::ToSchema;

views! {
    /// A size of a photo that can be fetched.
    PhotoCopy {
        /// Its name.
        size: PhotoSize,
        /// Held upright, in pixels.
        width_px: u32,
        /// Held upright, in pixels.
        height_px: u32,
    }
    /// A photo of an order.
    Photo {
        /// Which.
        id: PhotoId,
        /// For `If-Match`.
        version: i32,
        /// The order's version at this moment.
        order_version: i32,
        /// The finding it is pinned to.
        finding_id: Option<FindingId>,
        /// What is on it, in words.
        caption: Option<String>,
        /// Whether the customer sees it.
        shared: bool,
        /// Of the original.
        media_type: String,
        /// Length of the original.
        bytes_count: i32,
        /// What can be fetched of it; nothing of a struck one.
        sizes: Vec<PhotoCopy>,
        /// When it was added.
        at: DateTime<Utc>,
        /// Who added it.
        by: PersonRef,
        /// Why it is struck.
        struck_reason: Option<String>,
        /// Who struck it.
        struck_by: Option<PersonRef>,
        /// When.
        struck_at: Option<DateTime<Utc>>,
    }
}
