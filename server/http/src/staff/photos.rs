//! Photos of an order.

use crate::extract::{Body, Id, OnceKey, OrderName, OrderPath, Page, Paging, Params, PictureBody, SeenVersion, SignedIn};
use crate::problem::{Kind, Problem};
use crate::staff::{has_seen, page, versioned, versioned_or_304};
use crate::state::Parts;
use acts::photos::{NewPhoto, PhotoChange};
use actix_web::http::{StatusCode, header};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get, patch, post};
use serde::Deserialize;
use store::order_rows::{self, Named};
use store::photos::{self, PhotoRow};
use store::views::Photo;
use trade::words::ids::{PhotoId, WorkOrderId};
use trade::words::photo::PhotoSize;
use utoipa::IntoParams;

/// The photos of an order, oldest first; struck ones too, with the reason.
#[utoipa::path(tag = "photos", operation_id = "of_order", params(("id" = String, Path), Paging), responses((status = 200, body = Page<Photo>)))]
#[get("/work-orders/{id}/photos")]
pub async fn of_order(request: HttpRequest, parts: Data<Parts>, who: SignedIn, order: OrderName, paging: Params<Paging>) -> Result<HttpResponse, Problem> {
    let photos = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let rows = order_rows::find(conn, order.0)?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(rows.photos.iter().map(|row| rows.photo(row)).collect::<Vec<_>>())
        })
        .await?;
    Ok(page(&request, &paging.0.page_of_growing(photos)?))
}

/// Add a photo: the picture itself is the body, at most 20 MiB and 50 megapixels, and an order has at
/// most 100 (409 `photos-full`; one that is struck makes room). What tells of the place and the camera is
/// taken out before it is kept. While many photos arrive at once, 429 with `Retry-After`.
#[utoipa::path(
    tag = "photos",
    params(("id" = String, Path), NewPhoto),
    request_body(content((String = "image/jpeg"), (String = "image/png"))),
    responses((status = 201, body = Photo))
)]
#[post("/work-orders/{id}/photos")]
pub async fn add(
    parts: Data<Parts>,
    who: SignedIn,
    order: OrderPath,
    once: OnceKey,
    new: Params<NewPhoto>,
    body: PictureBody,
) -> Result<HttpResponse, Problem> {
    let once = once.of_digest(&who, &body.digest);
    let photo = parts.acts.add_photo(&who.actor, order.0, new.0, body.picture, once).await?;
    Ok(versioned(StatusCode::CREATED, photo.version, &photo))
}

/// One photo; its picture is fetched on its own.
#[utoipa::path(tag = "photos", params(("id" = PhotoId, Path)), responses((status = 200, body = Photo)))]
#[get("/photos/{id}")]
pub async fn read(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id) -> Result<HttpResponse, Problem> {
    let photo = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| {
            let row = photos::find(conn, PhotoId(id.0))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            let order = order_rows::find(conn, Named::Id(WorkOrderId(row.work_order_id)))?.ok_or_else(|| Problem::new(Kind::Absent))?;
            Ok::<_, Problem>(order.photo(&row))
        })
        .await?;
    Ok(versioned_or_304(&request, photo.version, &photo))
}

/// Share a photo or not, pin it to a finding, say what is on it, or strike it.
#[utoipa::path(tag = "photos", params(("id" = PhotoId, Path)), request_body = PhotoChange, responses((status = 200, body = Photo)))]
#[patch("/photos/{id}")]
pub async fn amend(parts: Data<Parts>, who: SignedIn, id: Id, seen: SeenVersion, body: Body<PhotoChange>) -> Result<HttpResponse, Problem> {
    let wanted = body.json();
    let photo = parts
        .acts
        .amend_photo(&who.actor, PhotoId(id.0), seen.0, body.value)
        .await
        .map_err(|halt| Problem::from(halt).wanted(wanted))?;
    Ok(versioned(StatusCode::OK, photo.version, &photo))
}

/// Which size of a picture.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct AskedSize {
    /// 1600 if left out.
    #[serde(default)]
    size: Option<PhotoSize>,
}

/// The picture of a photo, in one of its sizes. It never changes, so its ETag is that of its content.
#[utoipa::path(
    tag = "photos",
    params(("id" = PhotoId, Path), AskedSize),
    responses((status = 200, content((String = "image/jpeg"), (String = "image/png")), headers(("ETag" = String, description = "Of this content."))))
)]
#[get("/photos/{id}/picture")]
pub async fn picture(request: HttpRequest, parts: Data<Parts>, who: SignedIn, id: Id, asked: Params<AskedSize>) -> Result<HttpResponse, Problem> {
    let size = asked.0.size.unwrap_or(PhotoSize::Large);
    let row = parts
        .acts
        .store
        .read(who.actor.shop, move |conn| photos::find(conn, PhotoId(id.0))?.filter(PhotoRow::counts).ok_or_else(|| Problem::new(Kind::Absent)))
        .await?;
    let tag = format!("\"{}-{size}\"", row.sha256);
    // Kept in the browser, and asked anew each time: a struck photo is gone everywhere.
    const KEPT: (header::HeaderName, &str) = (header::CACHE_CONTROL, "private, no-cache");
    if has_seen(&request, &tag) {
        return Ok(HttpResponse::NotModified().insert_header((header::ETAG, tag)).insert_header(KEPT).finish());
    }
    let bytes = parts.acts.photo_file(&row, size).await?;
    let kind = if size == PhotoSize::Original { row.media_type } else { "image/jpeg".to_owned() };
    Ok(HttpResponse::Ok()
        .insert_header((header::ETAG, tag))
        .insert_header(KEPT)
        // Packed already; nothing is won by packing it once more.
        .insert_header((header::CONTENT_ENCODING, "identity"))
        .insert_header((header::CONTENT_DISPOSITION, "inline"))
        .insert_header((header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"))
        .content_type(kind)
        .body(bytes))
}
