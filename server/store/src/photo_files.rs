//! Where the pictures of photos lie: files under `shop_id/photo_id/sha256`, beside the database.
//!
//! A photo owns its folder, so the same picture twice is two photos, and striking one never takes
//! the other's file. The files are there in full before the row is, and go after it was struck:
//! a row never shows half a photo. What a crash leaves between the two, the rounds set aside, and
//! remove a month later: a database restored from before knows nothing of the photos since.

use crate::Error;
use std::fmt;
use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use trade::words::ids::{PhotoId, ShopId};
use trade::words::photo::PhotoSize;
use trade::words::spelling::Spelt;
use uuid::Uuid;

/// Where the files of one photo are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoKey {
    /// Whose.
    pub shop: ShopId,
    /// Which.
    pub photo: PhotoId,
    /// Of the original as kept.
    pub sha256: String,
}

/// A place for the files of photos. All of it waits for a disk or a network: not for a thread that
/// answers requests.
pub trait PhotoFiles: fmt::Debug + Send + Sync {
    /// Keeps all sizes of a photo, or none of them.
    ///
    /// # Errors
    /// [`Error::Full`] when there is no room; [`Error::Away`] when the place is out of reach.
    fn put(&self, key: &PhotoKey, sizes: &[(PhotoSize, &[u8])]) -> Result<(), Error>;

    /// One size of a photo; none when there is no such file.
    ///
    /// # Errors
    /// [`Error::Away`].
    fn get(&self, key: &PhotoKey, size: PhotoSize) -> Result<Option<Vec<u8>>, Error>;

    /// Removes every file of a photo; harmless when there is none.
    ///
    /// # Errors
    /// [`Error::Away`].
    fn remove(&self, shop: ShopId, photo: PhotoId) -> Result<(), Error>;

    /// Sets every file of a photo aside, where nothing asks for it; harmless when there is none.
    ///
    /// # Errors
    /// [`Error::Away`].
    fn set_aside(&self, shop: ShopId, photo: PhotoId) -> Result<(), Error>;

    /// Removes what was set aside longer ago than this.
    ///
    /// # Errors
    /// [`Error::Away`].
    fn forget_aside(&self, shop: ShopId, age: Duration) -> Result<(), Error>;

    /// The photos of a shop whose files were put here longer ago than this.
    ///
    /// # Errors
    /// [`Error::Away`].
    fn older_than(&self, shop: ShopId, age: Duration) -> Result<Vec<PhotoId>, Error>;
}

/// A folder on this machine.
#[derive(Debug, Clone)]
pub struct PhotoFolder {
    root: PathBuf,
}

impl PhotoFolder {
    /// The photos in this folder, which is made with the first of them.
    #[must_use]
    pub fn at(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    fn shop(&self, shop: ShopId) -> PathBuf {
        self.root.join(shop.to_string())
    }

    fn aside(&self, shop: ShopId) -> PathBuf {
        self.shop(shop).join("aside")
    }

    /// Makes the folder and tries whether it can be written to.
    ///
    /// # Errors
    /// When it cannot.
    pub fn try_it(&self) -> std::io::Result<()> {
        DirBuilder::new().recursive(true).mode(0o700).create(&self.root)?;
        // Several servers may start on one folder together.
        let trial = self.root.join(format!("trial-{}", std::process::id()));
        File::create(&trial)?;
        fs::remove_file(trial)
    }

    fn photo(&self, key: &PhotoKey) -> PathBuf {
        self.shop(key.shop).join(key.photo.to_string())
    }
}

fn file_name(key: &PhotoKey, size: PhotoSize) -> String {
    match size {
        PhotoSize::Original => key.sha256.clone(),
        PhotoSize::Small | PhotoSize::Large => format!("{}.{}.jpg", key.sha256, size.spelling()),
    }
}

impl PhotoFiles for PhotoFolder {
    fn put(&self, key: &PhotoKey, sizes: &[(PhotoSize, &[u8])]) -> Result<(), Error> {
        let shop = self.shop(key.shop);
        // Grown beside its place and renamed when it is complete and on the disk.
        let growing = shop.join(format!("new-{}", key.photo));
        let kept = keep(&shop, &growing, &self.photo(key), key, sizes);
        if kept.is_err() {
            // What cannot be removed either is swept later.
            let _ = fs::remove_dir_all(&growing);
        }
        kept.map_err(trouble)
    }

    fn get(&self, key: &PhotoKey, size: PhotoSize) -> Result<Option<Vec<u8>>, Error> {
        match fs::read(self.photo(key).join(file_name(key, size))) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(cause) if cause.kind() == ErrorKind::NotFound => Ok(None),
            Err(cause) => Err(trouble(cause)),
        }
    }

    fn remove(&self, shop: ShopId, photo: PhotoId) -> Result<(), Error> {
        for name in [photo.to_string(), format!("new-{photo}")] {
            match fs::remove_dir_all(self.shop(shop).join(name)) {
                Err(cause) if cause.kind() != ErrorKind::NotFound => return Err(trouble(cause)),
                _ => {}
            }
        }
        Ok(())
    }

    fn set_aside(&self, shop: ShopId, photo: PhotoId) -> Result<(), Error> {
        let aside = self.aside(shop);
        for name in [photo.to_string(), format!("new-{photo}")] {
            let from = self.shop(shop).join(&name);
            if !from.exists() {
                continue;
            }
            DirBuilder::new().recursive(true).mode(0o700).create(&aside).map_err(trouble)?;
            fs::rename(from, aside.join(name)).map_err(trouble)?;
        }
        Ok(())
    }

    fn forget_aside(&self, shop: ShopId, age: Duration) -> Result<(), Error> {
        let entries = match fs::read_dir(self.aside(shop)) {
            Ok(entries) => entries,
            Err(cause) if cause.kind() == ErrorKind::NotFound => return Ok(()),
            Err(cause) => return Err(trouble(cause)),
        };
        let now = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
        for entry in entries {
            let entry = entry.map_err(trouble)?;
            // Setting aside renames, and renaming changes no more than this time.
            let since = entry.metadata().map_err(trouble)?.ctime();
            if u64::try_from(since).is_ok_and(|since| now.saturating_sub(Duration::from_secs(since)) > age) {
                fs::remove_dir_all(entry.path()).map_err(trouble)?;
            }
        }
        Ok(())
    }

    fn older_than(&self, shop: ShopId, age: Duration) -> Result<Vec<PhotoId>, Error> {
        let entries = match fs::read_dir(self.shop(shop)) {
            Ok(entries) => entries,
            Err(cause) if cause.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            Err(cause) => return Err(trouble(cause)),
        };
        let now = SystemTime::now();
        let mut found = Vec::new();
        for entry in entries {
            let entry = entry.map_err(trouble)?;
            let name = entry.file_name();
            let id = name.to_str().map(|name| name.trim_start_matches("new-")).and_then(|name| Uuid::parse_str(name).ok());
            let since = entry.metadata().and_then(|data| data.modified()).ok().and_then(|at| now.duration_since(at).ok());
            if let (Some(id), Some(since)) = (id, since)
                && since > age
            {
                found.push(PhotoId(id));
            }
        }
        Ok(found)
    }
}

fn keep(shop: &Path, growing: &Path, place: &Path, key: &PhotoKey, sizes: &[(PhotoSize, &[u8])]) -> std::io::Result<()> {
    DirBuilder::new().recursive(true).mode(0o700).create(growing)?;
    for (size, bytes) in sizes {
        let mut file = OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(growing.join(file_name(key, *size)))?;
        file.write_all(bytes)?;
        file.sync_all()?;
    }
    File::open(growing)?.sync_all()?;
    fs::rename(growing, place)?;
    File::open(shop)?.sync_all()
}

fn trouble(cause: std::io::Error) -> Error {
    match cause.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => Error::Full(cause.to_string()),
        _ => Error::Away(format!("the photos' folder: {cause}")),
    }
}
