//! The OpenAPI 3.1 document, generated from the handlers and their types.

use crate::problem::ProblemBody;
use crate::routes;
use actix_web::web::ServiceConfig;
use actix_web::{App, HttpResponse};
use std::sync::LazyLock;
use utoipa::openapi::path::{HttpMethod, Operation, Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::security::{Http, HttpAuthScheme, SecurityRequirement, SecurityScheme};
use utoipa::openapi::{ContentBuilder, InfoBuilder, License, ObjectBuilder, OpenApi, Ref, RefOr, Required, ResponseBuilder, Type};
use utoipa::{PartialSchema, ToSchema};
use utoipa_actix_web::AppExt;

/// Puts the documented routes into a scope.
pub fn collect(config: &mut ServiceConfig) {
    // The document is collected once on its own (see `document`); a scope only needs the routes.
    let mut paths = utoipa_actix_web::service_config::ServiceConfig::new(config);
    routes::api(&mut paths);
}

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

/// The methods that the document knows for a path; none for an unknown one.
#[must_use]
pub fn methods_of(path: &str) -> Vec<&'static str> {
    let Some(asked) = path.strip_prefix("/api/v1") else { return Vec::new() };
    let asked: Vec<&str> = asked.split('/').collect();
    let mut known = Vec::new();
    for (template, item) in &DOCUMENT.paths.paths {
        let own = template.strip_prefix("/api/v1").unwrap_or(template);
        let own: Vec<&str> = own.split('/').collect();
        let fits = own.len() == asked.len() && own.iter().zip(&asked).all(|(own, asked)| own == asked || (own.starts_with('{') && !asked.is_empty()));
        if !fits {
            continue;
        }
        for (method, operation) in
            [("GET", &item.get), ("POST", &item.post), ("PUT", &item.put), ("PATCH", &item.patch), ("DELETE", &item.delete)]
        {
            if operation.is_some() && !known.contains(&method) {
                known.push(method);
            }
        }
    }
    known
}

fn build() -> OpenApi {
    let (_, mut document) = App::new()
        .into_utoipa_app()
        .service(utoipa_actix_web::scope("/api/v1").configure(routes::api))
        .split_for_parts();
    document.info = InfoBuilder::new()
        .title("Bellbrace")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some("Job board and customer status of a brass and woodwind repair shop."))
        .license(Some(License::new("Apache-2.0")))
        .build();
    let components = document.components.get_or_insert_with(Default::default);
    components.schemas.insert(ProblemBody::name().into_owned(), ProblemBody::schema());
    let mut more = Vec::new();
    ProblemBody::schemas(&mut more);
    for (name, schema) in more {
        components.schemas.insert(name, schema);
    }
    components.add_security_scheme("staff", SecurityScheme::Http(Http::new(HttpAuthScheme::Bearer)));
    for (path, item) in &mut document.paths.paths {
        for (method, operation) in [
            (HttpMethod::Get, &mut item.get),
            (HttpMethod::Post, &mut item.post),
            (HttpMethod::Put, &mut item.put),
            (HttpMethod::Patch, &mut item.patch),
            (HttpMethod::Delete, &mut item.delete),
        ] {
            if let Some(operation) = operation {
                complete(path, &method, operation);
            }
        }
    }
    document
}

/// Adds what is the same everywhere: the token, the version, the key, the problems.
fn complete(path: &str, method: &HttpMethod, operation: &mut Operation) {
    let open = operation.security.as_ref().is_some_and(|s| s.iter().any(|r| *r == SecurityRequirement::default()));
    if !open {
        operation.security = Some(vec![SecurityRequirement::new::<_, [&str; 0], &str>("staff", [])]);
    }
    // Handlers are named within their resource; an operation's name must be the document's only one.
    if let (Some(tag), Some(name)) = (operation.tags.as_ref().and_then(|tags| tags.first()), &operation.operation_id) {
        operation.operation_id = Some(format!("{}_{name}", tag.replace('-', "_")));
    }
    let parameters = operation.parameters.get_or_insert_with(Vec::new);
    if needs_version(path, method) {
        parameters.push(RefOr::T(header("If-Match", "The ETag of what was seen.", true, r#"^"\d+"$"#)));
    }
    if *method == HttpMethod::Post && !path.contains("/sessions") && !path.contains("/calculations/") {
        parameters.push(RefOr::T(header("Idempotency-Key", "The same key and body have one effect and one answer.", false, "^[!-~]{1,200}$")));
    }
    let content = ContentBuilder::new().schema(Some(Ref::from_schema_name(ProblemBody::name()))).build();
    let problem = |words: &str| ResponseBuilder::new().description(words).content("application/problem+json", content.clone()).build();
    operation.responses.responses.insert("4XX".to_owned(), RefOr::T(problem("What is in the way, and what to do.")));
    operation.responses.responses.insert("503".to_owned(), RefOr::T(problem("The records are out of reach; Retry-After says when to try again.")));
    if *method == HttpMethod::Get {
        operation.responses.responses.entry("304".to_owned()).or_insert_with(|| RefOr::T(ResponseBuilder::new().description("Not changed.").build()));
    }
}

/// Which requests must name the version they saw.
fn needs_version(path: &str, method: &HttpMethod) -> bool {
    match method {
        HttpMethod::Patch | HttpMethod::Put => !path.starts_with("/api/v1/operations/{id}/claim"),
        HttpMethod::Delete => {
            path.ends_with("/work-orders/{id}/claim") || path.ends_with("/ending") || path.ends_with("/quotes/{id}")
        }
        HttpMethod::Post => ["/stage-changes", "/ending", "/ending/confirmation", "/done-at-counter", "/handover", "/send"]
            .iter()
            .any(|end| path.ends_with(end)),
        _ => false,
    }
}

fn header(name: &str, words: &str, required: bool, pattern: &str) -> Parameter {
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Header)
        .description(Some(words))
        .required(if required { Required::True } else { Required::False })
        .schema(Some(ObjectBuilder::new().schema_type(Type::String).pattern(Some(pattern)).build()))
        .build()
}

