//! The relay: numbers committed events and tells this process and the others.

use std::sync::Arc;
use std::time::Duration;
use store::{Store, events};
use tokio::sync::watch;

/// Between two looks without a hint; the safety net for one that got lost.
const NET: Duration = Duration::from_millis(500);

/// Numbers what has committed until the process stops, and raises `news` whenever it did.
pub async fn run(store: Store, news: Arc<watch::Sender<u64>>, mut stop: watch::Receiver<bool>) {
    let hint = store.new_events();
    loop {
        tokio::select! {
            () = hint.notified() => {}
            () = tokio::time::sleep(NET) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        match store.directory(events::number_committed).await {
            Ok(shops) if !shops.is_empty() => news.send_modify(|count| *count += 1),
            Ok(_) => {}
            Err(error) => tracing::debug!(cause = %error, "no events were numbered now"),
        }
    }
}

/// Listens for the relays of other processes and raises `news` when they numbered something.
/// Runs on a thread of its own, because libpq's notifications are read from a connection that
/// nothing else uses; losing it costs half a second of delay, never an event.
pub fn listen(store: Store, news: Arc<watch::Sender<u64>>, stop: watch::Receiver<bool>) -> std::io::Result<std::thread::JoinHandle<()>> {
    std::thread::Builder::new().name("relay-ear".to_owned()).spawn(move || {
        while !*stop.borrow() {
            let heard = events::listen(store.url(), || *stop.borrow(), || news.send_modify(|count| *count += 1));
            if let Err(error) = heard {
                tracing::debug!(cause = %error, "the relay's ear is shut");
                std::thread::sleep(NET);
            }
        }
    })
}
