//! The HTTP server: every request gets an id, a line in the log, and the common headers.

use crate::problem::{Kind, Problem};
use crate::{Parts, head, routes};
use actix_web::body::MessageBody;
use actix_web::dev::{Server, ServiceRequest, ServiceResponse};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::middleware::{Compress, Next, from_fn};
use actix_web::web::Data;
use actix_web::{App, HttpServer};
use std::net::TcpListener;
use std::time::{Duration, Instant};
use tracing::Instrument;
use uuid::Uuid;

/// The header under which every answer carries its request id.
const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Starts serving on a socket that is bound already; nothing is served before this is awaited.
///
/// # Errors
/// When the socket cannot be listened on.
pub fn serve(parts: Data<Parts>, socket: TcpListener, workers: usize) -> std::io::Result<Server> {
    let server = HttpServer::new(move || {
        App::new()
            .app_data(parts.clone())
            .app_data(actix_web::web::PathConfig::default().error_handler(|_, _| Problem::new(Kind::Absent).into()))
            .app_data(actix_web::web::QueryConfig::default().error_handler(|error, _| {
                Problem::new(Kind::InvalidInput).at("", error.to_string()).into()
            }))
            .wrap(Compress::default())
            .wrap(from_fn(head::answered_as_get))
            .wrap(from_fn(note))
            .configure(routes::all)
    })
    .workers(workers)
    .client_request_timeout(Duration::from_secs(10))
    .client_disconnect_timeout(Duration::from_secs(2))
    .keep_alive(Duration::from_secs(75))
    .max_connections(20_000)
    .shutdown_timeout(10)
    .disable_signals()
    .listen(socket)?
    .run();
    Ok(server)
}

/// Gives the request its id, and writes one line when the answer begins. The line holds the
/// route's pattern and never the path: tokens and claim numbers stand in paths.
async fn note(request: ServiceRequest, next: Next<impl MessageBody>) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let id = Uuid::now_v7();
    let began = Instant::now();
    let method = request.method().clone();
    let span = tracing::info_span!("request", request.id = %id);
    let answer = next.call(request).instrument(span.clone()).await;
    let _in_span = span.enter();
    let mut answer = match answer {
        Ok(answer) => answer,
        // Every refusal of an extractor comes here and is answered in our words.
        Err(error) => return Err(error),
    };
    let route = answer.request().match_pattern().unwrap_or_else(|| "unknown".to_owned());
    let duration_ms = began.elapsed().as_millis();
    let status = answer.status().as_u16();
    tracing::info!(http.method = %method, http.route = route, http.status = status, duration_ms, "answered");
    if let Ok(value) = HeaderValue::from_str(&id.to_string()) {
        answer.headers_mut().insert(REQUEST_ID, value);
    }
    Ok(answer)
}
