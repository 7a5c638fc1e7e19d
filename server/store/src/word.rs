//! A word of the trade as a text column.

use diesel::backend::Backend;
use diesel::deserialize::{self, FromSql, FromSqlRow};
use diesel::expression::AsExpression;
use diesel::pg::{Pg, PgValue};
use diesel::serialize::{self, Output, ToSql};
use diesel::sql_types::Text;
use std::io::Write;
use std::ops::Deref;
use trade::words::spelling::Spelt;

/// A spelt enum stored under its one spelling.
#[derive(Debug, Clone, Copy, PartialEq, Eq, AsExpression, FromSqlRow)]
#[diesel(sql_type = Text)]
pub struct Word<T: Spelt + std::fmt::Debug>(pub T);

impl<T: Spelt + std::fmt::Debug> Deref for Word<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: Spelt + std::fmt::Debug> FromSql<Text, Pg> for Word<T> {
    fn from_sql(bytes: PgValue<'_>) -> deserialize::Result<Self> {
        let text = <String as FromSql<Text, Pg>>::from_sql(bytes)?;
        T::from_spelling(&text).map(Self).ok_or_else(|| format!("{text:?} is no known word").into())
    }
}

impl<T: Spelt + std::fmt::Debug> ToSql<Text, Pg> for Word<T>
where
    Pg: Backend,
{
    fn to_sql<'b>(&'b self, out: &mut Output<'b, '_, Pg>) -> serialize::Result {
        out.write_all(self.0.spelling().as_bytes())?;
        Ok(serialize::IsNull::No)
    }
}
