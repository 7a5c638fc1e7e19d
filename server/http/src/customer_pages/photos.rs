//! Photos below a customer's page: only of its order, only what is shared. Looking changes nothing.

use super::instead::Instead;
use super::link::open_below;
use super::promised;
use crate::extract::Id;
use crate::pages::facts::Photo;
use crate::state::Parts;
use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use acts::finding_words;
use store::order_rows::OrderRows;
use store::photos::PhotoRow;
use trade::words::paperwork::LinkPurpose;
use trade::words::photo::PhotoSize;
use trade::words::said::{capital, one_line};

/// The photos of an order that are shared and fit, oldest first, as they are fetched below the
/// address of a page.
pub(super) fn shared_photos(rows: &OrderRows, page: &str, fits: impl Fn(&PhotoRow) -> bool) -> Vec<Photo> {
    let photos = rows.photos.iter().filter(|photo| is_shared(photo) && fits(photo));
    photos
        .map(|photo| {
            let (width, height) = photo.size_px(PhotoSize::Small);
            let url = format!("{page}/photos/{}", photo.id);
            // What is not shared of a finding is not told by a photo of it either.
            let finding = rows.findings.iter().find(|found| Some(found.id) == photo.finding_id && found.shared && found.struck_reason.is_none());
            let on_it = photo.caption.as_deref().map(one_line).or_else(|| finding.map(finding_words));
            let alt = on_it.map_or_else(|| format!("Photo of the {}", rows.instrument.family.0.to_string().replace('_', " ")), |words| capital(&words));
            Photo { large_url: format!("{url}/large"), url, alt, caption: photo.caption.clone(), width, height }
        })
        .collect()
}

fn is_shared(photo: &PhotoRow) -> bool {
    photo.shared && photo.counts()
}

/// For the status page.
pub(super) async fn small_of_status(parts: Data<Parts>, request: HttpRequest) -> Result<HttpResponse, Instead> {
    show(&parts, &request, LinkPurpose::Status, PhotoSize::Small).await
}

/// The same in large.
pub(super) async fn large_of_status(parts: Data<Parts>, request: HttpRequest) -> Result<HttpResponse, Instead> {
    show(&parts, &request, LinkPurpose::Status, PhotoSize::Large).await
}

/// For the page of a quote.
pub(super) async fn small_of_answer(parts: Data<Parts>, request: HttpRequest) -> Result<HttpResponse, Instead> {
    show(&parts, &request, LinkPurpose::Answer, PhotoSize::Small).await
}

/// The same in large.
pub(super) async fn large_of_answer(parts: Data<Parts>, request: HttpRequest) -> Result<HttpResponse, Instead> {
    show(&parts, &request, LinkPurpose::Answer, PhotoSize::Large).await
}

async fn show(parts: &Data<Parts>, request: &HttpRequest, purpose: LinkPurpose, size: PhotoSize) -> Result<HttpResponse, Instead> {
    let opened = open_below(parts, request, purpose).await?;
    let id = Id::extract(request).await.map_err(|_| Instead::Unknown)?;
    let photo = opened.rows.photos.iter().find(|photo| photo.id == id.0 && is_shared(photo)).ok_or(Instead::Unknown)?;
    let bytes = parts.acts.photo_file(photo, size).await?;
    let mut answer = HttpResponse::Ok();
    promised(&mut answer);
    Ok(answer.insert_header((header::CONTENT_ENCODING, "identity")).content_type("image/jpeg").body(bytes))
}
