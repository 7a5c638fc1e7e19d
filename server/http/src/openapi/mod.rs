//! The OpenAPI 3.1 document, generated from the handlers and their types.

mod common;

use crate::head::is_stream;
use crate::routes;
use actix_web::{App, HttpResponse};
use std::sync::LazyLock;
use utoipa::openapi::path::{Operation, ParameterIn, PathItem};
use utoipa::openapi::{OpenApi, RefOr};
use utoipa_actix_web::AppExt;

static DOCUMENT: LazyLock<OpenApi> = LazyLock::new(build);
static TEXT: LazyLock<String> = LazyLock::new(|| {
    let mut text = serde_json::to_string_pretty(&*DOCUMENT).unwrap_or_default();
    text.push('\n');
    text
});

/// The document as committed in `api-spec/openapi.json`.
#[must_use]
pub fn text() -> &'static str {
    &TEXT
}

/// Serves the document.
pub async fn serve() -> HttpResponse {
    HttpResponse::Ok().content_type("application/json").body(text())
}

/// The methods that the document knows for a path, and HEAD beside GET; none for an unknown one.
#[must_use]
pub fn methods_of(path: &str) -> Vec<&'static str> {
    let mut known = Vec::new();
    for item in items_of(path) {
        for (method, operation) in each(item) {
            if operation.is_some() && !known.contains(&method) {
                known.push(method);
                if method == "GET" && !is_stream(path) {
                    known.push("HEAD");
                }
            }
        }
    }
    known
}

/// The query parameters that the document knows for a request, and whether the request must be
/// signed in; none for a request that the document does not know.
#[must_use]
pub fn parameters_of(method: &str, path: &str) -> Option<(Vec<&'static str>, bool)> {
    let operation = items_of(path).into_iter().find_map(|item| each(item).into_iter().find(|(name, _)| *name == method)?.1)?;
    let names = operation.parameters.iter().flatten().filter_map(|parameter| match parameter {
        RefOr::T(parameter) if parameter.parameter_in == ParameterIn::Query => Some(parameter.name.as_str()),
        RefOr::T(_) | RefOr::Ref(_) => None,
    });
    Some((names.collect(), !common::is_open(operation)))
}

/// The paths that fit, those without a placeholder first.
fn items_of(path: &str) -> Vec<&'static PathItem> {
    let asked: Vec<&str> = path.split('/').collect();
    let mut fitting: Vec<(usize, &PathItem)> = Vec::new();
    for (template, item) in &DOCUMENT.paths.paths {
        let own: Vec<&str> = template.split('/').collect();
        let is_placeholder = |part: &str| part.starts_with('{');
        if own.len() == asked.len() && own.iter().zip(&asked).all(|(own, asked)| own == asked || (is_placeholder(own) && !asked.is_empty())) {
            fitting.push((own.iter().filter(|part| is_placeholder(part)).count(), item));
        }
    }
    fitting.sort_by_key(|(placeholders, _)| *placeholders);
    fitting.into_iter().map(|(_, item)| item).collect()
}

fn each(item: &PathItem) -> [(&'static str, Option<&Operation>); 5] {
    [
        ("GET", item.get.as_ref()),
        ("POST", item.post.as_ref()),
        ("PUT", item.put.as_ref()),
        ("PATCH", item.patch.as_ref()),
        ("DELETE", item.delete.as_ref()),
    ]
}

fn build() -> OpenApi {
    let (_, mut document) = App::new()
        .into_utoipa_app()
        .service(utoipa_actix_web::scope("/api/v1").configure(|scope| routes::api(scope)))
        .split_for_parts();
    common::complete(&mut document);
    document
}
