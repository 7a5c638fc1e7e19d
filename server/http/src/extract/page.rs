//! Pages of a list: a limit and an opaque cursor.

use crate::problem::{Kind, Problem};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Serialize;
use serde::de::DeserializeOwned;
use utoipa::ToSchema;

/// One page of a list.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Page<T: ToSchema> {
    /// In a total order.
    pub items: Vec<T>,
    /// Where the next page begins; none on the last.
    pub next: Option<String>,
}

/// Where a page begins: opaque to the client, readable to us.
#[derive(Debug)]
pub struct Cursor;

impl Cursor {
    /// A cursor that holds this place.
    pub fn write(place: &impl Serialize) -> String {
        URL_SAFE_NO_PAD.encode(serde_json::to_vec(place).unwrap_or_default())
    }

    /// The place a cursor holds.
    ///
    /// # Errors
    /// `invalid-input` for one that this list did not give.
    pub fn read<T: DeserializeOwned>(cursor: Option<&str>) -> Result<Option<T>, Problem> {
        let Some(cursor) = cursor else { return Ok(None) };
        URL_SAFE_NO_PAD
            .decode(cursor)
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .map(Some)
            .ok_or_else(|| Problem::new(Kind::InvalidInput).at("cursor", "is none that this list gave; begin without it"))
    }

    /// How many rows a page holds: 1 to 200, 50 if left out.
    ///
    /// # Errors
    /// `invalid-input`.
    pub fn limit(limit: Option<i64>) -> Result<i64, Problem> {
        match limit {
            None => Ok(50),
            Some(limit @ 1..=200) => Ok(limit),
            Some(_) => Err(Problem::new(Kind::InvalidInput).at("limit", "must lie between 1 and 200")),
        }
    }
}
