//! What happens by the hour: quotes run out, clocks left running are stopped, old keys forgotten.

use acts::Acts;
use std::time::Duration;
use store::{keys, shops};
use tokio::sync::watch;
use trade::words::ids::ShopId;

/// Between two rounds.
const PACE: Duration = Duration::from_secs(20);

/// One round over every shop. Trouble in one shop is logged and does not stop the others.
pub async fn once(acts: &Acts) {
    let shops: Result<Vec<ShopId>, store::Error> = acts.store.directory(shops::ids).await;
    let Ok(shops) = shops else { return };
    for shop in shops {
        if let Err(halt) = acts.expire_quotes(shop).await {
            tracing::warn!(shop.id = %shop, cause = ?halt, "no quote ran out now");
        }
        if let Err(halt) = acts.stop_clocks_after_closing(shop).await {
            tracing::warn!(shop.id = %shop, cause = ?halt, "no clock was stopped now");
        }
        let forgotten: Result<usize, store::Error> = acts.store.write(shop, keys::forget_old).await;
        if let Err(error) = forgotten {
            tracing::warn!(shop.id = %shop, cause = %error, "no old key was forgotten now");
        }
    }
}

/// Rounds until the process stops.
pub async fn run(acts: Acts, mut stop: watch::Receiver<bool>) {
    loop {
        once(&acts).await;
        tokio::select! {
            () = tokio::time::sleep(PACE) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}
