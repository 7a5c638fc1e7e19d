//! Lists of rows as columns of one statement: what a screen needs comes in one flight.

use diesel::deserialize::{self, FromSql, FromSqlRow, Queryable};
use diesel::expression::Expression;
use diesel::pg::{Pg, PgQueryBuilder, PgValue};
use diesel::prelude::*;
use diesel::query_builder::{AstPass, QueryBuilder, QueryFragment};
use diesel::sql_types::{Array, Record};

/// The columns of a row, as [`Selectable`] has them.
type Columns<R> = <R as Selectable<Pg>>::SelectExpression;

/// The SQL type of a list of such rows.
pub(crate) type ListOf<R> = Array<Record<<Columns<R> as Expression>::SqlType>>;

/// A column that holds rows: `ARRAY(SELECT ROW(…) FROM …)`. Which columns, and in which order,
/// follows from the row's own type, so they cannot differ.
pub(crate) struct List<R: Selectable<Pg>> {
    columns: Columns<R>,
    from: &'static str,
}

impl<R: Selectable<Pg>> List<R> {
    /// The rows of `from`: everything from FROM on.
    pub(crate) fn from(from: &'static str) -> Self {
        Self { columns: R::construct_selection(), from }
    }
}

impl<R: Selectable<Pg>> QueryFragment<Pg> for List<R>
where
    Columns<R>: QueryFragment<Pg>,
{
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("ARRAY(SELECT ROW(");
        self.columns.walk_ast(out.reborrow())?;
        out.push_sql(") ");
        out.push_sql(self.from);
        out.push_sql(")");
        Ok(())
    }
}

/// The text of a statement as it is sent.
pub(crate) fn text_of(statement: &impl QueryFragment<Pg>) -> Result<String, diesel::result::Error> {
    let mut text = PgQueryBuilder::default();
    statement.to_sql(&mut text, &Pg)?;
    Ok(text.finish())
}

/// The rows of a [`List`] as they came.
#[derive(Debug, FromSqlRow)]
pub(crate) struct Listed<R>(pub Vec<R>);

impl<R> Listed<R> {
    /// The only row, where there is one.
    pub(crate) fn only(self) -> Option<R> {
        self.0.into_iter().next()
    }
}

impl<R, ST> FromSql<Array<Record<ST>>, Pg> for Listed<R>
where
    R: Queryable<ST, Pg>,
    R::Row: FromSql<Record<ST>, Pg>,
{
    fn from_sql(value: PgValue<'_>) -> deserialize::Result<Self> {
        let rows = <Vec<R::Row> as FromSql<Array<Record<ST>>, Pg>>::from_sql(value)?;
        rows.into_iter().map(R::build).collect::<deserialize::Result<_>>().map(Self)
    }
}
