//! What happens by the hour: quotes run out, people are reminded, clocks left running are stopped, old keys and files that no photo names forgotten.

use acts::Acts;
use std::time::Duration;
use store::{keys, shops};
use tokio::sync::watch;
use trade::words::ids::ShopId;

/// Between two rounds.
const PACE: Duration = Duration::from_secs(20);

/// So many rounds lie between two that look for reminders: every order that waits for its
/// customer is read for it, and days are what it counts.
const REMINDERS_EVERY: u32 = 45;
/// Files of photos are swept every so many rounds: about once a day.
const SWEEPS_EVERY: u32 = 4320;

/// One round over every shop with everything. Trouble in one shop is logged and does not stop the others.
pub async fn once(acts: &Acts) {
    round(acts, true, true).await;
}

async fn round(acts: &Acts, reminds: bool, sweeps: bool) {
    let shops: Result<Vec<ShopId>, store::Error> = acts.store.directory(shops::ids).await;
    let Ok(shops) = shops else { return };
    for shop in shops {
        if let Err(halt) = acts.expire_quotes(shop).await {
            tracing::warn!(shop.id = %shop, cause = ?halt, "no quote ran out now");
        }
        if reminds
            && let Err(halt) = acts.remind(shop).await
        {
            tracing::warn!(shop.id = %shop, cause = ?halt, "not everybody was reminded now");
        }
        if sweeps && let Err(halt) = acts.sweep_photo_files(shop).await {
            tracing::warn!(shop.id = %shop, cause = ?halt, "no files of photos were swept now");
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
    let mut count = 0_u32;
    loop {
        round(&acts, count.is_multiple_of(REMINDERS_EVERY), count.is_multiple_of(SWEEPS_EVERY)).await;
        count = count.wrapping_add(1);
        tokio::select! {
            () = tokio::time::sleep(PACE) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}
