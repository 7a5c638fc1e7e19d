//! The forecast of every shop: made soon after something happened, and every minute while the
//! shop is open. One process at a time makes the forecast of a shop; the others read it.

use acts::Acts;
use std::time::Duration;
use store::shops;
use tokio::sync::watch;
use trade::words::ids::ShopId;

/// Between two looks without a hint.
const PACE: Duration = Duration::from_secs(5);
/// After a look: what happens in one breath is forecast together.
const BREATH: Duration = Duration::from_millis(300);

/// One look at every shop; gives how many forecasts were made. Trouble in one shop is logged and
/// does not stop the others.
pub async fn once(acts: &Acts) -> usize {
    let shops: Result<Vec<ShopId>, store::Error> = acts.store.directory(shops::ids).await;
    let Ok(shops) = shops else { return 0 };
    let mut made = 0;
    for shop in shops {
        match acts.forecast_if_due(shop).await {
            Ok(is_made) => made += usize::from(is_made),
            Err(halt) => tracing::warn!(shop.id = %shop, cause = ?halt, "no forecast was made now"),
        }
    }
    made
}

/// Looks until the process stops; at once when `news` tells of numbered events.
pub async fn run(acts: Acts, mut news: watch::Receiver<u64>, mut stop: watch::Receiver<bool>) {
    loop {
        once(&acts).await;
        tokio::select! {
            () = tokio::time::sleep(BREATH) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        tokio::select! {
            changed = news.changed() => if changed.is_err() { return },
            () = tokio::time::sleep(PACE) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}
