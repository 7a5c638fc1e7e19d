//! A picture as the body itself.

use super::body::{Held, all_of, broke_off, media_type, too_large};
use crate::problem::{Kind, Problem};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use acts::picture::{self, MOST_BYTES, MOST_PIXELS, NoPicture, Picture};
use sha2::{Digest, Sha256};
use std::future::Future;
use std::pin::Pin;
use std::time::Duration;
use tokio::sync::Semaphore;

/// So many pictures are received or wait for their turn at a time, each of up to 20 MiB; the next is
/// told to come again.
const MOST_HELD: usize = 16;

static PLACES: Semaphore = Semaphore::const_new(MOST_HELD);

/// A picture that is longer on its way gives its place back: 20 MiB in this time is half a megabit a second.
const LONGEST_WAY: Duration = Duration::from_secs(300);

/// How long somebody is asked to wait for a place, in seconds.
const AGAIN_IN_SECONDS: u32 = 5;

/// So many pictures are unpacked at a time, so that a burst of them takes neither the memory nor
/// every processor from the board.
const TURNS: u32 = 2;

static FREE: Semaphore = Semaphore::const_new(TURNS as usize);

/// A picture of more pixels than this has the turn to itself, so that two of them never lie unpacked
/// side by side.
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
            let _place = PLACES.try_acquire().map_err(|_| no_place())?;
            let whole = tokio::time::timeout(LONGEST_WAY, all_of(payload, MOST_BYTES)).await.map_err(|_| broke_off())?;
            let bytes = match whole? {
                Held::All(bytes) => bytes,
                Held::Beginning(_) => return Err(too_large(MOST_BYTES)),
            };
            if matches!(kind.as_str(), "image/heic" | "image/heif") {
                return Err(in_words(NoPicture::Heic));
            }
            if !matches!(kind.as_str(), "image/jpeg" | "image/png") {
                return Err(Problem::new(Kind::WrongType).saying(KINDS));
            }
            // The head alone may be long to read, and a request thread answers others meanwhile.
            let (pixels, bytes) = aside(move || (picture::pixels(&bytes), bytes)).await?;
            let turns = if pixels.map_err(in_words)? > LARGE_PIXELS { TURNS } else { 1 };
            let _turn = FREE.acquire_many(turns).await.map_err(|_| Problem::new(Kind::Fault))?;
            let (picture, digest) = aside(move || {
                let mut hash = Sha256::new();
                hash.update(beside.as_bytes());
                hash.update([0]);
                hash.update(&bytes);
                (picture::read(&bytes), hash.finalize().to_vec())
            })
            .await?;
            Ok(Self { picture: picture.map_err(in_words)?, digest })
        })
    }
}

/// On a thread that answers nobody else.
async fn aside<R: Send + 'static>(work: impl FnOnce() -> R + Send + 'static) -> Result<R, Problem> {
    actix_web::web::block(work).await.map_err(|_| Problem::new(Kind::Fault))
}

fn no_place() -> Problem {
    Problem::new(Kind::TooMany).saying("Many photos are arriving at this moment; send it again in a few seconds.").again_in(AGAIN_IN_SECONDS)
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

#[cfg(test)]
mod tests {
    use super::{AGAIN_IN_SECONDS, MOST_HELD, PLACES, PictureBody};
    use actix_web::test::TestRequest;
    use actix_web::{FromRequest, ResponseError, rt};

    #[test]
    fn whoever_finds_no_place_is_told_when_to_come_again_before_anything_is_received() {
        rt::System::new().block_on(async {
            let refused = |said: Option<&'static str>| async move {
                let (request, mut payload) = TestRequest::default().insert_header(("content-type", "image/jpeg")).set_payload("no picture").to_http_parts();
                let answer = PictureBody::from_request(&request, &mut payload).await.expect_err("it is none").error_response();
                let again = answer.headers().get("retry-after").and_then(|value| value.to_str().ok().map(ToOwned::to_owned));
                assert_eq!(again.as_deref(), said);
                answer.status()
            };
            let all = PLACES.acquire_many(MOST_HELD as u32).await.expect("they are free");
            let again = AGAIN_IN_SECONDS.to_string();
            assert_eq!(refused(Some(again.leak())).await, 429);
            drop(all);
            assert_eq!(refused(None).await, 415, "and then it is looked at");
            assert_eq!(PLACES.available_permits(), MOST_HELD, "whoever leaves frees the place");
        });
    }
}
