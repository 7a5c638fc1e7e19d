//! What is the same everywhere in the document: the token, the version, the key, the problems.

use crate::problem::ProblemBody;
use std::collections::BTreeSet;
use utoipa::openapi::header::{Header, HeaderBuilder};
use utoipa::openapi::path::{HttpMethod, Operation, Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::ArrayItems;
use utoipa::openapi::security::{Http, HttpAuthScheme, SecurityRequirement, SecurityScheme};
use utoipa::openapi::tag::TagBuilder;
use utoipa::openapi::{
    Components, ContentBuilder, InfoBuilder, License, ObjectBuilder, OpenApi, Ref, RefOr, Required, ResponseBuilder, Schema, Type,
};
use utoipa::{PartialSchema, ToSchema};

const ABOUT: &str = "Job board and customer status of a brass and woodwind repair shop.

Every error is a problem of RFC 9457 with a `type` that is never renamed. What can be edited has a \
`version`, and a strong ETag that begins with it: `\"7-0c5f…\"` is version 7, and behind the hyphen stands \
what the answer shows, so that it changes with everything that is shown from elsewhere, such as the name of an \
order's customer. `If-None-Match` compares all of it. A change names what it saw in `If-Match`, of which the version \
alone counts (`\"7\"` will do): it meets 412 when somebody changed the thing itself, and is not stopped by a letter \
that was delivered meanwhile. The version of a work order covers all that is recorded on it. A `POST` under an `Idempotency-Key` has one effect and one answer, however often it \
is sent. HEAD is answered wherever GET is, but for `/events`. Unknown parameters and unknown fields are refused. Money is a decimal string with its currency, \
instants are UTC, dates are those of the shop. A field that is null says that there is nothing.";

const TAGS: [(&str, &str); 18] = [
    ("sessions", "Signing in, renewing, signing out."),
    ("people", "Staff and their roles."),
    ("shop", "The shop's settings and its own lists."),
    ("customers", "Who brings instruments in, and who owns them."),
    ("instruments", "Instruments and their history."),
    ("work-orders", "One visit of one instrument, from the counter and back."),
    ("findings", "What an examination turned up."),
    ("photos", "What was found, to be seen; shared with the customer or not."),
    ("operations", "The steps on the bench."),
    ("quotes", "Quotes, extra-work requests and the owner's answers."),
    ("papers", "Label, tag and receipt, to be printed at the counter."),
    ("letters", "What was sent, when, or why not."),
    ("ring-list", "Whom to telephone, and how the calls went."),
    ("board", "Every open order in one answer."),
    ("forecast", "When open orders will likely be ready, and new ones would be."),
    ("evening", "The shop's day before locking up."),
    ("events", "Changes as they commit."),
    ("calculations", "The computations of the trade, each on its own, nothing stored."),
];

/// Status, name in the document, and what it means.
const PROBLEMS: [(&str, &str, &str); 11] = [
    ("401", "NotSignedIn", "Not signed in, or the token ran out."),
    ("403", "NotYours", "Signed in, but not yours to do."),
    ("404", "Absent", "There is no such thing, or it is not yours to see."),
    ("409", "Conflict", "The present state is in the way; the problem's type says what is."),
    ("412", "Stale", "Somebody was faster: the problem holds the current version, who changed it and when, what differs, and of a work order what was done since it was seen."),
    ("413", "TooLarge", "The body is larger than 1 MiB, or than 8 MiB where it holds a pressure log, 20 MiB where it is a photo."),
    ("415", "WrongType", "The body is not what is asked for, by its own Content-Type: JSON, or a picture."),
    ("422", "Invalid", "Understood but invalid: the problem's errors point at each thing that is wrong."),
    ("428", "PreconditionMissing", "If-Match is missing."),
    ("429", "TooMany", "Too many tries, or too many photos at one time; Retry-After says when to try again, in seconds."),
    ("503", "RecordsAway", "The records are out of reach; Retry-After says when to try again, in seconds."),
];

/// Whether an operation asks for no token.
pub(super) fn is_open(operation: &Operation) -> bool {
    operation.security.as_ref().is_some_and(|security| security.contains(&SecurityRequirement::default()))
}

/// Completes what the handlers' own descriptions say.
pub(super) fn complete(document: &mut OpenApi) {
    document.info = InfoBuilder::new()
        .title("Bellbrace")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(ABOUT))
        .license(Some(License::new("Apache-2.0")))
        .build();
    document.tags = Some(TAGS.iter().map(|(name, words)| TagBuilder::new().name(*name).description(Some(*words)).build()).collect());
    let components = document.components.get_or_insert_with(Default::default);
    components.schemas.insert(ProblemBody::name().into_owned(), ProblemBody::schema());
    let mut more = Vec::new();
    ProblemBody::schemas(&mut more);
    components.schemas.extend(more);
    components.add_security_scheme("staff", SecurityScheme::Http(Http::new(HttpAuthScheme::Bearer)));
    let content = ContentBuilder::new().schema(Some(Ref::from_schema_name(ProblemBody::name()))).build();
    for (status, name, words) in PROBLEMS {
        let mut problem = ResponseBuilder::new().description(words).content("application/problem+json", content.clone());
        if status == "429" || status == "503" {
            let seconds = ObjectBuilder::new().schema_type(Type::Integer).minimum(Some(1)).build();
            problem = problem.header("Retry-After", HeaderBuilder::new().schema(Some(seconds)).description(Some("In seconds.")).build());
        }
        components.responses.insert(name.to_owned(), RefOr::T(problem.build()));
    }
    name_what_pages_hold(components);
    let versioned = versioned(components);
    for (path, item) in &mut document.paths.paths {
        for (method, operation) in [
            (HttpMethod::Get, &mut item.get),
            (HttpMethod::Post, &mut item.post),
            (HttpMethod::Put, &mut item.put),
            (HttpMethod::Patch, &mut item.patch),
            (HttpMethod::Delete, &mut item.delete),
        ] {
            if let Some(operation) = operation {
                complete_one(path, &method, operation, &versioned);
            }
        }
    }
}

/// A page's items are written out by utoipa; they have a name.
fn name_what_pages_hold(components: &mut Components) {
    for (name, schema) in &mut components.schemas {
        if let (Some(held), RefOr::T(Schema::Object(page))) = (name.strip_prefix("Page_"), schema)
            && let Some(RefOr::T(Schema::Array(items))) = page.properties.get_mut("items")
        {
            items.items = ArrayItems::RefOrSchema(Box::new(RefOr::Ref(Ref::from_schema_name(held))));
        }
    }
}

/// The schemas of what carries a version, and with it an ETag.
fn versioned(components: &Components) -> BTreeSet<String> {
    let has_version = |schema: &RefOr<Schema>| match schema {
        RefOr::T(Schema::Object(object)) => ["version", "order_version"].iter().any(|name| object.properties.contains_key(*name)),
        RefOr::T(_) | RefOr::Ref(_) => false,
    };
    let mut names: BTreeSet<String> =
        components.schemas.iter().filter(|(_, schema)| has_version(schema)).map(|(name, _)| Ref::from_schema_name(name).ref_location).collect();
    // The board's ETag is made of everything it shows; the plan's version lies deeper in its schema.
    names.extend(["Board", "Plan"].map(|name| Ref::from_schema_name(name).ref_location));
    names
}

fn complete_one(path: &str, method: &HttpMethod, operation: &mut Operation, versioned: &BTreeSet<String>) {
    let is_read = *method == HttpMethod::Get;
    let tag = operation.tags.as_ref().and_then(|tags| tags.first()).map_or("", String::as_str);
    operation.operation_id = operation.operation_id.as_ref().map(|name| format!("{}_{name}", tag.replace('-', "_")));
    let open = is_open(operation);
    if !open {
        operation.security = Some(vec![SecurityRequirement::new::<_, [&str; 0], &str>("staff", [])]);
    }
    let has_etag = describe_etag(operation, versioned);
    let parameters = operation.parameters.get_or_insert_with(Vec::new);
    for parameter in parameters.iter_mut() {
        if let RefOr::T(parameter) = parameter
            && parameter.parameter_in == ParameterIn::Path
            && parameter.description.is_none()
        {
            parameter.description = Some(
                if path.starts_with("/api/v1/work-orders/") {
                    "The order's id, or its claim number as it is read over the telephone, with or without separators."
                } else {
                    "Which one."
                }
                .to_owned(),
            );
        }
    }
    let is_list = parameters.iter().any(|one| matches!(one, RefOr::T(one) if one.name == "cursor"));
    let needs_version = needs_version(path, method);
    if needs_version {
        parameters.push(RefOr::T(header("If-Match", "The ETag of what was seen.", true, r#"^"\d{1,9}(-[0-9a-z]+)?"$"#)));
    }
    if is_read && has_etag {
        parameters.push(RefOr::T(header("If-None-Match", "The ETag of what is there already: 304 when it is still the same.", false, r#"^(W/)?"[!#-~]+"$"#)));
        let same = ResponseBuilder::new().description("Still the same.").header("ETag", etag()).build();
        operation.responses.responses.insert("304".to_owned(), RefOr::T(same));
    }
    if *method == HttpMethod::Post && !path.contains("/sessions") && !path.contains("/calculations/") && !path.ends_with("/preview") && !path.ends_with("/forecast") {
        parameters.push(RefOr::T(header("Idempotency-Key", "The same key and body have one effect and one answer.", false, "^[!#-~]{1,200}$")));
    }
    if is_list && let Some(RefOr::T(page)) = operation.responses.responses.get_mut("200") {
        page.headers.insert("Link".to_owned(), RefOr::T(link()));
    }
    let has_body = operation.request_body.is_some();
    let takes_a_picture = matches!(&operation.request_body, Some(RefOr::T(body)) if body.content.contains_key("image/jpeg"));
    // Signing out a session that is over already finds none.
    let names_a_thing = path.contains('{') || (!is_read && has_body) || (*method == HttpMethod::Delete && path.ends_with("/current"));
    for (status, name, _) in PROBLEMS {
        let may_be_met = match status {
            "401" => true,
            "403" | "409" => !open && !is_read,
            "404" => !open && names_a_thing,
            "412" | "428" => needs_version,
            "413" | "415" => has_body,
            "429" => open || takes_a_picture,
            _ => true,
        };
        if may_be_met {
            operation.responses.responses.insert(status.to_owned(), RefOr::Ref(Ref::from_response_name(name)));
        }
    }
}

/// Says which good answers carry an ETag, and whether any does.
fn describe_etag(operation: &mut Operation, versioned: &BTreeSet<String>) -> bool {
    let mut any = false;
    for response in operation.responses.responses.values_mut() {
        let RefOr::T(response) = response else { continue };
        let has_version = response.content.values().any(|content| match content {
            RefOr::T(content) => matches!(&content.schema, Some(RefOr::Ref(schema)) if versioned.contains(&schema.ref_location)),
            RefOr::Ref(_) => false,
        });
        if has_version {
            response.headers.insert("ETag".to_owned(), RefOr::T(etag()));
            any = true;
        }
    }
    any
}

fn etag() -> Header {
    let tag = ObjectBuilder::new().schema_type(Type::String).pattern(Some(r#"^(W/)?"[!#-~]+"$"#)).build();
    HeaderBuilder::new().schema(Some(tag)).description(Some("The version, then a hyphen and what the answer shows: If-Match looks at the version, If-None-Match at all of it. Weak, and without a version, where nothing can be edited.")).build()
}

fn link() -> Header {
    let next = ObjectBuilder::new().schema_type(Type::String).build();
    HeaderBuilder::new().schema(Some(next)).description(Some("Where the next page is (`rel=\"next\"`, RFC 8288); left out on the last.")).build()
}

/// Which requests must name the version they saw.
fn needs_version(path: &str, method: &HttpMethod) -> bool {
    match method {
        HttpMethod::Patch | HttpMethod::Put => true,
        // A session is no resource that can be edited.
        HttpMethod::Delete => !path.starts_with("/api/v1/sessions/"),
        HttpMethod::Post => ["/stage-changes", "/ending", "/ending/confirmation", "/done-at-counter", "/handover", "/send", "/plan/ways"]
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
