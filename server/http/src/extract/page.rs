//! Pages of a list: a limit and an opaque cursor.

use crate::problem::{Kind, Problem};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use store::search::{AfterName, Query};
use utoipa::{IntoParams, ToSchema};

/// One page of a list.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Page<T: ToSchema> {
    /// In a total order.
    pub items: Vec<T>,
    /// Where the next page begins; none on the last.
    pub next: Option<String>,
}

/// Which page of a list.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct Paging {
    /// 1 to 200; 50 if left out.
    #[param(minimum = 1, maximum = 200)]
    pub limit: Option<i64>,
    /// Of the page before.
    pub cursor: Option<String>,
}

impl Paging {
    /// Whether limit and cursor are such as this list gives, before it is read.
    ///
    /// # Errors
    /// `invalid-input`.
    pub fn check<P: DeserializeOwned>(&self) -> Result<(), Problem> {
        Cursor::limit(self.limit)?;
        Cursor::read::<P>(self.cursor.as_deref())?;
        Ok(())
    }

    /// One page of a list that is short enough to be read whole, each item with its place; it rises
    /// by the places.
    ///
    /// # Errors
    /// `invalid-input`.
    pub fn page_of<P, T>(&self, all: impl IntoIterator<Item = (P, T)>) -> Result<Page<T>, Problem>
    where
        P: Serialize + DeserializeOwned + PartialOrd,
        T: ToSchema,
    {
        let limit = Cursor::limit(self.limit)?;
        let after: Option<P> = Cursor::read(self.cursor.as_deref())?;
        let rest = all.into_iter().filter(|(place, _)| after.as_ref().is_none_or(|after| place > after));
        Ok(Page::cut(rest.take(usize::try_from(limit).unwrap_or(usize::MAX).saturating_add(1)).collect(), limit))
    }

    /// The same of a list to whose end alone things are added: the place is the number in it.
    ///
    /// # Errors
    /// `invalid-input`.
    pub fn page_of_growing<T: ToSchema>(&self, all: Vec<T>) -> Result<Page<T>, Problem> {
        self.page_of(all.into_iter().enumerate())
    }
}

/// Which page of a list by name, and what of it.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ByName {
    /// What is remembered of the name, of staff also initials or e-mail; forgiving.
    q: Option<String>,
    /// 1 to 200; 50 if left out.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<i64>,
    /// Of the page before.
    cursor: Option<String>,
}

/// [`ByName`], understood.
#[derive(Debug)]
pub struct AskedByName {
    /// What is searched for.
    pub query: Option<Query>,
    /// Where the page begins.
    pub after: Option<AfterName>,
    /// How many a page holds.
    pub limit: i64,
}

impl ByName {
    /// What is asked.
    ///
    /// # Errors
    /// `invalid-input`.
    pub fn read(&self) -> Result<AskedByName, Problem> {
        Ok(AskedByName {
            query: self.q.as_deref().and_then(Query::read),
            after: Cursor::read(self.cursor.as_deref())?,
            limit: Cursor::limit(self.limit)?,
        })
    }
}

impl<T: ToSchema> Page<T> {
    /// Cuts one row more than a page to the page and its cursor.
    pub fn cut<P: Serialize>(mut found: Vec<(P, T)>, limit: i64) -> Self {
        let limit = usize::try_from(limit).unwrap_or(usize::MAX);
        let more = found.len() > limit;
        found.truncate(limit);
        let next = if more { found.last().map(|(place, _)| Cursor::write(place)) } else { None };
        Self { items: found.into_iter().map(|(_, item)| item).collect(), next }
    }
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
