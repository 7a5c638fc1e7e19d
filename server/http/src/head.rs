//! HEAD, wherever GET is answered: the same status and headers, no body (RFC 9110, 9.3.2).

use actix_web::body::{BodySize, EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::middleware::Next;
use actix_web::web::Bytes;
use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};

/// Whether this address opens a stream: asked for its headers alone, it must not open one.
#[must_use]
pub fn is_stream(path: &str) -> bool {
    path == "/api/v1/events"
}

/// Asks what lies behind for a GET, and keeps the body back. Stands outside of what packs
/// answers, so that the headers are those of the packed one.
pub(crate) async fn answered_as_get<B: MessageBody + 'static>(
    mut request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B, Unsent>>, actix_web::Error> {
    let is_head = request.method() == Method::HEAD && !is_stream(request.path());
    if is_head {
        request.head_mut().method = Method::GET;
    }
    let answer = next.call(request).await?;
    Ok(if is_head { answer.map_body(|_, body| EitherBody::right(Unsent(body.size()))) } else { answer.map_into_left_body() })
}

/// A body of which only the size is told.
#[derive(Debug)]
pub(crate) struct Unsent(BodySize);

impl MessageBody for Unsent {
    type Error = Infallible;

    fn size(&self) -> BodySize {
        self.0
    }

    fn poll_next(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<Option<Result<Bytes, Infallible>>> {
        Poll::Ready(None)
    }
}
