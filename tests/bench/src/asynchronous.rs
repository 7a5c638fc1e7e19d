//! diesel-async with its own pool, the connection check of the pool turned off.

use crate::{BOARD, BoardRow, CHANGE, Fault, Moved, One, READ, any_order, begin, open_order};
use diesel::sql_types::{Integer, Text, Uuid as SqlUuid};
use diesel_async::pooled_connection::deadpool::Pool;
use diesel_async::{AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use uuid::Uuid;

/// Does the work once.
pub async fn once(pool: &Pool<AsyncPgConnection>, work: &str) -> Result<(), Fault> {
    let mut conn = pool.get().await?;
    conn.batch_execute(&begin()).await?;
    match work {
        "read" => {
            let row: Vec<One> = RunQueryDsl::load(diesel::sql_query(READ).bind::<SqlUuid, _>(any_order()), &mut conn).await?;
            assert_eq!(row.len(), 1);
        }
        "board" => {
            let rows: Vec<BoardRow> = RunQueryDsl::load(diesel::sql_query(BOARD), &mut conn).await?;
            assert!(rows.len() == 200);
        }
        _ => {
            let (order, id) = (open_order(), Uuid::now_v7());
            let moved: Moved = RunQueryDsl::get_result(diesel::sql_query(CHANGE[0]).bind::<SqlUuid, _>(order), &mut conn).await?;
            RunQueryDsl::execute(
                diesel::sql_query(CHANGE[1])
                    .bind::<SqlUuid, _>(order)
                    .bind::<SqlUuid, _>(id)
                    .bind::<Integer, _>(moved.version)
                    .bind::<Text, _>(moved.stage),
                &mut conn,
            )
            .await?;
            RunQueryDsl::execute(diesel::sql_query(CHANGE[2]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id), &mut conn).await?;
            RunQueryDsl::execute(diesel::sql_query(CHANGE[3]).bind::<SqlUuid, _>(id), &mut conn).await?;
            RunQueryDsl::execute(diesel::sql_query(CHANGE[4]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id), &mut conn).await?;
            RunQueryDsl::execute(diesel::sql_query(CHANGE[5]).bind::<SqlUuid, _>(id), &mut conn).await?;
            RunQueryDsl::execute(diesel::sql_query(CHANGE[6]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id), &mut conn).await?;
        }
    }
    conn.batch_execute("COMMIT").await?;
    Ok(())
}

