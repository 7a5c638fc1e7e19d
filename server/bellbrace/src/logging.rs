use std::io::{IsTerminal, stderr};

use tracing_subscriber::EnvFilter;

use crate::settings::{Log, LogFormat};

/// Starts the log, on standard error: lines to read, or one JSON object per
/// line with the fields at its top level. Times are UTC. Call it once.
pub fn start(log: &Log) {
    let lines = tracing_subscriber::fmt()
        .with_writer(stderr)
        .with_env_filter(EnvFilter::new(log.level.as_str()));
    match log.format {
        LogFormat::Readable => lines.with_ansi(stderr().is_terminal()).with_target(false).init(),
        LogFormat::Json => lines.json().flatten_event(true).init(),
    }
}
