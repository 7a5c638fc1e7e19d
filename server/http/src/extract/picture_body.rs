//! A picture as the body itself.

use super::body::{Held, all_of, media_type, too_large};
use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use acts::picture::{self, MOST_BYTES, MOST_PIXELS, NoPicture, Picture};
use sha2::{Digest, Sha256};
use std::future::Future;
use std::pin::Pin;
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// So many pictures are unpacked at a time, so that a burst of them takes neither the memory nor
/// every processor from the board.
const TURNS: u32 = 2;

static FREE: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(TURNS as usize));

/// A picture of more pixels than this has the turn to itself: unpacked it takes 75 MB and more.
const LARGE_PIXELS: u64 = MOST_PIXELS / 2;

const KINDS: &str = "Send the picture itself, as image/jpeg or image/png.";

/// A picture, checked and ready to be kept.
#[derive(Debug)]
pub struct PictureBody {
    /// The picture.
    pub picture: Picture,
    /// Tells this body and these parameters from others, for the idempotency record.
    pub digest: Vec<u8>,
}

impl FromRequest for PictureBody {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = media_type(request);
        let beside = request.query_string().to_owned();
        let payload = payload.take();
        Box::pin(async move {
            let bytes = match all_of(payload, MOST_BYTES).await? {
                Held::All(bytes) => bytes,
                Held::Beginning(_) => return Err(too_large(MOST_BYTES)),
            };
            if matches!(kind.as_str(), "image/heic" | "image/heif") {
                return Err(in_words(NoPicture::Heic));
            }
            if !matches!(kind.as_str(), "image/jpeg" | "image/png") {
                return Err(Problem::new(Kind::WrongType).saying(KINDS));
            }
            let pixels = picture::pixels(&bytes).map_err(in_words)?;
            let turns = if pixels > LARGE_PIXELS { TURNS } else { 1 };
            let _turn = FREE.acquire_many(turns).await.map_err(|_| Problem::new(Kind::Fault))?;
            let (picture, digest) = actix_web::web::block(move || {
                let mut hash = Sha256::new();
                hash.update(beside.as_bytes());
                hash.update([0]);
                hash.update(&bytes);
                (picture::read(&bytes), hash.finalize().to_vec())
            })
            .await
            .map_err(|_| Problem::new(Kind::Fault))?;
            Ok(Self { picture: picture.map_err(in_words)?, digest })
        })
    }
}

/// Why it cannot be kept, and what to do.
fn in_words(no: NoPicture) -> Problem {
    match no {
        NoPicture::Heic => Problem::new(Kind::WrongType).saying(
            "This is a HEIC photo, which browsers cannot show. On the phone choose Settings, Camera, Formats, Most Compatible, \
             and take it again; or send it as JPEG.",
        ),
        NoPicture::OtherKind => Problem::new(Kind::WrongType).saying(format!("By what is in it this is no JPEG and no PNG. {KINDS}")),
        NoPicture::TooManyPixels { .. } => {
            Problem::new(Kind::TooLarge).saying(format!("A photo has at most {} megapixels; take it with fewer.", MOST_PIXELS / 1_000_000))
        }
        NoPicture::Broken => Problem::new(Kind::InvalidInput).at("", "is a picture that breaks off or cannot be read; take or send it again"),
    }
}
