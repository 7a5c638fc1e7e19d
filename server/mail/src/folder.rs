//! Letters as files in a folder (Maildir: written in `tmp`, then renamed into `new`).

use crate::envelope::Message;
use crate::sender::Outcome;
use std::io;
use std::path::{Path, PathBuf};

/// A mailbox folder on this machine.
#[derive(Debug, Clone)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// Open the folder, making `tmp`, `new` and `cur` in it where they are missing.
    ///
    /// # Errors
    /// When they cannot be made.
    pub fn open(root: impl Into<PathBuf>) -> io::Result<Self> {
        let root = root.into();
        for part in ["tmp", "new", "cur"] {
            std::fs::create_dir_all(root.join(part))?;
        }
        Ok(Self { root })
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.root
    }

    /// Lay one message into the folder, with the bytes that SMTP would carry. The same
    /// message again replaces itself. A reader never sees half a file.
    pub async fn send(&self, message: &Message) -> Outcome {
        let name = file_name(message);
        match self.lay(&name, &message.bytes).await {
            Ok(()) => Outcome::Sent { reply: format!("new/{name}") },
            Err(error) => {
                Outcome::TryLater { why: format!("the mailbox folder cannot be written: {error}") }
            }
        }
    }

    async fn lay(&self, name: &str, bytes: &[u8]) -> io::Result<()> {
        let (tmp, new) = (self.root.join("tmp"), self.root.join("new"));
        let (written, kept) = (tmp.join(name), new.join(name));
        let bytes = bytes.to_vec();
        tokio::task::spawn_blocking(move || {
            std::fs::write(&written, bytes)?;
            std::fs::File::open(&written)?.sync_all()?;
            std::fs::rename(&written, &kept)?;
            // The rename is only safe from a power cut once the folder itself is written.
            std::fs::File::open(&new)?.sync_all()
        })
        .await
        .map_err(io::Error::other)?
    }
}

/// Seconds of the letter's date, so that a listing is in the order of writing, and its
/// Message-ID. No colon and no slash, which Maildir keeps for itself.
fn file_name(message: &Message) -> String {
    let id: String = message
        .message_id
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '@') { c } else { '_' })
        .collect();
    format!("{}.{id}.eml", message.date.timestamp())
}
