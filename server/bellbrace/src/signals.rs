use tokio::signal::unix::{SignalKind, signal};

/// Waits until somebody wants the server to end: Control-C or `kill`.
///
/// From the first wish on, a second one ends the process at once. Nothing is
/// lost by that: what was answered is committed, and PostgreSQL sees that its
/// server is gone and stops in good order.
///
/// # Errors
/// The system gives us no way to hear the signals.
pub async fn wish_to_stop() -> std::io::Result<()> {
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
    }
    tokio::spawn(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
        // What shells report for a program ended by Control-C.
        std::process::exit(130);
    });
    Ok(())
}
