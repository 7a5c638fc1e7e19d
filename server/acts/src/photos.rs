//! Photos of an order: adding, sharing, pinning to a finding, striking.

use crate::checks::{Checks, LINE, tidy};
use crate::desk::{Actor, Acts, Halt};
use crate::given::given;
use crate::picture::Picture;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::time::Duration;
use store::order_rows::OrderRows;
use store::photo_files::{PhotoFiles, PhotoKey};
use store::photos::{self, PhotoRow};
use store::views::Photo;
use store::{Error, Once};
use trade::words::ids::{FindingId, PhotoId, ShopId, WorkOrderId};
use trade::words::photo::PhotoSize;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// What is said of a photo beside the picture itself.
#[derive(Debug, Clone, Default, Deserialize, Serialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct NewPhoto {
    /// The finding it is pinned to.
    #[serde(default)]
    pub finding_id: Option<FindingId>,
    /// What is on it, in words.
    #[serde(default)]
    pub caption: Option<String>,
    /// Whether the customer sees it; no if left out.
    #[serde(default)]
    pub shared: bool,
}

/// What can be amended; what is left out stays. `struck_reason` strikes the photo: its files are
/// removed, and the record says who did it, when and why.
#[derive(Debug, Clone, Default, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PhotoChange {
    /// The finding it is pinned to; null: none.
    #[serde(default, deserialize_with = "given", skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<FindingId>)]
    pub finding_id: Option<Option<FindingId>>,
    /// What is on it, in words; empty: nothing is said.
    #[serde(default)]
    pub caption: Option<String>,
    /// Whether the customer sees it.
    #[serde(default)]
    pub shared: Option<bool>,
    /// Strikes the photo, for this reason.
    #[serde(default)]
    pub struck_reason: Option<String>,
}

/// The most photos of one order that were not struck. Each is up to 20 MiB with its copies, and all of
/// them stand in the order's one answer.
pub const MOST_OF_ORDER: usize = 100;

/// Files of photos that nothing names any more are kept so long: whoever is adding one has not
/// written its row yet.
const UNNAMED_KEPT: Duration = Duration::from_secs(24 * 60 * 60);

/// What was set aside is kept so long.
const ASIDE_KEPT: Duration = Duration::from_secs(30 * 24 * 60 * 60);

impl Acts {
    /// Adds a photo. Its files are complete before its row is, and go again when there is none.
    ///
    /// # Errors
    /// [`Halt::Invalid`]; [`Halt::Absent`]; `photos-full`; [`Error::Full`] when there is no room for the files.
    pub async fn add_photo(&self, actor: &Actor, order: WorkOrderId, new: NewPhoto, picture: Picture, once: Once) -> Result<Photo, Halt> {
        let desk = self.desk(actor);
        let person = actor.person()?;
        let mut checks = Checks::default();
        checks.short("caption", new.caption.as_deref(), LINE);
        checks.done()?;
        let row = PhotoRow {
            shop_id: actor.shop.0,
            id: Uuid::now_v7(),
            work_order_id: order.0,
            finding_id: new.finding_id.map(|finding| finding.0),
            caption: tidy(new.caption.as_deref()),
            shared: new.shared,
            media_type: picture.media_type.to_owned(),
            sha256: picture.sha256.clone(),
            bytes_count: i32::try_from(picture.original.len()).unwrap_or(i32::MAX),
            width_px: i32::try_from(picture.width_px).unwrap_or(i32::MAX),
            height_px: i32::try_from(picture.height_px).unwrap_or(i32::MAX),
            added_by: person.0,
            added_at: desk.now,
            struck_reason: None,
            struck_by: None,
            struck_at: None,
            version: 1,
            changed_by: actor.words.clone(),
            changed_at: desk.now,
        };
        let key = row.key();
        self.keep_files(key.clone(), picture).await?;
        let added = self
            .store
            .write_once(actor.shop, once, move |tx| {
                let mut rows = desk.open(tx, order, None)?;
                if let Some(finding) = new.finding_id {
                    can_be_pinned(&rows, finding, "finding_id")?;
                }
                if rows.photos.iter().filter(|photo| photo.counts()).count() >= MOST_OF_ORDER {
                    let words = format!("This order has {MOST_OF_ORDER} photos, and that is the most. Strike one that is not needed first.");
                    return Err(Halt::refused("photos-full", words));
                }
                photos::add(tx, &row)?;
                rows.photos.push(row.clone());
                desk.recorded(tx, &mut rows, "photo_added", "a photo was added")?;
                Ok::<_, Halt>(rows.photo(&row))
            })
            .await;
        // Refused, or answered from an earlier try with the same key: these files are nobody's.
        // After a commit whose answer was lost they may be somebody's, and the rounds look.
        let is_nobodys = match &added {
            Ok(photo) => photo.id != key.photo,
            // What the database's client does not name may be such a lost answer as well.
            Err(Halt::Store(Error::Away(_) | Error::Fault(_))) => false,
            Err(_) => true,
        };
        if is_nobodys {
            self.remove_files(key.shop, key.photo).await;
        }
        added
    }

    /// Amends or strikes a photo.
    ///
    /// # Errors
    /// [`Halt::Absent`], [`Halt::Stale`], [`Halt::Invalid`]; `struck`.
    pub async fn amend_photo(&self, actor: &Actor, id: PhotoId, seen: i32, change: PhotoChange) -> Result<Photo, Halt> {
        let desk = self.desk(actor);
        let is_struck = change.struck_reason.is_some();
        let photo = self
            .store
            .write(actor.shop, move |tx| {
                let person = desk.actor.person()?;
                let found = photos::find(tx.conn(), id)?.ok_or(Halt::Absent)?;
                let mut rows = desk.open(tx, WorkOrderId(found.work_order_id), None)?;
                let at = rows.photos.iter().position(|photo| photo.id == id.0).ok_or(Halt::Absent)?;
                let mut row = rows.photos[at].clone();
                if row.version != seen {
                    return Err(Halt::stale(row.version, &row.changed_by, row.changed_at, &rows.photo(&row)));
                }
                if !row.counts() {
                    return Err(Halt::refused("struck", "This photo was struck."));
                }
                amend(&mut row, &change, &rows)?;
                if let Some(reason) = &change.struck_reason {
                    row.struck_reason = tidy(Some(reason));
                    row.struck_by = Some(person.0);
                    row.struck_at = Some(desk.now);
                }
                row.version += 1;
                row.changed_by.clone_from(&desk.actor.words);
                row.changed_at = desk.now;
                photos::save(tx, &row)?;
                rows.photos[at] = row.clone();
                let (kind, words) = if row.counts() { ("photo_amended", "a photo was amended") } else { ("photo_struck", "a photo was struck") };
                desk.recorded(tx, &mut rows, kind, words)?;
                Ok(rows.photo(&row))
            })
            .await?;
        if is_struck {
            self.remove_files(actor.shop, id).await;
        }
        Ok(photo)
    }

    /// One size of a photo.
    ///
    /// # Errors
    /// [`Halt::Absent`] when it was struck; when the files are out of reach or gone.
    pub async fn photo_file(&self, row: &PhotoRow, size: PhotoSize) -> Result<Vec<u8>, Halt> {
        if !row.counts() {
            return Err(Halt::Absent);
        }
        let key = row.key();
        let missing = Error::Unreadable(format!("the file {} of photo {} is missing", size, row.id));
        let found = self.with_files(move |files| files.get(&key, size)).await?;
        Ok(found.ok_or(missing)?)
    }

    /// Sets aside the files of one shop that no photo names, once they are a day old: what a crash
    /// left behind, or what could not be removed when its photo was struck. A month later they are
    /// removed. Gives of how many photos.
    ///
    /// # Errors
    /// When the files or the database are out of reach.
    pub async fn sweep_photo_files(&self, shop: ShopId) -> Result<usize, Halt> {
        let old = self.with_files(move |files| files.older_than(shop, UNNAMED_KEPT)).await?;
        let ids: Vec<Uuid> = old.iter().map(|photo| photo.0).collect();
        let named = self.store.read(shop, move |conn| Ok::<_, Halt>(photos::that_count(conn, &ids)?)).await?;
        let unnamed: Vec<PhotoId> = old.into_iter().filter(|photo| !named.contains(&photo.0)).collect();
        let count = unnamed.len();
        self.with_files(move |files| {
            unnamed.into_iter().try_for_each(|photo| files.set_aside(shop, photo))?;
            files.forget_aside(shop, ASIDE_KEPT)
        })
        .await?;
        if count > 0 {
            tracing::info!(shop.id = %shop, photos.count = count, "files that no photo names were set aside");
        }
        Ok(count)
    }

    async fn keep_files(&self, key: PhotoKey, picture: Picture) -> Result<(), Halt> {
        let kept = self.with_files(move |files| {
            files.put(
                &key,
                &[
                    (PhotoSize::Original, picture.original.as_slice()),
                    (PhotoSize::Large, picture.large.as_slice()),
                    (PhotoSize::Small, picture.small.as_slice()),
                ],
            )
        });
        Ok(kept.await?)
    }

    /// Removes what can be removed; the rounds look after the rest.
    async fn remove_files(&self, shop: ShopId, photo: PhotoId) {
        if let Err(error) = self.with_files(move |files| files.remove(shop, photo)).await {
            tracing::warn!(photo.id = %photo, cause = %error, "the files of a photo could not be removed now");
        }
    }

    /// Works on the files, on a thread that may wait for a disk.
    async fn with_files<T: Send + 'static>(&self, work: impl FnOnce(&dyn PhotoFiles) -> Result<T, Error> + Send + 'static) -> Result<T, Error> {
        let files = Arc::clone(&self.photo_files);
        let done = tokio::task::spawn_blocking(move || work(files.as_ref())).await;
        done.unwrap_or_else(|broken| Err(Error::Away(format!("the work on the photos broke off: {broken}"))))
    }
}

/// Whether a photo of this order can be pinned to a finding.
fn can_be_pinned(rows: &OrderRows, finding: FindingId, pointer: &str) -> Result<(), Halt> {
    match rows.findings.iter().find(|found| found.id == finding.0) {
        None => Err(Halt::invalid(pointer, "is no finding of this order")),
        Some(found) if found.struck_reason.is_some() => Err(Halt::invalid(pointer, "names a finding that was struck")),
        Some(_) => Ok(()),
    }
}

fn amend(row: &mut PhotoRow, change: &PhotoChange, rows: &OrderRows) -> Result<(), Halt> {
    let mut checks = Checks::default();
    checks.short("/caption", change.caption.as_deref(), LINE);
    if let Some(reason) = &change.struck_reason {
        checks.said("/struck_reason", reason, LINE);
    }
    checks.done()?;
    if let Some(finding) = change.finding_id {
        if let Some(finding) = finding {
            can_be_pinned(rows, finding, "/finding_id")?;
        }
        row.finding_id = finding.map(|finding| finding.0);
    }
    if let Some(caption) = &change.caption {
        row.caption = tidy(Some(caption));
    }
    row.shared = change.shared.unwrap_or(row.shared);
    Ok(())
}
