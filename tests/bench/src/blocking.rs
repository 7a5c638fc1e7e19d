//! Diesel on blocking threads, through the product's own doors.

use crate::{BOARD, BoardRow, CHANGE, Fault, Moved, One, READ, SHOP, any_order, open_order};
use diesel::RunQueryDsl;
use diesel::sql_types::{Integer, Text, Uuid as SqlUuid};
use store::Store;
use trade::words::ids::ShopId;
use uuid::Uuid;

/// Does the work once.
pub async fn once(store: &Store, work: &str) -> Result<(), Fault> {
    let shop = ShopId(SHOP);
    match work {
        "read" => {
            let row: Vec<One> = store
                .read(shop, |conn| {
                    diesel::sql_query(READ).bind::<SqlUuid, _>(any_order()).load(conn).map_err(store::Error::from)
                })
                .await?;
            assert_eq!(row.len(), 1);
        }
        "board" => {
            let rows: Vec<BoardRow> =
                store.read(shop, |conn| diesel::sql_query(BOARD).load(conn).map_err(store::Error::from)).await?;
            assert!(rows.len() == 200);
        }
        _ => {
            store
                .write(shop, |tx| {
                    let conn = tx.conn();
                    let (order, id) = (open_order(), Uuid::now_v7());
                    let moved: Moved = diesel::sql_query(CHANGE[0]).bind::<SqlUuid, _>(order).get_result(conn)?;
                    diesel::sql_query(CHANGE[1])
                        .bind::<SqlUuid, _>(order)
                        .bind::<SqlUuid, _>(id)
                        .bind::<Integer, _>(moved.version)
                        .bind::<Text, _>(moved.stage)
                        .execute(conn)?;
                    diesel::sql_query(CHANGE[2]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id).execute(conn)?;
                    diesel::sql_query(CHANGE[3]).bind::<SqlUuid, _>(id).execute(conn)?;
                    diesel::sql_query(CHANGE[4]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id).execute(conn)?;
                    diesel::sql_query(CHANGE[5]).bind::<SqlUuid, _>(id).execute(conn)?;
                    diesel::sql_query(CHANGE[6]).bind::<SqlUuid, _>(order).bind::<SqlUuid, _>(id).execute(conn)?;
                    Ok::<(), store::Error>(())
                })
                .await?;
        }
    }
    Ok(())
}

